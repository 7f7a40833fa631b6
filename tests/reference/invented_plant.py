"""An invented plant, hour by hour, without the engine: bores, heat pump, and what a logger sees.

The ground is the dense solution of `loopdrift.verification.references.field`, which shares nothing with the
engine, superposed hour by hour by fast convolution; the heat pump is a line for its COP.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.signal import fftconvolve, lfilter

from loopdrift.verification.references.field import g_function

HOUR = 3600.0
YEAR = 8760
SPECIFIC = 3850.0  # J/(kg K)


@dataclass(frozen=True)
class InventedPlant:
    """A plant whose ground is known."""

    conductivity: float = 2.0
    heat_capacity: float = 2.2e6
    temperature: float = 10.5
    resistance: float = 0.11
    depth: float = 110.0
    buried_depth: float = 2.0
    radius: float = 0.07
    positions: tuple[tuple[float, float], ...] = ((0.0, 0.0), (7.0, 0.0))
    flow: float = 0.7  # kg/s
    heating_cop: tuple[float, float] = (3.6, 0.08)  # at 0 degC, and per K
    cooling_cop: tuple[float, float] = (6.5, -0.1)

    def run(self, heating: np.ndarray, cooling: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return entering fluid [degC], heat extracted and electricity [W] of each hour."""
        length = len(self.positions) * self.depth
        response = self.step_response(heating.size) / (2.0 * np.pi * self.conductivity * length)
        local = self.resistance / length - 1.0 / (2.0 * self.flow * SPECIFIC)
        entering = np.full(heating.size, self.temperature)
        for _ in range(30):
            cop = self.heating_cop[0] + self.heating_cop[1] * entering
            eer = self.cooling_cop[0] + self.cooling_cop[1] * entering
            heat = heating * (1.0 - 1.0 / cop) - cooling * (1.0 + 1.0 / eer)
            wall = self.temperature - fftconvolve(np.diff(heat, prepend=0.0), response)[: heat.size]
            before, entering = entering, wall - local * heat
            if np.abs(entering - before).max() < 1e-7:
                break
        else:
            raise AssertionError("the hours didn't settle")
        return entering, heat, heating / cop + cooling / eer

    def step_response(self, hours: int) -> np.ndarray:
        """Return the response of the mean wall to a steady heat per length after 1, 2, ... hours [-]."""
        return _response(self, hours)


@functools.cache
def _response(plant: InventedPlant, hours: int) -> np.ndarray:
    at = np.geomspace(HOUR, hours * HOUR, 60)
    sources = np.array([[plant.depth, plant.buried_depth, plant.radius]] * len(plant.positions))
    diffusivity = plant.conductivity / plant.heat_capacity
    nodes = g_function(sources, np.array(plant.positions), at, diffusivity=diffusivity)
    return CubicSpline(np.log(at), nodes)(np.log(HOUR * np.arange(1, hours + 1)))


def yearly_loads(heating_peak: float = 9000.0, cooling_peak: float = 4000.0) -> tuple[np.ndarray, np.ndarray]:
    """Return invented loads of a year: seasons with days and nights [W]."""
    hour = np.arange(YEAR)
    season = np.cos(2 * np.pi * (hour / 24.0 - 20.0) / 365.0)
    day = np.cos(2 * np.pi * (hour % 24 - 15) / 24.0)
    weather = 0.25 * np.sin(2 * np.pi * hour / 24.0 / 11.3) + 0.2 * np.sin(2 * np.pi * hour / 24.0 / 5.7)
    heating = heating_peak * np.clip(0.75 * season + 0.15 - 0.15 * day + 0.4 * weather, 0.0, 1.0)
    cooling = cooling_peak * np.clip(-0.9 * season - 0.15 + 0.3 * day - 0.4 * weather, 0.0, 1.0)
    return np.where(heating > 300.0, heating, 0.0), np.where(cooling > 300.0, cooling, 0.0)


def other_loads(
    rng: np.random.Generator, years: int, error: float, *, scatter: float = 0.1
) -> tuple[np.ndarray, np.ndarray]:
    """Return loads of several years that aren't those of `yearly_loads`.

    Each kind is multiplied by one factor of a standard error, and by weather of its own that lasts a week.
    """
    found = []
    for series in yearly_loads():
        factor = np.exp(error * rng.standard_normal())
        own = np.exp(scatter * lasting(rng, years * YEAR, 7 * 24.0))
        found.append(factor * own * np.tile(series, years))
    return found[0], found[1]


def lasting(rng: np.random.Generator, count: int, hours: float) -> np.ndarray:
    """Return noise of variance 1 whose correlation falls to 1/e in some hours (rows an hour apart)."""
    keep = np.exp(-1.0 / hours)
    drawn = np.sqrt(1.0 - keep**2) * rng.standard_normal(count)
    drawn[0] = rng.standard_normal()
    return lfilter([1.0], [1.0, -keep], drawn)
