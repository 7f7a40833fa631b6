"""Temperatures of the ground against plain superposition of point sources, segment by segment, hour by hour.

Reference: the drop from a continuous point source, erfc(R / sqrt(4 a t)) / (4 pi k R) (Carslaw & Jaeger 1959,
section 10.4, equation 2; from memory), with its mirror image above the surface, integrated along each segment
with scipy and numpy. How the heat is spread over the segments is found here by stepping in time: one wall
temperature for all segments at the end of every hour (Cimmino & Bernier 2014), with the means over receiver
segments integrated along both. It shares nothing with the engine but the rule for the segments' lengths. What
differs is that here a segment's heat is constant for an hour, an error of first order that falls with time.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.special import erf, erfc

import loopdrift as ld
from book import compare
from loopdrift import _core

HOUR = 3600.0
HOURS = 250
RADIUS = 0.08
TOP = 1.0
DEPTHS = (30.0, 38.0, 34.0)
POSITIONS = np.array([[0.0, 0.0], [4.0, 0.0], [1.0, 3.5]])
GROUND = ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.0e6, temperature=9.0, gradient=0.03)
DIFFUSIVITY = GROUND.conductivity / GROUND.volumetric_heat_capacity


def heat() -> np.ndarray:
    """Invented heat, long swings and short ones [W]."""
    hours = np.arange(HOURS)
    return 3000.0 * np.cos(hours / 90.0) + 1500.0 * np.sin(hours / 3.0)


def segments() -> list[np.ndarray]:
    """Edges of each bore's 24 segments, each 1.4 times as long as the one nearer the end [m]."""
    lengths = 1.4 ** np.minimum(np.arange(24), 23 - np.arange(24))
    shares = np.concatenate([[0.0], np.cumsum(lengths)]) / lengths.sum()
    return [TOP + depth * shares for depth in DEPTHS]


def mean_drops() -> np.ndarray:
    """Mean drop along each segment for 1 W/m from each, after 1 h, 2 h, ...: (hours, receivers, sources) [K].

    Claesson & Javed (2011), equation 9, in differences from hour to hour.
    """
    edges = segments()
    upper = np.concatenate([edge[:-1] for edge in edges])
    lower = np.concatenate([edge[1:] for edge in edges])
    bore = np.repeat(np.arange(3), 24)
    squares = np.square(POSITIONS[bore, None] - POSITIONS[None, bore]).sum(axis=2)
    squares[bore[:, None] == bore] = RADIUS**2

    def integrand(s: float) -> np.ndarray:
        def ierf(x: np.ndarray) -> np.ndarray:
            return x * erf(x) - (1.0 - np.exp(-x * x)) / np.sqrt(np.pi)

        def second(sign: float) -> np.ndarray:
            pairs = [(upper, lower, 1.0), (lower, upper, 1.0), (upper, upper, -1.0), (lower, lower, -1.0)]
            return sum(part * ierf(s * (to[:, None] + sign * of[None])) for to, of, part in pairs)

        return np.exp(-squares * s * s) * (second(-1.0) + second(1.0)) / s

    ends = np.log(1.0 / np.sqrt(4.0 * DIFFUSIVITY * HOUR * np.arange(1, HOURS + 1)))
    points, weights = np.polynomial.legendre.leggauss(8)
    beyond = np.linspace(ends[0], np.log(7.0 / RADIUS), 13)
    total = np.zeros(squares.shape)
    for low, high in itertools.pairwise(beyond):
        for point, weight in zip(points, weights, strict=True):
            s = np.exp(0.5 * (low + high) + 0.5 * (high - low) * point)
            total += 0.5 * (high - low) * weight * integrand(s)
    drops = [total.copy()]
    few, few_weights = np.polynomial.legendre.leggauss(2)
    for high, low in itertools.pairwise(ends):
        for point, weight in zip(few, few_weights, strict=True):
            s = np.exp(0.5 * (low + high) + 0.5 * (high - low) * point)
            total += 0.5 * (high - low) * weight * integrand(s)
        drops.append(total.copy())
    per_source = 1.0 / (4.0 * np.pi * GROUND.conductivity)
    return per_source * np.array(drops) / (lower - upper)[None, :, None]


@pytest.fixture(scope="module")
def segment_heat() -> np.ndarray:
    """Heat of each segment in each hour [W/m]."""
    drops = mean_drops()
    lengths = np.concatenate([np.diff(edge) for edge in segments()])
    count = lengths.size
    equations = np.zeros((count + 1, count + 1))
    equations[:count, :count], equations[:count, count], equations[count, :count] = drops[0], -1.0, lengths
    inverse = np.linalg.inv(equations)
    steps = np.diff(drops, axis=0, prepend=0.0)
    found = np.zeros((HOURS, count))
    for hour, whole in enumerate(heat()):
        past = np.einsum("hrs,hs->r", steps[1 : hour + 1][::-1], found[:hour])
        # The last of what is solved for is the drop of the walls' temperature.
        found[hour] = (inverse @ np.concatenate([-past, [whole]]))[:count]
    return found


def superposed(points: np.ndarray, found: np.ndarray) -> np.ndarray:
    """Temperatures at points after the last hour."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    ages = np.arange(HOURS, 0, -1) * HOUR
    values = GROUND.temperature + GROUND.gradient * points[:, 2]
    for bore, edges in enumerate(segments()):
        square = np.square(points[:, :2] - POSITIONS[bore]).sum(axis=1)[:, None]
        for segment, (upper, lower) in enumerate(itertools.pairwise(edges)):
            depth = 0.5 * (upper + lower) + 0.5 * (lower - upper) * nodes
            steps = np.diff(found[:, 24 * bore + segment], prepend=0.0)
            for sign in (1.0, -1.0):
                distance = np.sqrt(square + np.square(points[:, 2:] - sign * depth))
                answer = erfc(distance[:, :, None] / np.sqrt(4.0 * DIFFUSIVITY * ages)) @ steps
                source = answer / (4.0 * np.pi * GROUND.conductivity * distance)
                values -= sign * 0.5 * (lower - upper) * (source @ weights)
    return values


def field() -> ld.BoreField:
    bores = [
        ld.Bore(depth=depth, buried_depth=TOP, diameter=2.0 * RADIUS, resistance=0.1) for depth in DEPTHS
    ]
    return ld.BoreField(bores, positions=POSITIONS)


def test_points_agree_with_plain_superposition(segment_heat: np.ndarray) -> None:
    points = np.array(
        [
            [0.5, 0.0, 15.0],
            [2.0, 0.0, 20.0],
            [4.0, 0.4, 36.0],
            [4.0, 0.5, 40.0],
            [1.0, 3.0, 1.5],
            [1.5, 1.5, 0.7],
            [-1.0, 2.0, 33.0],
            [0.3, 0.0, 30.8],
        ]
    )
    fluid = ld.Fluid.constant(
        density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
    )
    history = _core.GroundHistory(field().for_engine(), GROUND.for_engine(), fluid.for_engine(), 1.0, heat())
    temperatures = history.points(points, [HOURS])[0]
    undisturbed = GROUND.temperature + GROUND.gradient * points[:, 2]
    assert np.abs(temperatures - undisturbed).min() > 1e-3, "every point must have felt the heat"
    compare(temperatures, superposed(points, segment_heat), rtol=0.0, atol=2e-3, unit="degC")
