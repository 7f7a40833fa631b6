"""Steps of a year: how long they are, whether stamps name their beginning, and their places in the year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.model_time import DAYS_PER_YEAR, HOURS_PER_YEAR, first_hours, first_true
from loopdrift.parts.series.sheet import Sheet
from loopdrift.parts.series.stamps import Stamps

if TYPE_CHECKING:
    import pandas as pd

Named = Literal["beginning", "middle", "end"]
"""What a stamp marks of its step."""

_HOUR = 3600
_DAY = 86_400
STEPS = tuple(60 * minutes for minutes in (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60))
"""Steps that divide an hour [s]."""
STEPS_SHOWN = "1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30 or 60 min"

Whole = NDArray[np.int64]


class Places(NamedTuple):
    """Where rows stand on an axis of steps without leap days."""

    place: Whole
    """Of each row, from 0 at the first; a leap day has none and is left out."""
    kept: NDArray[np.bool_]
    """Which rows aren't of 29 February."""
    first: int
    """Step of the year at which place 0 begins."""


def step_of(sheet: Sheet, stamps: Stamps) -> int:
    """Return the time from one row to the next that most rows have [s].

    Raises
    ------
    InvalidFile
        If it doesn't divide an hour.
    """
    seconds = stamps.local.to_numpy().astype("datetime64[s]").astype(np.int64)
    between = np.diff(seconds)
    steps, counts = np.unique(between[between > 0], return_counts=True)
    if not steps.size:
        return _HOUR
    step = int(steps[counts.argmax()])
    if step not in STEPS:
        long = step >= 27 * _DAY
        cure = "months go in by monthly sums, not by a file of hours" if long else f"must be {STEPS_SHOWN}"
        text = f"steps of {step / 60:g} min"
        raise sheet.rows.fault(1, stamps.column, text, cure)
    return step


def named(
    sheet: Sheet, stamps: Stamps, step: int, stated: Named | None, first_of_place: pd.Timestamp | None
) -> Named:
    """Return what stamps mark of their step, as the first stamp shows by its own clock or that of the place.

    Raises
    ------
    InvalidFile
        If the first stamp is that of no day, and nothing is stated.
    """
    if stated is not None:
        return stated
    by_time: dict[float, Named] = {0.0: "beginning", 0.5: "middle", 1.0: "end"}
    for first in (stamps.local[0], first_of_place):
        if first is not None:
            seconds = first.hour * _HOUR + first.minute * 60 + first.second
            if seconds / step in by_time:
                return by_time[seconds / step]
    allowed = (
        "the first must be that of a day: 00:00 (steps by their beginning), "
        f"{_clock(step // 2)} (by their middle) or {_clock(step)} (by their end); else give stamps = "
        "'beginning', 'middle' or 'end'"
    )
    if stamps.offset is not None and first_of_place is None:
        allowed += ", or for times of another zone time_zone, such as 'Europe/Berlin'"
    raise sheet.rows.fault(0, stamps.column, _cell(sheet, stamps, 0), allowed)


def begins(stamps: pd.DatetimeIndex, step: int, of: Named) -> pd.DatetimeIndex:
    """Return when the steps begin.

    Parameters
    ----------
    stamps : pandas.DatetimeIndex
        The stamps.
    step : int
        Length of a step [s].
    of : {"beginning", "middle", "end"}
        What the stamps name of their step.
    """
    import pandas as pd

    before = {"beginning": 0, "middle": step // 2, "end": step}[of]
    begin = stamps - pd.Timedelta(seconds=before)
    # Where a file has no leap day, the end of 28 February may be called the beginning of 1 March.
    leap = np.flatnonzero((begin.month == 2) & (begin.day == 29))
    _, first, count = np.unique(np.asarray(begin.year)[leap], return_index=True, return_counts=True)
    alone = leap[first[count == 1]]
    alone = alone[np.asarray(begin.hour * _HOUR + begin.minute * 60 + begin.second)[alone] == _DAY - step]
    if alone.size and of == "end":
        back = np.zeros(len(begin), dtype=np.int64)
        back[alone] = _DAY
        begin = begin - pd.to_timedelta(back, unit="s")
    return begin


def places(sheet: Sheet, stamps: Stamps, begin: pd.DatetimeIndex, step: int) -> Places:
    """Return where rows stand on an axis of steps without leap days.

    Raises
    ------
    InvalidFile
        If a row is not after the one before, or off the steps.
    """
    import pandas as pd

    leap = np.asarray((begin.month == 2) & (begin.day == 29))
    of_day = np.asarray(begin.hour * _HOUR + begin.minute * 60 + begin.second, dtype=np.int64)
    off = first_true(of_day % step != of_day[0] % step)
    if off is not None:
        allowed = f"must be a whole number of steps of {step // 60} min after the first"
        raise sheet.rows.fault(off, stamps.column, _cell(sheet, stamps, off), allowed)
    per_day = _DAY // step
    day = first_hours(start_month=1)[begin.month - 1] // 24 + np.asarray(begin.day) - 1
    of_year = day.astype(np.int64) * per_day + of_day // step
    years = np.asarray(begin.year, dtype=np.int64) - (int(begin.year[0]) if len(begin) else 0)
    place = years * DAYS_PER_YEAR * per_day + of_year
    kept = ~leap
    position = place[kept]
    rows = np.flatnonzero(kept)
    wrong = first_true(np.diff(position) <= 0)
    if wrong is not None:
        row = int(rows[wrong + 1])
        same = position[wrong + 1] == position[wrong]
        fault = "comes once more" if same else "is back in time"
        expected = stamps.local[rows[wrong]] + pd.Timedelta(seconds=step)
        allowed = (
            f"{fault}: must be {expected:%Y-%m-%dT%H:%M}, one step after the row before; where clocks "
            "change, give time_zone"
        )
        raise sheet.rows.fault(row, stamps.column, _cell(sheet, stamps, row), allowed)
    first = int(position[0]) if position.size else 0
    return Places(position - first, kept, first % (DAYS_PER_YEAR * per_day))


def of_one_year(stamps: Stamps, step: int, of: Named) -> tuple[Stamps, Named]:
    """Return stamps whose months are of several years, as typical years have them, as those of one.

    Stamps of calendar years stay as they are. Others come back by the beginnings of their steps.

    Parameters
    ----------
    stamps : Stamps
        The times.
    step : int
        Length of a step [s].
    of : {"beginning", "middle", "end"}
        What the stamps name of their step.
    """
    import pandas as pd

    begin = begins(stamps.local, step, of)
    per_day = _DAY // step
    of_day = np.asarray(begin.hour * _HOUR + begin.minute * 60 + begin.second, dtype=np.int64) // step
    day = first_hours(start_month=1)[begin.month - 1] // 24 + np.asarray(begin.day) - 1
    of_year = day.astype(np.int64) * per_day + of_day
    seconds = begin.to_numpy().astype("datetime64[s]").astype(np.int64)
    jumps = np.abs(np.diff(seconds)) > 2 * _DAY
    if not (jumps & (np.diff(of_year) == 1)).any():
        return stamps, of
    year = np.concatenate([[0], np.cumsum(np.diff(of_year) < 0)])
    leap = np.asarray((begin.month == 2) & (begin.day == 29))
    first = 2024 if leap.any() else 2023
    fields = {"year": first + year, "month": begin.month, "day": begin.day}
    days = pd.to_datetime(
        pd.DataFrame(fields), errors="coerce"
    )  # none where several years would have a leap day
    local = pd.DatetimeIndex(days) + pd.to_timedelta(of_day * step, unit="s")
    return stamps._replace(local=local.as_unit("s")), "beginning"


def whole_years(sheet: Sheet, stamps: Stamps, last: int, step: int, missing: int) -> int:
    """Return how many whole years the steps cover, of which a few may be missing at the end.

    Parameters
    ----------
    sheet, stamps : Sheet, Stamps
        For messages.
    last : int
        Place of the last row.
    step : int
        Length of a step [s].
    missing : int
        Most steps that may be missing.

    Raises
    ------
    InvalidFile
        If they cover no whole number of years.
    """
    per_year = HOURS_PER_YEAR * _HOUR // step
    years = max(1, -(-(last + 1) // per_year))
    if years * per_year - (last + 1) <= missing:
        return years
    hours = (last + 1) * step / _HOUR
    row = len(sheet) - 1
    nearest = max(1, round((last + 1) / per_year))
    more = hours - nearest * HOURS_PER_YEAR
    what = f"{abs(more):g} h {'more' if more > 0 else 'less'} than {nearest} year{'s' if nearest > 1 else ''}"
    allowed = (
        f"{hours:g} hours were read without leap days, {what}: must be whole years of "
        f"{HOURS_PER_YEAR} h, from any day"
    )
    raise sheet.rows.fault(row, stamps.column, _cell(sheet, stamps, row), allowed)


def _cell(sheet: Sheet, stamps: Stamps, row: int) -> object:
    """Return a stamp as it stands in the sheet."""
    return sheet.cells[stamps.place].iloc[row] if stamps.place >= 0 else stamps.local[row]


def _clock(seconds: int) -> str:
    return f"{seconds // _HOUR:02}:{seconds % _HOUR // 60:02}" + (
        f":{seconds % 60:02}" if seconds % 60 else ""
    )
