"""Friction factor, pressure drop and Nusselt number at 10,000 random states against ``fluids`` and ``ht``.

Turbulent friction is Colebrook's equation as ``fluids`` solves it analytically, which is not the method that
loopdrift calls; laminar is 64 / Re. Films: ``ht``'s Gnielinski (1976) with ``fluids``' Haaland (1983), and
its laminar value of a uniform wall temperature. The engine gives the film coefficient beside the resistances,
so that Nu = coefficient x diameter / conductivity. ``ht`` has no correlation for the gap of a coaxial bore:
that film is checked against the published equations in test_bore_resistance.py.
"""

import numpy as np
import pytest
from fluids.core import K_from_f, dP_from_K
from fluids.friction import Colebrook, Haaland, friction_factor_methods, one_phase_dP
from ht.conv_internal import laminar_T_const, turbulent_Gnielinski

import loopdrift as ld
from book import compare
from loopdrift.parts.hydraulics.channel import Channel, Liquid
from loopdrift.parts.hydraulics.friction import annulus_shape, friction_factor

STATES = 10_000
LAMINAR, TURBULENT = 2300.0, 4000.0
GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5)


@pytest.fixture(scope="module")
def states():
    """Diameter [m], relative roughness, fluid and Reynolds number of each state."""
    random = np.random.default_rng(20)

    def log_uniform(low, high):
        return np.exp(random.uniform(np.log(low), np.log(high), STATES))

    diameter = log_uniform(0.015, 0.1)
    smooth = random.random(STATES) < 0.1
    roughness = np.minimum(log_uniform(1e-7, 0.03), 0.99e-3 / diameter)  # a pipe takes up to 1 mm
    return {
        "diameter": diameter,
        "roughness": np.where(smooth, 0.0, roughness),
        "density": random.uniform(800.0, 1200.0, STATES),
        "heat_capacity": random.uniform(2500.0, 4300.0, STATES),
        "conductivity": random.uniform(0.2, 0.7, STATES),
        "viscosity": log_uniform(3e-4, 2e-2),
        # A third of the states each side of the transition and in it.
        "reynolds": np.concatenate(
            [
                np.exp(random.uniform(np.log(low), np.log(high), count))
                for low, high, count in (
                    (20.0, LAMINAR, 3300),
                    (LAMINAR, TURBULENT, 3400),
                    (TURBULENT, 3e5, 3300),
                )
            ]
        ),
    }


def by_regime(reynolds, laminar, turbulent):
    """Straight between the two laws in transition."""
    if reynolds <= LAMINAR:
        return laminar(reynolds)
    if reynolds >= TURBULENT:
        return turbulent(reynolds)
    share = (reynolds - LAMINAR) / (TURBULENT - LAMINAR)
    return (1 - share) * laminar(LAMINAR) + share * turbulent(TURBULENT)


def each(states, *names):
    return zip(*(states[name].tolist() for name in names), strict=True)


def test_friction_factor(states):
    found, expected = [], []
    for reynolds, roughness in each(states, "reynolds", "roughness"):
        found.append(friction_factor(reynolds, roughness))
        expected.append(by_regime(reynolds, lambda re: 64 / re, lambda re, eD=roughness: Colebrook(re, eD)))
    compare(found, expected, rtol=1e-11)


def test_pressure_drop_of_a_pipe(states):
    """Outside 2040 to 4000, where ``fluids`` takes Colebrook's equation at once."""
    random = np.random.default_rng(5)
    found, expected = [], []
    columns = ("reynolds", "roughness", "diameter", "density", "viscosity")
    for reynolds, relative, diameter, density, viscosity in each(states, *columns):
        if 2040.0 <= reynolds < TURBULENT:
            continue
        length, loss = random.uniform(1.0, 500.0), random.uniform(0.0, 20.0)
        area, roughness = np.pi * diameter**2 / 4, relative * diameter
        flow = reynolds * viscosity * area / diameter
        channel = Channel(area, diameter, roughness)
        liquid = Liquid(density, viscosity)
        found.append(channel.flow(liquid, flow, length=length, loss_coefficient=loss).pressure_drop)
        friction = one_phase_dP(flow, density, viscosity, diameter, roughness=roughness, L=length)
        expected.append(friction + dP_from_K(K=loss, rho=density, V=flow / (density * area)))
    assert len(found) > 6000
    compare(found, expected, rtol=1e-11)


def test_pressure_drop_is_that_of_its_friction_factor():
    pipe = ld.Pipe(outer_diameter=0.04, wall_thickness=0.0037, roughness=7e-6)
    diameter, length, flow = 0.0326, 123.0, 0.4
    liquid = Liquid(1020.0, 3.1e-3)
    reynolds = 4 * flow / (np.pi * diameter * liquid.viscosity)
    found = Channel.inside(pipe).flow(liquid, flow, length=length, loss_coefficient=0.0)
    factor = Colebrook(reynolds, 7e-6 / diameter)
    velocity = flow / (liquid.density * np.pi * diameter**2 / 4)
    compare(found.reynolds, reynolds, rtol=1e-12, what="Reynolds number")
    compare(found.velocity, velocity, rtol=1e-12, unit="m/s", what="velocity")
    k = K_from_f(fd=factor, L=length, D=diameter)
    compare(
        found.pressure_drop,
        dP_from_K(K=k, rho=liquid.density, V=velocity),
        rtol=1e-11,
        unit="Pa",
        what="pressure drop",
    )


def test_colebrook_is_near_the_formula_of_the_films(states):
    """Haaland's formula, which the films use, is within 2 % of Colebrook's equation (Haaland 1983)."""
    assert "Haaland" in friction_factor_methods(1e5, 1e-4)
    chosen = [
        (reynolds, roughness)
        for reynolds, roughness in each(states, "reynolds", "roughness")
        if reynolds >= TURBULENT
    ]
    ours = [friction_factor(reynolds, roughness) for reynolds, roughness in chosen]
    compare(ours, [Haaland(reynolds, roughness) for reynolds, roughness in chosen], rtol=0.02)


@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.6, 0.95])
def test_laminar_friction_in_a_gap(ratio):
    """Against the velocity profile of laminar flow in an annulus, solved on a fine grid.

    Outer radius, viscosity and pressure gradient are 1: d(r du/dr)/dr = -r, u = 0 on both walls.
    """
    radius = np.linspace(ratio, 1.0, 20_001)
    velocity = (1 - radius**2 - (1 - ratio**2) * np.log(radius) / np.log(ratio)) / 4
    residual = np.gradient(radius * np.gradient(velocity, radius), radius)[2:-2] + radius[2:-2]
    compare(residual, 0.0, atol=1e-5)
    mean = np.trapezoid(velocity * radius, radius) / np.trapezoid(radius, radius)
    hydraulic = 2 * (1 - ratio)
    # f Re of pressure gradient = f / D x rho v2 / 2, with Re = rho v D / viscosity
    compare(64 / annulus_shape(ratio), 2 * hydraulic**2 / mean, rtol=1e-6)


@pytest.mark.parametrize("outer_of_inner", [0.02, 0.04, 0.08])
def test_laminar_pressure_drop_in_the_gap_of_a_coaxial_bore(outer_of_inner):
    """Against the flow of a pressure gradient between two cylinders (Bird, Stewart & Lightfoot, Transport
    phenomena, section 2.4; from memory)."""
    pipes = ld.Coaxial(
        inner=ld.Pipe(outer_diameter=outer_of_inner, wall_thickness=0.002),
        outer=ld.Pipe(outer_diameter=0.11, wall_thickness=0.006),
    )
    within, around = 0.5 * outer_of_inner, 0.5 * (0.11 - 2 * 0.006)
    viscosity, density, mass_flow, length = 5e-3, 1020.0, 0.05, 80.0
    passes = around**4 - within**4 - (around**2 - within**2) ** 2 / np.log(around / within)
    expected = 8.0 * viscosity * length * mass_flow / density / (np.pi * passes)
    flow = Channel.gap(pipes).flow(Liquid(density, viscosity), mass_flow, length=length, loss_coefficient=0.0)
    assert flow.regime == "laminar"
    compare(flow.pressure_drop, expected, rtol=1e-9, unit="Pa", what="pressure drop")
    compare(
        flow.velocity,
        mass_flow / density / np.pi / (around**2 - within**2),
        rtol=1e-12,
        unit="m/s",
        what="velocity",
    )


def test_nusselt_number(states):
    """Each state in a leg of a U-tube in the engine."""
    found, expected = [], []
    columns = ("reynolds", "roughness", "diameter", "density", "heat_capacity", "conductivity", "viscosity")
    for reynolds, relative, diameter, *properties in each(states, *columns):
        _, heat_capacity, conductivity, viscosity = properties
        pipe = ld.Pipe(
            outer_diameter=1.2 * diameter, wall_thickness=0.1 * diameter, roughness=relative * diameter
        )
        bore = ld.Bore(
            depth=100.0,
            buried_depth=1.0,
            diameter=3.6 * diameter,
            pipes=ld.UTube(pipe=pipe, shank_spacing=1.8 * diameter),
            grout_conductivity=1.5,
        )
        flow = reynolds * np.pi * diameter * viscosity / 4
        seen = bore.resistance_at(ground=GROUND, fluid=OneRow(*properties), flow=flow, temperature=0.0)
        assert seen.regime == (
            "laminar" if reynolds < LAMINAR else "transitional" if reynolds < TURBULENT else "turbulent"
        )
        prandtl = heat_capacity * viscosity / conductivity

        def turbulent(re, relative=relative, prandtl=prandtl):
            return turbulent_Gnielinski(Re=re, Pr=prandtl, fd=Haaland(Re=re, eD=relative))

        found.append(seen.film_coefficient * diameter / conductivity)
        expected.append(by_regime(reynolds, lambda _: laminar_T_const(), turbulent))
    compare(found, expected, rtol=1e-10, unit="Pa")


class OneRow:
    """A fluid as the engine reads it, the same at every temperature."""

    def __init__(self, *properties):
        self._properties = properties

    def for_engine(self):
        names = ("density", "heat_capacity", "conductivity", "viscosity")
        return {
            "name": "test",
            "freezing_point": -20.0,
            "first_temperature": 0.0,
            "temperature_step": 1.0,
            **{name: [value] for name, value in zip(names, self._properties, strict=True)},
        }
