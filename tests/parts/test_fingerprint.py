"""A load in a few figures, and what in it looks wrong."""

from __future__ import annotations

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.parts.loads.fingerprint import beside_capacity, doubts, figures

SEASON = np.cos(2 * np.pi * np.arange(8760) / 8760)
HEATING = np.clip(6000.0 * SEASON, 0.0, None)
COOLING = np.clip(-4000.0 * SEASON, 0.0, None)


def test_figures_say_when_the_largest_hour_is():
    heating = HEATING.copy()
    heating[31 * 24 + 7] = 9000.0
    (figure,) = figures(ld.Loads(heating=np.concatenate([HEATING, heating])))
    assert (figure.year, figure.month, figure.day, figure.hour) == (2, 2, 1, 7)
    assert figure.yearly == pytest.approx((HEATING.sum() + heating.sum()) / 2e3)
    assert figure.full_load_hours == pytest.approx(figure.yearly / 9.0)
    assert "on 1 February of year 2 from 07:00" in figure.in_words(2)
    assert "9 kW (31 kBtu/h)" in figure.in_words(2)


def spike():
    heating = HEATING.copy()
    heating[100] = 60e3
    return heating


WRONG = {
    "one hour far above the others": (
        {"heating": spike()},
        "heating: the hour of 60 kW .* is 10 times the tenth",
    ),
    "heating in July": ({"heating": np.roll(HEATING, 4380)}, "heating: June to August has .* in the north"),
    "hot water within the heating": ({"heating": HEATING + 3000.0}, "hot water is in it"),
    "cooling without a summer": ({"heating": HEATING, "cooling": HEATING}, "cooling: June to August has"),
    "few hours": (
        {"heating": np.where(np.arange(8760) < 20, 5e3, 0.0)},
        "20 full-load hours; buildings usually",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_looks_wrong_is_said(name):
    series, said = WRONG[name]
    found = doubts(ld.Loads(**series))
    assert any(__import__("re").search(said, doubt) for doubt in found), found


def test_a_peak_far_from_the_heat_loss_is_said():
    """The mild climate never comes near -25 degC, and the cold one goes far below -5 degC."""
    for name, design, heating in (("mild maritime", -25.0, 9000.0), ("cold continental", -5.0, 30000.0)):
        weather = ld.Weather.sample(name)
        loads = ld.Loads.from_heat_loss(weather, heat_loss="9 kW", design_outdoor=design, heating_kWh=heating)
        assert "far from the heat loss of 9 kW" in dict(loads.origin)["look at"]
    near = ld.Loads.from_heat_loss(weather, heat_loss="9 kW", design_outdoor=-22.0, heating_kWh=12e3)
    assert "look at" not in dict(near.origin)


def test_a_usual_building_leaves_no_doubt():
    assert doubts(ld.Loads(heating=HEATING, cooling=COOLING, hot_water="300 W")) == []


@pytest.mark.parametrize(
    ("capacity", "said"), [(8000.0, None), (400.0, "far too small"), (80e3, "far too large")]
)
def test_a_heat_pump_beside_its_load(capacity, said):
    found = beside_capacity(HEATING, capacity, "heating")
    assert found is None if said is None else said in found and "the unit of one of them" in found


def test_a_unit_for_heating_may_be_large_for_cooling(design, command, tmp_path):
    """A little cooling beside heating that fits is usual; with no load that fits, the unit is in doubt."""
    loads = ld.Loads(heating=HEATING, cooling=0.1 * COOLING)
    for size, doubted in ((1.0, False), (10.0, True)):
        capacity = [size * float(HEATING.max())]
        unit = ld.HeatPump.from_curves(
            heating_cop=[4.0], heating_capacity=capacity, cooling_cop=[5.0], cooling_capacity=capacity
        )
        design.replace(loads=loads, heat_pump=unit).write(tmp_path / f"{size}.toml")
        code, out, _ = command("check", tmp_path / f"{size}.toml")
        assert code == 0
        assert ("far too large" in " ".join(out.split())) is doubted


def test_check_shows_figures_origin_and_doubts(design, command, tmp_path):
    loads = ld.Loads(heating=spike(), origin=[("file", "meter.csv")])
    design.replace(loads=loads).write(tmp_path / "house.toml")
    code, out, _ = command("check", tmp_path / "house.toml")
    assert code == 0
    text = " ".join(out.split())
    for part in (
        "largest hour 60 kW (205 kBtu/h) on 5 January from 04:00",
        "file meter.csv",
        "look at heating",
    ):
        assert part in text
    assert "far too small, or the unit of one of them is wrong" in text


def test_the_answer_prints_the_distance(design, command, tmp_path):
    weather = ld.Weather.sample("mild maritime")
    design.replace(loads=ld.Loads.from_total(weather, heating_total=6000.0)).write(tmp_path / "house.toml")
    code, out, _ = command("run", tmp_path / "house.toml", "--years", "1")
    assert code == 0
    assert "Loads shaped from total: about " in out
    code, out, _ = command("check", tmp_path / "house.toml")
    assert "shaped from" in out and "182 %" in out
