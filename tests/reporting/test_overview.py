"""The overview of a design, without a run."""

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.basics.both_units import both
from loopdrift.reporting.overview import overview


def words(design):
    return " ".join(overview(design).split())


def test_bores_of_unequal_depth(design):
    bore = design.ground_side.bores[0]
    field = ld.BoreField([bore, bore.replace(depth=80.0)], positions=[[0, 0], [6, 0]])
    ground = design.ground.replace(gradient=0.03)
    # (100 m x (2 + 50) m + 80 m x (2 + 40) m) / 180 m = 47.56 m
    assert words(design.replace(ground_side=field, ground=ground)).startswith(
        "bores 2 bores of 80 m (262 ft) to 100 m (328 ft), 180 m (591 ft) in total; ground conductivity "
        "2 W/(m K) (1.2 Btu/(h ft degF)), undisturbed mean along the bores 11.4 degC"
    )


def test_flow_in_a_coaxial_bore(design):
    inner = ld.Pipe(outer_diameter=0.04, wall_thickness=0.0037)
    outer = ld.Pipe(outer_diameter=0.11, wall_thickness=0.01)
    pipes = ld.Coaxial(inner=inner, outer=outer)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, pipes=pipes, grout_conductivity=1.5)
    field = design.ground_side.replace(bore=bore)
    text = words(design.replace(ground_side=field, limits=ld.Limits()))
    # Reynolds number 4 x mass flow / (pi x wetted perimeter / pi x viscosity)
    gap, inside = 4 * 0.25 / (np.pi * (0.04 + 0.09) * 1e-3), 4 * 0.25 / (np.pi * (0.04 - 2 * 0.0037) * 1e-3)
    assert (
        f"in the annulus transitional flow, Reynolds number {gap:,.0f}; in the inner pipe turbulent, "
        f"{inside:,.0f}" in text
    )
    assert text.count(" effective") == 1, "without a lower limit there is one temperature of interest"


def test_what_isnt_given_isnt_said(design):
    text = words(design.replace(limits=ld.Limits()))
    assert "minimum entering fluid" not in text
    assert "heat pump one stage, given by performance curves" in text


def test_what_stands_between_building_and_loop(design):
    """Of 10 kW for 8760 hours fans carry 2 of 102 parts; the tank makes what is drawn and lost."""
    unit = ld.HeatPump.from_curves(
        heating_cop=[4.0],
        heating_capacity=[20e3],
        heating_low_cop=[4.5],
        heating_low_capacity=[9e3],
        heating_lock_out=-6.0,
    )
    text = words(
        design.replace(
            heat_pump=unit,
            distribution=ld.AirDistribution(fan_share=0.02),
            hot_water=ld.HotWater(daily_volume="160 L", volume="300 L", heater="element"),
            loads=ld.Loads(heating=10e3, recharge=100.0),
        )
    )
    assert "air enters the heat pump at 20.0 degC (68.0 degF) in heating" in text
    assert f"its fans use {10 * 8760 * 0.02 / 1.02:,.0f} kWh of electricity a year" in text
    drawn = 365 * 0.16 * 988.0 * 4181.0 * (42.0 - 10.0) / 3.6e6
    assert f"160 L (42.3 gal) a day at 42.0 degC (107.6 degF), {both(drawn, 'kWh')} a year" in text
    assert "from a tank of 300 L (79.3 gal), heated 100 % by the electric element" in text
    assert "two stages, given by performance curves; no heating with entering fluid below -6.0 degC" in text
    assert "recharge of 876 kWh (2.99 million Btu) a year" in text


def test_loads_by_month(design):
    """For two years, the mean heat and the highest peak; loads that are zero have no column."""
    loads = ld.Loads(heating=np.repeat([1000.0, 3000.0], 8760))
    lines = overview(design.replace(loads=loads)).splitlines()
    assert lines[-15].split() == ["month", "heating", "peak"]
    assert lines[-14].split() == ["[kWh]", "[kW]"]
    assert lines[-12].split() == ["February", "1,344", "3.0"]
    assert lines[-1].split() == ["year", "17,520", "3.0"]


@pytest.mark.parametrize(
    ("heat_pump", "loads", "said"),
    [
        # 200 m / (4 kW / 3.517 kW)
        (
            {"heating_cop": [4.0]},
            {"heating": 4000.0},
            "Bore per ton (3.517 kW) of heating load, 4.0 kW (1.1 tons): 176 m (577 ft)",
        ),
        (
            {"cooling_cop": [4.0]},
            {"cooling": 4000.0},
            "Ground at 1.8 m (5.9 ft), mean of the year: 10.0 degC",
        ),
        (
            {"heating_cop": [4.0], "heating_capacity": [5000.0], "heating_range": (-5.0, 5.0)},
            {"heating": 2000.0, "hot_water": 2000.0},
            "Bore per ton (3.517 kW) of heating load, 4.0 kW (1.1 tons): 176 m (577 ft)",
        ),
    ],
)
def test_rule_of_thumb(design, heat_pump, loads, said):
    changed = design.replace(heat_pump=ld.HeatPump.from_curves(**heat_pump), loads=ld.Loads(**loads))
    assert said in words(changed)
    assert "Typical range (common practice, no source): 45 to 90 m (150 to 300 ft)" in words(changed)


def test_the_page_is_narrow(design):
    assert max(map(len, overview(design).splitlines())) <= 100
