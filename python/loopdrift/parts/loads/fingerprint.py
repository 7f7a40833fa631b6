"""A year of loads in a few figures, and what in them looks wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.basics.model_time import HOURS_PER_YEAR, MONTHS, date_of, month_of_hours
from loopdrift.basics.series import Series
from loopdrift.basics.words import percent
from loopdrift.parts.loads.hourly import HourlyLoads

_OUTLIER = 8.0
"""Times the tenth-largest hour that the largest may be; common practice, no source."""
_FEWEST_HOURS, _MOST_HOURS = 300.0, 5500.0
"""Full-load hours of heating between which buildings usually are; common practice, no source."""
_IN_SUMMER = 0.25
"""Share of the winter's heating that a summer may have, or of the summer's cooling a winter."""


class Figures(NamedTuple):
    """One series of loads in a few figures."""

    name: str
    yearly: float
    """Heat of a mean year [kWh]."""
    peak: float
    """Largest hourly mean [W]."""
    year: int
    """Year of that hour, from 1."""
    month: int
    day: int
    hour: int
    """When that hour begins."""

    @property
    def full_load_hours(self) -> float:
        """Yearly heat by the largest hour [h]."""
        return 1e3 * self.yearly / self.peak

    def in_words(self, years: int) -> str:
        """Return the figures in a sentence.

        Parameters
        ----------
        years : int
            Number of years of the loads.
        """
        of_year = f" of year {self.year}" if years > 1 else ""
        return (
            f"{both(self.yearly, 'kWh')} a year; largest hour {both(self.peak / 1e3, 'kW', '.3g')} on "
            f"{self.day} {MONTHS[self.month - 1]}{of_year} from {self.hour:02}:00; "
            f"{self.full_load_hours:,.0f} full-load hours"
        )


def figures(loads: HourlyLoads) -> list[Figures]:
    """Return the figures of each series that isn't zero.

    Parameters
    ----------
    loads : Loads
        The loads.
    """
    found = []
    for name, series in loads.for_engine().items():
        at = int(series.argmax())
        if series[at] <= 0.0:
            continue
        year, hour = divmod(at, HOURS_PER_YEAR)
        month, day, of_day = date_of(hour, start_month=1)
        yearly = float(series.sum()) / 1e3 / loads.years
        found.append(Figures(name, yearly, float(series[at]), year + 1, month, day, of_day))
    return found


def doubts(loads: HourlyLoads) -> list[str]:
    """Return what looks wrong in loads, in sentences; empty where nothing does.

    Parameters
    ----------
    loads : Loads
        The loads.
    """
    if not figures(loads):
        return ["every hour is zero: nothing is heated, cooled or drawn; another column or file?"]
    return [*_outliers(loads), *_seasons(loads), *_hours(loads)]


def _outliers(loads: HourlyLoads) -> Iterator[str]:
    for figure in figures(loads):
        series = loads.for_engine()[figure.name]
        tenth = float(np.partition(series, -10)[-10])
        if figure.name != "recharge" and figure.peak >= _OUTLIER * tenth:
            times = f"{figure.peak / tenth:.0f} times the tenth largest" if tenth > 0.0 else "one of few"
            yield (
                f"{_words(figure.name)}: the hour of {both(figure.peak / 1e3, 'kW', '.3g')} on {figure.day} "
                f"{MONTHS[figure.month - 1]} is {times}; a fault of the meter?"
            )


def _seasons(loads: HourlyLoads) -> Iterator[str]:
    month = np.tile(month_of_hours(start_month=1), loads.years)
    june, december = np.isin(month, (6, 7, 8)), np.isin(month, (12, 1, 2))
    heating, cooling = loads.heating, loads.cooling
    in_june, in_december = float(heating[june].sum()), float(heating[december].sum())
    cool_june, cool_december = float(cooling[june].sum()), float(cooling[december].sum())
    if in_june > _IN_SUMMER * in_december:
        yield (
            f"heating: June to August has {_share(in_june, in_december)} of December to February; in the "
            "north, hot water is in it, or the file doesn't begin on 1 January"
        )
    if cool_december > max(cool_june, 0.0) and cool_december > 0.0:
        yield (
            f"cooling: June to August has {_share(cool_june, cool_december)} of December to February; in the "
            "north, cooling without a summer, or the file doesn't begin on 1 January"
        )


def _hours(loads: HourlyLoads) -> Iterator[str]:
    for figure in figures(loads):
        hours = figure.full_load_hours
        if figure.name == "heating" and not _FEWEST_HOURS <= hours <= _MOST_HOURS:
            yield (
                f"heating: {hours:,.0f} full-load hours; buildings usually have {_FEWEST_HOURS:,.0f} to "
                f"{_MOST_HOURS:,.0f} (common practice, no source)"
            )


def fits(series: Series, capacity: float) -> bool:
    """Return whether a heat pump is neither far too large nor far too small for a load.

    Parameters
    ----------
    series : numpy.ndarray
        Hourly means [W].
    capacity : float
        What the heat pump can do [W].
    """
    return 0.2 * capacity <= float(series.max()) <= 4.0 * capacity


def beside_capacity(series: Series, capacity: float, name: str) -> str | None:
    """Return that a load is far from what a heat pump can do; None if it isn't.

    Parameters
    ----------
    series : numpy.ndarray
        Hourly means [W].
    capacity : float
        What the heat pump can do [W].
    name : str
        The load.
    """
    peak = float(series.max())
    if peak <= 0.0 or not np.isfinite(capacity) or capacity <= 0.0 or fits(series, capacity):
        return None
    size = "far too large" if peak < capacity else "far too small"
    return (
        f"{_words(name)}: largest hour {both(peak / 1e3, 'kW', '.3g')} for a heat pump of "
        f"{both(capacity / 1e3, 'kW', '.3g')}: it is {size}, or the unit of one of them is wrong"
    )


def _share(part: float, whole: float) -> str:
    return percent(part / whole) if whole > 0.0 else "heat, and none in that"


def _words(name: str) -> str:
    return name.replace("_", " ")
