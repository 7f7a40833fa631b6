"""Emission factors of carbon dioxide: one value, one per year, or one per hour of the year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics import model_time
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.series import numbers
from loopdrift.basics.units import to_si

MOST_YEARS = 100
CarbonFactor = float | Sequence[float]


def checked(factor: Any, *, owner: str, field: str, hourly: bool) -> CarbonFactor:
    """Return a factor as a number or a tuple of numbers [kg/kWh].

    Parameters
    ----------
    factor : float or str or sequence of float
        The factor [kg/kWh].
    owner, field : str
        What it belongs to, for the message.
    hourly : bool
        Whether one per hour of the year is accepted.

    Raises
    ------
    InvalidInput
        If it isn't a number or a sequence of numbers, is negative, or has neither a value per year nor per
        hour.
    """
    if isinstance(factor, str):
        factor = to_si(factor, "kg/kWh", owner=owner, field=field)
    given = factor if isinstance(factor, list | tuple | np.ndarray) else [factor]
    series = numbers(given, "kg/kWh", owner=owner, field=field)
    if not 1 <= series.size <= MOST_YEARS and not (hourly and series.size == HOURS_PER_YEAR):
        by_hour = f", or {HOURS_PER_YEAR} by hour" if hourly else ""
        allowed = f"must be one number, or one for each of up to {MOST_YEARS} years{by_hour}"
        raise InvalidInput(owner, field, f"{series.size} numbers", "", allowed)
    wrong = ~(np.isfinite(series) & (series >= 0.0))
    if wrong.any():
        raise InvalidInput(owner, field, float(series[wrong][0]), "kg/kWh", "must be at least 0 kg/kWh")
    return float(series[0]) if given is not factor else tuple(series.tolist())


def carbon(
    factor: CarbonFactor, energy: NDArray[np.float64], *, start_month: int, owner: str
) -> NDArray[np.float64]:
    """Return the carbon dioxide of each year, shape (years,) [kg].

    Parameters
    ----------
    factor : float or tuple of float
        A factor returned by `checked` [kg/kWh].
    energy : numpy.ndarray, shape (years, 8760) or (years, 1)
        Energy of each hour, or of each year if there are no hourly factors [kWh].
    start_month : int
        Month in which each year begins, 1 to 12.
    owner : str
        What the factor belongs to, for the message.

    Raises
    ------
    InvalidInput
        If there are factors for fewer years than the run has.
    """
    by_year: NDArray[np.float64] = energy.sum(axis=1)
    if not isinstance(factor, tuple):
        return float(factor) * by_year  # type: ignore[arg-type]
    if len(factor) == HOURS_PER_YEAR:
        first = model_time.hour_of_calendar_year(start_month)
        hourly: NDArray[np.float64] = energy @ np.roll(np.array(factor), -first)
        return hourly
    years = len(energy)
    if len(factor) < years:
        allowed = f"must be one for each of the run's {years} years"
        raise InvalidInput(owner, "carbon", f"{len(factor)} numbers", "", allowed)
    return np.array(factor[:years]) * by_year
