"""Designs stepped hour by hour, with demands of one's own."""

import json
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld

DEMO = files("loopdrift") / "demo"
COLUMNS = {
    "entering_fluid": "entering_fluid_degC",
    "leaving_fluid": "leaving_fluid_degC",
    "heat_extracted": "heat_extracted_W",
    "electricity": "electricity_W",
    "backup": "backup_W",
    "unmet_cooling": "unmet_cooling_W",
}


def through(simulation, hours):
    """Step through the design's own loads; return the fields of the hours as arrays."""
    taken = [simulation.step(**simulation.demand) for _ in range(hours)]
    return ld.SimulatedHour(*np.reshape(taken, (-1, 8)).T)


def water_in_floors():
    """Floor heating whose water follows the weather, a tank with a desuperheater, and little capacity."""
    design = ld.Design.read(DEMO / "design.toml")
    loads = ld.Loads(heating=design.loads.heating, cooling=design.loads.cooling)
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05],
        cooling_cop=[5.5],
        heating_capacity=[6000.0, 100.0],
        cooling_capacity=[3000.0],
        heating_entering_load=ld.EnteringLoadCorrection(reference=30.0, between=(15.0, 60.0), cop=[-0.02]),
    )
    floors = ld.WaterDistribution(
        ld.Weather.sample("hot humid"),
        return_water=40.0,
        mild_return_water=25.0,
        cold_day=0.0,
        pump_share=0.02,
    )
    tank = ld.HotWater(
        daily_volume=0.2, volume=0.3, desuperheater_heating_share=0.1, desuperheater_cooling_share=0.1
    )
    return design.replace(
        loads=loads, heat_pump=heat_pump, distribution=floors, hot_water=tank, pump_stops=True, start_month=10
    )


@pytest.mark.parametrize(
    "kind", ["design.toml", "trenches.toml", "pond.toml", "well.toml", "measured bores", "floors and tank"]
)
def test_stepping_through_the_loads_gives_the_run(design, kind):
    if kind == "floors and tank":
        design = water_in_floors()
    elif kind != "measured bores":
        design = ld.Design.read(DEMO / kind)
    run = design.run(2)
    stepped = through(design.simulation(2), 2 * 8760)
    # Both have errors: the run that of its plans, a pond's step that of its film. A well's level is computed
    # here with exponentials, to a millionth.
    kelvins = run.error.iteration + run.error.film + 1e-6
    for field, column in COLUMNS.items():
        found, expected = getattr(stepped, field), run.hourly[column].to_numpy()
        # Powers change by less than a tenth per kelvin.
        atol = kelvins * (1.0 if column.endswith("degC") else 0.1 * np.abs(expected).max() + 1.0)
        assert_allclose(found, expected, atol=atol, rtol=0, err_msg=field)
    assert stepped.heating.max() > 0.0 and np.ptp(stepped.entering_fluid) > 2.0


def test_curves_without_bends_give_the_run_to_rounding(design):
    smooth = ld.HeatPump.from_curves(heating_cop=[4.0, 0.05], cooling_cop=[6.0, -0.05])
    bare = design.replace(heat_pump=smooth)
    stepped, run = through(bare.simulation(3), 3 * 8760), bare.run(3)
    assert_allclose(stepped.entering_fluid, run.hourly["entering_fluid_degC"], atol=1e-9, rtol=0)
    assert_allclose(stepped.heat_extracted, run.hourly["heat_extracted_W"], atol=1e-6, rtol=0)


def test_every_hour_is_in_balance(design):
    simulation = design.simulation(1)
    for hour in range(200):
        demand = {"heating": 3e4, "cooling": 2e3 * (hour % 3), "hot_water": 500.0, "recharge": 1e3}
        step = simulation.step(**demand, other_electricity=70.0)
        own = step.electricity - step.backup - design.pump_power - 70.0
        assert_allclose(step.heating - step.cooling - own - 1e3, step.heat_extracted, rtol=1e-9)
        delivered = [step.heating + step.backup, step.cooling + step.unmet_cooling]
        assert_allclose(delivered, [3.05e4, demand["cooling"]])


def test_a_heat_pump_beyond_its_capacity_leaves_the_rest():
    design = water_in_floors()
    step = design.simulation(1).step(heating=2e4)
    assert 5e3 < step.heating < 9e3
    assert_allclose(step.heating + step.backup, 2e4)
    assert step.electricity > step.backup
    assert 0.0 < design.simulation(1).step(cooling=9e3).unmet_cooling < 9e3


def test_entering_load_temperatures_are_those_of_the_design_unless_given():
    simulation = water_in_floors().simulation(1)
    series = simulation.design.demand["heating_entering_load_temperature"]
    first = float(series[np.cumsum([31, 28, 31, 30, 31, 30, 31, 31, 30])[-1] * 24])  # 1 October
    usual, given = (
        simulation.outlook(heating=3e3, heating_entering_load_temperature=side) for side in (None, first)
    )
    assert usual == given
    hotter = simulation.outlook(heating=3e3, heating_entering_load_temperature=first + 15.0)
    assert hotter.electricity > usual.electricity


@pytest.mark.parametrize("kind", ["design.toml", "pond.toml", "well.toml"])
def test_a_copy_goes_its_own_way(kind):
    simulation = ld.Design.read(DEMO / kind).simulation(1)
    through(simulation, 21)
    copies = [simulation.copy() for _ in range(2)]
    apart = copies[0].step(heating=9e3)
    assert (simulation.hour, copies[0].hour, copies[1].hour) == (21, 22, 21)
    same = [each.step(heating=2e3) for each in (simulation, copies[1])]
    assert same[0] == same[1] != apart
    assert copies[0].step(heating=2e3) != simulation.step(heating=2e3)


def state_of(simulation):
    return simulation.hour, simulation._engine.state()


@pytest.mark.parametrize("kind", ["design.toml", "trenches.toml", "pond.toml", "well.toml"])
@settings(max_examples=15, deadline=None)
@given(
    hours=st.integers(0, 40),
    heating=st.floats(0.0, 2e4),
    cooling=st.floats(0.0, 2e4),
    recharge=st.floats(-5e3, 5e3),
)
def test_an_outlook_is_the_next_step_and_changes_nothing(prepared, kind, hours, heating, cooling, recharge):
    simulation = prepared[kind].copy()
    through(simulation, hours)
    before = state_of(simulation)
    demand = {"heating": heating, "cooling": cooling, "recharge": recharge}
    try:
        ahead = simulation.outlook(**demand)
    except ld.FluidFreezes as error:
        with pytest.raises(ld.FluidFreezes, match="year 1, hour") as again:
            simulation.step(**demand)
        assert again.value.args == error.args and error.hour == hours
        assert state_of(simulation) == before
        return
    assert state_of(simulation) == before
    assert simulation.step(**demand) == ahead


@pytest.fixture(scope="module")
def prepared():
    kinds = ["design.toml", "trenches.toml", "pond.toml", "well.toml"]
    return {kind: ld.Design.read(DEMO / kind).simulation(1) for kind in kinds}


@pytest.mark.parametrize("kind", ["design.toml", "trenches.toml", "pond.toml", "well.toml"])
@pytest.mark.parametrize("hours", [0, 8, 3001])
def test_a_saved_state_continues_to_the_bit(tmp_path, prepared, kind, hours):
    simulation = prepared[kind].copy()
    through(simulation, hours)
    simulation.save(tmp_path / "state.json")
    loaded = ld.Simulation.load(tmp_path / "state.json", simulation.design)
    assert (loaded.hour, loaded.hours_left, loaded.years) == (hours, 8760 - hours, 1)
    for _ in range(100):
        assert loaded.step(**loaded.demand) == simulation.step(**simulation.demand)


def test_a_state_is_read_whole_and_by_its_own_design_only(design, tmp_path, says):
    path = tmp_path / "state.json"
    simulation = design.simulation(1)
    simulation.step(heating=5e3)
    simulation.save(path)
    whole = path.read_text()
    for other in (design.replace(flow=0.6), design.replace(loads=ld.Loads(heating="1 kW"))):
        with pytest.raises(ld.InvalidInput) as error:
            ld.Simulation.load(path, other)
        says(error, ["Simulation.file = ", "state.json", "must be the state of this design"])
    later = json.loads(whole) | {"schema": 2, "written by": "loopdrift 9.0.0"}
    spoilt = json.loads(whole)
    spoilt["state"]["block"][0] += 1.0
    faults = {
        json.dumps(later): "must have schema 1; it has 2, from loopdrift 9.0.0",
        json.dumps(spoilt): "must be a whole file of a simulation's state",
        whole[:-20]: "must be a whole file of a simulation's state",
        "": "must be a whole file of a simulation's state",
        "[1]": "must be a whole file of a simulation's state",
        "{}": "must be a whole file of a simulation's state",
    }
    for text, message in faults.items():
        path.write_text(text)
        with pytest.raises(ld.InvalidInput, match=message):
            ld.Simulation.load(path, design)
    with pytest.raises(FileNotFoundError):
        ld.Simulation.load(tmp_path / "missing.json", design)


BAD = [
    ("heating", -1.0, "must be from 0 to 1000000000 W"),
    ("heating", np.nan, "= NaN W: must be from"),
    ("heating", np.inf, "= inf W: must be from"),
    ("cooling", -1e-9, "must be from 0"),
    ("cooling", 2e9, "must be from 0 to 1000000000 W"),
    ("hot_water", "2 kW", r"= '2 kW' W: must be a number \[W\]"),
    ("hot_water", None, "= None W: must be a number"),
    ("recharge", -2e9, "must be from -1000000000 to 1000000000 W"),
    ("recharge", 10**400, "must be a number"),
    ("recovered", 10.0, "must be at most the cooling, 0 W"),
    ("other_electricity", -5.0, "must be from 0"),
    ("heating_entering_load_temperature", -31.0, "must be from -30 to 90 degC"),
    ("heating_entering_load_temperature", "warm", r"must be a number \[degC\]"),
    ("cooling_entering_load_temperature", 91.0, "must be from -30 to 90 degC"),
    ("cooling_entering_load_temperature", np.nan, "= NaN degC: must be from"),
]


@pytest.mark.parametrize(("field", "value", "message"), BAD)
def test_a_bad_demand_is_named_and_changes_nothing(design, field, value, message):
    simulation = design.simulation(1)
    before = state_of(simulation)
    for take in (simulation.outlook, simulation.step):
        with pytest.raises(ld.InvalidInput, match=message) as error:
            take(**{field: value})
        assert (error.value.owner, error.value.field) == ("Simulation", field)
    assert state_of(simulation) == before


def test_a_mode_that_the_heat_pump_lacks_is_refused(design):
    heats = design.replace(
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]), loads=ld.Loads(heating=design.loads.heating)
    )
    with pytest.raises(ld.InvalidInput, match="must be given for an hour with cooling"):
        heats.simulation(1).step(cooling=1.0)


def test_an_entering_load_temperature_without_effect_is_refused(design):
    with pytest.raises(ld.InvalidInput, match="must be left out: the heat pump's curves don't depend on it"):
        design.simulation(1).step(heating=1e3, heating_entering_load_temperature=30.0)


def test_hours_end_with_the_horizon(design):
    simulation = design.simulation(1)
    assert (simulation.hour, simulation.hours_left) == (0, 8760)
    assert repr(simulation).startswith("<Simulation: 2 bores of 100.0 m")
    assert repr(simulation).endswith("; 0 of 8760 hours>")
    through(simulation, 8760)
    assert (simulation.hour, simulation.hours_left) == (8760, 0)
    for take in (simulation.step, simulation.outlook, lambda: simulation.demand):
        with pytest.raises(ld.InvalidInput, match="= 8760 h: must be at most 8759: all years have"):
            take()
    with pytest.raises(ld.InvalidInput, match="years = 0: must be a whole number from 1 to 100"):
        design.simulation(0)


def test_a_fluid_that_freezes_is_refused_and_another_control_goes_on(design):
    simulation, cold = design.simulation(1), None
    while cold is None:
        before = state_of(simulation)
        try:
            simulation.step(heating=4e4, recharge=-5e3)
        except ld.FluidFreezes as error:
            cold = error
    assert (cold.year, cold.hour) == (1, simulation.hour) and cold.temperature < design.fluid.freezing_point
    assert state_of(simulation) == before
    assert simulation.step(heating=3e3).leaving_fluid > design.fluid.freezing_point
