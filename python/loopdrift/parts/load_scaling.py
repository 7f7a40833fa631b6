"""Loads brought to what a meter and a nameplate tell."""

from __future__ import annotations

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.series import Series

STEEPEST = 20.0
"""Greatest exponent, and the inverse of the least, by which a shape is bent."""


def scale(load: Series, name: str, *, total: float | None, peak: float | None) -> Series:
    """Return one series of loads that meets a yearly total, a largest hour, or both.

    One of them multiplies all hours alike. Both bend the shape too: ``peak x (load / largest load) ^ a`` with
    the exponent that meets the total, which keeps hours without load and the order of all others.

    Parameters
    ----------
    load : numpy.ndarray
        Hourly means of whole years [W].
    name : str
        What the series is called, for the message.
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
        If there is nothing to scale, or no exponent from 1/20 to 20 meets both.
    """
    largest = float(load.max())
    if largest == 0.0 and (total or peak):
        field, value, unit = (f"{name}_kWh", total, "kWh") if total else (f"{name}_peak", peak, "W")
        raise InvalidInput("Loads", field, value, unit, f"must be 0, for there is no {name} to scale")
    if peak is None:
        now = _yearly(load)
        return load if total is None or largest == 0.0 else load * (total / now)
    if total is None or largest == 0.0:
        return load if largest == 0.0 else load * (peak / largest)
    shape = load / largest

    def bent(logarithm: float) -> Series:
        # Zero to any power here is zero: hours without load stay so.
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
