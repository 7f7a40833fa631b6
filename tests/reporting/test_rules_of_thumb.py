"""Rules of thumb: values, departures, and reasons that follow from the design."""

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.basics.both_units import both
from loopdrift.basics.words import percent
from loopdrift.model.key_figures import full_load_hours, undisturbed
from loopdrift.model.moment import moment
from loopdrift.reporting.overview import overview
from loopdrift.reporting.report import page
from loopdrift.reporting.rules_of_thumb import rules_of_thumb
from loopdrift.reporting.summary import summary

TON = 12_000.0 * 1055.05585262 / 3600.0  # 12,000 Btu/h in W

AQUIFER = ld.Aquifer(temperature=10.0, thickness=12.0, transmissivity=3e-3, storativity=3e-4)
WELL = ld.Well(
    aquifer=AQUIFER,
    diameter=0.3,
    sustained_yield=5.0,
    lift=10.0,
    pump_efficiency=0.5,
    flow=0.25,
    effectiveness=0.8,
    lowest_discharge=2.0,
)


def trenches(**changes):
    given = {
        "length": 120.0,
        "columns": 2,
        "depth": 1.5,
        "gap": 0.6,
        "trenches": 4,
        "spacing": 4.0,
        "surface": ld.SurfaceWave(amplitude=12.0, coldest_day=31.0),
    }
    return ld.TrenchField.rows(ld.Pipe.sdr(11, outer_diameter=0.032), **{**given, **changes})


def pond(**changes):
    given = {"area": 3000.0, "depth": 2.0, "bank_slope": 1.0, "circuits": 4, "length": 100.0}
    pipe, weather = ld.Pipe.sdr(11, outer_diameter=0.032), ld.Weather.sample("cold continental")
    return ld.Pond.basin(pipe=pipe, weather=weather, **{**given, **changes})


def ruled(design, word, run=None):
    """Return the one rule whose name has a word."""
    (rule,) = [rule for rule in rules_of_thumb(design, run) if word in rule.what]
    return rule


@pytest.fixture(scope="module")
def tons(design):
    return (8000.0 + 200.0 * 10.0) / TON


def test_bores_per_ton(design, run, tons):
    rule = ruled(design, "Bore", run)
    assert_allclose(rule.value, 200.0 / tons)
    assert rule.departure == 0.0
    assert str(rule).endswith(
        "70 m (231 ft). Typical range (common practice, no source): 45 to 90 m (150 to 300 ft); within it."
    )


@pytest.mark.parametrize(("depth", "sign"), [(55.0, -1.0), (150.0, 1.0)])
def test_a_departure_is_explained_by_the_run(design, tons, depth, sign):
    field = ld.BoreField.grid(
        ld.Bore(depth=depth, buried_depth=2.0, diameter=0.15, resistance=0.1), columns=2, rows=1, spacing=6.0
    )
    run = design.replace(ground_side=field, flow=1.0).run(2)
    rule = ruled(run.design, "Bore", run)
    end = 45.0 if sign < 0.0 else 90.0
    assert_allclose(rule.departure, 2.0 * depth / tons - end)
    assert f"or {percent(abs(rule.departure) / end)} {'below' if sign < 0.0 else 'above'} it" in str(rule)

    year, hour = run.hour_of("coldest")
    row = run.hourly.loc[(year, hour)]
    mean = 0.5 * (row["entering_fluid_degC"] + row["leaving_fluid_degC"])
    drop = 10.0 - mean
    wall = run.hourly["wall_degC"]
    parts = [10.0 - wall.loc[year].mean(), wall.loc[year].mean() - row["wall_degC"], row["wall_degC"] - mean]
    assert_allclose(sum(parts), drop)
    half = 0.5 * (row["entering_fluid_degC"] - row["leaving_fluid_degC"])
    allowed = 10.0 - max(-10.0 + 3.0 + half, -2.0 - half)
    loads = design.loads
    expected = [
        f"{loads.heating.sum() / loads.heating.max():,.0f} full-load hours",
        "2 W/(m K)",
        moment(design, year, hour),
        f"extracts {row['heat_extracted_W'] / (2.0 * depth):.0f} W/m",
        f"with the fluid {both(drop, 'K', '.1f')} below",
        f"{both(parts[0], 'K', '.1f')} in the mean of that year",
        f"{both(parts[1], 'K', '.1f')} from the loads",
        f"{both(parts[2], 'K', '.1f')} between the fluid and the bore wall",
        f"With {both(end, 'm', 'g')} per ton, the difference would be {drop * rule.value / end:.1f} K",
        f"the limits allow {allowed:.1f} K",
    ]
    for words in expected:
        assert words in rule.why


def test_a_school_that_only_cools_is_measured_by_its_cooling(design):
    """The rule is per ton of cooling: cooling capacity, full-load hours of cooling, margin to the maximum."""
    cold = np.zeros(8760)
    cold[4000:5000] = 9000.0
    school = design.replace(
        loads=ld.Loads(heating=np.zeros(8760), cooling=cold), limits=ld.Limits(entering_fluid_max=35.0)
    )
    at = school.heat_pump.performance([undisturbed(school)]).iloc[0]
    rule = ruled(school, "Bore")
    assert "of cooling capacity" in rule.what
    assert_allclose(rule.value, 200.0 * TON / at["cooling_capacity_W"], rtol=1e-4)
    twice = school.ground_side.replace(bore=school.ground_side.bores[0].replace(depth=300.0))
    why = ruled(school.replace(ground_side=twice), "Bore").why
    assert "1,000 full-load hours of cooling" in why
    assert "the fluid may rise 25.0 K (45.0 degF) above" in why
    heater = design.replace(loads=ld.Loads(heating=2.0 * cold, cooling=cold))
    assert "of heating capacity" in ruled(heater, "Bore").what


def test_full_load_hours_are_those_of_one_year(design):
    """A second, warmer year of loads makes the mean of both, over the same peak."""
    year = np.where(np.arange(8760) < 2000, 6000.0, 0.0)
    both_years = design.replace(loads=ld.Loads(heating=np.concatenate([year, 0.5 * year])))
    assert both_years.loads.years == 2
    assert_allclose(full_load_hours(design.replace(loads=ld.Loads(heating=year))), 2000.0)
    assert_allclose(full_load_hours(both_years), 1500.0)


def test_without_a_run_the_design_tells(design):
    field = design.ground_side.replace(bore=design.ground_side.bores[0].replace(depth=200.0))
    why = ruled(design.replace(ground_side=field), "Bore").why
    assert "the fluid may fall 12.0 K (21.6 degF) below the undisturbed ground" in why


def test_a_warm_hour_decides_where_cooling_does(design):
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    loads = ld.Loads(heating=np.clip(500.0 * season, 0.0, None), cooling=np.clip(-9000.0 * season, 0.0, None))
    field = design.ground_side.replace(bore=design.ground_side.bores[0].replace(depth=190.0))
    run = design.replace(loads=loads, ground_side=field).run(1)
    why = ruled(run.design, "Bore", run).why
    assert "the loop rejects" in why and "degF) above the undisturbed ground" in why
    assert moment(design, *run.hour_of("hottest")) in why


def test_without_a_capacity_a_ton_is_of_the_load_and_without_a_load_there_is_none(design):
    heat_pump = ld.HeatPump.from_curves(cooling_cop=[4.0])
    cooled = design.replace(heat_pump=heat_pump, loads=ld.Loads(cooling=4000.0))
    rule = ruled(cooled, "Bore")
    assert "of cooling load, 4.0 kW" in rule.what
    assert_allclose(rule.value, 200.0 * TON / 4000.0, rtol=1e-4)
    idle = cooled.replace(loads=ld.Loads(cooling=0.0))
    assert [rule.what for rule in rules_of_thumb(idle)] == ["Ground at 1.8 m (5.9 ft), mean of the year"]


def test_ground_that_is_too_cold(design):
    cold = design.replace(ground=design.ground.replace(temperature=5.0, gradient=0.02))
    rule = ruled(cold, "Ground at 1.8 m")
    assert_allclose([rule.value, rule.departure], [5.036, -1.964])
    assert "2.0 K (3.5 degF) below it. Along bores of 100 m (328 ft), the mean is 6.0 degC" in str(rule)


def test_trenches(design):
    run = design.replace(ground_side=trenches()).run(1)
    per_ton = ruled(run.design, "Trench per ton", run)
    capacity = 8000.0 + 200.0 * 10.0
    assert_allclose(per_ton.value, 480.0 / (capacity / TON))
    numbers = [float(each) for each in re.findall(r"(-?[\d.]+) K \([^)]*\) (?:in|from|between)", per_ton.why)]
    (drop,) = re.findall(r"with the fluid ([\d.]+) K \([^)]*\) below", per_ton.why)
    assert len(numbers) == 4
    assert_allclose(sum(numbers), float(drop), atol=0.21)

    depth = ruled(run.design, "Depth of the trenches", run)
    assert_allclose(depth.departure, -0.3)
    # The wave's amplitude falls by exp(-depth / sqrt(diffusivity x year / pi)).
    damping = np.sqrt(1e-6 * 8760 * 3600 / np.pi)
    swings = [12.0 * np.exp(-each / damping) for each in (1.5, 1.8, 2.4)]
    assert f"temperature is {swings[0]:.1f} K" in depth.why
    assert f"{both(swings[1], 'K', '.1f')} at 1.8 m (5.9 ft)" in depth.why
    assert f"{both(swings[2], 'K', '.1f')} at 2.4 m (7.9 ft)" in depth.why

    coldest = ruled(run.design, "Coldest ground", run)
    assert_allclose(coldest.value, 10.0 - swings[1], atol=1e-3)
    assert_allclose(coldest.departure, coldest.value - 7.0)
    assert "the amplitude of 12.0 K (21.6 degF) at the surface" in coldest.why
    assert f"{both(swings[1], 'K', '.1f')} remains at 1.8 m" in coldest.why
    assert ruled(run.design, "Warmest ground", run).departure == 0.0


def test_an_upright_coil_is_as_deep_as_its_trench(design):
    coil = ld.Coil(diameter=1.0, pitch=0.5, depth=1.6, upright=True)
    field = trenches().replace(pipes=None, coil=coil)
    assert_allclose(ruled(design.replace(ground_side=field), "Depth of the trenches").value, 2.1)


def test_a_small_and_shallow_pond(design):
    run = design.replace(ground_side=pond()).run(1)
    area, depth = (ruled(run.design, word, run) for word in ("Area", "Depth"))
    assert_allclose([area.departure, depth.departure], [-1000.0, -1.0])
    heat = run.hourly["heat_extracted_W"].to_numpy()
    most = np.abs(np.convolve(heat, np.ones(720), "valid")).max() / 1000.0
    assert f"exchanges {most:,.0f} kWh" in area.why
    volume = run.design.ground_side.volume
    assert f"{both(volume, 'm3')} by {most * 3.6e6 / (volume * 4.19e6):.1f} K" in area.why
    ice = run.hourly["ice_m"].max()
    assert (
        f"Ice reaches {both(ice, 'm', '.2f')} and leaves {both(2.0 - ice, 'm', '.2f')} of water" in depth.why
    )
    big = design.replace(ground_side=pond(area=5000.0, depth=4.0))
    assert [rule.departure for rule in rules_of_thumb(big)] == [0.0, 0.0]


def test_a_well_s_flow(design):
    run = design.replace(ground_side=WELL).run(1)
    rule = ruled(run.design, "Groundwater", run)
    assert_allclose(rule.value, 0.25 / (10000.0 / TON))
    cooled = (run.hourly["wall_degC"] - run.hourly["discharge_degC"]).abs().max()
    assert f"by up to {cooled:.1f} K" in rule.why
    assert f"it would be {cooled * rule.value / 0.095:.1f} K" in rule.why


def test_summary_report_and_check_tell_them(design, run):
    (said,) = {str(rule) for rule in rules_of_thumb(design, run) if rule.what.startswith("Bore")}
    assert said in " ".join(summary(run).split())
    assert said in " ".join(overview(design).split())
    assert "<h3>Rules of thumb</h3>" in page(run) and "Typical range" in page(run)
