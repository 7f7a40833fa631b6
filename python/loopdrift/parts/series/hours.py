"""A sheet of stamped rows as the hours of whole years from 1 January in local standard time."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, get_args

import numpy as np

from loopdrift.basics import model_time
from loopdrift.basics.both_units import both
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, MONTHS, date_of
from loopdrift.basics.numbers import number_within
from loopdrift.basics.series import Series
from loopdrift.parts.series import columns, gaps, steps
from loopdrift.parts.series.clocks import first_of_place, standard_time
from loopdrift.parts.series.columns import Column
from loopdrift.parts.series.headings import Quantity
from loopdrift.parts.series.sheet import Sheet
from loopdrift.parts.series.stamps import (
    Stamps,
    is_hour_of_year,
    read_hours_of_year,
    read_stamps,
    stamp_columns,
)
from loopdrift.parts.series.steps import Named

_HOUR = 3600
_LEAP_YEAR_HOURS = HOURS_PER_YEAR + 24
_MOST_YEARS = 100


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What the user says of a file where it leaves a doubt; see `Loads.read`."""

    unit: str | None = None
    columns: Mapping[str, str] | None = None
    cadence: float | str | None = None
    stamps: Named | None = None
    date_format: str | None = None
    time_zone: str | None = None
    longest_gap: float | str | None = None

    def checked(self, owner: str) -> Reading:
        """Return it with times in seconds.

        Raises
        ------
        InvalidInput
            If a value can't be used.
        """
        for name in ("unit", "date_format", "time_zone"):
            value = getattr(self, name)
            if value is not None and not isinstance(value, str):
                raise InvalidInput(owner, name, repr(value), "", "must be text")
        if self.stamps is not None and self.stamps not in get_args(Named):
            allowed = f"must be one of {', '.join(get_args(Named))}"
            raise InvalidInput(owner, "stamps", repr(self.stamps), "", allowed)
        gap, cadence = self.longest_gap, self.cadence
        if gap is not None:
            gap = 3600.0 * number_within(gap, "h", owner=owner, field="longest_gap", least=0.0, most=744.0)
        if cadence is not None:
            cadence = 3600.0 * number_within(cadence, "h", owner=owner, field="cadence", above=0.0, most=24.0)
            if round(cadence) not in steps.STEPS:
                shown = f"must be {steps.STEPS_SHOWN}"
                raise InvalidInput(owner, "cadence", self.cadence, "h", shown)
        return Reading(
            unit=self.unit,
            columns=self.columns,
            cadence=cadence,
            stamps=self.stamps,
            date_format=self.date_format,
            time_zone=self.time_zone,
            longest_gap=gap,
        )


class Needed(NamedTuple):
    """Quantities of which one must be there."""

    names: tuple[str, ...]
    allowed: str
    """What would do."""


class Hours(NamedTuple):
    """Hourly means of whole years."""

    series: dict[str, Series]
    notes: list[tuple[str, str]]
    """What was done to what was read, as labels and texts."""
    utc_offset: float | None
    """Local standard time less UTC [h], where the stamps say it."""


class _Grid(NamedTuple):
    """Rows on the steps of whole years without leap days."""

    place: steps.Whole
    kept: np.ndarray
    first: int
    """Step of the year at which the grid begins."""
    after: int
    """Time from the beginning of that step to that of the first row [s], where hours of zones don't align."""
    years: int
    step: int


def hours(
    sheet: Sheet,
    quantities: Sequence[Quantity],
    reading: Reading,
    *,
    owner: str,
    needed: Needed,
    index: Stamps | None = None,
    strict: bool = True,
    needs_time: bool = False,
) -> Hours:
    """Return the hours of whole years.

    Parameters
    ----------
    sheet : Sheet
        The cells.
    quantities : sequence of Quantity
        What is looked for.
    reading : Reading
        What the user says of it.
    owner : str
        What is read, for messages.
    needed : Needed
        Quantities of which one must be there.
    index : Stamps, optional
        Times of the rows, where no column has them.
    strict : bool, default True
        Whether columns of unknown names are refused if they hold numbers; else they are left aside.
    needs_time : bool, default False
        Whether rows without times are refused.

    Raises
    ------
    InvalidFile
        If a cell, stamp or length can't be used, with its line.
    InvalidInput
        If what the user says can't be used.
    """
    said = reading.checked(owner)
    found = columns.find(sheet, quantities, given=said.columns, unit=said.unit, owner=owner)
    places = [] if index is not None else _stamp_places(sheet, found, said, owner)
    unknown = [place for place in found.unknown if place not in places]
    names = [heading.strip().lower() for heading in sheet.headings]
    if len(places) == 3:
        unknown = [place for place in unknown if names[place] != "year"]
    left = []
    if said.columns is None:
        left = columns.refuse_unknown(sheet, unknown, quantities) if strict else []
    if not any(column.quantity.name in needed.names for column in found.used):
        raise sheet.rows.fault(-1, "", "header", needed.allowed)
    notes = [("left out", ", ".join(left))] if left else []
    offset = None
    if needs_time and index is None and not places:
        raise sheet.rows.fault(-1, "", "header", "must have a column time")
    if index is None and (not places or is_hour_of_year(sheet, places)):
        if places:
            read_hours_of_year(sheet, places[0])
        _refuse_options_of_stamps(said, owner)
        grid = _unstamped(sheet, said, stamped=bool(places))
    else:
        stamps = index if index is not None else read_stamps(sheet, places, said.date_format)
        grid, of_clock, offset = _stamped(sheet, stamps, said, owner)
        notes += of_clock
    series, done = _on_the_hours(sheet, found.used, grid, said)
    return Hours(series, [*notes, *done], offset)


def _stamp_places(sheet: Sheet, found: columns.Columns, said: Reading, owner: str) -> list[int]:
    if said.columns is not None and "time" in said.columns:
        text = said.columns["time"]
        if text not in sheet.headings:
            allowed = f"must be one of the headings {', '.join(sheet.headings)}"
            raise InvalidInput(owner, "columns.time", repr(text), "", allowed)
        return [sheet.headings.index(text)]
    return stamp_columns(sheet, {column.place for column in found.used})


def _stamped(
    sheet: Sheet, stamps: Stamps, said: Reading, owner: str
) -> tuple[_Grid, list[tuple[str, str]], float | None]:
    """Return where stamped rows stand, what was done to them, and their zone [h]."""
    if not len(stamps.local):
        raise sheet.rows.fault(-1, "", "0 hours were read", f"must be {HOURS_PER_YEAR} for each year")
    step = steps.step_of(sheet, stamps)
    if said.cadence is not None and round(float(said.cadence)) != step:
        allowed = f"must be steps of {float(said.cadence) / 60.0:g} min, as cadence has it"
        raise sheet.rows.fault(min(1, len(sheet) - 1), stamps.column, f"steps of {step / 60:g} min", allowed)
    of = steps.named(sheet, stamps, step, said.stamps, first_of_place(stamps, said.time_zone, owner))
    stamps, of = steps.of_one_year(stamps, step, of)
    turned = standard_time(sheet, stamps, step, said.time_zone, owner=owner, utc_is_local=owner == "Weather")
    begin = steps.begins(turned.stamps, step, of)
    first = begin[0]
    after = int(first.hour * _HOUR + first.minute * 60 + first.second) % step
    import pandas as pd

    where = steps.places(sheet, stamps, begin - pd.Timedelta(seconds=after), step)
    last = int(where.place[-1]) if where.place.size else -1
    allowance = int(float(said.longest_gap or 0.0) // step)
    years = steps.whole_years(sheet, stamps, last, step, allowance)
    if years > _MOST_YEARS:
        raise sheet.rows.fault(len(sheet) - 1, "", f"{years} years", f"must be at most {_MOST_YEARS} years")
    notes = [("clock", turned.note)] if turned.note else []
    if where.first or after:
        begins = first - pd.Timedelta(hours=0)
        kept = "" if first.day == 1 and first.month == 1 else ", turned to begin on 1 January"
        notes.append(("first step", f"{begins:%-d %B %Y, %H:%M} in standard time{kept}"))
    grid = _Grid(where.place, where.kept, where.first, after, years, step)
    return grid, notes, turned.offset


def _refuse_options_of_stamps(said: Reading, owner: str) -> None:
    """Refuse options about the times of a sheet that has none."""
    for name in ("stamps", "date_format", "time_zone"):
        value = getattr(said, name)
        if value is not None:
            raise InvalidInput(owner, name, repr(value), "", "must be left out: the rows have no dates")


def _unstamped(sheet: Sheet, said: Reading, *, stamped: bool) -> _Grid:
    """Return where rows without times stand: from 1 January on, if nothing else is possible."""
    lines = len(sheet)
    step = _HOUR if said.cadence is None else round(float(said.cadence))
    per_hour = _HOUR // step
    per_year = HOURS_PER_YEAR * per_hour
    years = lines // per_year
    kept = np.ones(lines, dtype=bool)
    known = stamped or said.cadence is not None

    def grid(years: int) -> _Grid:
        return _Grid(np.arange(kept.sum(), dtype=np.int64), kept, 0, 0, years, step)

    if lines % per_year == 0 and 1 <= years <= _MOST_YEARS and (known or years == 1):
        return grid(years)
    if known and lines == _LEAP_YEAR_HOURS * per_hour:
        begin = model_time.first_hours(start_month=1)[2] * per_hour
        kept[begin : begin + 24 * per_hour] = False
        return grid(1)
    shorter = _shorter_steps(lines)
    if not known and shorter:
        whole = lines % HOURS_PER_YEAR == 0
        hourly = f"{years} years of hours (cadence = '1 h')" if whole else f"hours of {lines / 24:g} days"
        allowed = f"may be {hourly} or {shorter}: must have a column time, or cadence be given"
        raise sheet.rows.fault(lines - 1, "", f"{lines} lines without time or hour", allowed)
    below = min(max(years, 1), _MOST_YEARS - 1)
    each = "" if step == _HOUR else f" steps of {step // 60} min"
    allowed = (
        f"must be {per_year}{each} for each of 1 to {_MOST_YEARS} years without leap days; nearest are "
        f"{below * per_year} and {(below + 1) * per_year}"
    )
    what = "hours" if step == _HOUR else "steps"
    raise sheet.rows.fault(lines - 1, "", f"{lines} {what} were read", allowed)


def _shorter_steps(lines: int) -> str:
    """Return what so many lines are if they aren't hours of years without leap days."""
    if lines == _LEAP_YEAR_HOURS:
        return "a leap year of hours (cadence = '1 h')"
    for hours_of_year, year in ((HOURS_PER_YEAR, "a year"), (_LEAP_YEAR_HOURS, "a leap year")):
        an_hour = lines // hours_of_year
        if lines and lines % hours_of_year == 0 and an_hour > 1 and 60 % an_hour == 0:
            minutes = 60 // an_hour
            return f"{year} of steps of {minutes} min (cadence = '{minutes} min')"
    return "a year of shorter steps" if lines > HOURS_PER_YEAR and lines % HOURS_PER_YEAR == 0 else ""


def _on_the_hours(
    sheet: Sheet, used: Sequence[Column], grid: _Grid, said: Reading
) -> tuple[dict[str, Series], list[tuple[str, str]]]:
    """Return hourly means of each quantity from 1 January, and what was done to them."""
    notes = []
    if grid.step != _HOUR:
        notes.append(("steps", f"{grid.step // 60} min, averaged to hours"))
    series, leap, filled = {}, [], []
    for column in used:
        given = columns.values(sheet, column, grid.step)
        on_grid = np.full(grid.years * HOURS_PER_YEAR * _HOUR // grid.step, np.nan)
        on_grid[grid.place] = given[grid.kept]
        if not grid.kept.all():
            leap.append((column, given[~grid.kept]))
        missing = np.isnan(on_grid)
        if missing.any():
            found = gaps.gaps(missing)
            _require_short(sheet, column, grid, found, said)
            on_grid = gaps.fill(on_grid, grid.step, found)
            filled.append((column, found))
        series[column.quantity.name] = _hourly(on_grid, grid)
    if leap:
        notes.append(("leap day", _leap_in_words(leap, grid.step)))
    notes += [_filled_in_words(column, found, grid) for column, found in filled]
    return series, notes


def _hourly(on_grid: Series, grid: _Grid) -> Series:
    """Return means of the hours from 1 January of steps that begin elsewhere in the year."""
    step, at = grid.step, grid.first
    if grid.after:
        finer = math.gcd(step, grid.after)
        on_grid = np.repeat(on_grid, step // finer)
        at = grid.first * (step // finer) + grid.after // finer
        step = finer
    turned = np.roll(on_grid, at) if at else on_grid
    return turned if step == _HOUR else turned.reshape(-1, _HOUR // step).mean(axis=1)


def _require_short(sheet: Sheet, column: Column, grid: _Grid, found: list[gaps.Gap], said: Reading) -> None:
    """Refuse gaps that are longer than the user lets them be."""
    limit = float(said.longest_gap or 0.0)
    long = [gap for gap in found if gap.length * grid.step > limit + 0.5]
    if not long:
        return
    text = sheet.headings[column.place]
    first = long[0]
    rows = np.flatnonzero(grid.kept)
    inside = int(np.searchsorted(grid.place, first.first))
    is_row = inside < grid.place.size and grid.place[inside] == first.first
    row = int(rows[min(inside, rows.size - 1)])
    cell = sheet.cells[column.place].iloc[row] if is_row else "no row"
    total = sum(gap.length for gap in long) * grid.step / _HOUR
    longest = max(gap.length for gap in long) * grid.step / _HOUR
    where = gaps.in_words(long[:3], grid.step, lambda at: _when(at, grid))
    more = f" and {len(long) - 3} more" if len(long) > 3 else ""
    quantity = column.quantity
    cell_rule = (
        f"must be a number from {quantity.least:g} to {quantity.most:g} {quantity.unit}; " if is_row else ""
    )
    allowed = (
        f"{cell_rule}a gap at {where}{more}, {total:g} h in all: longest_gap = '{longest:g} h' fills it, "
        "up to 3 h by a straight line, longer by the days around"
    )
    raise sheet.rows.fault(row, text, cell, allowed)


def _when(at: int, grid: _Grid) -> str:
    """Return the time of a step of the grid, in words."""
    seconds = (grid.first + at) * grid.step + grid.after
    month, day, hour = date_of(int(seconds // _HOUR % HOURS_PER_YEAR), start_month=1)
    return f"{day} {MONTHS[month - 1]} {hour:02}:{seconds % _HOUR // 60:02}"


def _leap_in_words(leap: list[tuple[Column, Series]], step: int) -> str:
    parts = []
    for column, values in leap:
        known = values[~np.isnan(values)]
        name = column.quantity.name.replace("_", " ")
        heat = known.sum() * step / 3.6e6
        if column.quantity.unit == "W" and heat > 0.0:
            parts.append(f"{name} {both(heat, 'kWh', '.3g')}")
    amounts = f", with {', '.join(parts)}" if parts else ""
    return f"29 February left out{amounts}"


def _filled_in_words(column: Column, found: list[gaps.Gap], grid: _Grid) -> tuple[str, str]:
    hours = sum(gap.length for gap in found) * grid.step / _HOUR
    of_days = any(gap.length * grid.step > gaps.LONGEST_STRAIGHT * _HOUR for gap in found)
    how = "by a straight line" + (", longer than 3 h by the same hours of the days around" if of_days else "")
    where = gaps.in_words(found, grid.step, lambda at: _when(at, grid))
    name = column.quantity.name.replace("_", " ")
    return f"gaps in {name}", f"{hours:g} h filled {how}, from {where}"
