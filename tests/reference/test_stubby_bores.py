"""g-functions of short and wide bores against finite volumes around the axis, and against uniform flux.

Reference: heat conduction in cylindrical coordinates (Carslaw & Jaeger 1959, section 1.8), finite volumes
on a grid that is finest at the wall and at its ends, implicit steps that grow with time. The hole is one
cell of one temperature that gives 1 W for each metre. It shares nothing with the engine.
"""

from __future__ import annotations

import numpy as np
import pytest
import scipy.sparse as sp
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.linalg import splu

import loopdrift as ld
from book import at_most, between, compare
from rings_of_heat import g_of_rings

DAY = 86_400.0
YEAR = 365 * DAY
TIMES = np.array([10 * DAY, YEAR, 20 * YEAR])
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)


def growing(first: float, last: float, growth: float) -> np.ndarray:
    """Edges from 0 on, each cell longer than the one before."""
    sizes = [first]
    while sum(sizes) < last:
        sizes.append(sizes[-1] * growth)
    return np.concatenate([[0.0], np.cumsum(sizes)])


def graded(length: float, first: float, growth: float) -> np.ndarray:
    """Edges over a length, finest at both ends."""
    half = growing(first, 0.5 * length, growth)
    half *= 0.5 * length / half[-1]
    return np.concatenate([half, (length - half)[::-1][1:]])


def g_by_volumes(depth: float, buried_depth: float, radius: float) -> np.ndarray:
    far, fine = 6.0 * np.sqrt(1e-6 * TIMES[-1]), 0.04 * radius
    outside = radius + growing(fine, far, 1.12)
    below = buried_depth + depth + growing(fine, far, 1.12)[1:]
    above = graded(buried_depth, fine, 1.12)[:-1] if buried_depth > 0.0 else np.array([])
    z = np.concatenate([above, buried_depth + graded(depth, fine, 1.12), below])
    inside = np.linspace(0.0, radius, 6)
    r = np.concatenate([inside[:-1], outside])
    rows, columns = len(z) - 1, len(r) - 1
    middle_z, middle_r = 0.5 * (z[1:] + z[:-1]), 0.5 * (r[1:] + r[:-1])
    in_hole = (middle_r[None, :] < radius) & ((middle_z > buried_depth) & (middle_z < buried_depth + depth))[
        :, None
    ]
    number = np.arange(rows * columns).reshape(rows, columns)
    cell = np.where(in_hole, 0, number + 1).ravel()
    _, cell = np.unique(cell, return_inverse=True)
    cell = cell.reshape(rows, columns)
    k, c = 2.0, 2e6
    ring = np.pi * (r[1:] ** 2 - r[:-1] ** 2)
    size = cell.max() + 1
    capacity = np.bincount(cell.ravel(), (c * ring[None, :] * np.diff(z)[:, None]).ravel(), size)
    entries: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []

    # A face of the hole is half a cell away from the middle of its neighbour.
    half_r = np.where(in_hole, 0.0, 0.5 * np.diff(r)[None, :])
    half_z = np.where(in_hole, 0.0, 0.5 * np.diff(z)[:, None])
    with np.errstate(divide="ignore"):
        across = k * 2.0 * np.pi * r[1:-1] * np.diff(z)[:, None] / (half_r[:, 1:] + half_r[:, :-1])
        along = k * ring[None, :] / (half_z[1:] + half_z[:-1])
    for a, b, value in ((cell[:, :-1], cell[:, 1:], across), (cell[:-1], cell[1:], along)):
        real = a != b
        entries.append((a[real], b[real], value[real]))
    diagonal = np.zeros(size)
    with np.errstate(divide="ignore"):
        surface = k * ring / (0.5 * (z[1] - z[0]))
    surface = np.where(in_hole[0], 0.0, surface)  # the hole's own lid gives nothing
    np.add.at(diagonal, cell[0], surface)
    i, j, v = (np.concatenate(part) for part in zip(*entries, strict=True))
    matrix = sp.coo_matrix((-np.r_[v, v], (np.r_[i, j], np.r_[j, i])), shape=(size, size)).tocsc()
    matrix = matrix - sp.diags(np.asarray(matrix.sum(axis=1)).ravel()) + sp.diags(diagonal)
    heat = np.zeros(size)
    heat[cell[in_hole][0]] = depth
    temperature, now, found = np.zeros(size), 0.0, []
    edges = np.concatenate([[0.0], np.geomspace(600.0, TIMES[0], 60)])
    for last in TIMES[1:]:
        edges = np.concatenate([edges, np.geomspace(edges[-1], last, 25)[1:]])
    for end in edges[1:]:
        step = end - now
        solved = splu((matrix + sp.diags(capacity / step)).tocsc())
        temperature = solved.solve(heat + capacity / step * temperature)
        now = end
        if np.isclose(TIMES, now).any():
            found.append(2.0 * np.pi * k * temperature[cell[in_hole][0]])
    return np.array(found)


def g(
    depth: float, buried_depth: float, radius: float, times=TIMES, *, uniform_heat_flux=False
) -> np.ndarray:
    bore = ld.Bore(depth=depth, buried_depth=buried_depth, diameter=2.0 * radius, resistance=0.1)
    return ld.BoreField(bore, positions=[[0.0, 0.0]]).g_function(
        GROUND, times, uniform_heat_flux=uniform_heat_flux
    )


@pytest.mark.parametrize(
    ("depth", "buried_depth", "radius"),
    [
        (100.0, 2.0, 0.075),
        (100.0, 0.0, 0.075),
        (21.0, 0.0, 0.075),
        (20.0, 0.0, 0.3),
        (20.0, 0.5, 0.3),
        (6.0, 100.0, 0.3),
        (2.0, 0.1, 0.05),
        (5.0, 0.075, 0.15),
        (30.0, 2.0, 0.6),
        (12.0, 0.3, 0.6),
        (12.0, 100.0, 0.6),
    ],
)
def test_g_against_finite_volumes(depth: float, buried_depth: float, radius: float) -> None:
    """Within 1 %, half of the error that is printed for stubby bores."""
    compare(g(depth, buried_depth, radius), g_by_volumes(depth, buried_depth, radius), rtol=0.01)


# Dense solutions of rings of heat on the walls and ends of all piles: columns and rows of piles; depth,
# buried depth and radius [m]; spacing [m]; g at ten days, one year and twenty years. Made by
# `rings_of_heat.g_of_rings`, in minutes; the first is made anew here.
FIELDS = [
    (2, (20.0, 0.5, 0.3), 4.0, [1.497, 4.059, 4.936]),
    (3, (20.0, 0.5, 0.3), 4.0, [1.498, 4.932, 6.433]),
    (2, (20.0, 0.0, 0.3), 4.0, [1.435, 3.479, 4.033]),
    (3, (20.0, 0.0, 0.3), 4.0, [1.436, 4.111, 4.956]),
    (2, (6.0, 1.0, 0.3), 1.2, [2.077, 4.570, 4.695]),
    (3, (6.0, 1.0, 0.3), 1.2, [2.408, 6.694, 6.935]),
    (2, (12.0, 100.0, 0.6), 3.0, [0.905, 3.924, 5.554]),
]


@pytest.mark.parametrize(("side", "pile", "spacing", "expected"), FIELDS)
def test_fields_of_piles(
    side: int, pile: tuple[float, float, float], spacing: float, expected: list[float]
) -> None:
    depth, buried_depth, radius = pile
    bore = ld.Bore(depth=depth, buried_depth=buried_depth, diameter=2.0 * radius, resistance=0.1)
    field = ld.BoreField.grid(bore, columns=side, rows=side, spacing=spacing)
    compare(field.g_function(GROUND, TIMES), expected, rtol=0.02 if buried_depth else 0.025)


def test_fields_of_piles_are_those_of_rings() -> None:
    side, pile, spacing, expected = FIELDS[0]
    compare(g_of_rings(side, pile, spacing, TIMES), expected, rtol=1e-3)


@settings(deadline=None, max_examples=40)
@given(
    radius=st.floats(0.05, 0.6),
    slenderness=st.floats(20.5, 400.0),
    buried_depth=st.one_of(st.just(0.0), st.floats(0.03, 100.0)),
)
def test_g_rises_and_lies_below_that_of_uniform_flux(
    radius: float, slenderness: float, buried_depth: float
) -> None:
    depth = max(1.0, slenderness * radius)
    times = np.geomspace(6 * 3600.0, 100 * YEAR, 25)
    found = g(depth, buried_depth, radius, times)
    assert (np.diff(found) > -1e-6).all()
    at_most(found, 1.002 * g(depth, buried_depth, radius, times, uniform_heat_flux=True))


def test_sixteen_piles_at_the_surface_are_somewhat_warmer_than_those_below_it() -> None:
    """The surface helps: walls fall less with the tops at 0 than at 0.5 m, but by no other order."""

    def drop(buried_depth: float) -> float:
        pile = ld.Bore(depth=20.0 - buried_depth, buried_depth=buried_depth, diameter=0.6, resistance=0.1)
        field = ld.BoreField.grid(pile, columns=4, rows=4, spacing=4.0)
        return float(field.g_function(GROUND, [20 * YEAR])[0])

    between(drop(0.0), 0.7 * drop(0.5), drop(0.5), unit="K")


def test_a_bore_of_few_radii_is_refused() -> None:
    with pytest.raises(ld.InvalidInput, match=r"BoreField\.depth = 1 m: must be at least 20 radii"):
        g(1.0, 1.0, 0.1)
