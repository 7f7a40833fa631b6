"""Clock times turned into local standard time."""

from __future__ import annotations

import itertools
import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import first_true
from loopdrift.parts.series.sheet import Sheet
from loopdrift.parts.series.stamps import Stamps

if TYPE_CHECKING:
    import pandas as pd

_FIXED = re.compile(r"(?:UTC|GMT)?\s*([+-]\d{1,2})(?::?(\d{2}))?", re.IGNORECASE)
_SUNDAY = 6
_LATEST_CHANGE = 4
"""Hour of the day by which clocks have changed."""
_MOST_CHANGES = 2
"""Changes of the clocks in a year."""


class StandardTime(NamedTuple):
    """Stamps in local standard time."""

    stamps: pd.DatetimeIndex
    offset: float | None
    """Local standard time less UTC [h], where it is known."""
    note: str
    """What was done to the clock; empty if nothing."""


def standard_time(
    sheet: Sheet, stamps: Stamps, step: float, time_zone: str | None, *, owner: str, utc_is_local: bool
) -> StandardTime:
    """Return stamps in local standard time.

    Stamps with an offset from UTC say themselves when clocks were changed; of others, a named zone says
    it, or an hour that is missing on a Sunday in spring and one that comes twice on a Sunday in autumn.

    Parameters
    ----------
    sheet : Sheet
        The cells, for messages.
    stamps : Stamps
        The times as clocks showed them.
    step : float
        Time from one row to the next [s].
    time_zone : str, optional
        Zone of the place: a name such as ``Europe/Berlin``, or a fixed one such as ``UTC+1``.
    owner : str
        What the times are read for.
    utc_is_local : bool
        Whether UTC may be the local time where nothing says otherwise.

    Raises
    ------
    InvalidFile
        If a stamp doesn't exist in the zone, or is in UTC and no zone is given.
    InvalidInput
        If there is no such zone.
    """
    import pandas as pd

    if stamps.offset is not None:
        utc = stamps.local - pd.to_timedelta(stamps.offset, unit="h")
        if time_zone is None:
            offsets = np.unique(stamps.offset)
            if offsets.size > 2 or (offsets.size == 2 and offsets[1] - offsets[0] > 1.0):
                allowed = "must be times of one time zone, that of the place"
                raise sheet.rows.fault(0, stamps.column, "times of several time zones", allowed)
            if not utc_is_local and offsets.size == 1 and offsets[0] == 0.0:
                cell = sheet.cells[stamps.place].iloc[0] if stamps.place >= 0 else stamps.local[0]
                allowed = "is UTC: give time_zone, the zone of the place (or 'UTC' if the place has it)"
                raise sheet.rows.fault(0, stamps.column, cell, allowed)
            offset = float(offsets[0])
            summer = f"summer time turned into UTC{offset:+g} h" if offsets.size == 2 else ""
        else:
            offset, summer = _standard_offset(time_zone, utc, owner), ""
            if (stamps.offset != offset).any():
                summer = f"turned into standard time of {time_zone}, UTC{offset:+g} h"
        return StandardTime((utc + pd.Timedelta(hours=offset)).as_unit("s"), offset, summer)
    if time_zone is None:
        return _by_its_jumps(stamps.local, step)
    if _is_fixed(time_zone):
        return StandardTime(stamps.local, _standard_offset(time_zone, stamps.local, owner), "")
    return _by_its_zone(sheet, stamps, time_zone, owner)


def first_of_place(stamps: Stamps, time_zone: str | None, owner: str) -> pd.Timestamp | None:
    """Return the first time as clocks of the place showed it; None if its zone or the offset isn't stated.

    Parameters
    ----------
    stamps : Stamps
        The times.
    time_zone : str, optional
        Zone of the place.
    owner : str
        What the times are read for.

    Raises
    ------
    InvalidInput
        If there is no such zone.
    """
    import pandas as pd

    if stamps.offset is None or time_zone is None:
        return None
    utc = stamps.local[0] - pd.Timedelta(hours=float(stamps.offset[0]))
    if _is_fixed(time_zone):
        return utc + pd.Timedelta(hours=_standard_offset(time_zone, stamps.local, owner))
    _require_zone(time_zone, owner)
    return utc.tz_localize("UTC").tz_convert(time_zone).tz_localize(None)


def _is_fixed(time_zone: str) -> bool:
    return _FIXED.fullmatch(time_zone.strip()) is not None or time_zone.strip().upper() == "UTC"


def _standard_offset(time_zone: str, utc: pd.DatetimeIndex, owner: str) -> float:
    """Return the standard time of a zone less UTC [h]."""
    fixed = _FIXED.fullmatch(time_zone.strip())
    if fixed:
        hours, minutes = int(fixed[1]), int(fixed[2] or 0)
        offset = hours + (-minutes if fixed[1].startswith("-") else minutes) / 60.0
        if not -12.0 <= offset <= 14.0:
            raise InvalidInput(owner, "time_zone", repr(time_zone), "", "must be from UTC-12 to UTC+14")
        return offset
    _require_zone(time_zone, owner)
    import pandas as pd

    year = utc[0].year if len(utc) else 2023
    both = pd.DatetimeIndex([f"{year}-01-01", f"{year}-07-01"]).tz_localize("UTC").tz_convert(time_zone)
    return min(float((at.utcoffset() or pd.Timedelta(0)).total_seconds()) / 3600.0 for at in both)


def _require_zone(time_zone: str, owner: str) -> None:
    import zoneinfo

    try:
        zoneinfo.ZoneInfo(time_zone)
    except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
        allowed = "must be a time zone like 'Europe/Berlin', or a fixed one like 'UTC+1'"
        raise InvalidInput(owner, "time_zone", repr(time_zone), "", allowed) from None


def _by_its_zone(sheet: Sheet, stamps: Stamps, time_zone: str, owner: str) -> StandardTime:
    """Return standard time of stamps that clocks of a zone showed."""
    import pandas as pd

    _require_zone(time_zone, owner)
    # Of the hour that comes twice in autumn, the first is summer time.
    first = ~pd.Series(stamps.local).duplicated().to_numpy()
    local = stamps.local.tz_localize(time_zone, ambiguous=first, nonexistent="NaT")
    row = first_true(np.asarray(local.isna()))
    if row is not None:
        allowed = (
            f"is no time in {time_zone}, where clocks go forward then: a file in standard time needs a fixed "
            "zone such as 'UTC+1'"
        )
        cell = sheet.cells[stamps.place].iloc[row] if stamps.place >= 0 else stamps.local[row]
        raise sheet.rows.fault(row, stamps.column, cell, allowed)
    utc = local.tz_convert("UTC").tz_localize(None)
    offset = _standard_offset(time_zone, utc, owner)
    standard = (utc + pd.Timedelta(hours=offset)).as_unit("s")
    turned = "" if standard.equals(stamps.local) else f"summer time of {time_zone} turned into standard time"
    return StandardTime(standard, offset, turned)


def _by_its_jumps(local: pd.DatetimeIndex, step: float) -> StandardTime:
    """Return standard time of stamps whose clock changes show themselves; as they are where none do."""
    import pandas as pd

    between = np.diff(local.to_numpy().astype("datetime64[s]").astype(np.int64))
    forward = np.flatnonzero(between == step + 3600)
    back = np.flatnonzero(between == step - 3600)
    unchanged = StandardTime(local, None, "")
    if not forward.size or not back.size:
        return unchanged
    changes = np.sort(np.concatenate([forward, back]))
    at = local[changes]
    years = max(1, round(len(local) * step / (365 * 86400)))
    alternate = all((a in forward) != (b in forward) for a, b in itertools.pairwise(changes))
    at_night = np.asarray((at.day_of_week == _SUNDAY) & (at.hour <= _LATEST_CHANGE))
    if not (alternate and at_night.all() and changes.size <= _MOST_CHANGES * years):
        return unchanged
    ahead = np.zeros(len(local))
    ahead[forward + 1] += 1.0
    ahead[back + 1] -= 1.0
    ahead = np.cumsum(ahead) + (1.0 if changes[0] in back else 0.0)
    days = " and ".join(f"{local[each]:%-d %B %Y}" for each in changes[:4])
    note = f"clocks change on {days}: summer time turned into standard time"
    return StandardTime((local - pd.to_timedelta(ahead, unit="h")).as_unit("s"), None, note)
