"""Stamps of rows: which columns hold them, and dates in the ways that people write them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from loopdrift.basics.model_time import HOURS_PER_YEAR, first_true
from loopdrift.basics.table_file import number
from loopdrift.parts.series.decimals import numbers
from loopdrift.parts.series.sheet import Sheet

if TYPE_CHECKING:
    import pandas as pd

_FULL = (
    "time",
    "timestamp",
    "time stamp",
    "datetime",
    "date time",
    "date/time",
    "date and time",
    "local time",
)
_DATES = ("date", "day")
_CLOCKS = ("time", "clock", "time of day", "hour")
_LIKE_A_DATE = re.compile(r"\s*\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\b.*")
_PARTS = re.compile(
    r"(?P<date>(?P<a>\d{1,4})(?P<sep>[-/.])(?P<b>\d{1,2})(?P=sep)(?P<c>\d{2,4}))"
    r"(?:(?P<gap>[ T,]+)(?P<clock>\d{1,2}:\d{2}(?P<seconds>:\d{2})?(?P<split>\.\d+)?)"
    r"(?P<half> ?[AaPp][Mm])?)?"
)
_OFFSET = r"(Z|[+-]\d{2}:?\d{2})$"
_FIRST_SERIAL, _LAST_SERIAL = 20_000.0, 80_000.0
"""Days of spreadsheets from 30 December 1899: the years 1954 to 2119."""
_EXAMPLE = "must be a time like 2023-01-01T00:00"


class Stamps(NamedTuple):
    """Times of rows."""

    local: pd.DatetimeIndex
    """As their clock shows them."""
    column: str
    """Heading of their column."""
    place: int
    """Its place in the sheet."""
    offset: np.ndarray | None = None
    """Time on the clock less UTC, for each row [h], where it is stated."""


def stamp_columns(sheet: Sheet, taken: set[int]) -> list[int]:
    """Return the places of the columns that tell the time of a row, empty where there are none.

    Parameters
    ----------
    sheet : Sheet
        The cells.
    taken : set of int
        Places of columns that hold something else.
    """
    names = [heading.strip().lower().replace("_", " ") for heading in sheet.headings]
    free = [place for place in range(len(names)) if place not in taken]
    dates = [place for place in free if names[place] in _DATES]
    if dates and names[dates[0]] == "date":
        clocks = [place for place in free if names[place] in _CLOCKS]
        return [dates[0], *clocks[:1]]
    calendar = [
        next((place for place in free if names[place] == each), None) for each in ("month", "day", "hour")
    ]
    if None not in calendar:
        return [place for place in calendar if place is not None]
    full = [place for place in free if names[place] in _FULL]
    if not full and len(sheet):
        full = [place for place in free if _looks_like_a_date(sheet.cells[place].iloc[0])]
    hours = [place for place in free if names[place] == "hour"]
    return full[:1] or hours[:1]


def is_hour_of_year(sheet: Sheet, places: list[int]) -> bool:
    """Return whether the only stamp is the hour of the year."""
    return len(places) == 1 and sheet.headings[places[0]].strip().lower() == "hour"


def read_hours_of_year(sheet: Sheet, place: int) -> bool:
    """Check hours of the year, and return whether they name the ends of their hours.

    Raises
    ------
    InvalidFile
        If they don't run from 0 to 8759 or from 1 to 8760 in each year.
    """
    cells = sheet.cells[place]
    import pandas as pd

    given = pd.to_numeric(cells, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    name = sheet.headings[place]
    if not given.size or given[0] not in (0.0, 1.0):
        allowed = "the first hour must be 0 (up to 8759) or 1 (up to 8760)"
        raise sheet.rows.fault(0, name, cells.iloc[0] if len(cells) else "nothing", allowed)
    expected = given[0] + np.arange(given.size) % HOURS_PER_YEAR
    row = first_true(given != expected)
    if row is not None:
        allowed = f"must be {expected[row]:.0f}, the hour of the year"
        raise sheet.rows.fault(row, name, cells.iloc[row], allowed)
    return bool(given[0] == 1.0)


def read_stamps(sheet: Sheet, places: list[int], date_format: str | None) -> Stamps:
    """Return the times of the rows.

    Parameters
    ----------
    sheet : Sheet
        The cells.
    places : list of int
        Columns that tell the time, as `stamp_columns` gives them.
    date_format : str, optional
        How dates are written, in the directives of `datetime.datetime.strptime`.

    Raises
    ------
    InvalidFile
        If a stamp is no time, or can be two dates.
    """
    import pandas as pd

    name = sheet.headings[places[0]]
    column = sheet.cells[places[0]]
    if len(places) == 3:
        return _of_calendar(sheet, places)
    if len(places) == 2:
        return _of_date_and_clock(sheet, places, date_format)
    if column.dtype.kind == "M" or isinstance(column.dtype, pd.DatetimeTZDtype):
        return of_index(pd.DatetimeIndex(column), name, places[0])
    if column.dtype.kind in "iuf":
        column = column.map(repr)
    return _of_text(sheet, places[0], column.astype(str).str.strip(), date_format)


def of_index(index: pd.DatetimeIndex, name: str, place: int) -> Stamps:
    """Return the times of an index of a table.

    Parameters
    ----------
    index : pandas.DatetimeIndex
        The times, with or without a zone.
    name : str
        What it is called.
    place : int
        Its place among the columns.
    """
    if index.tz is None:
        return Stamps(index.as_unit("s"), name, place)
    local = index.tz_localize(None).as_unit("s")
    utc = index.tz_convert("UTC").tz_localize(None).as_unit("s")
    return Stamps(local, name, place, _hours(local - utc))


def _of_text(sheet: Sheet, place: int, text: pd.Series[str], date_format: str | None) -> Stamps:
    import pandas as pd

    name = sheet.headings[place]
    offset = None
    if len(text) and re.search(_OFFSET, text.iloc[0]):  # patterns are slow: none for what no row has
        ends = text.str.extract(_OFFSET, expand=False)
        if ends.notna().all() and text.str.contains(":", regex=False).all():
            offset = _offsets(ends)
            text = text.str.replace(_OFFSET, "", regex=True).str.strip()
    midnight = text.str.contains(r"[ T]24:00", regex=True).to_numpy(dtype=bool)
    if midnight.any():
        text = text.str.replace(r"([ T])24:00", r"\g<1>00:00", regex=True)
    stamps = _parsed(sheet, place, text, date_format)
    row = first_true(stamps.isna().to_numpy(dtype=bool))
    if row is not None:
        form = f", written as {date_format!r}" if date_format else ""
        raise sheet.rows.fault(row, name, sheet.cells[place].iloc[row], f"{_EXAMPLE}{form}")
    local = pd.DatetimeIndex(stamps).round("s").as_unit("s") + pd.to_timedelta(midnight.astype(int), unit="D")
    return Stamps(local.as_unit("s"), name, place, offset)


def _parsed(sheet: Sheet, place: int, text: pd.Series[str], date_format: str | None) -> pd.Series[Any]:
    """Return times, missing where a text is none."""
    import pandas as pd

    if date_format is not None:
        try:
            return pd.to_datetime(text, format=date_format, errors="coerce")
        except ValueError as error:
            allowed = f"must be written in directives of strptime, such as '%d/%m/%Y %H:%M': {error}"
            raise sheet.rows.fault(-1, sheet.headings[place], date_format, allowed) from None
    if len(text) and number(text.iloc[0], sheet.decimal) is not None:
        days, _ = numbers(text, sheet.decimal)
        if ((days >= _FIRST_SERIAL) & (days <= _LAST_SERIAL)).all():
            seconds = pd.Series(np.round(days * 86400.0), index=text.index)
            return pd.Timestamp("1899-12-30") + pd.to_timedelta(seconds, unit="s")
    found = _PARTS.fullmatch(text.iloc[0]) if len(text) else None
    if found is None or len(found["a"]) == 4:
        plain = text
        if any(text.str.contains(sep, regex=False).any() for sep in "/."):
            plain = text.str.replace(r"^(\d{4})[/.](\d{1,2})[/.](\d{1,2})", _iso, regex=True)
        try:
            stamps = pd.to_datetime(plain, errors="coerce", format="ISO8601")
        except ValueError:  # several time zones, or zones beside none
            return pd.Series(pd.NaT, index=text.index)
        if stamps.notna().all() or found is not None or not len(text):
            return stamps if stamps.dt.tz is None else stamps.dt.tz_localize(None)
        return _in_words(text)
    parts = text.str.extract(_PARTS)
    order = _order(sheet, place, parts, found)
    return _with_order(text, parts, order)


def _iso(found: re.Match[str]) -> str:
    return f"{found[1]}-{int(found[2]):02}-{int(found[3]):02}"


def _order(sheet: Sheet, place: int, parts: pd.DataFrame, found: re.Match[str]) -> str:
    """Return whether the day or the month comes first, as a pattern of strptime.

    Raises
    ------
    InvalidFile
        If both are possible.
    """
    import pandas as pd

    sep, year = found["sep"], "%Y" if len(found["c"]) == 4 else "%y"
    day_first, month_first = f"%d{sep}%m{sep}{year}", f"%m{sep}%d{sep}{year}"
    if sep == ".":
        return day_first
    a, b = (pd.to_numeric(parts[each], errors="coerce").to_numpy(dtype=float, na_value=0.0) for each in "ab")
    if (a > 12).any():
        return day_first
    if (b > 12).any():
        return month_first
    clock = " %H:%M" if found["clock"] else ""
    allowed = (
        f"can be two dates: give date_format = {day_first + clock!r} (day first) or "
        f"{month_first + clock!r} (month first)"
    )
    raise sheet.rows.fault(0, sheet.headings[place], sheet.cells[place].iloc[0], allowed)


def _with_order(text: pd.Series[str], parts: pd.DataFrame, order: str) -> pd.Series[Any]:
    """Return times whose dates are in a known order, with or without a clock."""
    import pandas as pd

    clock = parts["clock"].fillna("0:00")
    clock = clock.where(parts["seconds"].notna(), clock + ":00")
    half = parts["half"].str.strip().str.upper()
    if half.notna().any():
        both = (
            parts["date"] + " " + clock + " " + half.fillna("AM").where(parts["clock"].notna() | half.notna())
        )
        # A date without a clock is midnight, which a clock of twelve hours calls 12 AM.
        both = both.where(parts["clock"].notna(), parts["date"] + " 12:00:00 AM")
        return pd.to_datetime(both, format=f"{order} %I:%M:%S %p", errors="coerce")
    with_split = parts["split"].notna().any()
    form = f"{order} %H:%M:%S.%f" if with_split else f"{order} %H:%M:%S"
    both = parts["date"] + " " + clock
    if with_split:
        both = both.where(parts["split"].notna(), both + ".0")
    return pd.to_datetime(both, format=form, errors="coerce")


def _in_words(text: pd.Series[str]) -> pd.Series[Any]:
    """Return times with a month by name, such as ``1-Jan-2023 00:00``."""
    import pandas as pd

    plain = text.str.replace(",", " ", regex=False).str.replace(r"[\s-]+", " ", regex=True).str.strip()
    nothing: pd.Series[Any] = pd.Series(pd.NaT, index=text.index, dtype="datetime64[s]")
    for date in ("%d %b %Y", "%d %B %Y", "%b %d %Y", "%B %d %Y", "%d %b %y"):
        for clock in (" %H:%M", " %H:%M:%S", " %I:%M %p", ""):
            stamps = pd.to_datetime(plain, format=date + clock, errors="coerce")
            if stamps.notna().all():
                return stamps
            if stamps.notna().sum() > nothing.notna().sum():
                nothing = stamps
    return nothing


def _of_date_and_clock(sheet: Sheet, places: list[int], date_format: str | None) -> Stamps:
    """Return the times of a column of dates and one of clock times or hours of the day."""
    import pandas as pd

    date, clock = (sheet.cells[place] for place in places)
    hours = pd.to_numeric(clock, errors="coerce")
    if hours.notna().all() and len(hours):
        days = _midnights(sheet, places[0], date_format)
        row = first_true(~hours.between(0, 24).to_numpy(dtype=bool))
        if row is not None:
            raise sheet.rows.fault(row, sheet.headings[places[1]], clock.iloc[row], "must be from 0 to 24")
        local = days.local + pd.to_timedelta(hours.to_numpy(dtype=float) * 3600.0, unit="s")
        return Stamps(local.as_unit("s"), days.column, places[0])
    dates = date.astype(str).str.strip().str.replace(r"[ T]0?0:00(:00)?$", "", regex=True)
    return _of_text(sheet, places[0], dates + " " + clock.astype(str).str.strip(), date_format)


def _midnights(sheet: Sheet, place: int, date_format: str | None) -> Stamps:
    import pandas as pd

    column = sheet.cells[place]
    if column.dtype.kind == "M":
        return of_index(pd.DatetimeIndex(column), sheet.headings[place], place)
    return _of_text(sheet, place, column.astype(str).str.strip(), date_format)


def _of_calendar(sheet: Sheet, places: list[int]) -> Stamps:
    """Return the times of columns month, day and hour, with or without a year."""
    import pandas as pd

    names = [heading.strip().lower() for heading in sheet.headings]
    given = {each: sheet.cells[place] for each, place in zip(("month", "day", "hour"), places, strict=True)}
    if "year" in names:
        given["year"] = sheet.cells[names.index("year")]
    found = {each: pd.to_numeric(cells, errors="coerce") for each, cells in given.items()}
    for each, values in found.items():
        row = first_true(values.isna().to_numpy(dtype=bool))
        if row is not None:
            raise sheet.rows.fault(row, each, given[each].iloc[row], "must be a whole number")
    year = found.get("year", pd.Series(2023, index=sheet.cells.index))
    days = pd.to_datetime({"year": year, "month": found["month"], "day": found["day"]}, errors="coerce")
    row = first_true(days.isna().to_numpy(dtype=bool))
    if row is not None:
        leap = "year" not in found and (found["month"].iloc[row], found["day"].iloc[row]) == (2, 29)
        allowed = "29 February needs a column year" if leap else "must be a day of the year"
        raise sheet.rows.fault(row, "day", given["day"].iloc[row], allowed)
    local = pd.DatetimeIndex(days) + pd.to_timedelta(found["hour"].to_numpy(dtype=float) * 3600.0, unit="s")
    return Stamps(local.as_unit("s"), "hour", places[2])


def _looks_like_a_date(cell: object) -> bool:
    return hasattr(cell, "year") or (isinstance(cell, str) and bool(_LIKE_A_DATE.fullmatch(cell)))


def _offsets(ends: pd.Series[str]) -> np.ndarray:
    """Return offsets from UTC such as ``+01:00`` [h]."""

    def hours(text: str) -> float:
        if text == "Z":
            return 0.0
        minutes = int(text[1:3]) * 60 + int(text[-2:])
        return (-1.0 if text[0] == "-" else 1.0) * minutes / 60.0

    return ends.map({text: hours(text) for text in ends.unique()}).to_numpy(dtype=np.float64)


def _hours(difference: pd.TimedeltaIndex) -> np.ndarray:
    return np.asarray(difference.total_seconds(), dtype=np.float64) / 3600.0
