"""Published values, and laws of one line."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import exp1

WELL_FUNCTION = {
    1e-10: 22.4486,
    1e-6: 13.2383,
    1e-4: 8.6332,
    0.01: 4.0379,
    0.1: 1.8229,
    1.0: 0.2194,
    5.0: 0.001148,
}
"""W(u) by u [-]: Wenzel (1942), USGS Water-Supply Paper 887; from memory."""

FREEZING_POINTS = [
    # antifreeze, mass fraction, volume fraction, freezing point [degC]
    ("ethylene glycol", 0.10, None, -3.2),
    ("ethylene glycol", 0.20, 0.181, -7.8),
    ("ethylene glycol", 0.30, 0.277, -14.1),
    ("ethylene glycol", 0.40, 0.375, -22.3),
    ("ethylene glycol", 0.50, 0.475, -33.8),
    ("propylene glycol", 0.10, None, -3.3),
    ("propylene glycol", 0.20, 0.194, -7.1),
    ("propylene glycol", 0.30, 0.292, -12.7),
    ("propylene glycol", 0.40, 0.393, -21.1),
    ("propylene glycol", 0.50, 0.496, -33.4),
]
"""ASHRAE Handbook: Fundamentals, chapter "Physical properties of secondary coolants"; from memory."""

WATER_AT_20_DEGREES = {
    "density": (998.2, "kg/m3"),
    "heat capacity": (4184.0, "J/(kg K)"),
    "conductivity": (0.598, "W/(m K)"),
    "viscosity": (1.0016e-3, "Pa s"),
}
"""CRC Handbook of Chemistry and Physics, "Properties of water in the range 0-100 degC"; from memory."""

CRYOSCOPIC_CONSTANT = 1.86
"""Of water [K kg/mol]: CRC Handbook of Chemistry and Physics, "Cryoscopic constants"; from memory."""


def drawdown_by_theis(
    times: NDArray[np.float64], *, flow: float, distance: float, transmissivity: float, storativity: float
) -> NDArray[np.float64]:
    """Return the drawdown at a distance from a well [m].

    Parameters
    ----------
    times : numpy.ndarray
        Since pumping began [s].
    flow : float
        [m3/s].
    distance : float
        From the well [m].
    transmissivity : float
        Of the aquifer [m2/s].
    storativity : float
        Of the aquifer [-].

    References
    ----------
    Theis, C. V. (1935). The relation between the lowering of the piezometric surface and the rate and
    duration of discharge of a well. Trans. Am. Geophys. Union 16, 519-524.
    """
    u = distance**2 * storativity / (4.0 * transmissivity * times)
    return np.asarray(flow / (4.0 * np.pi * transmissivity) * exp1(u))


def yearly_wave(hours: NDArray[np.float64], *, depth: float, diffusivity: float) -> NDArray[np.float64]:
    """Return what reaches a depth of a yearly cosine of amplitude 1 K at the surface, lowest at hour 0 [K].

    Parameters
    ----------
    hours : numpy.ndarray
        Since the coldest time at the surface [h].
    depth : float
        Below the surface [m].
    diffusivity : float
        Of the ground [m2/s].

    References
    ----------
    Carslaw, H. S. & Jaeger, J. C. (1959). Conduction of Heat in Solids, section 2.6, equation 8.
    """
    x = depth * np.sqrt(np.pi / (diffusivity * 8760.0 * 3600.0))
    return np.asarray(-np.exp(-x) * np.cos(2.0 * np.pi * hours / 8760.0 - x))


def annuity(years: int, rate: float) -> float:
    """Return the present value of one unit at the end of each year [-]: (1 - (1 + i)^-n) / i.

    Parameters
    ----------
    years : int
        How many.
    rate : float
        Discount rate per year [-].
    """
    return (1.0 - (1.0 + rate) ** -years) / rate
