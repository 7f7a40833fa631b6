"""Heat capacity inside a bore against radial finite volumes in time, and against its limits.

The volumes, solved by scipy, follow the layers of fluid, film, pipe wall, exchange, grout and ground outward
one by one; the bore's answer comes from the Laplace domain by Stehfest's inversion (Stehfest 1970, Comm. ACM
13, 47).
"""

from __future__ import annotations

from math import factorial, log

import numpy as np
import pytest
import scipy.integrate
import scipy.sparse
import scipy.special

import loopdrift as ld
from book import compare
from loopdrift import _core

GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
INNER, OUTER = ld.Pipe.sdr(11, outer_diameter=0.063), ld.Pipe.sdr(17, outer_diameter=0.110)
FLUID = {
    "name": "test",
    "freezing_point": -10.0,
    "first_temperature": 0.0,
    "temperature_step": 1.0,
    "density": [1020.0],
    "heat_capacity": [3950.0],
    "conductivity": [0.48],
    "viscosity": [2.5e-3],
}
FLUID_HEAT_CAPACITY = 1020.0 * 3950.0
PIPE_HEAT_CAPACITY = 2.0e6  # the engine's, common practice, no source
FLOW = 0.35
TIMES = 3600.0 * np.array([0.25, 1.0, 3.0, 10.0, 50.0, 200.0])

BORES = {
    "U": (ld.UTube(pipe=PIPE, shank_spacing=0.07), 0.15),
    "double U": (ld.DoubleUTube(pipe=PIPE, shank_spacing=0.08), 0.15),
    "coaxial": (ld.Coaxial(inner=INNER, outer=OUTER), 0.15),
    "coaxial that fills the hole": (ld.Coaxial(inner=INNER, outer=OUTER), 0.11),
    "pile": (ld.DoubleUTube(pipe=PIPE, shank_spacing=0.4), 0.6),
}


class Fluid:
    """The fluid as the engine reads it."""

    def for_engine(self):
        return FLUID


def bore_of(name):
    pipes, diameter = BORES[name]
    depth = 20.0 if name == "pile" else 120.0
    return ld.Bore(depth=depth, buried_depth=2.0, diameter=diameter, grout_conductivity=1.5, pipes=pipes)


def opening(pipe):
    return np.pi / 4 * (pipe.outer_diameter - 2 * pipe.wall_thickness) ** 2


def answer(bore, p):
    """Return p x Laplace{g} of fluid and wall of one long bore in endless ground.

    The engine takes a slender bore for a line source, and a pile for a ring of heat on its wall.
    """
    alpha = GROUND.conductivity / GROUND.volumetric_heat_capacity
    x = bore.diameter / 2 * np.sqrt(p / alpha)
    line = scipy.special.kve(0, x) * np.exp(-x)
    if bore.depth < 130 * bore.diameter / 2:
        line = scipy.special.kve(0, x) * scipy.special.ive(0, x)
    return _core.testing.bore_first_hours(
        bore.for_engine(), GROUND.for_engine(), FLUID, flow=FLOW, temperature=0.0, p=p, ground_response=line
    )


def stehfest(terms=14):
    half = terms // 2
    return np.array(
        [
            (-1) ** (half + i)
            * sum(
                k**half
                * factorial(2 * k)
                / (
                    factorial(half - k)
                    * factorial(k)
                    * factorial(k - 1)
                    * factorial(i - k)
                    * factorial(2 * k - i)
                )
                for k in range((i + 1) // 2, min(i, half) + 1)
            )
            for i in range(1, terms + 1)
        ]
    )


def steps(bore, times):
    """Return the step responses of fluid and wall at `times` [s]."""
    weights = stehfest()
    order = np.arange(1, weights.size + 1)
    p = log(2) * order / times[:, None]
    fluid, wall = (values.reshape(p.shape) for values in answer(bore, p.ravel()))
    return (fluid * weights / order).sum(axis=1), (wall * weights / order).sum(axis=1)


def volumes(bore, times):
    """Return 2 pi k x temperature drop of fluid and wall after a step of 1 W/m from the fluid."""
    found = bore.resistance_at(ground=GROUND, fluid=Fluid(), flow=FLOW, temperature=0.0)
    if isinstance(bore.pipes, ld.Coaxial):
        pipe, legs = bore.pipes.outer, 1
        wall_section = np.pi / 4 * INNER.outer_diameter**2 - opening(INNER)
        capacity = (opening(OUTER) - wall_section) * FLUID_HEAT_CAPACITY + wall_section * PIPE_HEAT_CAPACITY
    else:
        pipe, legs = bore.pipes.pipe, 2 if isinstance(bore.pipes, ld.UTube) else 4
        capacity = legs * opening(pipe) * FLUID_HEAT_CAPACITY
    inner = pipe.outer_diameter / 2 - pipe.wall_thickness
    film = 1 / (2 * np.pi * inner * found.film_coefficient) / legs
    wall = np.log(pipe.outer_diameter / 2 / inner) / (2 * np.pi * pipe.conductivity) / legs
    radius = bore.diameter / 2
    start = np.sqrt(legs) * pipe.outer_diameter / 2
    far = 40 * np.sqrt(times[-1] * GROUND.conductivity / GROUND.volumetric_heat_capacity)
    # Faces of each layer, its conductivity and heat capacity for all legs together, and the resistance before
    # it.
    layers = [
        (
            np.geomspace(inner, pipe.outer_diameter / 2, 31),
            legs * pipe.conductivity,
            legs * PIPE_HEAT_CAPACITY,
            film,
        )
    ]
    exchange = found.effective - found.local
    if start < radius:
        grout = np.log(radius / start) / (2 * np.pi * (found.local - film - wall))
        layers.append((np.geomspace(start, radius, 81), grout, bore.grout_heat_capacity, exchange))
        exchange = 0.0
    layers.append(
        (np.geomspace(radius, far, 401), GROUND.conductivity, GROUND.volumetric_heat_capacity, exchange)
    )

    capacities, links, before = [capacity], [], 0.0
    at_wall = None
    for faces, k, c, contact in layers:
        centres = np.sqrt(faces[:-1] * faces[1:])
        if faces[0] == radius:
            at_wall = len(capacities) - 1, before + contact
        into = np.log(centres[0] / faces[0]) / (2 * np.pi * k)
        links += [before + contact + into, *(np.log(centres[1:] / centres[:-1]) / (2 * np.pi * k))]
        capacities += list(np.pi * (faces[1:] ** 2 - faces[:-1] ** 2) * c)
        before = np.log(faces[-1] / centres[-1]) / (2 * np.pi * k)
    capacities, links = np.array(capacities), np.array(links)

    def rate(t, drops):
        heat = np.diff(drops) / links
        return (np.append(heat, 0.0) - np.append(-1.0, heat)) / capacities

    main = -(np.append(1 / links, 0.0) + np.append(0.0, 1 / links)) / capacities
    jacobian = scipy.sparse.diags([1 / links / capacities[1:], main, 1 / links / capacities[:-1]], [-1, 0, 1])
    solution = scipy.integrate.solve_ivp(
        rate,
        (0, times[-1]),
        np.zeros(capacities.size),
        "BDF",
        times,
        jac=jacobian.tocsc(),
        rtol=1e-7,
        atol=1e-9,
    )
    two_pi_k = 2 * np.pi * GROUND.conductivity
    last, resistance = at_wall
    flux = (solution.y[last] - solution.y[last + 1]) / links[last]
    return two_pi_k * solution.y[0], two_pi_k * (solution.y[last] - flux * resistance)


@pytest.mark.parametrize("name", BORES)
def test_step_against_finite_volumes(name):
    bore = bore_of(name)
    fluid, wall = steps(bore, TIMES)
    volumes_fluid, volumes_wall = volumes(bore, TIMES)
    compare(fluid, volumes_fluid, rtol=5e-5, what="fluid")
    # The wall hardly moves in the first quarter of an hour, where Stehfest's inversion is at its end.
    compare(wall[1:], volumes_wall[1:], rtol=2e-4, atol=2e-5, what="wall")


@pytest.mark.parametrize("name", BORES)
def test_fluid_alone_holds_the_first_heat(name):
    bore = bore_of(name)
    p = np.array([1e4])
    fluid, _ = answer(bore, p)
    pipes = bore.pipes
    if isinstance(pipes, ld.Coaxial):
        wall = np.pi / 4 * INNER.outer_diameter**2 - opening(INNER)
        capacity = (opening(OUTER) - wall) * FLUID_HEAT_CAPACITY + wall * PIPE_HEAT_CAPACITY
    else:
        capacity = (2 if isinstance(pipes, ld.UTube) else 4) * opening(PIPE) * FLUID_HEAT_CAPACITY
    compare(fluid, 2 * np.pi * GROUND.conductivity / (p * capacity), rtol=1e-3, what="fluid")


@pytest.mark.parametrize("name", BORES)
def test_late_step_is_the_ground_and_the_effective_resistance(name):
    bore = bore_of(name)
    p = np.array([1e-12])
    fluid, wall = answer(bore, p)
    effective = bore.resistance_at(ground=GROUND, fluid=Fluid(), flow=FLOW, temperature=0.0).effective
    line = scipy.special.k0(
        bore.diameter / 2 * np.sqrt(p * GROUND.volumetric_heat_capacity / GROUND.conductivity)
    )
    compare(fluid - line, 2 * np.pi * GROUND.conductivity * effective, rtol=1e-5, what="fluid")
    compare(wall, line, rtol=1e-6, what="wall")


@pytest.mark.parametrize("name", ["U", "double U", "coaxial"])
def test_response_of_a_bore_of_finite_length(name):
    """The volumes are endless: within ten hours the ends of 120 m matter by less than a thousandth."""
    bore, times = bore_of(name), TIMES[:4]
    fluid, wall = _core.bore_response(
        bore.for_engine(), GROUND.for_engine(), FLUID, flow=FLOW, temperature=0.0, times=times
    )
    volumes_fluid, volumes_wall = volumes(bore, times)
    compare(fluid, volumes_fluid, rtol=1e-3, what="fluid")
    compare(wall[1:], volumes_wall[1:], rtol=2e-3, atol=2e-5, what="wall")


def test_response_without_heat_inside_is_that_of_the_ground_and_the_resistance():
    bore = ld.Bore(depth=120.0, buried_depth=2.0, diameter=0.15, resistance=0.09)
    fluid, wall = _core.bore_response(
        bore.for_engine(), GROUND.for_engine(), FLUID, flow=FLOW, temperature=0.0, times=TIMES
    )
    ground = ld.BoreField(bore, positions=[[0.0, 0.0]]).g_function(GROUND, TIMES)
    compare(wall, ground, rtol=1e-6, what="wall")
    compare(fluid - ground, 2 * np.pi * GROUND.conductivity * 0.09, rtol=1e-6, what="resistance")
