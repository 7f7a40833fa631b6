"""Properties that every run has, whatever the design."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld

WATER_AND_GLYCOL = ld.Fluid.constant(
    density=1030.0, heat_capacity=3800.0, conductivity=0.45, viscosity=0.004, freezing_point=-40.0
)
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0)
HEAT_PUMP = ld.HeatPump.from_curves(heating_cop=[3.6, 0.08], cooling_cop=[7.0, -0.09])
PIPES = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
HOURS = np.arange(8760)


def seasonal_loads(heating: float = 6_000.0, cooling: float = 2_000.0) -> ld.Loads:
    season = np.cos(2 * np.pi * HOURS / 8760)
    return ld.Loads(heating=heating * np.clip(season, 0, None), cooling=cooling * np.clip(-season, 0, None))


def bore(depth: float = 90.0, *, built: bool = False) -> ld.Bore:
    if built:
        return ld.Bore(depth=depth, buried_depth=1.5, diameter=0.15, grout_conductivity=1.5, pipes=PIPES)
    return ld.Bore(depth=depth, buried_depth=1.5, diameter=0.15, resistance=0.1)


def design(
    positions: object = ((0.0, 0.0), (6.0, 0.0)), *, one: ld.Bore | None = None, **changes: object
) -> ld.Design:
    field = ld.BoreField(one or bore(), positions=positions)
    parts = {
        "ground": GROUND,
        "ground_side": field,
        "fluid": WATER_AND_GLYCOL,
        "flow": 0.35 * field.count,
        "heat_pump": HEAT_PUMP,
        "loads": seasonal_loads(),
    }
    return ld.Design(**{**parts, **changes})


@pytest.mark.parametrize("built", [False, True])
def test_building_heat_is_ground_heat_and_electricity_each_hour(built: bool) -> None:
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[3.6, 0.08],
        heating_capacity=[5_000.0, 60.0],
        cooling_cop=[7.0, -0.09],
        cooling_capacity=[4_000.0],
        degradation_coefficient=0.2,
    )
    run = design(one=bore(built=built), heat_pump=heat_pump, pump_power=0.0).run(2)
    hourly, loads = run.hourly, seasonal_loads()
    building = np.tile(loads.heating - loads.cooling, 2) - hourly["backup_W"] + hourly["unmet_cooling_W"]
    assert hourly["backup_W"].max() > 0.0
    assert_allclose(
        hourly["heat_extracted_W"] + hourly["electricity_W"] - hourly["backup_W"],
        building,
        rtol=1e-9,
        atol=1e-9 * 6_000.0,
    )
    difference = hourly["entering_fluid_degC"] - hourly["leaving_fluid_degC"]
    assert_allclose(0.7 * 3800.0 * difference, hourly["heat_extracted_W"], rtol=1e-9, atol=1e-6)


def test_recharge_is_heat_that_the_ground_gets() -> None:
    loads = seasonal_loads()
    recharge = np.where(HOURS % 24 < 8, 1_500.0, 0.0)
    charged = ld.Loads(heating=loads.heating, cooling=loads.cooling, recharge=recharge)
    flat = ld.HeatPump.from_curves(heating_cop=[4.0], cooling_cop=[5.0])
    plain, run = (design(heat_pump=flat, loads=given).run(3) for given in (loads, charged))
    # With COPs that don't depend on temperature the recharge is all that differs, a load of its own.
    difference = run.hourly["heat_extracted_W"] - plain.hourly["heat_extracted_W"]
    assert_allclose(difference, np.tile(-recharge, 3), rtol=1e-9, atol=1e-6)
    assert_allclose(run.hourly["electricity_W"], plain.hourly["electricity_W"], rtol=1e-9, atol=1e-6)
    alone = design(heat_pump=flat, loads=ld.Loads(recharge=recharge)).run(3)
    warmed = run.hourly["entering_fluid_degC"] - plain.hourly["entering_fluid_degC"]
    assert_allclose(alone.hourly["entering_fluid_degC"] - 11.0, warmed, rtol=0, atol=1e-5)
    assert alone.yearly["hours_running"].sum() == 0


@pytest.mark.parametrize("staged", [False, True])
def test_one_unit_heats_and_cools_in_turns(staged: bool) -> None:
    """12 kW of each in every hour: one compressor has 60 minutes for both."""
    curves = {
        "heating_cop": [3.6, 0.08],
        "heating_capacity": [12e3, 150.0],
        "cooling_cop": [6.0, -0.05],
        "cooling_capacity": [13e3, -50.0],
    }
    low = {
        "heating_low_cop": [4.0, 0.08],
        "heating_low_capacity": [6e3, 75.0],
        "cooling_low_cop": [6.5, -0.05],
        "cooling_low_capacity": [8e3, -30.0],
    }
    unit = ld.HeatPump.from_curves(**curves, **(low if staged else {}))
    loads = ld.Loads(heating=np.full(8760, 12e3), cooling=np.full(8760, 12e3))
    run = design(heat_pump=unit, loads=loads).run(1)
    hourly, yearly = run.hourly, run.yearly
    heat, cold = 12e3 - hourly["backup_W"], 12e3 - hourly["unmet_cooling_W"]
    entering = hourly["entering_fluid_degC"]
    time = heat / (12e3 + 150.0 * entering) + cold / (13e3 - 50.0 * entering)
    assert_allclose(time, 1.0, rtol=1e-5)
    made = hourly["heat_extracted_W"] + hourly["electricity_W"] - hourly["backup_W"]
    assert_allclose(made, heat - cold, rtol=1e-9, atol=1e-5)
    assert yearly["hours_short_of_capacity"].iloc[0] == 8760
    assert yearly["backup_kWh"].iloc[0] > 40e3 and yearly["unmet_cooling_kWh"].iloc[0] > 40e3
    # What fits is delivered in full.
    both = ld.Loads(heating=np.full(8760, 5e3), cooling=np.full(8760, 5e3))
    fits = design(heat_pump=unit, loads=both).run(1)
    assert (fits.yearly[["backup_kWh", "unmet_cooling_kWh", "hours_short_of_capacity"]] == 0.0).all(axis=None)


def test_stages_speeds_and_the_pump_keep_the_balance() -> None:
    one = ld.HeatPump.from_curves(
        heating_cop=[3.6, 0.08],
        heating_capacity=[6_500.0, 60.0],
        cooling_cop=[7.0, -0.09],
        cooling_capacity=[4_000.0],
        degradation_coefficient=0.2,
    )
    curves = {"heating_low_cop": [4.2, 0.08], "heating_low_capacity": [3_000.0, 30.0]}
    low = ld.HeatPump.from_curves(heating_cop=[4.0], heating_capacity=[6_500.0, 60.0], **curves).heating_low
    two = one.replace(heating_low=low)
    electricity = {}
    for name, heat_pump in (("one", one), ("two", two), ("variable", two.replace(variable_speed=True))):
        plain = design(heat_pump=heat_pump).run(2)
        hourly, loads = plain.hourly, seasonal_loads()
        building = np.tile(loads.heating - loads.cooling, 2) - hourly["backup_W"] + hourly["unmet_cooling_W"]
        made = hourly["heat_extracted_W"] + hourly["electricity_W"] - hourly["backup_W"]
        assert_allclose(made, building, rtol=1e-9, atol=1e-5)
        electricity[name] = plain.yearly["electricity_kWh"].sum()
        always = design(heat_pump=heat_pump, pump_power=100.0).run(2)
        stops = design(heat_pump=heat_pump, pump_power=100.0, pump_stops=True).run(2)
        pump = stops.hourly["electricity_W"] - hourly["electricity_W"]
        all_hour = always.hourly["electricity_W"] - hourly["electricity_W"]
        assert np.all((pump > -1e-9) & (pump < all_hour + 1e-9))
        assert 0.2 < pump.sum() / all_hour.sum() < 0.9
    assert electricity["two"] < 0.97 * electricity["one"]
    assert electricity["variable"] < electricity["two"]


def test_a_locked_out_heat_pump_leaves_the_house_to_back_up_heat() -> None:
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[3.6, 0.08], heating_capacity=[9_000.0, 90.0], cooling_cop=[7.0], heating_lock_out=4.0
    )
    run = design(heat_pump=heat_pump).run(2)
    free = design(heat_pump=heat_pump.replace(heating_lock_out=None)).run(2)
    heating = run.hourly["heat_extracted_W"] > 1.0
    assert free.hourly["entering_fluid_degC"].min() < 3.0
    assert run.hourly.loc[heating, "entering_fluid_degC"].min() > 4.0
    assert run.hourly["backup_W"].sum() > 0.0
    assert free.hourly["backup_W"].sum() == 0.0


def test_yearly_sums_are_those_of_the_hours() -> None:
    run = design(pump_power=80.0).run(2)
    second = run.hourly.loc[2]
    year = run.yearly.loc[2]
    heat = second["heat_extracted_W"]
    assert_allclose(year["heat_extracted_kWh"], heat[heat > 0].sum() / 1e3, rtol=1e-12)
    assert_allclose(year["heat_rejected_kWh"], -heat[heat < 0].sum() / 1e3, rtol=1e-12)
    assert_allclose(year["electricity_kWh"], second["electricity_W"].sum() / 1e3, rtol=1e-12)
    assert_allclose(year["entering_fluid_mean_degC"], second["entering_fluid_degC"].mean(), rtol=1e-12)
    delivered = year["heating_kWh"] + year["cooling_kWh"]
    assert_allclose(year["seasonal_cop"], delivered / year["electricity_kWh"], rtol=1e-12)
    assert_allclose(year["drift_min_K"], np.diff(run.yearly["entering_fluid_min_degC"])[0], rtol=1e-12)


def test_a_field_without_load_stays_undisturbed() -> None:
    run = design(loads=ld.Loads()).run(1)
    assert_array_equal(run.hourly["entering_fluid_degC"], 11.0)
    assert_array_equal(run.hourly["electricity_W"], 0.0)


@pytest.mark.parametrize("built", [False, True])
def test_a_field_at_rest_returns_to_undisturbed(built: bool) -> None:
    heating = np.zeros(30 * 8760)
    heating[:8760] = seasonal_loads().heating
    entering = (
        design(one=bore(built=built), loads=ld.Loads(heating=heating))
        .run(30)
        .yearly["entering_fluid_mean_degC"]
    )
    below = 11.0 - entering
    assert below[1] > 1.0
    assert (np.diff(below[1:]) < 0.0).all(), "every year of rest brings the ground closer to what it was"
    # One year of heat leaves a line source about as the heat over the time since; 30 years leave a few
    # hundredths.
    assert_allclose(below[30], 0.0, atol=0.05 * below[1])


def test_twice_the_load_on_twice_the_bores_far_apart_is_the_same() -> None:
    one = design(((0.0, 0.0),), flow=0.35, loads=seasonal_loads(3_000.0, 500.0)).run(5).hourly
    two = design(((0.0, 0.0), (5_000.0, 0.0)), flow=0.7, loads=seasonal_loads(6_000.0, 1_000.0)).run(5).hourly
    # Within the accuracy of an hourly run: bores far apart are summed on a lattice in single precision.
    assert_allclose(two["entering_fluid_degC"], one["entering_fluid_degC"], atol=1e-5)


def test_the_order_of_bores_makes_no_difference() -> None:
    places = np.array([[0.0, 0.0], [5.0, 1.0], [11.0, -2.0], [3.0, 8.0]])
    shuffled = places[[2, 0, 3, 1]]
    first, second = (design(p).run(2).hourly["entering_fluid_degC"] for p in (places, shuffled))
    assert_allclose(second, first, rtol=0.0, atol=1e-9)


@settings(max_examples=10, deadline=None)
@given(
    depth=st.floats(40.0, 150.0),
    longer=st.floats(1.0, 60.0),
    load=st.floats(500.0, 8_000.0),
    heats=st.booleans(),
)
def test_longer_bores_never_make_the_worst_hour_worse(
    depth: float, longer: float, load: float, heats: bool
) -> None:
    # With both heating and cooling a store that is smaller can help the other season: only one of them has a
    # worst hour.
    loads = seasonal_loads(load, 0.0) if heats else seasonal_loads(0.0, load)
    short, long = (design(one=bore(d), loads=loads).run(3).yearly for d in (depth, depth + longer))
    if heats:
        assert long["entering_fluid_min_degC"].min() > short["entering_fluid_min_degC"].min()
    else:
        assert long["entering_fluid_max_degC"].max() < short["entering_fluid_max_degC"].max()


def test_the_year_may_begin_in_any_month() -> None:
    january, october = design().run(1).hourly, design(start_month=10).run(1).hourly
    # Hours of an idle autumn day tell where the run began: 1 October is hour 6552 of the calendar.
    assert_allclose(
        october["heat_extracted_W"].abs().to_numpy() > 0.0,
        np.roll(january["heat_extracted_W"].abs().to_numpy() > 0.0, -6552),
    )


def test_loads_of_several_years_are_taken_in_turn() -> None:
    heating = np.concatenate([np.full(8760, 4_000.0), np.full(8760, 1_000.0)])
    yearly = design(loads=ld.Loads(heating=heating)).run(4).yearly["heating_kWh"]
    assert_allclose(yearly, [35_040.0, 8_760.0, 35_040.0, 8_760.0])


def test_heat_capacity_inside_the_bore_softens_the_first_hours_only() -> None:
    loads = ld.Loads(heating=np.where(HOURS < 4_000, 0.0, 5_000.0))
    one = bore(built=True)
    soft = design(one=one, loads=loads).run(1).hourly["entering_fluid_degC"].to_numpy()
    hard = (
        design(one=one.replace(heat_capacity_inside=False), loads=loads)
        .run(1)
        .hourly["entering_fluid_degC"]
        .to_numpy()
    )
    assert soft[4_000] - hard[4_000] > 0.5
    assert_allclose(soft[4_500:], hard[4_500:], atol=0.02)


def test_the_hourly_table_holds_the_engines_own_arrays() -> None:
    run = design().run(1)
    assert np.shares_memory(run.hourly["entering_fluid_degC"].to_numpy(), run._hourly["entering_fluid_degC"])


def test_any_number_of_threads_gives_the_same_bits(printed_by_threads) -> None:
    script = (
        "import hashlib; from test_run import design; import numpy as np\n"
        "places = np.random.default_rng(4).uniform(0, 80, (25, 2)).round()\n"
        "run = design(places, flow=3.0).run(3)\n"
        "print(hashlib.sha256(run.hourly.to_numpy().tobytes()).hexdigest())"
    )
    assert len(printed_by_threads(script)) == 1
