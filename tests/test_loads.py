"""Hourly loads: arrays, files and the balance-point method."""

import pickle

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld


def year(value: float = 1.0) -> np.ndarray:
    return np.full(8760, value)


def write_stamped(path, stamps, values):
    pd.DataFrame({"time": stamps.strftime("%Y-%m-%dT%H:%M"), "heating_kW": values}).to_csv(path, index=False)


def test_scalars_texts_and_nothing_fill_all_hours():
    loads = ld.Loads(heating=np.tile(year(), 2), hot_water="0.3 kW")
    assert loads.years == 2
    assert_array_equal(loads.hot_water, np.full(17520, 300.0))
    assert_array_equal(loads.cooling, np.zeros(17520))
    assert ld.Loads().years == 1


def test_arrays_are_copies_that_cannot_be_written_to():
    heating = year()
    loads = ld.Loads(heating=heating)
    heating[0] = 5.0
    assert loads.heating[0] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        loads.heating[0] = 2.0
    with pytest.raises(ValueError, match="read-only"):
        pickle.loads(pickle.dumps(loads)).heating[0] = 2.0


def test_loads_are_equal_by_content():
    assert ld.Loads(heating=year()) == ld.Loads(heating=1.0)
    assert ld.Loads(heating=year()) != ld.Loads(cooling=year())
    assert pickle.loads(pickle.dumps(ld.Loads(heating=year()))) == ld.Loads(heating=year())


@pytest.mark.parametrize("bad", [-1.0, np.nan, np.inf])
def test_a_bad_value_is_named_with_series_year_and_hour(bad):
    cooling = np.tile(year(), 2)
    cooling[8760 + 9] = bad
    with pytest.raises(ld.InvalidInput, match=r"Loads\.cooling = .* W: year 2, hour 9: must be from 0"):
        ld.Loads(cooling=cooling)


def test_wrong_shapes_are_refused():
    with pytest.raises(ld.InvalidInput, match=r"Loads\.heating = 8784 hourly values"):
        ld.Loads(heating=np.ones(8784))
    with pytest.raises(ld.InvalidInput, match="as in heating"):
        ld.Loads(heating=year(), cooling=np.ones(17520))
    with pytest.raises(ld.InvalidInput, match="one dimension"):
        ld.Loads(heating=np.ones((8760, 2)))
    with pytest.raises(ld.InvalidInput, match="must be numbers in W"):
        ld.Loads(heating=["a", "b"])


def test_a_written_file_is_read_to_the_bit(tmp_path):
    heating, cooling = np.random.default_rng(1).uniform(0.0, 1e5, (2, 17520))
    loads = ld.Loads(heating=heating, cooling=cooling / 3.0, hot_water=1e-7)
    loads.write(tmp_path / "loads.csv")
    assert ld.Loads.read(tmp_path / "loads.csv") == loads


def test_stamps_by_beginning_and_by_end_give_the_same_loads(tmp_path):
    """A load at noon of 1 March is found in the same hour whichever way its stamp is meant."""
    values = np.zeros(8760)
    values[59 * 24 + 12] = 7.0
    beginning = pd.date_range("2023-01-01T00:00", periods=8760, freq="h")
    write_stamped(tmp_path / "beginning.csv", beginning, values)
    write_stamped(tmp_path / "end.csv", beginning + pd.Timedelta(hours=1), values)
    loads = ld.Loads.read(tmp_path / "beginning.csv")
    assert loads == ld.Loads.read(tmp_path / "end.csv")
    assert loads.heating[59 * 24 + 12] == 7000.0


def test_leap_days_are_refused_with_their_line(tmp_path):
    write_stamped(tmp_path / "leap.csv", pd.date_range("2024-01-01", periods=8784, freq="h"), 1.0)
    with pytest.raises(ld.InvalidFile, match="29 February") as caught:
        ld.Loads.read(tmp_path / "leap.csv")
    assert caught.value.line == 59 * 24 + 2
    assert caught.value.column == "time"


def test_an_unknown_column_brings_the_nearest_name(tmp_path):
    (tmp_path / "loads.csv").write_text("heat_kW\n1\n")
    with pytest.raises(ld.InvalidFile, match="did you mean heating_kW"):
        ld.Loads.read(tmp_path / "loads.csv")
    with pytest.raises(FileNotFoundError):
        ld.Loads.read(tmp_path / "none.csv")


def test_balance_points_give_degree_hours():
    """Yearly heat is the coefficient times degree hours, summed here from the temperatures themselves."""
    weather = ld.Weather.sample("high dry")
    loads = ld.Loads.from_weather(
        weather,
        loss_coefficient=250.0,
        heating_balance="59 degF",
        gain_coefficient=180.0,
        cooling_balance=22.0,
        hot_water=200.0,
    )
    below = weather.dry_bulb[weather.dry_bulb < 15.0]
    above = weather.dry_bulb[weather.dry_bulb > 22.0]
    assert_allclose(loads.heating.sum(), 250.0 * (15.0 * below.size - below.sum()), rtol=1e-11)
    assert_allclose(loads.cooling.sum(), 180.0 * (above.sum() - 22.0 * above.size), rtol=1e-11)
    assert_array_equal(loads.hot_water, np.full(8760, 200.0))


def test_balance_points_must_not_cross():
    weather = ld.Weather.sample("high dry")
    with pytest.raises(ld.InvalidInput, match="must be at least heating_balance"):
        ld.Loads.from_weather(
            weather, loss_coefficient=1.0, heating_balance=20.0, gain_coefficient=1.0, cooling_balance=18.0
        )
    with pytest.raises(ld.InvalidInput, match="must be given with gain_coefficient"):
        ld.Loads.from_weather(weather, loss_coefficient=1.0, heating_balance=20.0, gain_coefficient=1.0)


def test_months_add_up():
    loads = ld.Loads(heating=1000.0)
    monthly = loads.monthly()
    assert monthly["heating_kWh"].loc[(1, 2)] == 28 * 24
    assert_allclose(monthly["heating_kWh"].sum(), 8760.0, rtol=1e-12)
    assert loads.peak == {"heating": 1000.0, "cooling": 0.0, "hot_water": 0.0, "recharge": 0.0}
