"""Files of loggers: which column is what, and when each row was."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.model_time import first_true
from loopdrift.parts.series import columns as series_columns
from loopdrift.parts.series import files
from loopdrift.parts.series.clocks import standard_time
from loopdrift.parts.series.headings import Quantity, Unit, heading
from loopdrift.parts.series.origin import Pairs, file_name, of_comments
from loopdrift.parts.series.stamps import read_stamps, stamp_columns

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.basics.series import Series
    from loopdrift.parts.series.columns import Column
    from loopdrift.parts.series.sheet import Sheet

_TIMES = {
    "s": Unit(1.0),
    "min": Unit(60.0),
    "h": Unit(3600.0),
    "hours": Unit(3600.0),
    "d": Unit(86400.0),
    "days": Unit(86400.0),
}
ELAPSED = Quantity("elapsed", ("elapsed", "elapsed time", "duration"), "s", _TIMES, 0.0, 4e9)
"""Time since a beginning, in place of dates."""

Used = dict[str, series_columns.Column]
"""Columns that are read, by the names of their quantities."""


class Logged(NamedTuple):
    """Columns of a logger's file."""

    times: Series
    """Times since the first row [s]."""
    first: pd.Timestamp | float
    """Date of the first row, in standard time of the place; or its elapsed time [s]."""
    columns: dict[str, Series]
    """By name of the quantity, NaN where a cell is empty."""
    amounts: frozenset[str]
    """Quantities that are amounts of the step before each row, and so means over it."""
    origin: Pairs


def read(
    path: str | os.PathLike[str],
    quantities: Sequence[Quantity],
    *,
    require: Callable[[Sheet, Used], None],
    least_rows: int,
    given: Mapping[str, str] | None,
    date_format: str | None,
    sheet: str | None,
    owner: str,
) -> Logged:
    """Return the columns of a logger's file.

    Parameters
    ----------
    path : str or path-like
        CSV, an Excel workbook or Parquet.
    quantities : sequence of Quantity
        What is looked for; with `ELAPSED`.
    require : callable
        Refuses a sheet without the columns that are needed.
    least_rows : int
        Least number of rows.
    given : mapping of str to str, optional
        Headings by the names of quantities, where headings don't say it themselves.
    date_format : str, optional
        How dates are written.
    sheet : str, optional
        Sheet of a workbook.
    owner : str
        What the file is read for, for messages.

    Raises
    ------
    InvalidFile
        If a column is missing, a cell or time can't be used, or there are too few rows.
    InvalidInput
        If an argument can't be used.
    OSError
        If the file can't be read.
    """
    named = set(given.values()) if isinstance(given, Mapping) else set()

    def knows(text: str) -> bool:
        return text.strip() in named or heading(text, quantities) is not None

    found = files.read(path, knows, sheet=sheet, owner=owner)
    held = series_columns.find(found, quantities, given=given, unit=None, owner=owner)
    used = {column.quantity.name: column for column in held.used}
    require(found, used)
    if len(found) < least_rows:
        allowed = f"must be at least {least_rows} rows"
        raise found.rows.fault(max(len(found) - 1, 0), "", f"{len(found)} rows", allowed)
    times, first = _times(found, used, given, date_format, owner)
    step = float(np.median(np.diff(times)))
    series = {
        name: series_columns.values(found, column, step)
        for name, column in used.items()
        if name != ELAPSED.name
    }
    amounts = frozenset(name for name, column in used.items() if column.unit.per_step)
    origin = (*of_comments(found.comments), ("file", file_name(path)))
    return Logged(times, first, series, amounts, origin)


def _times(
    sheet: Sheet,
    used: dict[str, Column],
    given: Mapping[str, str] | None,
    date_format: str | None,
    owner: str,
) -> tuple[Series, pd.Timestamp | float]:
    """Return the times of the rows since the first [s], and when that was.

    Raises
    ------
    InvalidFile
        If there are none, or they don't ascend.
    """
    first: pd.Timestamp | float
    if ELAPSED.name in used:
        column = used[ELAPSED.name]
        seconds, text = series_columns.values(sheet, column, 1.0), sheet.headings[column.place]
        first = float(seconds[0])
    else:
        if given is not None and given.get("time") in sheet.headings:
            places = [sheet.headings.index(given["time"])]
        else:
            places = stamp_columns(sheet, {column.place for column in used.values()})
        if not places or sheet.headings[places[0]].strip().lower() == "hour":
            allowed = "must have a column time (dates) or elapsed (such as elapsed_h)"
            raise sheet.rows.fault(-1, "", "header", allowed)
        stamps = read_stamps(sheet, places, date_format)
        text = stamps.column
        step = float(np.median(np.diff(stamps.local.to_numpy().astype("datetime64[s]").astype(np.int64))))
        standard = standard_time(sheet, stamps, step, None, owner=owner, utc_is_local=True).stamps
        first = standard[0]
        seconds = (standard - first).total_seconds().to_numpy(dtype=float)
    wrong = first_true(np.append(False, ~(np.diff(seconds) > 0.0)))
    if wrong is not None:
        allowed = "must come after the row before"
        cell = sheet.cells[sheet.headings.index(text)].iloc[wrong] if text in sheet.headings else "time"
        raise sheet.rows.fault(wrong, text, cell, allowed)
    since: Series = seconds - seconds[0]
    return since, first
