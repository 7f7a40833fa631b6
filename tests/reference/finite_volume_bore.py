"""Response tests on a bore of finite volumes, which shares nothing with the engine.

One metre of a bore: a node of fluid, a ring of grout around it and the ground out to where no heat arrives.
The fluid loses its heat through one resistance (film and pipe wall) to the ring, whose conductivity gives the
bore the resistance asked for. Heat capacities of fluid, pipes, grout and ground are all there. The equations
C dT/dt = - K T + q are solved exactly in time by their eigenvectors, so the only approximation is the rings.
What the ends of the bore and the surface change over days is the difference of a finite and an infinite line
source (Claesson & Javed 2011, An analytical method to calculate borehole fluid temperatures for time-scales
from minutes to decades, ASHRAE Transactions 117(2), 279-288, equations 9 to 11; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad
from scipy.special import erf, i0

HOUR = 3600.0


@dataclass(frozen=True)
class FiniteVolumeBore:
    """A bore and its ground.

    Conductivity [W/(m K)], heat capacities [J/(m3 K)], resistances [m K/W], radii [m], and heat capacity of
    fluid and pipes [J/(m K)].
    """

    conductivity: float = 2.3
    heat_capacity: float = 2.2e6
    resistance: float = 0.11
    radius: float = 0.07
    grout_radius: float = 2**0.5 * 0.016
    grout_heat_capacity: float = 3.4e6
    pipe_resistance: float = 0.0438
    fluid: float = 4.52e3
    pipes: float = 1.06e3
    depth: float = 120.0
    buried_depth: float = 2.0

    def step_response(self, times):
        """Return the rise of the fluid after a step of 1 W/m [m K/W], at times [s]."""
        grout = np.geomspace(self.grout_radius, self.radius, 41)
        far = self.radius + 12.0 * np.sqrt(self.conductivity / self.heat_capacity * max(times))
        ground = np.geomspace(self.radius, far, 301)
        share = self.resistance - self.pipe_resistance
        grout_conductivity = np.log(self.radius / self.grout_radius) / (2 * np.pi * share)
        capacity, half = [self.fluid], [0.0]
        for faces, k, c in (
            (grout, grout_conductivity, self.grout_heat_capacity),
            (ground, self.conductivity, self.heat_capacity),
        ):
            capacity += list(np.pi * c * np.diff(faces**2))
            half += list(np.log(faces[1:] / faces[:-1]) / (4 * np.pi * k))
        capacity[1] += self.pipes
        capacity, half = np.array(capacity), np.array(half)
        between = half[:-1] + half[1:]
        between[0] += self.pipe_resistance
        link = 1.0 / between
        last = 1.0 / half[-1]  # to the temperature far away
        diagonal = np.append(0.0, link) + np.append(link, last)
        root = np.sqrt(capacity)
        matrix = np.diag(diagonal / capacity) - np.diag(link / (root[1:] * root[:-1]), 1)
        rate, modes = np.linalg.eigh(matrix + np.triu(matrix, 1).T)
        weight = modes[0] ** 2 / (capacity[0] * rate)
        return (weight * -np.expm1(-np.outer(times, rate))).sum(axis=1) + self.of_ends(times)

    def of_ends(self, times):
        """Return what ends and surface add to the step response [m K/W], at times [s]."""
        at = np.geomspace(min(times), max(times), 30)
        found = [self._of_ends(time) for time in at]
        return np.interp(np.log(times), np.log(at), found) / (2 * np.pi * self.conductivity)

    def _of_ends(self, time):
        depth, top = self.depth, self.buried_depth

        def once(x):
            return x * erf(x) - (1 - np.exp(-x * x)) / np.sqrt(np.pi)

        def difference(s):
            h, d = depth * s, top * s
            finite = 2 * once(h) + 2 * once(h + 2 * d) - once(2 * h + 2 * d) - once(2 * d)
            return np.exp(-((self.radius * s) ** 2)) * (finite - 2 * h) / (depth * s * s)

        start = 1 / np.sqrt(4 * self.conductivity / self.heat_capacity * time)
        return 0.5 * quad(difference, start, start + 10 / self.radius, limit=200)[0]


def of_moving_water(bore, times, speed):
    """Return what water that moves heat at a speed [m/s] adds to the step response [m K/W], at times [s].

    The difference of a moving and a still line source, the mean around the bore's wall (Carslaw & Jaeger
    1959, Conduction of heat in solids, 10.7).
    """
    a = bore.conductivity / bore.heat_capacity
    reach = bore.radius * speed / (4 * a)
    at = np.geomspace(min(times), max(times), 40)

    def moving(x):
        return np.exp(-x) / x * (i0(2 * reach) * np.exp(-(reach**2) / x) - 1)

    found = [
        0.5
        * quad(
            lambda y: np.exp(y) * moving(np.exp(y)), np.log(bore.radius**2 / (4 * a * time)), 4, limit=200
        )[0]
        for time in at
    ]
    return np.interp(np.log(times), np.log(at), found) / (2 * np.pi * bore.conductivity)


def heat_with_cut(times, heat, *, start, cut=None):
    """Return steady heat from a start [h], off during a cut (begin and end [h]); steps end at times [h]."""
    on = times > start + 1e-9
    if cut is not None:
        on &= ~((times > cut[0] + 1e-9) & (times <= cut[1] + 1e-9))
    return np.where(on, heat, 0.0)


def rise(response, heat):
    """Return the rise of the fluid at the ends of equal steps [K]: all steps of heat added one by one."""
    change = np.diff(heat, prepend=0.0)
    total = np.zeros_like(heat)
    for place in np.flatnonzero(change):
        total[place:] += change[place] * response[: heat.size - place]
    return total


def noise(rng, count, *, white, lasting, hours, step):
    """Return noise of a logger [K]: white, and lasting with a correlation time [h]; steps in h."""
    decay = np.exp(-step / hours)
    drawn = lasting * rng.standard_normal(count)
    slow = np.empty(count)
    slow[0] = drawn[0]
    for place in range(1, count):
        slow[place] = decay * slow[place - 1] + np.sqrt(1.0 - decay**2) * drawn[place]
    return slow + white * rng.standard_normal(count)
