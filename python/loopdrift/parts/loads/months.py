"""Hours shaped from the sums and peaks of twelve months."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_OF_MONTHS, MONTHS, hour_of_day, month_of_hours
from loopdrift.basics.numbers import Range
from loopdrift.basics.series import Series
from loopdrift.parts.loads.shapes import line_of_slope, line_to_peak, raised_to_peak

_DRAWN = np.array(
    [
        *(1.0, 0.5, 0.5, 0.5, 1.0, 3.0, 8.0, 10.0, 7.0, 5.0, 4.0, 4.0),
        *(5.0, 4.0, 3.0, 3.0, 4.0, 6.0, 8.0, 8.0, 7.0, 5.0, 3.0, 2.0),
    ]
)
"""Hot water drawn in each hour of a day, as a share of the largest: morning and evening; common practice, no
source."""
MONTH_SUM, MONTH_PEAK = Range("kWh", least=0.0, most=1e9), Range("W", least=0.0, most=1e9)
_BASES = np.arange(8.0, 24.05, 0.1)
"""Balance points among which the one that fits twelve sums is looked for [degC]."""


class Months(NamedTuple):
    """Sums and peaks of twelve months from January."""

    name: str
    sums: Series
    """[W h]"""
    peaks: Series | None
    """[W]"""


def require_carried(months: Months | None, peak: float, field: str) -> None:
    """Refuse a largest hour that is too small for the sum of a month.

    Parameters
    ----------
    months : Months or None
        Sums, without peaks.
    peak : float
        Largest hourly mean of the year [W].
    field : str
        Its name, for the message.

    Raises
    ------
    InvalidInput
        If it is, or if there are no sums, or peaks of months beside it.
    """
    if months is None or months.peaks is not None:
        allowed = "must come with heating_months, and without heating_peaks"
        raise InvalidInput("Loads", field, peak, "W", allowed)
    fullest = float((months.sums / np.array(HOURS_OF_MONTHS)).max())
    if peak < fullest:
        allowed = f"must be at least {fullest:.6g} W, the mean of the month with the most heat"
        raise InvalidInput("Loads", field, peak, "W", allowed)


def checked(name: str, sums: Any, peaks: Any) -> Months | None:
    """Return sums and peaks of a load; None where there are neither.

    Parameters
    ----------
    name : str
        The load, such as ``heating``.
    sums : sequence of float or str, optional
        Heat of each month [kWh].
    peaks : sequence of float or str, optional
        Largest hour of each month [W].

    Raises
    ------
    InvalidInput
        If they aren't twelve numbers of zero or more, or a month's peak can't make its sum.
    """
    heat = _twelve(sums, MONTH_SUM, f"{name}_months")
    power = _twelve(peaks, MONTH_PEAK, f"{name}_peaks")
    if heat is None:
        if power is not None:
            allowed = f"must be left out without {name}_months"
            raise InvalidInput("Loads", f"{name}_peaks", "twelve values", "W", allowed)
        return None
    for place, (month, hours) in enumerate(zip(MONTHS, HOURS_OF_MONTHS, strict=True)):
        if power is None:
            break
        least, most = 1e3 * heat[place] / hours, 1e3 * heat[place]
        if not least * (1.0 - 1e-12) <= power[place] <= most * (1.0 + 1e-12):
            allowed = (
                f"must be from {least:.6g} W (in all hours of {month}) to {most:.6g} W (in one), for "
                f"{heat[place]:g} kWh"
            )
            raise InvalidInput("Loads", f"{name}_peaks[{place}]", power[place], "W", allowed)
    return Months(name, 1e3 * heat, power)


def shaped(months: Months, outdoor: Series, highest: float | None = None) -> Series:
    """Return the hours of a year whose sums and peaks of each month are exact.

    Heating and cooling are proportional to degree hours, with the slope and the balance point at which these
    fit the twelve sums best, by least squares; each month's own balance point makes its sum. A month's peak
    above that line falls in the mornings, as after a set-back, or for cooling in the afternoons, of all its
    days alike (`raised_to_peak`); for a smaller one the line is the flatter that peak and sum set
    (`line_to_peak`). Hot water follows the hours of the day where it has peaks, and is the same in all hours
    of a month where it has none.

    Parameters
    ----------
    months : Months
        Sums and peaks.
    outdoor : numpy.ndarray
        Outdoor temperature in each hour of the year [degC].
    highest : float, optional
        Largest hourly mean that any month may have where its own peak isn't known [W].
    """
    month = month_of_hours(start_month=1)
    load = np.zeros(outdoor.size)
    need = outdoor if months.name == "cooling" else -outdoor
    slope = 0.0 if months.name == "hot_water" else _slope(months.sums, need, month)
    for place in range(12):
        at = np.flatnonzero(month == place + 1)
        total = float(months.sums[place])
        if total == 0.0:
            continue
        peak = None if months.peaks is None else float(months.peaks[place])
        if months.name != "hot_water":
            line = line_of_slope(need[at], slope, total)
            if peak is None and highest is not None and line.max() > highest:
                peak = highest
            load[at] = to_peak(line, need[at], peak, months.name)
        elif peak is None:
            load[at] = total / at.size
        else:
            load[at] = line_to_peak(1.0 - _DRAWN[hour_of_day()[at]] / _DRAWN.max(), peak, total)
    return load


def to_peak(line: Series, need: Series, peak: float | None, name: str) -> Series:
    """Return heating or cooling of whole days on a line, brought to a peak where that is known.

    Parameters
    ----------
    line : numpy.ndarray
        Hourly means [W].
    need : numpy.ndarray
        Degrees by which an hour needs more [K].
    peak : float or None
        Largest hourly mean [W].
    name : {"heating", "cooling"}
        The load.
    """
    if peak is None:
        return line
    raised = raised_to_peak(line, peak, name)
    return line_to_peak(need.max() - need, peak, float(line.sum())) if raised is None else raised


def _slope(sums: Series, need: Series, month: Any) -> float:
    """Return the load per kelvin at which degree hours of one base fit sums of months best [W/K]."""
    best, least = 0.0, np.inf
    for base in _BASES:
        for end in (base, -base):  # heating ends at an outdoor temperature, cooling begins at one
            degree_hours = np.bincount(month - 1, weights=np.clip(end + need, 0.0, None), minlength=12)
            square = float(degree_hours @ degree_hours)
            slope = float(degree_hours @ sums) / square if square > 0.0 else 0.0
            missed = float(((sums - slope * degree_hours) ** 2).sum())
            if missed < least:
                best, least = slope, missed
    return best


def _twelve(values: Any, accepted: Range, field: str) -> Series | None:
    if values is None:
        return None
    allowed = f"must be twelve values in {accepted.unit}, from January"
    if isinstance(values, str) or not hasattr(values, "__len__"):
        raise InvalidInput("Loads", field, repr(values), accepted.unit, allowed)
    if len(values) != 12:
        raise InvalidInput("Loads", field, f"{len(values)} values", "", allowed)
    return np.array(
        [accepted.of(value, owner="Loads", field=f"{field}[{place}]") for place, value in enumerate(values)]
    )
