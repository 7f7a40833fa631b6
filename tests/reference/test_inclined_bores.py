"""The g-function of leaning bores against direct integrals of the point source, and a dense solution.

Sources: the point source in an infinite body, continuous and in the Laplace domain, and its mirror image,
Carslaw & Jaeger (1959), Conduction of Heat in Solids, section 10.4; along inclined lines, Cui, Yang & Fang
(2006) and Lamarche (2011), both from memory; one wall temperature for a field, Cimmino & Bernier (2014). The
engine inverts by Stehfest's sum, this on Talbot's contour (Abate & Valko 2004, from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad, quad
from scipy.special import erfc

from book import compare
from loopdrift import Bore, BoreField, Ground

Array = NDArray[np.float64]

GROUND = Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
DIFFUSIVITY = 1.0e-6
DAY = 86400.0
RADIUS = 0.075

TWO = BoreField(
    [
        Bore(depth=40.0, buried_depth=1.0, diameter=2 * RADIUS, resistance=0.1),
        Bore(depth=25.0, buried_depth=2.0, diameter=2 * RADIUS, resistance=0.1),
    ],
    positions=[[0.0, 0.0], [3.0, 1.0]],
    inclination=[20.0, 45.0],
    direction=[10.0, 80.0],
)
SMALL = Bore(depth=30.0, buried_depth=1.0, diameter=2 * RADIUS, resistance=0.1)
FAN = BoreField(SMALL, positions=[[0, 0], [1.5, 0], [-1, 1]], inclination=[0, 30, 50], direction=[0, 90, 315])
CROSSING = BoreField(SMALL, positions=[[0, 0], [1.0, 20]], inclination=[35, 30], direction=[0, 180])
FIELDS = {"fan": FAN, "crossing": CROSSING, "unequal": TWO}


def axes(field: BoreField) -> Array:
    """Return the unit vectors down the bores: x to the east, y to the north, depth."""
    lean, compass = np.radians(field.inclination), np.radians(field.direction)
    across = np.sin(lean)
    return np.column_stack([across * np.sin(compass), across * np.cos(compass), np.cos(lean)])


def ends(field: BoreField) -> list[tuple[float, float]]:
    """Return the lengths along each bore between which it is active."""
    bores = field.bores if len(field.bores) > 1 else field.bores * field.count
    return [(bore.buried_depth, bore.buried_depth + bore.depth) for bore in bores]


def distance(field: BoreField, i: int, j: int, *, mirrored: bool) -> Callable[[Any, Any], Any]:
    """Return the distance of points at lengths u and v along two bores, the first of them mirrored or not."""
    (a, b), (x, y) = axes(field)[[i, j]], field.positions[[i, j]]
    flip = np.array([1.0, 1.0, -1.0 if mirrored else 1.0])
    aside = RADIUS if i == j else 0.0

    def between(u: Any, v: Any) -> Any:
        square = aside**2
        for axis in range(3):
            start = x[axis] - y[axis] if axis < 2 else 0.0
            square = square + (start + flip[axis] * a[axis] * u - b[axis] * v) ** 2
        return np.sqrt(square)

    return between


def test_uniform_heat_flux_is_a_double_integral() -> None:
    """The mean drop over the field is the continuous point source, integrated along source and receiver."""
    times = np.array([5 * DAY, 365 * DAY, 20 * 365 * DAY])
    spans = ends(TWO)
    for time, found in zip(times, TWO.g_function(GROUND, times, uniform_heat_flux=True), strict=True):
        total = sum(on_itself(length, time) for length in TWO.depths)
        total += 2 * on_another(distance(TWO, 0, 1, mirrored=False), spans, time)
        total -= 2 * on_another(distance(TWO, 0, 1, mirrored=True), spans, time)
        for i in range(2):
            total -= on_another(distance(TWO, i, i, mirrored=True), [spans[i]] * 2, time)
        compare(found, total / TWO.total_depth, rtol=3e-5)


def point(d: float, time: float) -> float:
    """Return 2 pi k times the drop by a point source of 1 W at a distance [1/m]."""
    return float(erfc(d / (2 * np.sqrt(DIFFUSIVITY * time)))) / (2 * d)


def on_itself(length: float, time: float) -> float:
    """Return the double integral of the point source over a bore, felt at its wall."""

    def at(w: float) -> float:
        return 2 * (length - w) * point(float(np.hypot(w, RADIUS)), time)

    edges = [0.0, RADIUS, 10 * RADIUS, 100 * RADIUS, length]
    return sum(float(quad(at, *ends, epsrel=1e-10)[0]) for ends in itertools.pairwise(edges))


def on_another(between: Callable[[Any, Any], Any], spans: list[tuple[float, float]], time: float) -> float:
    """Return the double integral of the point source over two bores."""
    first, second = spans
    found, _ = dblquad(lambda v, u: point(between(u, v), time), *first, *second, epsrel=1e-6)
    return float(found)


def parts(field: BoreField) -> list[Array]:
    """Return the lengths along each bore at which its segments end."""
    half = 1.4 ** np.arange(12)
    relative = np.concatenate([[0.0], np.cumsum([*half, *half[::-1]])]) / (2 * half.sum())
    return [start + (end - start) * relative for start, end in ends(field)]


def points(edges: Array) -> tuple[Array, Array, Array]:
    """Return quadrature points along a bore, their weights, and the segment that each is in."""
    x, weight = np.polynomial.legendre.leggauss(4)
    place, weights, segment = [], [], []
    for number, (start, end) in enumerate(itertools.pairwise(edges)):
        for a, b in itertools.pairwise(np.linspace(start, end, 1 + int(np.ceil((end - start) / 0.5)))):
            place.append((a + b) / 2 + (b - a) / 2 * x)
            weights.append((b - a) / 2 * weight)
            segment.append(np.full(4, number))
    return np.concatenate(place), np.concatenate(weights), np.concatenate(segment)


def alone(edges: Array, q: complex) -> NDArray[np.complex128]:
    """Return half the double integral of exp(-q d) / d over segments of one bore, d = sqrt(w^2 + r^2).

    It is a second difference of the integral of (x - w) f(w) from 0 to x, in which w = r sinh y.
    """
    apart = np.abs(edges[:, None] - edges)
    most = np.arcsinh(apart / RADIUS)[..., None]
    x, weight = np.polynomial.legendre.leggauss(120)
    y = most * (1 + x) / 2
    integrand = (apart[..., None] - RADIUS * np.sinh(y)) * np.exp(-q * RADIUS * np.cosh(y))
    table = (most * weight / 2 * integrand).sum(axis=-1)
    return -0.5 * np.diff(np.diff(table, axis=0), axis=1)


def one_wall_temperature(field: BoreField, time: float) -> float:
    """Return g at a time, from the dense equations on Talbot's contour."""
    cuts = parts(field)
    quadrature = [points(edges) for edges in cuts]
    sums = [np.eye(24)[segment].T * weights for _, weights, segment in quadrature]
    apart = {
        (i, j, mirrored): distance(field, i, j, mirrored=mirrored)(
            quadrature[i][0][:, None], quadrature[j][0]
        )
        for i, j in itertools.product(range(field.count), repeat=2)
        for mirrored in (False, True)
    }
    lengths = np.concatenate([np.diff(edges) for edges in cuts])

    def transformed(p: complex) -> complex:
        q = np.sqrt(p / DIFFUSIVITY)
        matrix = np.zeros((lengths.size, lengths.size), dtype=complex)
        for i, j in itertools.product(range(field.count), repeat=2):
            block = matrix[24 * i : 24 * i + 24, 24 * j : 24 * j + 24]
            for mirrored, sign in ((False, 1.0), (True, -1.0)):
                if i == j and not mirrored:
                    block += alone(cuts[i], q)
                else:
                    d = apart[i, j, mirrored]
                    block += sign * sums[i] @ (np.exp(-q * d) / (2 * d)) @ sums[j].T
        heat = np.linalg.solve(matrix, lengths.astype(complex))
        return complex(lengths.sum() / (lengths @ heat) / p)

    count = 12
    scale = 2 * count / (5 * time)
    total = 0.5 * (np.exp(scale * time) * transformed(scale)).real
    for angle in np.pi * np.arange(1, count) / count:
        cotangent = 1 / np.tan(angle)
        p = scale * angle * (cotangent + 1j)
        turn = 1 + 1j * (angle + (angle * cotangent - 1) * cotangent)
        total += (np.exp(p * time) * transformed(p) * turn).real
    return float(scale / count * total)


@pytest.mark.parametrize("name", FIELDS)
def test_one_wall_temperature_solves_the_dense_equations(name: str) -> None:
    times = np.array([DAY, 100 * DAY, 30 * 365 * DAY])
    expected = [one_wall_temperature(FIELDS[name], time) for time in times]
    compare(FIELDS[name].g_function(GROUND, times), expected, rtol=5e-6)
