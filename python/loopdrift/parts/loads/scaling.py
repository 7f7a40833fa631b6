"""Scaling of loads to metered yearly totals and known peaks."""

from __future__ import annotations

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.series import Series

STEEPEST = 20.0
"""Greatest exponent of a shape, and inverse of the least [-]."""


def scale(load: Series, name: str, *, total: float | None, peak: float | None) -> Series:
    """Return one series of loads scaled to a yearly total, a largest hour, or both.

    A total or a peak alone multiplies all hours by one factor. Both together also change the shape:
    ``peak x (load / largest load) ^ a``, with the exponent that meets the total. Hours without load stay
    without, and the order of all other hours is kept.

    Parameters
    ----------
    load : numpy.ndarray
        Hourly means of whole years [W].
    name : str
        Name of the series, for the message.
    total : float or None
        Energy in a mean year [kWh].
    peak : float or None
        Largest hourly mean [W].

    Returns
    -------
    numpy.ndarray
        Hourly means [W].

    Raises
    ------
    InvalidInput
        If the load is zero in all hours, or no exponent from 1/20 to 20 meets both.
    """
    largest = float(load.max())
    if largest == 0.0 and (total or peak):
        field, value, unit = (f"{name}_kWh", total, "kWh") if total else (f"{name}_peak", peak, "W")
        raise InvalidInput("Loads", field, value, unit, f"must be 0: there is no {name} to scale")
    if peak is None:
        now = _yearly(load)
        return load if total is None or largest == 0.0 else load * (total / now)
    if total is None or largest == 0.0:
        return load if largest == 0.0 else load * (peak / largest)
    shape = load / largest

    def bent(logarithm: float) -> Series:
        # Exponents are positive, so hours without load stay without.
        bent: Series = peak * shape ** np.exp(logarithm)
        return bent

    ends = (-np.log(STEEPEST), np.log(STEEPEST))
    most, least = (_yearly(bent(end)) for end in ends)
    if not least <= total <= most:
        allowed = f"must be from {least:.6g} to {most:.6g} kWh with a peak of {peak:g} W and this shape"
        raise InvalidInput("Loads", f"{name}_kWh", total, "kWh", allowed)
    if least == most:
        return bent(0.0)
    from scipy.optimize import brentq

    exponent = brentq(lambda logarithm: _yearly(bent(logarithm)) - total, *ends, xtol=1e-14, rtol=1e-14)
    return bent(float(exponent))


def _yearly(load: Series) -> float:
    """Return the energy of a mean year [kWh]."""
    return float(load.sum()) / 1000.0 / (load.size // HOURS_PER_YEAR)
