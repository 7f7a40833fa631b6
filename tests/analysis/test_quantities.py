"""An installer's quantities against a case worked by hand, and what is said where something is unknown."""

import math

import numpy as np
import pytest
from chemicals import MW
from chemicals.dippr import EQ105
from chemicals.volume import rho_data_Perry_8E_105_l
from CoolProp.CoolProp import PropsSI
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.parts.fluid.concentrate import dose, pure_density

PIPE = ld.Pipe(outer_diameter="32 mm", wall_thickness="2.9 mm")
LATERAL = ld.Pipe(outer_diameter="40 mm", wall_thickness="3.7 mm")
HEADER = ld.Pipe(outer_diameter="63 mm", wall_thickness="5.8 mm")
PIPING = ld.Piping(
    pump=ld.Pump(efficiency=0.3),
    mains=[ld.PipeRun(name="header", pipe=HEADER, length=30.0, loss_coefficient=4.0)],
    laterals=[ld.PipeRun(name="laterals", pipe=LATERAL, length=10.0)],
    apparatus=[ld.Apparatus(name="heat pump", pressure_drop="18 kPa", flow="0.8 L/s")],
)


@pytest.fixture(scope="module")
def piped(design):
    """Three vertical bores of 100 m below 2 m, with a U-tube of 32 mm each."""
    bore = ld.Bore(
        depth=100.0,
        buried_depth=2.0,
        diameter="150 mm",
        grout_conductivity=1.8,
        pipes=ld.UTube(pipe=PIPE, shank_spacing="75 mm"),
    )
    return design.replace(
        ground_side=ld.BoreField.grid(bore, columns=3, rows=1, spacing=6.0),
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
        flow=0.9,
        piping=PIPING,
        limits=ld.Limits(entering_fluid_min=-4.0),
    )


def test_by_hand(piped):
    """Inside diameters 26.2, 32.6 and 51.4 mm: 0.5391, 0.8347 and 2.0750 L/m."""
    found = piped.quantities()
    bores, header, laterals = found.pipes
    assert [amount.value for amount in found.built.amounts[:2]] == [3, 306.0]
    assert (bores.pieces, bores.length, bores.total) == (3, 204.0, 612.0)
    assert (header.pieces, header.total, laterals.pieces, laterals.total) == (1, 30.0, 3, 30.0)
    assert_allclose([bores.volume, header.volume, laterals.volume], [0.32995, 0.06225, 0.02504], rtol=2e-4)
    assert_allclose(found.fluid_volume, 0.41724, rtol=1e-4)
    # pi / 4 x (0.15^2 - 2 x 0.032^2) = 0.016063 m2 over 300 m
    assert_allclose([found.built.grout, found.grout], [4.8189, 6.0236], rtol=1e-4)
    mixture = PropsSI("D", "T", 293.15, "P", 101325.0, "INCOMP::MPG[0.25]")
    assert_allclose(found.fluid_dose.antifreeze, 0.41724 * mixture * 0.25 / 1036.0, rtol=2e-3)
    assert_allclose(found.fluid_dose.water, 0.41724 * mixture * 0.75 / 998.2, rtol=2e-3)
    # 0.6 m/s in the three laterals: 3 x 0.6 x 0.8347 L/s; in one, and faster in the loop at its end: a third
    assert found.purge.slowest == found.purge.slowest_of_each == "laterals"
    assert_allclose([found.purge.flow, found.purge.each], [1.50244e-3, 0.50081e-3], rtol=1e-4)


def drop(diameter: float, length: float, loss: float, velocity: float, density: float, viscosity: float):
    """Pressure drop after Darcy and Weisbach, with Colebrook's friction iterated [Pa]."""
    reynolds = density * velocity * diameter / viscosity
    assert reynolds > 4000.0
    friction = 0.02
    for _ in range(50):
        inverse = -2.0 * math.log10(1.5e-6 / diameter / 3.7 + 2.51 / (reynolds * math.sqrt(friction)))
        friction = inverse**-2
    return (friction * length / diameter + loss) * density * velocity**2 / 2.0


def test_pressures_by_hand(piped):
    """The purge passes header, one lateral and one loop, at 10 degC, where all flow is turbulent."""
    purge = piped.quantities().purge
    assert_allclose(purge.temperature, 10.0)
    row = piped.fluid.properties([10.0]).iloc[0]
    matter = (row["density_kg_per_m3"], row["viscosity_Pa_s"])
    by_hand = (
        drop(0.0514, 30.0, 4.0, purge.flow / 2.0750e-3, *matter)
        + drop(0.0326, 10.0, 0.0, 0.6, *matter)
        + drop(0.0262, 204.0, 1.5, purge.flow / 3.0 / 0.53913e-3, *matter)
    )
    assert_allclose(purge.pressure, by_hand, rtol=2e-3)
    duty = piped.quantities().duty
    density = piped.fluid.density_at(-4.0)
    assert duty.temperature == -4.0
    assert_allclose(duty.flow, 0.9 / density)
    assert_allclose(duty.head, duty.pressure / (density * 9.80665))
    assert_allclose(duty.power, duty.pressure * duty.flow / 0.3)
    assert [part.part for part in duty.parts] == ["heat pump", "header", "laterals", "bores"]
    assert_allclose(duty.parts[0].pressure_drop, 18e3 * (duty.flow / 0.8e-3) ** 2)


@pytest.mark.parametrize(
    ("name", "number", "fluid"),
    [
        ("propylene glycol", "57-55-6", None),
        ("ethylene glycol", "107-21-1", None),
        ("methanol", "67-56-1", "Methanol"),
        ("ethanol", "64-17-5", "Ethanol"),
    ],
)
def test_pure_densities_have_a_second_source(name, number, fluid):
    """Perry's Handbook, 8th edition, table 2-32, by chemicals; equations of state by CoolProp."""
    row = rho_data_Perry_8E_105_l.loc[number]
    perry = EQ105(293.15, *(row[f"C{place}"] for place in range(1, 5))) * MW(number) / 1000.0
    ours = pure_density(ld.Fluid(name, mass_fraction=0.3))
    assert_allclose(ours, perry, rtol=5e-3)
    if fluid is not None:
        assert_allclose(ours, PropsSI("D", "T", 293.15, "P", 101325.0, fluid), rtol=1e-3)


def test_masses_of_a_dose_are_those_of_the_mixture():
    fluid = ld.Fluid("ethanol", mass_fraction=0.3)
    found = dose(fluid, 2.0)
    antifreeze, water = found.antifreeze * pure_density(fluid), found.water * 998.2
    assert_allclose(antifreeze + water, 2.0 * fluid.density_at(20.0))
    assert_allclose(antifreeze / (antifreeze + water), 0.3)
    assert found.antifreeze + found.water > 2.0, "the mixture contracts"
    assert dose(ld.Fluid("water"), 2.0) is None


def test_double_and_coaxial_bores(piped):
    """Two loops share a bore's flow; of a coaxial bore gap and inner pipe are filled."""
    bore = piped.ground_side.bores[0]
    double = bore.replace(pipes=ld.DoubleUTube(pipe=PIPE, shank_spacing="75 mm"))
    found = piped.replace(ground_side=piped.ground_side.replace(bore=double), piping=None).quantities()
    (loops,) = found.pipes
    assert (loops.pieces, loops.length) == (6, 204.0)
    assert_allclose(found.built.grout, 300.0 * math.pi / 4.0 * (0.15**2 - 4.0 * 0.032**2))
    assert_allclose(found.purge.each, 2.0 * 0.6 * 0.53913e-3, rtol=1e-4)
    inner = ld.Pipe(outer_diameter=0.04, wall_thickness=0.0037)
    outer = ld.Pipe(outer_diameter=0.11, wall_thickness=0.01)
    coaxial = bore.replace(pipes=ld.Coaxial(inner=inner, outer=outer))
    found = piped.replace(ground_side=piped.ground_side.replace(bore=coaxial), piping=None).quantities()
    areas = [math.pi / 4.0 * 0.0326**2, math.pi / 4.0 * (0.09**2 - 0.04**2)]
    assert_allclose([pipe.area for pipe in found.pipes], areas)
    assert_allclose(found.built.grout, 300.0 * math.pi / 4.0 * (0.15**2 - 0.11**2))
    assert_allclose(found.purge.flow, 3.0 * 0.6 * areas[1])


def test_bores_of_unequal_depth_are_listed_by_length(piped):
    bore = piped.ground_side.bores[0]
    bores = [bore, bore.replace(depth=80.0), bore]
    field = ld.BoreField(bores, positions=piped.ground_side.positions, inclination=[0.0, 20.0, 0.0])
    found = piped.replace(ground_side=field).quantities()
    assert [(pipe.pieces, pipe.length) for pipe in found.pipes[:2]] == [(1, 164.0), (2, 204.0)]
    headings = [column.heading for column in found.built.places.columns]
    assert "Inclination" in headings and found.built.places.rows[1][headings.index("Inclination")] == 20.0


def test_what_is_unknown_is_said(design):
    """The bores have a measured resistance, and there is no piping."""
    found = design.quantities()
    assert found.pipes == () and found.duty is None and found.purge is None and found.grout is None
    text = " ".join(found.notes)
    assert "measured resistance" in text and "no piping" in text
    assert found.fluid_dose is None


def test_bores_off_the_plot_are_named(piped):
    site = ld.SitePlan(
        property_lines=[[-5, -5], [9, -5], [9, 9], [-5, 9]], house=[[4, -2], [8, -2], [8, 2], [4, 2]]
    )
    notes = piped.replace(site=site).quantities().notes
    assert notes[0] == "Bore 3 lies partly or wholly outside the property lines."
    assert notes[1] == "Bore 2 lies partly or wholly below the house."
    places = piped.replace(site=site).quantities().built.places
    headings = [column.heading for column in places.columns]
    rows = np.array(places.rows)
    assert_allclose(rows[:, headings.index("To property line")], [5.0, 3.0, 3.0])
    assert_allclose(rows[:, headings.index("To house")], [4.0, 2.0, 4.0])


@pytest.mark.parametrize("surplus", [-0.1, 3.1, "much", float("nan")])
def test_a_surplus_out_of_range_is_refused(piped, surplus):
    with pytest.raises(ld.InvalidInput, match="grout_surplus"):
        piped.quantities(grout_surplus=surplus)
