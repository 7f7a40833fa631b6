"""Planning: cheap whatever the number of cases, and without effect on any case."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

import loopdrift as ld
from loopdrift.analysis.study.planning import plan as planning
from loopdrift.analysis.study.planning.axis import axis
from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.variation import varied
from loopdrift.model.columns import YEARLY

MANY = 100_000
FLUID = {"density": 1000.0, "conductivity": 0.5, "viscosity": 1e-3, "freezing_point": -10.0}


def spaced(design: ld.Design, spacing: float) -> ld.Design:
    bore = design.ground_side.bores[0]
    return design.replace(ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=spacing))


def deep(design: ld.Design, depth: float) -> ld.Design:
    field = design.ground_side
    return design.replace(ground_side=field.replace(bore=field.bores[0].replace(depth=depth)))


def scaled(design: ld.Design, **factors: float) -> ld.Design:
    series = {name: factor * getattr(design.loads, name) for name, factor in factors.items()}
    return design.replace(loads=design.loads.with_series(**series))


# What may vary: its values, and the design with one of them, by the public interface.
KINDS = {
    "ground.conductivity": (
        st.sampled_from([1.4, 2.3]),
        lambda design, value: design.replace(ground=design.ground.replace(conductivity=value)),
    ),
    "spacing": (st.sampled_from([4.0, 7.0]), spaced),
    "bore.depth": (st.sampled_from([80.0, 120.0]), deep),
    "loads.heating_scale": (st.sampled_from([0.7, 1.1]), lambda d, value: scaled(d, heating=value)),
    "loads.cooling_scale": (st.sampled_from([0.0, 1.3]), lambda d, value: scaled(d, cooling=value)),
    "loads.recharge_scale": (st.sampled_from([0.0, 1.6]), lambda d, value: scaled(d, recharge=value)),
    "start_month": (st.sampled_from([1, 4, 7]), lambda design, value: design.replace(start_month=value)),
    "flow": (st.sampled_from([0.4, 0.6]), lambda design, value: design.replace(flow=value)),
    "limits.entering_fluid_min": (
        st.sampled_from([-3.0, 3.0]),
        lambda design, value: design.replace(limits=design.limits.replace(entering_fluid_min=value)),
    ),
    "limits.wall_min": (
        st.sampled_from([2.0, 4.0]),
        lambda design, value: design.replace(limits=design.limits.replace(wall_min=value)),
    ),
    "fluid": (
        st.sampled_from([ld.Fluid.constant(**FLUID, heat_capacity=heat) for heat in (3800.0, 4100.0)]),
        lambda design, value: design.replace(fluid=value),
    ),
    "heat_pump": (
        st.sampled_from([ld.HeatPump.from_curves(heating_cop=[c], cooling_cop=[c]) for c in (3.0, 4.0)]),
        lambda design, value: design.replace(heat_pump=value),
    ),
}


@st.composite
def studies(draw):
    names = draw(st.lists(st.sampled_from(sorted(KINDS)), min_size=1, max_size=4, unique=True))
    cases = [{name: draw(KINDS[name][0]) for name in names} for _ in range(draw(st.integers(1, 11)))]
    return cases, draw(st.sampled_from([1, 2, 3, 11]))


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(study=studies())
def test_a_case_is_its_design_alone(design, study):
    cases, portion = study
    noon = np.arange(8760) % 24 == 12
    design = design.replace(loads=design.loads.with_series(recharge=700.0 * noon))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planning, "CASE_YEARS", portion)
        found = ld.Study(design, cases=cases).run(1)
    for number, values in enumerate(cases):
        alone = design
        for name in KINDS:
            if name in values:
                alone = KINDS[name][1](alone, values[name])
        run = alone.run(1)
        assert found["failure"][number] == ""
        for name, column in YEARLY.items():
            if not column.only:
                assert_array_equal(found[name][number], run.yearly[name], err_msg=name)


def test_cases_with_loads_of_their_own_are_their_designs(design):
    """Other buildings, some equal; and other units on a house with a tank, whose demand they change."""
    heating, cooling = np.asarray(design.loads.heating), np.asarray(design.loads.cooling)
    buildings = [ld.Loads(heating=factor * heating, cooling=cooling) for factor in (1.0, 1.2, 1.0, 0.7, 1.2)]
    found = ld.Study(design, vary={"loads": dict(enumerate(buildings)), "start_month": [1, 9]}).run(1)
    for number, loads in enumerate(buildings):
        for start_month in (1, 9):
            run = design.replace(loads=loads, start_month=start_month).run(1)
            case = found.sel(loads=number, start_month=start_month)
            assert_array_equal(case["electricity_kWh"], run.yearly["electricity_kWh"])
            assert_array_equal(case["entering_fluid_min_degC"], run.yearly["entering_fluid_min_degC"])
            assert case["margin_K"] == run.judgement.deciding.rank
    tank = design.replace(hot_water=ld.HotWater(daily_volume="200 l", volume="300 l"))
    units = [ld.HeatPump.from_curves(heating_cop=[cop, 0.05], cooling_cop=[5.0]) for cop in (3.0, 3.0, 4.0)]
    found = ld.Study(tank, vary={"heat_pump": units, "heating_scale": [0.8, 1.0]}).run(1)
    for place, unit in enumerate(units):
        for scale in (0.8, 1.0):
            loads = tank.loads.with_series(heating=scale * np.asarray(tank.loads.heating))
            run = tank.replace(heat_pump=unit, loads=loads).run(1)
            case = found.isel(heat_pump=place).sel(heating_scale=scale)
            assert_array_equal(case["electricity_kWh"], run.yearly["electricity_kWh"])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("ground.conductivity", 1.234),
        ("ground.gradient", 0.03),
        ("limits.entering_fluid_max", 25.5),
        ("spacing", 5.4321),
        ("bore.depth", 91.7),
        ("bore.diameter", 0.14),
        ("bore.resistance", 0.123),
        ("flow", 0.55),
    ],
)
def test_a_number_put_in_place_is_that_of_the_part(design, name, value):
    """What the engine reads is the same whether a part is made or a number is replaced."""
    given = axis(design, name, [value])
    plan = Plan(design, [given], np.zeros((1, 1), dtype=np.intp), 1)
    field = given.variable.names[0]
    (form,) = plan.portion(0).parts[field]
    made = varied(design, field, {given.variable.path: given.value(0)})
    assert form == (made.for_engine() if field != "flow" else made)


def test_planning_keeps_only_numbers(design):
    """A hundred thousand cases take no more than 20 MB before the first runs, whatever varies."""
    draws = np.random.default_rng(3).random((4, MANY))
    columns = {
        "ground.conductivity": 1.5 + draws[0],
        "spacing": 4.0 + draws[1],
        "bore.depth": 80.0 + draws[2],
        "heating_scale": 0.8 + draws[3],
    }
    which = np.tile(np.arange(MANY)[:, None], len(columns))
    tracemalloc.start()
    axes = [axis(design, name, values) for name, values in columns.items()]
    plan = Plan(design, axes, which, 20)
    portion = plan.portion(plan.portions - 1)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert plan.portions == MANY * 20 // planning.CASE_YEARS
    assert len(portion.cases) == planning.CASE_YEARS // 20
    assert peak < 20e6


def test_loads_of_their_own_are_cut_into_few(design, monkeypatch):
    """Portions with many series would fill the memory; those with multiples of one series don't."""
    monkeypatch.setattr(planning, "SERIES", 2)
    loads = [ld.Loads(heating=1000.0 + each) for each in range(5)]
    study = ld.Study(design, vary={"loads": loads, "ground.conductivity": [1.5, 2.0, 2.5]})
    plan = Plan(design, study._axes, study._which, 1)
    assert [len(portion.cases) for portion in plan] == [6, 6, 3]
    assert [len(portion.series) for portion in plan] == [2, 2, 1]
    assert sorted(np.concatenate([plan.cases(each) for each in range(3)])) == list(range(15))


def test_loads_too_large_or_negative_are_refused_alone(design):
    found = ld.Study(design, vary={"heating_scale": [-0.5, 1.0, 1e7]}).run(1)
    reasons = found["failure"].to_numpy().tolist()
    assert reasons[0].startswith("Loads.heating = -") and reasons[1] == ""
    assert reasons[2].startswith("Loads.heating = ")
