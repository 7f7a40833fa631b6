"""Bores in layered ground, compared with bores in their mean, against finite elements.

Reference: biquadratic finite elements around the axis (scikit-fem), each layer with its own properties, and
a fluid of one temperature that takes up the heat; once more with the mean properties everywhere. It shares
nothing with the rings of cells that loopdrift compares.
"""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
import pytest
import scipy.sparse as sp
import skfem
from scipy.sparse.linalg import splu
from skfem.helpers import dot, grad

import loopdrift as ld
from book import compare
from loopdrift.ground_sides.bore_field.around.layers import departure

DAY, YEAR = 86_400.0, 365 * 86_400.0
TOP, DEPTH, RADIUS, RESISTANCE = 2.0, 100.0, 0.075, 0.12
POOR, GOOD = (1.0, 2.0e6), (3.0, 2.4e6)
BORE = ld.Bore(depth=DEPTH, buried_depth=TOP, diameter=2 * RADIUS, resistance=RESISTANCE)


class Stack(NamedTuple):
    """Layers by the depths of their upper ends [m] and their properties."""

    tops: list[float]
    properties: list[tuple[float, float]]

    def layers(self) -> list[ld.Layer]:
        thickness = np.diff([*self.tops, self.tops[-1] + 1.0])
        return [
            ld.Layer(thickness=float(each), conductivity=k, volumetric_heat_capacity=c)
            for each, (k, c) in zip(thickness, self.properties, strict=True)
        ]


STACKS = {
    "conductive above": Stack([0.0, 52.0], [GOOD, POOR]),
    "conductive below": Stack([0.0, 52.0], [POOR, GOOD]),
    "in turn": Stack([0.0, 27.0, 52.0, 77.0], [POOR, GOOD] * 2),
    "conductive and of little capacity": Stack([0.0, 40.0], [(1.0, 3.0e6), (3.0, 1.5e6)]),
}


def spread(first: float, length: float, growth: float) -> np.ndarray:
    """Edges from 0 to a length, each element longer than the one before."""
    edges = [0.0]
    while edges[-1] < length:
        edges.append(edges[-1] + first * growth ** (len(edges) - 1))
    return np.array(edges) * length / edges[-1]


def drops(stack: Stack, outer: float | None, times: np.ndarray) -> np.ndarray:
    """Drop of the fluid [K m/W] at rising times [s]; no heat crosses the outer radius."""
    far = 60.0 + 6.0 * np.sqrt(1.5e-6 * times[-1])
    radii = RADIUS + spread(0.06, (far if outer is None else outer) - RADIUS, 1.6)
    bounds = sorted({0.0, TOP, TOP + DEPTH, *stack.tops})
    depths = [np.array([0.0])]
    for upper, lower in pairwise(bounds):
        half = spread(0.3, 0.5 * (lower - upper), 1.7)
        depths += [upper + half[1:], lower - half[-2::-1]]
    depths.append(bounds[-1] + spread(0.3, far, 1.7)[1:])
    mesh = skfem.MeshQuad.init_tensor(radii, np.concatenate(depths)).with_boundaries(
        {
            "wall": lambda x: np.isclose(x[0], RADIUS) & (x[1] > TOP) & (x[1] < TOP + DEPTH),
            "surface": lambda x: np.isclose(x[1], 0.0),
        }
    )
    basis = skfem.Basis(mesh, skfem.ElementQuad2())
    wall = skfem.FacetBasis(mesh, skfem.ElementQuad2(), facets="wall")

    def layer(w, which):
        return np.array([each[which] for each in stack.properties])[
            np.searchsorted(stack.tops, w.x[1], side="right") - 1
        ]

    conduct = skfem.BilinearForm(lambda u, v, w: 2 * np.pi * w.x[0] * layer(w, 0) * dot(grad(u), grad(v)))
    store = skfem.BilinearForm(lambda u, v, w: 2 * np.pi * w.x[0] * layer(w, 1) * u * v)
    touch = skfem.BilinearForm(lambda u, v, w: u * v / RESISTANCE)
    to_fluid = skfem.LinearForm(lambda v, w: v / RESISTANCE).assemble(wall)
    stiffness = conduct.assemble(basis) + touch.assemble(wall)
    border = sp.csr_matrix(to_fluid[:, None])
    whole = sp.bmat([[stiffness, -border], [-border.T, [[DEPTH / RESISTANCE]]]]).tocsr()
    capacity = sp.block_diag([store.assemble(basis), sp.csr_matrix((1, 1))]).tocsr()
    free = np.setdiff1d(np.arange(whole.shape[0]), basis.get_dofs("surface").all())
    whole, capacity = whole[free][:, free].tocsc(), capacity[free][:, free].tocsc()
    heat = np.zeros(len(free))
    heat[-1] = DEPTH
    steps = np.concatenate([[0.0], np.geomspace(600.0, times[0], 20)])
    for time in times[1:]:
        steps = np.concatenate([steps, np.geomspace(steps[-1], time, 11)[1:]])
    temperature, found = np.zeros(len(free)), []
    for before, now in pairwise(steps):
        rate = capacity / (now - before)
        temperature = splu(whole + rate).solve(heat + rate @ temperature)
        if np.isclose(times, now).any():
            found.append(temperature[-1])
    return np.array(found)


def uniform(stack: Stack) -> Stack:
    ends = np.clip([*stack.tops, np.inf], TOP, TOP + DEPTH)
    return Stack([0.0], [tuple(np.diff(ends) / DEPTH @ np.array(stack.properties))])


@pytest.mark.parametrize("name", STACKS)
def test_departure_of_layers(name: str) -> None:
    """Least and greatest ratio to the mean over 30 years, within 1 % of the temperature difference."""
    stack, times = STACKS[name], np.array([DAY, 10 * DAY, 60 * DAY, YEAR, 3 * YEAR, 10 * YEAR, 30 * YEAR])
    layers = tuple(stack.layers())
    expected = drops(stack, None, times) / drops(uniform(stack), None, times) - 1.0
    alone = ld.BoreField(BORE, positions=[[0.0, 0.0]])
    found = departure(alone, layers, resistance=RESISTANCE)
    compare(found, (expected.min(), expected.max()), atol=0.01, what="departure of a single bore")
    spacing = 5.5
    outer = spacing / np.sqrt(np.pi)
    among = drops(stack, outer, times) / drops(uniform(stack), outer, times) - 1.0
    field = ld.BoreField.grid(BORE, columns=3, rows=3, spacing=spacing)
    found = departure(field, layers, resistance=RESISTANCE)
    both = np.concatenate([expected, among])
    compare(found, (both.min(), both.max()), atol=0.01, what="departure among neighbours")
