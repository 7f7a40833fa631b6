"""Which stamps are the hours of years without leap days."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.series import HOURS_PER_YEAR

if TYPE_CHECKING:
    import pandas as pd


def first_true(mask: np.ndarray) -> int | None:
    """Return where a mask is first true."""
    return int(mask.argmax()) if mask.any() else None


def fault_of_stamps(index: pd.DatetimeIndex, *, years: bool = False) -> tuple[int, str] | None:
    """Return row and cure of the first stamp that is not the next hour of a year without leap day.

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
    first_of_month = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
    # The end of 28 February is 29 February 00:00 in a leap year and hour 1416 of the year in any.
    hour = 24 * (first_of_month[index.month - 1] + index.day - 1) + index.hour
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
        stamp = pd.Timestamp("2023-01-01") + pd.Timedelta(hours=int(expected[wrong]))
        return wrong, f"a gap or repeat: must be {stamp:%d %B, %H:%M} in local standard time"
    if len(index) != HOURS_PER_YEAR and not (years and len(index) % HOURS_PER_YEAR == 0):
        each = " for each year" if years else ""
        return len(index) - 1, f"{len(index)} hours were read: must be {HOURS_PER_YEAR}{each}"
    return None
