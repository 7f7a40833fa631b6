"""The fluid table: what it refuses, and how well straight lines between its rows follow the source."""

import CoolProp
import numpy as np
import pytest
from numpy.testing import assert_allclose

from loopdrift import _core
from loopdrift.basics.errors import InvalidInput
from loopdrift.parts.fluid.fluid import TEMPERATURE_STEP, ConstantFluid, Fluid

MIXTURES = {"propylene glycol": "MPG", "ethylene glycol": "MEG", "methanol": "MMA", "ethanol": "MEA"}


@pytest.mark.parametrize("fraction", [0.1, 0.3, 0.6])
@pytest.mark.parametrize("name", MIXTURES)
def test_rows_are_close_enough_for_straight_lines(name, fraction):
    fluid = Fluid(name, mass_fraction=fraction)
    table = fluid.for_engine()
    step = table["temperature_step"]
    between = table["first_temperature"] + step * (np.arange(len(table["density"]) - 1) + 0.5)
    source = CoolProp.AbstractState("INCOMP", MIXTURES[name])
    source.set_mass_fractions([fraction])
    exact = []
    for temperature in between:
        source.update(CoolProp.PT_INPUTS, 3e5, temperature + 273.15)
        exact.append([source.rhomass(), source.cpmass(), source.conductivity(), source.viscosity()])
    assert_allclose(fluid.properties(between), exact, rtol=1e-4)


@pytest.mark.parametrize("name", ["water", *MIXTURES])
def test_the_series_are_those_of_coolprop(name):
    """CoolProp 7 itself, at the rows of the table: density, heat capacity, conductivity, viscosity."""
    fractions = [0.0] if name == "water" else [0.013, 0.21, 0.47, 0.6]
    for fraction in fractions:
        fluid = Fluid(name, mass_fraction=fraction)
        source = CoolProp.AbstractState(
            *(("HEOS", "Water") if name == "water" else ("INCOMP", MIXTURES[name]))
        )
        if fraction:
            source.set_mass_fractions([fraction])
        rows = np.linspace(*fluid.temperature_range, 9)
        rows = np.round(rows / TEMPERATURE_STEP) * TEMPERATURE_STEP
        exact = []
        for temperature in rows:
            source.update(CoolProp.PT_INPUTS, 3e5, temperature + 273.15)
            exact.append([source.rhomass(), source.cpmass(), source.conductivity(), source.viscosity()])
        assert_allclose(fluid.properties(rows), exact, rtol=1e-10)


@pytest.mark.parametrize("name, ashrae, density", [("propylene glycol", "APG", 1036.0), ("ethanol", "", 0.0)])
def test_freezing_points_are_those_of_coolprop(name, ashrae, density):
    source = CoolProp.AbstractState("INCOMP", MIXTURES[name])
    for fraction in (0.05, 0.2, 0.5):
        source.set_mass_fractions([fraction])
        by_volume = 0.0
        if ashrae:
            source.update(CoolProp.PT_INPUTS, 3e5, 293.15)
            by_volume = fraction * source.rhomass() / density
        if by_volume >= 0.1:
            table = CoolProp.AbstractState("INCOMP", ashrae)
            table.set_volu_fractions([by_volume])
            exact = table.keyed_output(CoolProp.iT_freeze)
        else:
            exact = source.keyed_output(CoolProp.iT_freeze)
        assert_allclose(Fluid(name, mass_fraction=fraction).freezing_point, exact - 273.15, atol=1e-9)


def test_water_between_rows():
    between = np.arange(0.0625, 59.0, 0.625)
    source = CoolProp.AbstractState("HEOS", "Water")
    exact = []
    for temperature in between:
        source.update(CoolProp.PT_INPUTS, 3e5, temperature + 273.15)
        exact.append([source.rhomass(), source.cpmass(), source.conductivity(), source.viscosity()])
    assert_allclose(Fluid("water").properties(between), exact, rtol=1e-4)


@pytest.mark.parametrize("name", MIXTURES)
def test_the_table_begins_at_the_freezing_point_and_the_engine_takes_it(name):
    fluid = Fluid(name, mass_fraction=0.25)
    table = fluid.for_engine()
    _core.validate("Fluid", table)
    assert 0.0 <= table["first_temperature"] - fluid.freezing_point < table["temperature_step"]


def test_the_table_is_made_once():
    first = Fluid("ethanol", mass_fraction=0.2)
    again = Fluid("ethanol", mass_fraction="20 %")
    assert first == again
    assert first._table is again._table


def test_an_unknown_fluid_names_the_nearest():
    with pytest.raises(InvalidInput, match="did you mean 'propylene glycol'"):
        Fluid("Propylene Glicol", mass_fraction=0.2)
    with pytest.raises(
        InvalidInput, match="must be one of ethanol, ethylene glycol, methanol, propylene glycol, water"
    ):
        Fluid(7)


@pytest.mark.parametrize("fraction", [0.0, -0.1, 0.61, 20.0])
def test_a_fraction_beyond_the_source_names_the_range(fraction):
    with pytest.raises(InvalidInput, match=r"Fluid.mass_fraction = .*: must be above 0 and at most 0.6"):
        Fluid("methanol", mass_fraction=fraction)


def test_water_has_no_fraction():
    with pytest.raises(InvalidInput, match="must be 0 for water"):
        Fluid("water", mass_fraction=0.1)


@pytest.mark.parametrize("temperature", [-20.0, 61.0, float("nan")])
def test_properties_outside_the_table_are_refused(temperature):
    with pytest.raises(InvalidInput, match=r"must be from -12.75 to 60 degC"):
        Fluid("propylene glycol", mass_fraction=0.3).properties([10.0, temperature])


def test_constants():
    fluid = Fluid.constant(
        density="64 lb/ft3",
        heat_capacity=3900.0,
        conductivity=0.45,
        viscosity="4 cP",
        freezing_point="20 degF",
    )
    assert isinstance(fluid, Fluid)
    assert isinstance(fluid, ConstantFluid)
    table = fluid.for_engine()
    _core.validate("Fluid", table)
    assert_allclose(table["density"], [1025.18166], rtol=1e-6)
    assert_allclose(table["viscosity"], [4e-3], rtol=1e-12)
    assert_allclose(fluid.freezing_point, -6.666667, rtol=1e-6)
    assert fluid.properties([-50.0, 50.0])["heat_capacity_J_per_kgK"].tolist() == [3900.0, 3900.0]
    assert fluid.replace(density=1000.0).density_at(35.0) == 1000.0
    with pytest.raises(InvalidInput, match=r"density = 1 kg/m3: must be from 100 to 3000 kg/m3"):
        fluid.replace(density=1.0)


def test_where_the_properties_come_from():
    assert "Melinder 2010" in Fluid("ethanol", mass_fraction=0.2).source
    assert Fluid("ethanol", mass_fraction=0.2).basis == "by mass"
    assert str(Fluid("ethanol", mass_fraction=0.2)) == "ethanol 20 % by mass"
