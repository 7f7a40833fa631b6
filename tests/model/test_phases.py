"""Plants that change from one year to another."""

import pickle

import matplotlib.pyplot as plt
import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.model.cautions import CAUTIONS


def larger(design):
    return ld.HeatPump.from_curves(
        heating_cop=[4.5, 0.05],
        heating_capacity=[14000.0, 300.0],
        cooling_cop=[6.0],
        cooling_capacity=[12000.0],
    )


@pytest.fixture(scope="module")
def plant(design):
    """Another unit from year 3 on, and half as much again to heat from year 5 on."""
    extended = ld.Loads(heating=1.5 * np.asarray(design.loads.heating), cooling=design.loads.cooling)
    return design.then(3, heat_pump=larger(design)).then(5, loads=extended)


@pytest.fixture(scope="module")
def phased(plant):
    return plant.run(6)


def test_years_before_a_change_are_those_of_the_design(design, phased):
    before = design.run(6)
    for name in ("entering_fluid_min_degC", "electricity_kWh", "heat_extracted_kWh"):
        assert_array_equal(phased.yearly[name][:2], before.yearly[name][:2], err_msg=name)
        assert phased.yearly[name][3] != before.yearly[name][3]
    assert phased.years == 6 and phased.yearly["seasonal_cop"][3] > before.yearly["seasonal_cop"][3]


def test_the_ground_remembers_by_superposition(design, phased):
    """Wall and fluid around the changes, from the heat of all hours and the g-function, one by one."""
    ground, field = design.ground, design.ground_side
    hours = 6 * 8760
    g = field.g_function(ground, 3600.0 * np.arange(1.0, hours + 1.0))
    pulse = np.diff(g, prepend=0.0)
    heat = phased.hourly["heat_extracted_W"].to_numpy()
    length = 2 * 100.0
    mean = phased.hourly[["entering_fluid_degC", "leaving_fluid_degC"]].mean(axis=1).to_numpy()
    for hour in (2 * 8760 - 1, 2 * 8760, 2 * 8760 + 30, 4 * 8760, 4 * 8760 + 500, hours - 1):
        drop = heat[: hour + 1] @ pulse[hour::-1] / (2 * np.pi * ground.conductivity * length)
        wall = ground.temperature - drop
        assert_allclose(phased.hourly["wall_degC"].to_numpy()[hour], wall, atol=1e-4, rtol=0)
        assert_allclose(mean[hour], wall - 0.1 * heat[hour] / length, atol=1e-4, rtol=0)


def test_new_loads_begin_with_their_first_year_and_others_go_on(design):
    heating = np.asarray(design.loads.heating)
    measured = ld.Loads(
        heating=np.concatenate([heating, 0.5 * heating, 0.8 * heating]),
        cooling=np.tile(np.asarray(design.loads.cooling), 3),
    )
    assumed = ld.Loads(heating=0.9 * heating, cooling=design.loads.cooling)
    plant = design.replace(loads=measured).then(3, limits=ld.Limits()).then(5, loads=assumed)
    assert plant.loads_since == [1, 1, 5]
    yearly = plant.run(6).yearly
    delivered = (yearly["heating_kWh"] + yearly["backup_kWh"]).to_numpy()
    assert_allclose(delivered, heating.sum() / 1000.0 * np.array([1.0, 0.5, 0.8, 1.0, 0.9, 0.9]), rtol=1e-9)


def test_columns_beside_the_heat_pump_follow_the_phases(design):
    tank = ld.HotWater(daily_volume="150 l", volume="300 l", heater="element")
    run = design.then(2, hot_water=tank).run(3)
    element = run.yearly["hot_water_element_kWh"].to_numpy()
    assert element[0] == 0.0 and element[1] > 100.0 and element[1] == element[2]
    assert np.isnan(run.hourly["tank_degC"].loc[1]).all() and run.hourly["tank_degC"].loc[2].min() > 0.0
    alone = design.replace(hot_water=tank).run(2)
    assert_array_equal(run.hourly["tank_degC"].loc[2], alone.hourly["tank_degC"].loc[1])


def test_each_year_is_judged_by_its_own_limits(design):
    coldest = design.run(4).yearly["entering_fluid_min_degC"]
    strict = ld.Limits(entering_fluid_min=coldest[4] + 0.5, freezing_margin=0.0)
    run = design.then(4, limits=strict).run(4)
    assert not run.holds and run.judgement["entering_fluid_min"].year == 4
    assert run.yearly["limits_broken"].to_list() == [0, 0, 0, 1]
    assert "first in year 4: the minimum entering fluid temperature" in str(run)
    assert design.then(4, limits=ld.Limits(entering_fluid_min=-9.0)).run(4).holds


def test_flow_may_change(design):
    run = design.then(2, flow=1.0).run(2)
    spread = (run.hourly["entering_fluid_degC"] - run.hourly["leaving_fluid_degC"]).abs()
    heat = run.hourly["heat_extracted_W"].abs()
    for year, flow in ((1, 0.5), (2, 1.0)):
        assert_allclose(spread.loc[year] * flow * 4000.0, heat.loc[year], rtol=1e-6, atol=1e-6)


def test_what_is_shown(phased, plant):
    assert repr(plant).endswith("from year 3: heat pump; from year 5: loads>")
    text = str(phased)
    assert text.endswith(CAUTIONS)
    assert "from year 3: heat pump\nfrom year 5: loads" in text
    assert "Limits exceeded, first in year" in text and "K of the exact solution" in text
    assert "from year 5: loads" in phased._repr_html_()
    ax = phased.plot(units="IP")
    named = {text.get_text() for text in ax.get_legend().get_texts()}
    assert {"from year 3: heat pump", "from year 5: loads"} <= named
    plt.close(ax.figure)
    again = pickle.loads(pickle.dumps(phased))
    assert_array_equal(again.yearly["electricity_kWh"], phased.yearly["electricity_kWh"])


@pytest.mark.parametrize(
    ("year", "changes", "said"),
    [
        (1, {"flow": 0.6}, "must be a whole number from 2 to 100"),
        (2.5, {"flow": 0.6}, "must be a whole number from 2 to 100"),
        (101, {"flow": 0.6}, "must be a whole number from 2 to 100"),
        (2, {}, "must name at least one field"),
        (2, {"flwo": 0.6}, "did you mean 'flow'"),
        (2, {"prices": None}, "has no effect on a run"),
        (2, {"start_month": 3}, "Design.then.start_month = another: must stay the same"),
        (2, {"flow": "3 kg"}, "Design.flow = 3 kg"),
    ],
)
def test_what_cannot_change(design, year, changes, said):
    with pytest.raises(ld.InvalidInput) as refusal:
        design.then(year, **changes)
    assert said in str(refusal.value)


def test_other_refusals(design):
    field = ld.BoreField.grid(design.ground_side.bores[0], columns=3, rows=1, spacing=6.0)
    with pytest.raises(
        ld.InvalidInput, match="the effect of past heat on other bores or pipes isn't computed"
    ):
        design.then(2, ground_side=field)
    plant = design.then(4, flow=0.6)
    with pytest.raises(ld.InvalidInput, match="must include the last phase, from year 4"):
        plant.run(3)
    with pytest.raises(ld.InvalidInput, match="must be a whole number from 5 to 100"):
        plant.then(4, flow=0.7)
    coldest = design.run(3).yearly["leaving_fluid_min_degC"]
    weak = design.fluid.replace(freezing_point=coldest[3] + 0.1)
    with pytest.raises(ld.FluidFreezes) as freezes:
        design.then(3, fluid=weak).run(3)
    assert freezes.value.year == 3
