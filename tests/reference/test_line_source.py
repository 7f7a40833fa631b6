"""The finite line source against its own definition and its limits.

Sources: continuous point source, Carslaw & Jaeger (1959), Conduction of Heat in Solids, section 10.4,
equation 2;
infinite line source, same, section 10.4, equation 5; steady state of a single borehole, Eskilson (1987),
Thermal
Analysis of Heat Extraction Boreholes, Lund (from memory; derived again below).
"""

from __future__ import annotations

import numpy as np
import pytest

from book import compare
from loopdrift import Ground
from loopdrift.verification.references.line import at_rest, of_infinite_line, of_point_sources

GROUND = Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
DIFFUSIVITY = 1.0e-6
YEAR = 8760 * 3600.0

CASES = [
    (distance, depth, buried_depth, time)
    for distance, depth, buried_depth in [
        (0.075, 100.0, 2.0),
        (5.0, 150.0, 4.0),
        (20.0, 30.0, 0.0),
        (1.0, 400.0, 10.0),
        (60.0, 80.0, 1.0),
    ]
    for time in (30 * 86400.0, YEAR, 20 * YEAR, 1000 * YEAR)
]


@pytest.mark.parametrize(("distance", "depth", "buried_depth", "time"), CASES)
def test_is_the_integral_of_point_sources(
    distance: float, depth: float, buried_depth: float, time: float
) -> None:
    ours = GROUND.line_source([time], distance=distance, depth=depth, buried_depth=buried_depth)
    expected = of_point_sources(
        time, distance=distance, depth=depth, buried_depth=buried_depth, diffusivity=DIFFUSIVITY
    )
    compare(ours, expected, rtol=1e-9)


def test_is_an_infinite_line_but_for_its_ends() -> None:
    """Beyond each end, sources are missing."""
    times = np.geomspace(3600.0, 30 * 86400.0, 7)
    ours = GROUND.line_source(times, distance=0.075, depth=100.0, buried_depth=100.0)
    compare(ours, of_infinite_line(times, distance=0.075, depth=100.0, diffusivity=DIFFUSIVITY), rtol=1e-9)


@pytest.mark.parametrize("buried_depth", [0.0, 1.0, 200.0])
def test_steady_state(buried_depth: float) -> None:
    """Analytic: at last, each of the double integrals of 1 / (2 R) is a second difference.

    Ten metres after 10,000 years are steady to (depth / c)^3 / (3 sqrt pi) from the surface, c = 1123 m;
    deeper lines
    still have 3 (2 buried_depth / c)^2 / (3 sqrt pi) depth / c to go at most.
    """
    depth, radius = 10.0, 0.05
    ours = GROUND.line_source([10_000 * YEAR], distance=radius, depth=depth, buried_depth=buried_depth)
    reach = np.sqrt(4 * DIFFUSIVITY * 10_000 * YEAR)
    transient = depth * (2 * buried_depth + depth) ** 2 / (3 * np.sqrt(np.pi) * reach**3)
    compare(
        ours, at_rest(distance=radius, depth=depth, buried_depth=buried_depth), rtol=0, atol=1.1 * transient
    )


def test_steady_state_is_near_eskilsons() -> None:
    """Eskilson's ln(H / 2 r) is between the exact mean of a line from the surface and of one far below it.

    For slender lines these are ln(H / r) - 1 and ln(H / r) + ln 2 - 1 (from the steady line): at most
    ln 4 - 1 = 0.386 off.
    """
    depth, radius = 10.0, 0.05
    for buried_depth in (0.0, 200.0):
        ours = GROUND.line_source([10_000 * YEAR], distance=radius, depth=depth, buried_depth=buried_depth)
        compare(ours, np.log(depth / (2 * radius)), rtol=0, atol=np.log(4) - 1 + radius / depth)
