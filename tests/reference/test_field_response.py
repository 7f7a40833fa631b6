"""The g-function of fields against a plain dense solution written from the equations.

Sources: kernel between segments, Claesson & Javed (2011), An analytical method to calculate borehole fluid
temperatures for time-scales from minutes to decades, ASHRAE Transactions 117(2), equations 9 to 11; one wall
temperature
for a field, Cimmino & Bernier (2014), A semi-analytical method to generate g-functions for geothermal bore
fields,
International Journal of Heat and Mass Transfer 70, 641-650. The engine inverts
by Stehfest's sum, this by a fit of exponentials, and a third check steps in time.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.special import exp1, kv

from book import compare
from loopdrift import Bore, BoreField, Ground
from loopdrift.verification.references.field import (
    Array,
    edges,
    g_function,
    invert,
    second_differences,
)

GROUND = Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
DIFFUSIVITY = 1.0e-6
YEAR = 8760 * 3600.0
TIMES = np.array([6 * 3600.0, 10 * 86400.0, YEAR, 10 * YEAR, 100 * YEAR])

EQUAL = np.array([[100.0, 4.0, 0.075]])


def grid(columns: int, rows: int, spacing: float) -> Array:
    return spacing * np.array([[x, y] for y in range(rows) for x in range(columns)], dtype=float)


def irregular(count: int) -> Array:
    return np.random.default_rng(7).uniform(0.0, 4.0, (count, 2)) + grid(3, count // 3, 6.0)


def unequal(count: int) -> Array:
    random = np.random.default_rng(11)
    return np.column_stack(
        [random.uniform(80, 150, count), random.uniform(1, 5, count), np.full(count, 0.075)]
    )


FIELDS = {
    "one bore": (EQUAL, grid(1, 1, 6.0)),
    "3 x 3": (EQUAL, grid(3, 3, 6.0)),
    "close": (EQUAL, grid(3, 2, 0.5)),
    "irregular": (EQUAL, irregular(6)),
    "unequal depths and tops": (unequal(6), irregular(6)),
}


def bore_field(sources: Array, positions: Array) -> BoreField:
    bores = [
        Bore(depth=depth, buried_depth=buried_depth, diameter=2 * radius, resistance=0.1)
        for depth, buried_depth, radius in sources
    ]
    return BoreField(bores if len(bores) > 1 else bores[0], positions=positions)


def test_exponentials_invert_the_infinite_line() -> None:
    """Analytic: the inversion used here on K0(2 sqrt(a p)), the transform of E1(a / t) / 2."""
    a = 0.075**2 / (4 * DIFFUSIVITY)
    inverted = invert(lambda p: kv(0, 2 * np.sqrt(a * p)), TIMES)
    compare(inverted, exp1(a / TIMES) / 2, rtol=2e-5)


@pytest.mark.parametrize("name", FIELDS)
def test_agrees_with_the_dense_solution(name: str) -> None:
    sources, positions = FIELDS[name]
    ours = bore_field(sources, positions).g_function(GROUND, TIMES)
    dense = g_function(sources, positions, TIMES, diffusivity=DIFFUSIVITY)
    print(f"{name}: largest deviation {np.max(np.abs(ours / dense - 1)):.1e}")
    compare(ours, dense, rtol=5e-4)


def stepped(positions: Array, time: float, steps: int) -> float:
    """Step two equal bores in time; by symmetry both have the same heat in each segment."""
    radius = EQUAL[0, 2]
    ends = edges(EQUAL)[0]
    lengths = np.diff(ends)
    apart = np.hypot(*(positions[1] - positions[0]))
    # h(t) is an integral from 1 / sqrt(4 a t) on: from each step's bound to the next, and on.
    bounds = np.concatenate(
        [[6.2 / radius], 1 / np.sqrt(4 * DIFFUSIVITY * time * np.arange(1, steps + 1) / steps)]
    )
    response, responses = np.zeros((len(lengths), len(lengths))), []
    for above, below in itertools.pairwise(bounds):
        panels = max(1, int(np.ceil(np.log(above / below) / 0.5)))
        x, weights = np.polynomial.legendre.leggauss(6)
        borders = np.linspace(np.log(below), np.log(above), panels + 1)
        for left, right in itertools.pairwise(borders):
            for s, weight in zip(np.exp((left + right + (right - left) * x) / 2), weights, strict=True):
                across = np.exp(-((radius * s) ** 2)) + np.exp(-((apart * s) ** 2))
                differences = second_differences(s, ends, ends, len(ends))[0, :, 0]
                response = response + weight * (right - left) / 4 * across * differences / s
        responses.append(response / lengths)
    matrix = np.block([[responses[0].T, -np.ones((len(lengths), 1))], [lengths[None, :], np.zeros((1, 1))]])
    changes: list[Array] = []
    heat = np.zeros(len(lengths))
    wall = 0.0
    for step in range(steps):
        past = sum(
            (responses[step - k].T @ change for k, change in enumerate(changes)), np.zeros(len(lengths))
        )
        # The change of heat that makes the wall's temperature uniform and the whole heat one per metre.
        *change, wall = np.linalg.solve(matrix, np.append(-past, lengths.sum() - lengths @ heat))
        changes.append(np.array(change))
        heat = heat + changes[-1]
    return float(wall)


@pytest.mark.parametrize("time", [30 * 86400.0, 10 * YEAR])
def test_agrees_with_time_stepping(time: float) -> None:
    positions = grid(2, 1, 3.0)
    coarse, middle, fine = (stepped(positions, time, steps) for steps in (20, 40, 80))
    order = (middle - coarse) / (fine - middle)
    limit = fine + (fine - middle) / (order - 1)
    ours = bore_field(EQUAL, positions).g_function(GROUND, [time])
    print(f"{time:.0f} s: steps {coarse} {middle} {fine}, limit {limit}, deviation {ours[0] / limit - 1:.1e}")
    compare(ours, limit, rtol=1e-3)


def test_uniform_heat_flux_of_one_bore_is_its_line_source() -> None:
    depth, buried_depth, radius = EQUAL[0]
    line = GROUND.line_source(TIMES, distance=radius, depth=depth, buried_depth=buried_depth)
    ours = bore_field(EQUAL, grid(1, 1, 6.0)).g_function(GROUND, TIMES, uniform_heat_flux=True)
    compare(ours, line, rtol=2e-5)


def test_uniform_heat_flux_of_a_field_is_the_mean_of_its_line_sources() -> None:
    depth, buried_depth, radius = EQUAL[0]
    positions = grid(3, 2, 5.0)
    distances = np.hypot(*(positions[:, None] - positions[None]).T)
    np.fill_diagonal(distances, radius)
    lines = [
        GROUND.line_source(TIMES, distance=distance, depth=depth, buried_depth=buried_depth)
        for distance in distances.ravel()
    ]
    ours = bore_field(EQUAL, positions).g_function(GROUND, TIMES, uniform_heat_flux=True)
    compare(ours, np.sum(lines, axis=0) / len(positions), rtol=2e-5)
