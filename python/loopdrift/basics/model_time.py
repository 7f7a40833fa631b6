"""The calendar: month, day and hour of the day of each hour of a run.

A year has 365 days and no leap day. The calendar year, in which loads are given, begins on 1 January; a year
of a run begins with the run's first month. Hours are counted from 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

DAYS_OF_MONTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAYS_PER_YEAR = 365
DAYS_PER_WEEK = 7
HOURS_PER_DAY = 24
HOURS_PER_WEEK = DAYS_PER_WEEK * HOURS_PER_DAY
HOURS_PER_YEAR = DAYS_PER_YEAR * HOURS_PER_DAY
SECONDS_PER_HOUR = 3600.0
SECONDS_PER_YEAR = SECONDS_PER_HOUR * HOURS_PER_YEAR

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
HOURS_OF_MONTHS = tuple(HOURS_PER_DAY * days for days in DAYS_OF_MONTHS)
"""Hours of each month from January."""

Whole = NDArray[np.intp]


def months(start_month: int) -> Whole:
    """Return the months of a run's year in order, 1 to 12, shape (12,).

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    return (np.arange(12) + start_month - 1) % 12 + 1


def first_hours(start_month: int) -> Whole:
    """Return the first hour of each month of a run's year, in order, shape (12,).

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    hours = np.array(HOURS_OF_MONTHS)[months(start_month) - 1]
    return np.concatenate([[0], np.cumsum(hours)[:-1]])


def hour_of_calendar_year(start_month: int) -> int:
    """Return the hour of the calendar year, from 0 on 1 January, in which a run begins.

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    return sum(HOURS_OF_MONTHS[: start_month - 1])


def date_of(hour: int, start_month: int) -> tuple[int, int, int]:
    """Return month (1 to 12), day of the month (from 1) and hour of the day of an hour of a run's year.

    Parameters
    ----------
    hour : int
        Hour of the run's year, from 0.
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    month = int(month_of_hours(start_month)[hour])
    first = int(first_hours(start_month)[(month - start_month) % 12])
    day, hour_of_its_day = divmod(hour - first, HOURS_PER_DAY)
    return month, day + 1, hour_of_its_day


def stamps() -> NDArray[np.datetime64]:
    """Return the beginning of each hour of a calendar year without a leap day, shape (8760,)."""
    return np.datetime64("2023-01-01T00") + np.arange(HOURS_PER_YEAR)


def stamps_of_run(first_year: int, start_month: int, years: int) -> NDArray[np.datetime64]:
    """Return the beginning of each hour of a run on a dated calendar without 29 February, shape (hours,).

    Parameters
    ----------
    first_year : int
        Calendar year in which the run begins.
    start_month : int
        Month in which the run begins, 1 to 12.
    years : int
        Number of years of the run.
    """
    hours = hour_of_calendar_year(start_month) + np.arange(years * HOURS_PER_YEAR)
    year = (first_year + hours // HOURS_PER_YEAR - 1970).astype("datetime64[Y]")
    of_year = hours % HOURS_PER_YEAR
    days = (year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")
    after_leap_day = (of_year >= first_hours(1)[2]) & (days > np.timedelta64(DAYS_PER_YEAR, "D"))
    hour = year.astype("datetime64[h]") + (of_year + HOURS_PER_DAY * after_leap_day)
    stamps: NDArray[np.datetime64] = hour.astype("datetime64[s]")
    return stamps


def month_of_hours(start_month: int) -> Whole:
    """Return the month of each hour of a run's year, 1 to 12, shape (8760,).

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    order = months(start_month)
    return np.repeat(order, np.array(HOURS_OF_MONTHS)[order - 1])


def hour_of_day() -> Whole:
    """Return the hour of the day, 0 to 23, of each hour of a year, shape (8760,)."""
    return np.tile(np.arange(HOURS_PER_DAY), DAYS_PER_YEAR)


def weekday_of_hours(first_weekday: int) -> Whole:
    """Return the weekday, 0 Monday to 6 Sunday, of each hour of a year, shape (8760,).

    Parameters
    ----------
    first_weekday : int
        Weekday of the year's first day.
    """
    return np.repeat((first_weekday + np.arange(DAYS_PER_YEAR)) % DAYS_PER_WEEK, HOURS_PER_DAY)


def first_weekdays(first_weekday: int, years: int) -> Whole:
    """Return the weekday on which each year of a run begins, one later each year, shape (years,).

    Parameters
    ----------
    first_weekday : int
        Weekday of the run's first day.
    years : int
        Number of years.
    """
    return (first_weekday + DAYS_PER_YEAR * np.arange(years)) % DAYS_PER_WEEK


def first_true(mask: np.ndarray) -> int | None:
    """Return the index of a mask's first true value; None if there is none."""
    return int(mask.argmax()) if mask.any() else None


def fault_of_stamps(index: pd.DatetimeIndex, *, years: bool = False) -> tuple[int, str] | None:
    """Return the row of the first stamp out of order, and what is accepted there; None if all are in order.

    In order means the successive hours of one year, or of whole years, without leap days.

    Parameters
    ----------
    index : pandas.DatetimeIndex
        Stamps in local standard time; the year may change from month to month.
    years : bool, default False
        Whether there may be several years.
    """
    import pandas as pd

    if len(index) == 0:
        return 0, f"must be {HOURS_PER_YEAR} hours"
    missing = first_true(np.asarray(index.isna()))
    if missing is not None:
        return missing, "must be a time"
    leap_day = np.asarray((index.month == 2) & (index.day == 29))
    # The end of 28 February is 29 February 00:00 in a leap year and hour 1416 of the year in any.
    hour = first_hours(start_month=1)[index.month - 1] + HOURS_PER_DAY * (index.day - 1) + index.hour
    on_the_hour = (index.minute == 0) & (index.second == 0)
    shift = int(hour[0])
    if shift > 1 or not on_the_hour[0]:
        return 0, "the first must be 00:00 (hours by their beginning) or 01:00 (by their end) on 1 January"
    leap = first_true(leap_day & ~((index.hour == 0) & (shift == 1)))
    expected = (np.arange(len(index)) + shift) % HOURS_PER_YEAR
    wrong = first_true(np.asarray((hour != expected) | ~on_the_hour))
    if leap is not None and (wrong is None or leap <= wrong):
        return leap, "29 February: the year must have no leap day; leave its 24 hours out"
    if wrong is not None:
        stamp = pd.Timestamp(stamps()[expected[wrong]])
        return wrong, f"a gap or repeat: must be {stamp:%d %B, %H:%M} in local standard time"
    if len(index) != HOURS_PER_YEAR and not (years and len(index) % HOURS_PER_YEAR == 0):
        each = " for each year" if years else ""
        return len(index) - 1, f"{len(index)} hours were read: must be {HOURS_PER_YEAR}{each}"
    return None
