"""Hourly loads: arrays, files, heat losses, scaling and months."""

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


def test_an_unknown_column_brings_the_nearest_name(tmp_path):
    (tmp_path / "loads.csv").write_text("heat_kW\n1\n")
    with pytest.raises(ld.InvalidFile, match="did you mean heating_kW"):
        ld.Loads.read(tmp_path / "loads.csv")
    with pytest.raises(FileNotFoundError):
        ld.Loads.read(tmp_path / "none.csv")


def from_heat_loss(**changes):
    given = {"heat_loss": "9 kW", "design_outdoor": -15.0, "heating_kWh": 20e3, "cooling_kWh": 900.0}
    return ld.Loads.from_heat_loss(ld.Weather.sample("high dry"), **{**given, **changes})


def test_a_heat_loss_and_totals_give_degree_hours():
    """Totals are met; heating falls on a line from 9 kW at -15 degC; cooling begins 5 K above its end."""
    outdoor = ld.Weather.sample("high dry").dry_bulb
    loads = from_heat_loss(hot_water_kWh="10 MWh")
    assert_allclose([loads.heating.sum(), loads.cooling.sum()], [20e6, 900e3], rtol=1e-11)
    assert_allclose(loads.hot_water, 10e6 / 8760, rtol=1e-12)
    heated, cooled = loads.heating > 0.0, loads.cooling > 0.0
    on_the_line = heated & (outdoor > -15.0)
    line = np.polynomial.Polynomial.fit(outdoor[on_the_line], loads.heating[on_the_line], 1).convert()
    assert_allclose(line(-15.0), 9000.0, rtol=1e-9)
    base = line.roots()[0]
    assert_allclose(outdoor[~heated].min(), base, atol=0.1)
    assert_allclose(outdoor[cooled].min(), base + 5.0, atol=0.1)
    coldest = float(outdoor.min())
    by_coefficient = from_heat_loss(heat_loss=None, design_outdoor=None, loss_coefficient=250.0)
    assert by_coefficient == from_heat_loss(heat_loss=250.0 * (20.0 - coldest), design_outdoor=coldest)


def test_gains_that_a_total_tells_are_below_the_room_temperature():
    """Without any gains the base is the room temperature: the total of 18 degC degree hours, by hand."""
    outdoor = ld.Weather.sample("high dry").dry_bulb
    most = 200.0 * np.clip(18.0 - outdoor, 0.0, None).sum() / 1e3
    given = {"heat_loss": None, "design_outdoor": None, "loss_coefficient": 200.0, "indoor": 18.0}
    loads = from_heat_loss(**given, heating_kWh=0.999999 * most)
    assert_allclose(loads.heating, 200.0 * np.clip(18.0 - outdoor, 0.0, None), atol=0.1)
    with pytest.raises(ld.InvalidInput, match=r"must be at most .* kWh, this heat loss in this weather"):
        from_heat_loss(**given, heating_kWh=1.000001 * most)


def test_one_figure_scales_all_hours_alike():
    loads = from_heat_loss()
    assert_allclose(loads.scaled(heating_kWh=15e3).heating, 0.75 * loads.heating, rtol=1e-10)
    doubled = loads.scaled(cooling_peak=2.0 * loads.peak["cooling"])
    assert_allclose(doubled.cooling, 2.0 * loads.cooling, rtol=1e-12)
    assert_array_equal(doubled.heating, loads.heating)
    assert loads.scaled() == loads
    assert_array_equal(loads.scaled(heating_kWh=0.0).heating, 0.0)


@pytest.mark.parametrize(
    ("share_of_total", "share_of_peak"), [(1.0, 0.7), (0.8, 1.2), (1.3, 1.3), (1.0, 1.0)]
)
def test_total_and_peak_together_keep_zero_and_order(share_of_total, share_of_peak):
    loads = from_heat_loss()
    two_years = ld.Loads(heating=np.concatenate([loads.heating, 1.1 * loads.heating]))
    total = share_of_total * two_years.heating.sum() / 2e3
    peak = share_of_peak * two_years.peak["heating"]
    scaled = two_years.scaled(heating_kWh=total, heating_peak=peak).heating
    assert_allclose(scaled.sum() / 2e3, total, rtol=1e-10)
    assert_allclose(scaled.max(), peak, rtol=1e-12)
    assert_array_equal(scaled == 0.0, two_years.heating == 0.0)
    order = two_years.heating.argsort(kind="stable")
    assert (np.diff(scaled[order]) >= 0.0).all()
    if share_of_total == share_of_peak:
        assert_allclose(scaled, share_of_peak * two_years.heating, rtol=1e-9, atol=1e-6)


def test_what_cannot_be_met_is_refused():
    loads = from_heat_loss(cooling_kWh=0.0)
    for changes, said in (
        ({"heating_kWh": 90e3, "heating_peak": 9000.0}, "heating_kWh = 90000.0 kWh: must be from"),
        ({"heating_kWh": 10.0, "heating_peak": 9000.0}, "heating_kWh = 10.0 kWh: must be from"),
        ({"cooling_kWh": 5.0}, "cooling_kWh = 5.0 kWh: must be 0: there is no cooling to scale"),
        ({"cooling_peak": "1 kW"}, "cooling_peak = 1000.0 W: must be 0"),
        ({"heating_peak": -1.0}, "heating_peak = -1.0 W: must be at least 0 W"),
        ({"heating_kWh": "3 m"}, "a unit like kWh"),
    ):
        with pytest.raises(ld.InvalidInput, match=said):
            loads.scaled(**changes)
    with pytest.raises(ld.InvalidInput, match=r"must be from 8760 to 8760 kWh with a peak of 1000 W"):
        ld.Loads(heating=5.0).scaled(heating_kWh=8000.0, heating_peak=1000.0)
    assert ld.Loads(heating=5.0).scaled(heating_kWh=8760.0, heating_peak=1000.0) == ld.Loads(heating=1000.0)


def test_months_add_up():
    loads = ld.Loads(heating=1000.0, cooling=np.where(np.arange(8760) == 31 * 24, 4000.0, 0.0))
    monthly = loads.monthly()
    assert monthly["heating_kWh"].loc[(1, 2)] == 28 * 24
    assert_allclose(monthly["heating_kWh"].sum(), 8760.0, rtol=1e-12)
    assert_array_equal(monthly["heating_peak_W"], 1000.0)
    assert_array_equal(monthly["cooling_peak_W"], [0.0, 4000.0] + [0.0] * 10)
    assert loads.peak == {"heating": 1000.0, "cooling": 4000.0, "hot_water": 0.0, "recharge": 0.0}


def test_the_origin_stays_with_the_loads():
    weather = ld.Weather.sample("cold continental")
    loads = ld.Loads.from_heat_loss(weather, heat_loss="6 kW", design_outdoor=-22.0, heating_kWh=9e3)
    assert [label for label, _ in loads.origin] == ["heat loss", "largest hour", "gains", "outdoors"]
    assert loads.origin[0][1].startswith(
        "6 kW (20 kBtu/h) at -22.0 degC (-7.6 degF) outdoors, rooms of 20.0 degC"
    )
    assert pickle.loads(pickle.dumps(loads)).origin == loads.origin
    assert loads.scaled(heating_kWh=8e3).origin == (*loads.origin, ("scaled from there", "heating"))
    assert ld.Loads(heating=1e3).origin == ()


def test_the_origin_is_written_and_read(tmp_path):
    origin = (("meter", "heat: 2023, \N{DEGREE SIGN}C"), ("scaled from there", "# heating"))
    path = tmp_path / "loads.csv"
    ld.Loads(heating=1e3, origin=origin).write(path)
    assert ld.Loads.read(path).origin == origin


def test_comments_of_a_file_are_its_origin(tmp_path):
    path = tmp_path / "loads.csv"
    lines = "\n".join(["1.0"] * 8760)
    path.write_text(
        f"\ufeff# Metered.\r\n##meter :  in the cellar \r\n#\r\nheating_kW\n{lines}", encoding="utf-8"
    )
    assert ld.Loads.read(path).origin == (("meter", "in the cellar"),)


@pytest.mark.parametrize("pair", [("a:b", "c"), ("a", "b\nc"), ("a", "b\rc"), ("", "b"), ("a", " ")])
def test_an_origin_must_fit_into_a_line(pair):
    with pytest.raises(ld.InvalidInput, match=r"Loads\.origin = .*: must be a label without a colon"):
        ld.Loads(heating=1e3, origin=[pair])


@pytest.mark.parametrize("origin", ["a meter", [("meter",)], [("meter", 3)], 7])
def test_an_origin_must_be_pairs_of_text(origin):
    with pytest.raises(ld.InvalidInput, match=r"Loads\.origin = .*: must be pairs of text"):
        ld.Loads(heating=1e3, origin=origin)
