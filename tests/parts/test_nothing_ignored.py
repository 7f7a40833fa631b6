"""Inputs whose index, unit, clock or place says something: it is honoured or refused, never ignored."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.basics import units

COLD = ld.Weather.sample("cold continental")
HOURS = pd.date_range("2023-01-01", periods=8760, freq="h")


def frame(index: pd.DatetimeIndex) -> pd.DataFrame:
    return pd.DataFrame({"temp_air": COLD.dry_bulb, "ghi": COLD.ghi}, index=index)


def refused(do) -> str:
    with pytest.raises((ld.InvalidInput, ld.InvalidFile)) as caught:
        do()
    return str(caught.value)


def test_a_series_is_read_by_its_index() -> None:
    values = np.arange(8760.0)
    assert_array_equal(ld.Loads(heating=pd.Series(values, HOURS)).heating, values)
    assert_array_equal(ld.Loads(heating=pd.Series(values)).heating, values)
    two_years = pd.date_range("2021-01-01", periods=17520, freq="h")
    assert ld.Loads(heating=pd.Series(1.0, two_years)).years == 2
    quarters = pd.date_range("2023-01-01", periods=35040, freq="15min")
    assert "index, row 1" in refused(lambda: ld.Loads(heating=pd.Series(1.0, quarters)))
    july = pd.date_range("2023-07-01", periods=8760, freq="h")
    assert "1 January" in refused(lambda: ld.Loads(heating=pd.Series(1.0, july)))


def test_unstamped_lines_beyond_a_year_are_asked_for(tmp_path) -> None:
    path = tmp_path / "meter.csv"
    for lines, step in ((17520, "30 min"), (35040, "15 min"), (8784, "leap year")):
        path.write_text("heating_kW\n" + "1\n" * lines)
        message = refused(lambda: ld.Loads.read(path))
        assert "may be" in message and step in message
    path.write_text("heating_kW\n" + "1\n" * 17520)
    assert ld.Loads.read(path, cadence="1 h").years == 2
    assert ld.Loads.read(path, cadence="30 min").years == 1
    assert "Loads.cadence = 7 min h: must be 1, 2" in refused(lambda: ld.Loads.read(path, cadence="7 min"))


def test_a_quantity_has_its_unit() -> None:
    kilowatt = units.registry().Quantity(5.0, "kW")
    assert ld.Loads(heating=kilowatt).heating[0] == 5000.0
    assert ld.Loads(heating=np.ones(8760) * kilowatt).heating[7] == 5000.0
    assert "unit like W" in refused(
        lambda: ld.Loads(heating=np.ones(8760) * units.registry().Quantity(1, "m"))
    )


def test_quantities_of_any_registry_are_read() -> None:
    pint = pytest.importorskip("pint")
    other = pint.UnitRegistry()
    assert ld.Loads(heating=other.Quantity(np.full(8760, 2.0), "kW")).heating[3] == 2000.0
    assert units.to_si(other.Quantity(50.0, "degF"), "degC", owner="a", field="b") == pytest.approx(10.0)
    assert units.to_si(other.Quantity(9.0, "delta_degF"), "K", owner="a", field="b") == pytest.approx(5.0)


def test_a_year_of_utc_turned_to_a_zone_is_no_year_of_the_zone() -> None:
    turned = pd.date_range("2023-01-01", periods=8760, freq="h", tz="UTC").tz_convert("Etc/GMT-1")
    assert "year of UTC" in refused(lambda: ld.Weather.from_frame(frame(turned)))
    local = HOURS.tz_localize("Etc/GMT-1")
    assert ld.Weather.from_frame(frame(local)).utc_offset == 1.0


def test_the_index_zone_is_the_weathers() -> None:
    local = frame(HOURS.tz_localize("Etc/GMT-5"))
    assert ld.Weather.from_frame(local, utc_offset=5.0, longitude=75.0).utc_offset == 5.0
    message = refused(lambda: ld.Weather.from_frame(local, utc_offset=-5.0))
    assert "utc_offset = -5.0" in message and "must be 5 h" in message


@pytest.mark.parametrize(("longitude", "off"), [(75.0, 5), (150.0, 10), (-75.0, 5)])
def test_hours_of_utc_far_from_greenwich_are_refused(longitude: float, off: int) -> None:
    message = refused(lambda: ld.Weather.from_frame(frame(HOURS.tz_localize("UTC")), longitude=longitude))
    assert f"{off}.0 h from 12:00" in message and "utc_offset" in message


def test_a_longitude_of_the_wrong_sign_is_refused() -> None:
    place = {"dry_bulb": COLD.dry_bulb, "ghi": COLD.ghi, "latitude": 48.2}
    message = refused(lambda: ld.Weather(**place, longitude=-75.0, utc_offset=5.0))
    assert "10.0 h from 12:00" in message and "sign of the longitude" in message


def test_the_sun_in_the_data_is_compared_with_the_place() -> None:
    late = {"dry_bulb": COLD.dry_bulb, "ghi": np.roll(COLD.ghi, 5), "longitude": 75.0}
    for offset in (None, 5.0):
        message = refused(lambda offset=offset: ld.Weather(**late, utc_offset=offset))
        assert ("solar noon at" in message and "5.0 h away" in message) or "4.9 h away" in message
    for name in ld.Weather.samples():
        assert ld.Weather.sample(name).longitude is not None


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("68 °F", "degC", 20.0),
        ("20 °C", "degC", 20.0),
        ("20 º C", "degC", 20.0),
        ("68 F", "degC", 20.0),
        ("9 °F", "K", 5.0),
        ("36 MBH", "W", 10550.5585),
        ("36000 Btuh", "W", 10550.5585),
        ("10 GPM", "m3/s", 6.30901964e-4),
        ("10 mph", "m/s", 4.4704),
    ],
)
def test_the_trades_units_are_read(text: str, unit: str, expected: float) -> None:
    assert_allclose(units.to_si(text, unit, owner="Test", field="value"), expected, rtol=1e-6)


@pytest.mark.parametrize(
    ("unit", "watts"),
    [("kBtu_per_h", 2930.7107), ("kBtu/h", 2930.7107), ("MBH", 2930.7107), ("tons", 35168.53)],
)
def test_inch_pound_loads_become_watts(tmp_path, unit: str, watts: float) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(f"heating_{unit}\n" + "10\n" * 8760)
    assert_allclose(ld.Loads.read(path).heating, watts, rtol=1e-6)


def test_a_heat_pumps_flow_may_be_a_volume(tmp_path) -> None:
    rows = [
        f"{entering},{flow},{4000 + 100 * entering + 500 * flow},{1200 + 20 * entering}"
        for entering in (-5, 0, 5, 10)
        for flow in (0.5, 1.0)
    ]
    path = tmp_path / "unit.csv"
    path.write_text(
        "mode,entering_fluid_degC,flow_kg_per_s,capacity_W,power_W\n"
        + "\n".join(f"heating,{row}" for row in rows)
    )
    by_volume, by_mass = (ld.HeatPump.from_table(path, flow=flow) for flow in ("0.8 L/s", 0.8 * 0.99997))
    probe = [-2.0, 7.0]
    assert_allclose(by_volume.performance(probe), by_mass.performance(probe), rtol=1e-12)


def test_the_stated_heat_loss_is_reached_at_the_design_temperature() -> None:
    for name, design, total in (
        ("cold continental", -22.0, 9000.0),
        ("mild maritime", -2.0, 9000.0),
        ("high dry", -10.0, 9000.0),
    ):
        weather = ld.Weather.sample(name)
        loads = ld.Loads.from_heat_loss(weather, heat_loss=6000.0, design_outdoor=design, heating_kWh=total)
        order = np.argsort(weather.dry_bulb)
        assert_allclose(np.interp(design, weather.dry_bulb[order], loads.heating[order]), 6000.0, rtol=5e-3)
        assert_allclose(loads.heating.sum() / 1e3, total, rtol=1e-9)
        whole = 6000.0 / (20.0 - design) * np.clip(20.0 - weather.dry_bulb, 0.0, None)
        assert (loads.heating <= whole + 1e-6).all()
        said = dict(loads.origin)
        assert "largest hour" in said and "none at" in said["gains"]
