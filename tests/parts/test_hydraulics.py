"""Pipes and pump: what adds up, what follows, and what is said."""

from itertools import pairwise

import matplotlib
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis import hydraulics
from loopdrift.basics.both_units import both
from loopdrift.basics.words import percent
from loopdrift.parts.hydraulics.channel import Channel, Liquid
from loopdrift.parts.hydraulics.friction import friction_factor
from loopdrift.reporting.overview import overview

matplotlib.use("Agg")
import matplotlib.pyplot as plt

MAIN = ld.Pipe.sdr(11, outer_diameter=0.063)
TUBE = ld.Pipe.sdr(11, outer_diameter=0.032)
PIPING = ld.Piping(
    pump=ld.Pump(efficiency=0.4),
    mains=[
        ld.PipeRun(name="header", pipe=MAIN, length=40.0, loss_coefficient=8.0),
        ld.PipeRun(name="second header", pipe=MAIN, length=12.0, flow_share=0.5),
    ],
    laterals=[ld.PipeRun(name="laterals", pipe=TUBE, length=30.0, loss_coefficient=2.0)],
    apparatus=[ld.Apparatus(name="heat pump", pressure_drop=20e3, flow=5e-4)],
)
U_TUBE = ld.UTube(pipe=TUBE, shank_spacing=0.07)
DOUBLE = ld.DoubleUTube(pipe=TUBE, shank_spacing=0.08)
COAXIAL = ld.Coaxial(inner=ld.Pipe.sdr(11, outer_diameter=0.04), outer=ld.Pipe.sdr(17, outer_diameter=0.09))


@pytest.fixture(scope="module")
def piped(design):
    """The design with bores of known pipes, its lower limit at -2 degC and piping."""
    return with_pipes(design, U_TUBE).replace(piping=PIPING)


def with_pipes(design, pipes):
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, pipes=pipes, grout_conductivity=1.5)
    return design.replace(ground_side=design.ground_side.replace(bore=bore))


def words(text):
    return " ".join(text.split())


def loss(diameter, flow, length, coefficient):
    """Darcy-Weisbach in a smooth pipe with the fluid of the design, 1000 kg/m3 and 1 mPa s."""
    velocity = flow / (1000.0 * np.pi * diameter**2 / 4)
    factor = friction_factor(1000.0 * velocity * diameter / 1e-3, 1.5e-6 / diameter)
    return (factor * length / diameter + coefficient) * 1000.0 * velocity**2 / 2


def test_the_parts_of_a_loop(piped):
    """Half of the flow of 0.5 kg/s in each of two bores, 102 m down and up again."""
    table = piped.pressure_drop()
    main, tube = 0.063 * 9 / 11, 0.032 * 9 / 11
    expected = {
        # 0.5 kg/s are 5e-4 m3/s, at which it has 20 kPa.
        "heat pump": 20e3,
        "header": loss(main, 0.5, 40.0, 8.0),
        "second header": loss(main, 0.25, 12.0, 0.0),
        "laterals": loss(tube, 0.25, 30.0, 2.0),
        "bores": loss(tube, 0.25, 204.0, 1.5),
    }
    assert list(table.index) == list(expected)
    assert_allclose(table["pressure_drop_Pa"], list(expected.values()), rtol=1e-12)
    assert_allclose(table["flow_kg_per_s"].iloc[1:], [0.5, 0.25, 0.25, 0.25], rtol=1e-12)
    assert_allclose(table.loc["bores", "reynolds"], 4 * 0.25 / (np.pi * tube * 1e-3), rtol=1e-12)
    assert pd.isna(table.loc["heat pump", "velocity_m_per_s"])


def test_bores_of_other_pipes(design):
    double = with_pipes(design, DOUBLE).replace(piping=PIPING).pressure_drop().loc["bores"]
    tube = 0.032 * 9 / 11
    assert_allclose(double["pressure_drop_Pa"], loss(tube, 0.125, 204.0, 1.5), rtol=1e-12)
    coaxial = with_pipes(design, COAXIAL).replace(piping=PIPING).pressure_drop().loc["bores"]
    inside, outside = 0.04, 0.09 * 15 / 17
    assert_allclose(coaxial["reynolds"], 4 * 0.25 / (np.pi * (inside + outside) * 1e-3), rtol=1e-12)
    gap = Channel.gap(COAXIAL).flow(Liquid(1000.0, 1e-3), 0.25, length=102.0, loss_coefficient=0.0)
    within = loss(0.04 * 9 / 11, 0.25, 102.0, 1.5)
    assert_allclose(coaxial["pressure_drop_Pa"], gap.pressure_drop + within, rtol=1e-12)


def test_the_deepest_bore_counts(piped):
    bore = piped.ground_side.bores[0]
    field = ld.BoreField([bore, bore.replace(depth=150.0)], positions=[[0, 0], [6, 0]])
    lost = piped.replace(ground_side=field).pressure_drop().loc["bores", "pressure_drop_Pa"]
    assert_allclose(lost, loss(0.032 * 9 / 11, 0.25, 304.0, 1.5), rtol=1e-12)


@settings(max_examples=60, deadline=None)
@given(reynolds=st.floats(10.0, 1e6), more=st.floats(1.0001, 1.5), roughness=st.floats(0.0, 1e-4))
def test_more_flow_loses_more(reynolds, more, roughness):
    """Through the transition too."""
    pipe = ld.Pipe(outer_diameter=0.04, wall_thickness=0.004, roughness=roughness)
    channel, liquid = Channel.inside(pipe), Liquid(1000.0, 2e-3)
    flow = reynolds * np.pi * 0.032 * 2e-3 / 4

    def lost(flow):
        return channel.flow(liquid, flow, length=50.0, loss_coefficient=1.0).pressure_drop

    assert lost(more * flow) > lost(flow) > 0.0


@pytest.mark.parametrize("reynolds", [2300.0, 4000.0])
@pytest.mark.parametrize("shape", [1.0, 0.7])
def test_friction_has_no_jump(reynolds, shape):
    below, above = (friction_factor(reynolds * (1 + side), 1e-3, shape=shape) for side in (-1e-9, 1e-9))
    assert_allclose(below, above, rtol=1e-7)


def test_cold_antifreeze_loses_more(piped):
    """In laminar flow without fittings as much more as its kinematic viscosity is greater."""
    fluid = ld.Fluid("propylene glycol", mass_fraction=0.35)
    plain = PIPING.replace(laterals=[PIPING.laterals[0].replace(loss_coefficient=0.0)])
    cold = piped.replace(fluid=fluid, piping=plain)
    tables = [cold.pressure_drop(temperature=at).loc["laterals"] for at in (0.0, "20 degF")]
    assert [table["regime"] for table in tables] == ["laminar", "laminar"]
    properties = fluid.properties([0.0, (20.0 - 32.0) / 1.8])
    kinematic = (properties["viscosity_Pa_s"] / properties["density_kg_per_m3"]).to_numpy()
    warm, colder = (table["pressure_drop_Pa"] for table in tables)
    assert_allclose(colder / warm, kinematic[1] / kinematic[0], rtol=1e-9)
    assert kinematic[1] > 1.2 * kinematic[0]


def test_no_flow_loses_nothing():
    flow = Channel.inside(TUBE).flow(Liquid(1000.0, 1e-3), 0.0, length=10.0, loss_coefficient=1.0)
    assert (flow.pressure_drop, flow.velocity, flow.reynolds) == (0.0, 0.0, 0.0)


# Pump -------------------------------------------------------------------------------------------------------


def test_power_is_pressure_drop_times_flow_over_efficiency(piped):
    whole = piped.pressure_drop()["pressure_drop_Pa"].sum()
    assert_allclose(piped.pump_power, whole * 0.5 / 1000.0 / 0.4, rtol=1e-12)


def test_power_follows_what_it_depends_on(design, piped):
    assert design.pump_power == 0.0
    assert piped.pump_power_follows
    faster = piped.replace(flow=0.8)
    assert faster.pump_power > 2.0 * piped.pump_power
    assert_allclose(faster.replace(flow=0.5).pump_power, piped.pump_power, rtol=1e-12)
    own = piped.replace(pump_power="150 W")
    assert not own.pump_power_follows
    assert own.replace(flow=0.8).pump_power == 150.0
    assert own.replace(pump_power=None).pump_power == piped.pump_power


def test_the_engine_sees_the_power(piped):
    with_pump, without = (each.run(1).yearly for each in (piped, piped.replace(pump_power=0.0)))
    hours = with_pump["hours_running"].iloc[0]
    more = with_pump["electricity_kWh"].iloc[0] - without["electricity_kWh"].iloc[0]
    assert hours > 1000
    assert_allclose(more, piped.pump_power * hours / 1000.0, rtol=1e-9)


def test_studies_let_the_power_follow(piped):
    found = ld.Study(piped, vary={"flow": [0.4, 0.6], "depth": [80.0, 120.0]}).run(years=1)
    assert (found["failure"] == "").all()
    for flow in (0.4, 0.6):
        for depth in (80.0, 120.0):
            bore = piped.ground_side.bores[0].replace(depth=depth)
            alone = piped.replace(flow=flow, ground_side=piped.ground_side.replace(bore=bore)).run(1)
            seen = found["electricity_kWh"].sel(flow=flow, depth=depth, year=1)
            assert_allclose(seen, alone.yearly["electricity_kWh"].iloc[0], rtol=1e-12)


def test_studies_say_where_no_power_can_follow(piped):
    curve = ld.Pump(efficiency=0.4, flow=[0.0, 8e-4], head=[8.0, 1.0])
    fixed = piped.replace(piping=PIPING.replace(pump=curve))
    found = ld.Study(fixed, vary={"depth": [100.0, 1500.0], "diameter": [0.15]}).run(years=1)
    assert found["failure"].to_numpy().ravel()[0] == ""
    rough = piped.replace(piping=PIPING.replace(temperature=None), limits=ld.Limits(entering_fluid_min=-2.0))
    missing = ld.Study(rough, vary={"limits": [rough.limits, ld.Limits()]}).run(years=1)
    assert "Design.piping.temperature = None" in missing["failure"].to_numpy()[1]


@pytest.mark.parametrize("efficiency", [0.3, 0.6])
def test_operating_point(piped, efficiency):
    """Head of the pump and of the loop are one; power is theirs."""
    pump = ld.Pump(efficiency=efficiency, flow=[0.0, 3e-4, 6e-4, 9e-4], head=[9.0, 8.0, 5.0, 1.0])
    pumped = piped.replace(piping=PIPING.replace(pump=pump))
    moved, dropped, power = pumped.piping.operating_point(
        ground_side=pumped.ground_side, fluid=pumped.fluid, flow=pumped.flow, temperature=-2.0
    )
    lost = pumped.replace(flow=moved).pressure_drop()["pressure_drop_Pa"].sum()
    assert_allclose(pump.head_at(moved / 1000.0), lost / (1000.0 * 9.80665), rtol=1e-9)
    assert_allclose(dropped, lost, rtol=1e-12)
    assert_allclose([power, pumped.pump_power], lost * moved / 1000.0 / efficiency, rtol=1e-9)
    assert 0.3 < moved < 0.9
    said = words(overview(pumped))
    assert f"the pump's operating point is {moved:.3g} kg/s" in said


def test_a_pump_that_is_too_weak_is_said(piped):
    pump = ld.Pump(efficiency=0.4, flow=[0.0, 5e-4], head=[4.0, 0.0])
    run = piped.replace(piping=PIPING.replace(pump=pump)).run(1)
    said = [str(finding) for finding in run.findings if "operating point" in finding.text]
    assert len(said) == 1
    assert said[0].startswith("WARNING: The pump's operating point is")


def test_two_points_are_a_straight_curve():
    pump = ld.Pump(efficiency=0.5, flow=[1e-4, 3e-4], head=["6 m", "2 m"])
    assert_allclose(pump.head_at(2e-4), 4.0, rtol=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.floats(0.1, 10.0), min_size=3, max_size=8, unique=True), st.data())
def test_a_curve_never_rises(heads, data):
    heads = sorted(heads, reverse=True)
    if min(np.diff(heads[::-1])) < 1e-6:
        return
    flows = np.linspace(0.0, 1e-3, len(heads))
    pump = ld.Pump(efficiency=0.5, flow=list(flows), head=heads)
    at = sorted(data.draw(st.lists(st.floats(0.0, 1e-3), min_size=2, max_size=10)))
    values = [pump.head_at(flow) for flow in at]
    assert all(after <= before + 1e-12 for before, after in pairwise(values))


# Turbulence -------------------------------------------------------------------------------------------------


def test_flow_in_the_coldest_hour(piped):
    slow = piped.replace(fluid=ld.Fluid("propylene glycol", mass_fraction=0.3))
    run = slow.run(1)
    mean = (run.hourly["entering_fluid_degC"] + run.hourly["leaving_fluid_degC"]).min() / 2
    found = hydraulics.coldest_flow(run)
    bore = slow.ground_side.bores[0]

    def at(flow):
        return bore.resistance_at(ground=slow.ground, fluid=slow.fluid, flow=flow, temperature=mean)

    assert_allclose(found.temperature, mean, rtol=1e-12)
    assert_allclose(found.reynolds, at(0.25).reynolds, rtol=1e-9)
    assert found.regime == at(0.25).regime == "laminar"
    assert_allclose(found.resistance, at(0.25).effective, rtol=1e-12)
    assert_allclose(at(found.turbulent_flow).reynolds, 4000.0, rtol=1e-9)
    assert_allclose(found.turbulent_resistance, at(found.turbulent_flow).effective, rtol=1e-12)
    said = next(str(finding) for finding in run.findings if "coldest hour" in finding.text)
    assert said.startswith("WARNING: In the coldest hour, flow in each bore is laminar")
    less = 1 - found.turbulent_resistance / found.resistance
    assert f"turbulent flow needs {found.turbulent_flow:.3g} kg/s" in said
    assert f"gives {both(found.turbulent_resistance, 'm K/W', '.4f')}, {percent(less)} less" in said


@pytest.mark.parametrize("pipes", [U_TUBE, DOUBLE, COAXIAL])
def test_turbulence_begins_where_the_engine_says(design, pipes):
    changed = with_pipes(design, pipes)
    found = hydraulics.design_flow(changed, 5.0)
    bore = changed.ground_side.bores[0]
    for side, regime in ((-1e-6, "transitional"), (1e-6, "turbulent")):
        seen = bore.resistance_at(
            ground=design.ground,
            fluid=design.fluid,
            flow=found.turbulent_flow * (1 + side),
            temperature=5.0,
        )
        assert seen.regime == regime
    assert_allclose(found.reynolds / 4000.0, 0.25 / found.turbulent_flow, rtol=1e-9)


def test_turbulent_flow_is_content(piped):
    found = hydraulics.design_flow(piped.replace(flow=2.0), 5.0)
    assert found.regime == "turbulent"
    assert "turbulent down to" in str(found)


# Antifreeze -------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def glycol_run(piped):
    return piped.replace(fluid=ld.Fluid("propylene glycol", mass_fraction=0.35)).run(1)


@pytest.mark.parametrize("name", ["propylene glycol", "ethylene glycol", "ethanol", "methanol"])
@pytest.mark.parametrize("margin", [2.0, "9 delta_degF"])
def test_the_least_dose(glycol_run, name, margin):
    coldest = glycol_run.hourly["leaving_fluid_degC"].min()
    wanted = 2.0 if margin == 2.0 else 5.0
    found = glycol_run.antifreeze(margin=margin, name=name)
    assert coldest - found.fluid.freezing_point >= wanted
    less = ld.Fluid(name, mass_fraction=round(found.fluid.mass_fraction - 0.001, 3))
    assert coldest - less.freezing_point < wanted
    assert_allclose(found.margin, wanted, rtol=1e-12)


def test_what_doses_cost(glycol_run):
    found = glycol_run.antifreeze(doses=[0.4, 0.1])
    table = found.table
    design = glycol_run.design
    assert list(table.index) == [0.0, *sorted([0.1, found.fluid.mass_fraction, 0.4])]
    coldest_mean = hydraulics.coldest_flow(glycol_run).temperature
    assert_allclose(table["temperature_degC"].iloc[0], max(0.0, coldest_mean), atol=1e-9)
    assert_allclose(table["temperature_degC"].iloc[-1], coldest_mean, rtol=1e-12)
    for fraction, row in table.iloc[1:].iterrows():
        fluid = ld.Fluid("propylene glycol", mass_fraction=fraction)
        same = design.replace(fluid=fluid, piping=design.piping.replace(temperature=row["temperature_degC"]))
        assert_allclose(row["electricity_pump_W"], same.pump_power, rtol=1e-9)
        flow = hydraulics.design_flow(same, row["temperature_degC"])
        assert_allclose(row["bore_resistance_mK_per_W"], flow.resistance, rtol=1e-12)
        assert row["regime"] == flow.regime
    assert table["viscosity_Pa_s"].is_monotonic_increasing
    assert f"{found.fluid} freezes at" in str(found)
    assert "with water" in str(found)


def test_doses_of_a_measured_bore(run):
    table = run.antifreeze().table
    assert "bore_resistance_mK_per_W" not in table
    assert "pressure_drop_Pa" not in table


# What is said and written -----------------------------------------------------------------------------------


def test_files_keep_the_piping(piped, tmp_path):
    pump = ld.Pump(efficiency=0.4, flow=["0 L/s", "0.9 L/s"], head=["30 ft", "3 ft"])
    pumped = piped.replace(piping=PIPING.replace(pump=pump, temperature=-1.0))
    pumped.write(tmp_path / "house.toml")
    again = ld.Design.read(tmp_path / "house.toml")
    assert again.piping == pumped.piping
    assert again.pump_power == pumped.pump_power
    assert again.pump_power_follows
    piped.replace(pump_power=99.0).write(tmp_path / "own.toml")
    assert ld.Design.read(tmp_path / "own.toml").pump_power == 99.0


def test_check_and_run_say_it(piped, command, tmp_path):
    piped.write(tmp_path / "house.toml")
    _, out, _ = command("check", tmp_path / "house.toml")
    whole = piped.pressure_drop()["pressure_drop_Pa"].sum()
    assert f"pressure drop {whole / 1e3:.1f} kPa ({whole / 6894.757:.2f} psi) at -2.0 degC" in words(out)
    assert f"pump {piped.pump_power:.0f} W, computed from the piping" in words(out)
    assert "turbulence flow in each bore is" in words(out)
    assert max(map(len, out.splitlines())) <= 100
    code, out, err = command("run", tmp_path / "house.toml", "--years", "1", "--out", tmp_path / "results")
    assert (code, err) == (0, "")
    assert "In the coldest hour, flow in each bore is" in words(out)
    written = pd.read_csv(tmp_path / "results" / "pressure-drop.csv").set_index("part")
    assert_allclose(written["pressure_drop_Pa"].sum(), whole, rtol=1e-12)
    assert (tmp_path / "results" / "pressure-drop.png").exists()


@pytest.mark.parametrize(("units", "unit", "scale"), [("SI", "kPa", 1e-3), ("IP", "psi", 1 / 6894.757293168)])
def test_chart(piped, units, unit, scale):
    table = piped.pressure_drop()
    axes = plots.pressure_drop(table, units=units)
    assert axes.get_xlabel() == f"Pressure drop [{unit}]"
    assert_allclose([bar.get_width() for bar in axes.patches], scale * table["pressure_drop_Pa"], rtol=1e-9)
    _, given = plt.subplots()
    assert plots.pressure_drop(table, ax=given) is given
    plt.close("all")


def test_inch_pound_columns(piped):
    from loopdrift.basics.units import to_inch_pound

    table = piped.pressure_drop()
    feet = to_inch_pound(table)
    assert_allclose(feet["pressure_drop_psi"], table["pressure_drop_Pa"] / 6894.757293168, rtol=1e-9)
    assert_allclose(feet["velocity_ft_per_s"], table["velocity_m_per_s"] / 0.3048, rtol=1e-9)
