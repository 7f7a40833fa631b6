"""The well function and the pair of wells.

Sources: `scipy.special.exp1`; the table of W(u) of Wenzel (1942), USGS Water-Supply Paper 887 (values from
memory); Theis (1935), Trans. Am. Geophys. Union 16, 519; particles tracked through the velocities of a source
and a sink.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.special import exp1

import loopdrift as ld
from book import compare
from loopdrift import _core
from loopdrift.verification.references.published import WELL_FUNCTION, drawdown_by_theis


def test_the_well_function_is_the_exponential_integral() -> None:
    u = np.logspace(-14, 2, 500)
    compare(_core.testing.well_function(u), exp1(u), rtol=1e-13)


def test_the_well_function_is_that_of_the_published_table() -> None:
    compare(
        _core.testing.well_function(np.array(list(WELL_FUNCTION))), list(WELL_FUNCTION.values()), atol=6e-5
    )


def test_drawdown_is_that_of_theis() -> None:
    aquifer = ld.Aquifer(temperature=11.0, thickness=15.0, transmissivity=2e-3, storativity=2e-4)
    times = np.array([60.0, 3600.0, 1e6, 1e9])
    expected = drawdown_by_theis(
        times, flow=3.0 / 999.97, distance=10.0, transmissivity=2e-3, storativity=2e-4
    )
    compare(aquifer.drawdown(3.0, distance=10.0, times=times), expected, rtol=1e-12, unit="m")


@pytest.mark.parametrize("angle", [0.02, 0.3, 1.0, np.pi / 2, 2.0, 2.4])
def test_a_particle_arrives_when_its_share_does(angle: float) -> None:
    """Unit distance, and a strength with which breakthrough takes a unit of time: Q / h = pi/3."""
    strength = 1.0 / 6.0  # Q / (2 pi h)
    radius = 1e-3

    def velocity(_time: float, place: np.ndarray) -> np.ndarray:
        from_source, from_sink = place, place - np.array([1.0, 0.0])
        return strength * (from_source / (from_source @ from_source) - from_sink / (from_sink @ from_sink))

    def arrived(_time: float, place: np.ndarray) -> float:
        return float(np.hypot(place[0] - 1.0, place[1]) - radius)

    arrived.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(
        velocity,
        (0.0, 1e3),
        radius * np.array([np.cos(angle), np.sin(angle)]),
        events=arrived,
        rtol=1e-9,
        atol=1e-12,
    )
    time = found.t_events[0][0]
    compare(_core.returned_share(np.array([time]))[0], angle / np.pi, atol=2e-3)


def test_the_first_particle_arrives_at_breakthrough() -> None:
    """On the straight line the velocity is known: its inverse is integrated by itself."""
    x = np.linspace(0.0, 1.0, 200_001)
    velocity_inverse = 6.0 * x * (1.0 - x)  # over Q / (2 pi h) = 1/6: 1/x + 1/(1 - x) = 1/(x (1 - x))
    time = np.trapezoid(velocity_inverse, x)
    compare(time, 1.0, rtol=1e-9, what="time of the integral")
    share = _core.returned_share(np.array([0.999 * time, 1.001 * time]))
    assert share[0] == 0.0
    assert share[1] > 0.0
    pi_thirds = _core.breakthrough(999.97 * np.pi / 3, 1.0, 1.0, 999.97 * 4200.0)
    compare(pi_thirds, 1.0, rtol=1e-12, what="breakthrough")
