"""Hours of loop and heat pump by plain superposition, at a cost with the square of the hours.

Superposition of step changes in time (Carslaw & Jaeger 1959, Duhamel's theorem; from memory), with the
equations of the bore, the fluid and the heat pump, solved with scipy's root finder.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import NDArray
from scipy.optimize import brentq

Array = NDArray[np.float64]


@dataclasses.dataclass(frozen=True)
class Mode:
    """Polynomials in the entering fluid temperature [degC], the constant first."""

    cop: list[float]
    capacity: list[float]
    """[W]"""


@dataclasses.dataclass(frozen=True)
class Plant:
    """A heat pump with one compressor, and the pump of its loop."""

    heating: Mode
    cooling: Mode
    cycling_loss: float
    """Share of the COP lost as the part load approaches zero [-]."""
    pump_power: float
    """In hours with a load [W]."""

    def work(self, mode: Mode, entering: float, load: float) -> tuple[float, float]:
        """Return what one mode delivers and the electricity that it takes [W]."""
        if load == 0.0:
            return 0.0, 0.0
        capacity = float(polyval(entering, mode.capacity))
        delivered = min(load, capacity)
        part_load_factor = 1.0 - self.cycling_loss * (1.0 - delivered / capacity)
        return delivered, delivered / (float(polyval(entering, mode.cop)) * part_load_factor)

    def in_turns(self, entering: float, heating: float, cooling: float) -> tuple[float, float]:
        """Return what the compressor has time for [W], each mode in proportion to its time alone."""
        capacities = [float(polyval(entering, mode.capacity)) for mode in (self.heating, self.cooling)]
        times = [min(load / most, 1.0) for load, most in zip((heating, cooling), capacities, strict=True)]
        if min(times) == 0.0 or sum(times) <= 1.0:
            return heating, cooling
        heat, cold = (most * time / sum(times) for most, time in zip(capacities, times, strict=True))
        return heat, cold

    def heat(self, entering: float, heating: float, cooling: float) -> tuple[float, float]:
        """Return the heat extracted from the loop and the electricity of the compressor [W]."""
        heat, cold = self.in_turns(entering, heating, cooling)
        given, power = self.work(self.heating, entering, heat)
        taken, more_power = self.work(self.cooling, entering, cold)
        return given - power - taken - more_power, power + more_power


def superposed(
    plant: Plant, heating: Array, cooling: Array, *, response: Array, to_wall: float, undisturbed: float
) -> dict[str, Array]:
    """Step through the hours with every past hour's heat summed anew.

    Parameters
    ----------
    plant : Plant
        Heat pump and circulation pump.
    heating, cooling : numpy.ndarray
        Loads of a year [W]; they repeat.
    response : numpy.ndarray
        The wall's drop for one watt of the field after 1, 2, ... hours [K/W]: as many hours as are stepped.
    to_wall : float
        Entering fluid below the wall, for one watt of the field [K/W].
    undisturbed : float
        Temperature of the ground [degC].

    Returns
    -------
    dict
        Entering fluid and wall [degC] at the end of each hour, and electricity in it [W].
    """
    count = len(response)
    backwards = response[::-1].copy()
    changes, entering, wall, electricity = np.zeros(count), np.zeros(count), np.zeros(count), np.zeros(count)
    heat = 0.0
    for n in range(count):
        hot, cold = float(heating[n % len(heating)]), float(cooling[n % len(cooling)])
        # Drop at the end of the hour from all changes before it, and from going back to no heat now.
        past = changes[:n] @ backwards[count - 1 - n : count - 1] - heat * response[0]

        def surplus(temperature: float, past: float = past, hot: float = hot, cold: float = cold) -> float:
            extracted = plant.heat(temperature, hot, cold)[0]
            return float(undisturbed - past - (response[0] + to_wall) * extracted - temperature)

        entering[n] = brentq(surplus, -20.0, 40.0, xtol=1e-12)
        extracted, power = plant.heat(float(entering[n]), hot, cold)
        changes[n], heat = extracted - heat, extracted
        wall[n] = undisturbed - past - response[0] * extracted
        electricity[n] = power + plant.pump_power * (hot + cold > 0.0)
    return {"entering_fluid_degC": entering, "wall_degC": wall, "electricity_W": electricity}
