"""Which hour of which day of which month each hour of a run is: years of 365 days, without leap days."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

DAYS_OF_MONTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAYS_PER_YEAR = 365
DAYS_PER_WEEK = 7
HOURS_PER_DAY = 24

Whole = NDArray[np.intp]


def months(start_month: int) -> Whole:
    """Return the months of a run's year in its order, 1 to 12.

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    return (np.arange(12) + start_month - 1) % 12 + 1


def first_hours(start_month: int) -> Whole:
    """Return the hours of a run's year in which its months begin.

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    days = np.array(DAYS_OF_MONTHS)[months(start_month) - 1]
    return HOURS_PER_DAY * np.concatenate([[0], np.cumsum(days)[:-1]])


def hour_of_calendar_year(start_month: int) -> int:
    """Return the hour of the calendar's year, from 0 on 1 January, in which a run begins.

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    return HOURS_PER_DAY * sum(DAYS_OF_MONTHS[: start_month - 1])


def month_of_hours(start_month: int) -> Whole:
    """Return the month of each hour of a run's year, 1 to 12, shape (8760,).

    Parameters
    ----------
    start_month : int
        Month in which the run begins, 1 to 12.
    """
    order = months(start_month)
    return np.repeat(order, HOURS_PER_DAY * np.array(DAYS_OF_MONTHS)[order - 1])


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
    """Return the weekday on which each year of a run begins: one later each year.

    Parameters
    ----------
    first_weekday : int
        Weekday of the run's first day.
    years : int
        Number of years.
    """
    return (first_weekday + DAYS_PER_YEAR * np.arange(years)) % DAYS_PER_WEEK
