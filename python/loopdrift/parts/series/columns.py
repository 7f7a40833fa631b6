"""Columns of a sheet as series in the units in which they are kept."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import first_true
from loopdrift.basics.series import Series
from loopdrift.parts.series.decimals import numbers
from loopdrift.parts.series.headings import (
    AMBIGUOUS,
    Heading,
    Quantity,
    Unit,
    heading,
    is_of_something_else,
    normal,
    unit_in_brackets,
)
from loopdrift.parts.series.sheet import Sheet

_ALIKE = 0.6


class Column(NamedTuple):
    """A column and what it holds."""

    place: int
    quantity: Quantity
    unit: Unit
    unit_name: str


class Columns(NamedTuple):
    """The columns of a sheet, by what becomes of them."""

    used: list[Column]
    unknown: list[int]


def find(
    sheet: Sheet,
    quantities: Sequence[Quantity],
    *,
    given: Mapping[str, str] | None,
    unit: str | None,
    owner: str,
) -> Columns:
    """Return what the columns hold.

    Parameters
    ----------
    sheet : Sheet
        The cells.
    quantities : sequence of Quantity
        What is looked for.
    given : mapping of str to str, optional
        Headings by the names of quantities, where headings don't say it themselves; then no others are read.
    unit : str, optional
        Unit of columns whose heading has none.
    owner : str
        What is read, for messages.

    Raises
    ------
    InvalidFile
        If a quantity stands twice, or has a unit that is unknown, ambiguous or missing.
    InvalidInput
        If a given name or heading is unknown.
    """
    named = _given(sheet, quantities, given, owner)
    used: dict[str, Column] = {}
    unknown = []
    for place, text in enumerate(sheet.headings):
        if given is not None and place not in named:
            unknown.append(place)
            continue
        found = named[place] if given is not None else heading(text, quantities)
        if found is None:
            unknown.append(place)
            continue
        name = found.quantity.name
        if name in used and _is_exact(text, found) != _is_exact(sheet.headings[used[name].place], found):
            if not _is_exact(text, found):
                unknown.append(place)
                continue
            unknown.append(used.pop(name).place)
        if name in used:
            first = sheet.headings[used[name].place]
            raise sheet.rows.fault(-1, text, text, f"must not stand beside {first}: both hold {name}")
        used[name] = _with_unit(sheet, place, found, unit)
    return Columns(list(used.values()), unknown)


def _is_exact(text: str, found: Heading) -> bool:
    """Whether a heading is the very name that has its unit by agreement."""
    return any(text == words.replace(" ", "_") for words in found.quantity.bare)


def _given(
    sheet: Sheet, quantities: Sequence[Quantity], given: Mapping[str, str] | None, owner: str
) -> dict[int, Heading]:
    """Return what was given as headings by their places."""
    named: dict[int, Heading] = {}
    by_name = {quantity.name: quantity for quantity in quantities}
    if given is not None and not isinstance(given, Mapping):
        raise InvalidInput(owner, "columns", repr(given), "", "must be headings by the names of quantities")
    for name, text in (given or {}).items():
        if name == "time":
            continue
        if name not in by_name:
            raise InvalidInput(owner, "columns", name, "", f"must be time or one of {', '.join(by_name)}")
        if text not in sheet.headings:
            allowed = f"must be one of the headings {', '.join(sheet.headings)}"
            raise InvalidInput(owner, f"columns.{name}", repr(text), "", allowed)
        own = by_name[name]._replace(words=("",))
        place = sheet.headings.index(text)
        named[place] = Heading(own, _unit_in(text, by_name[name]), False)
    return named


def _unit_in(text: str, quantity: Quantity) -> str:
    """Return the unit with which a heading ends; empty if it has none that is known."""
    in_brackets = unit_in_brackets(text)
    if in_brackets in (*quantity.units, *AMBIGUOUS):
        return in_brackets
    plain = normal(text)
    candidates = [
        unit for unit in (*quantity.units, *AMBIGUOUS) if plain == unit or plain.endswith(f" {unit}")
    ]
    return max(candidates, key=len, default="")


def _with_unit(sheet: Sheet, place: int, found: Heading, stated: str | None) -> Column:
    text, quantity = sheet.headings[place], found.quantity
    beside = sheet.units.get(text)
    known = ", ".join(_shown(quantity))
    given = {normal(each) for each in (found.unit, beside or "", stated or "") if each}
    if not given and found.bare:
        return Column(place, quantity, Unit(1.0), quantity.unit)
    example = f"{quantity.name}_{'kW' if quantity.unit == 'W' else quantity.unit}"
    if not given:
        allowed = f"has no unit: must be called like {example}, or unit be given; units are {known}"
        raise sheet.rows.fault(-1, text, text, allowed)
    if len(given) > 1:
        allowed = f"must have one unit, not {' and '.join(sorted(given))}"
        raise sheet.rows.fault(-1, text, text, allowed)
    unit = given.pop()
    if unit in AMBIGUOUS:
        per = "/h" if unit.endswith("h") else ""
        allowed = f"can be a thousand or a million Btu: must be kBtu{per} or MMBtu{per}"
        raise sheet.rows.fault(-1, text, text, allowed)
    if unit not in quantity.units:
        raise sheet.rows.fault(-1, text, text, f"has an unknown unit {unit!r}: must be one of {known}")
    return Column(place, quantity, quantity.units[unit], unit)


def _shown(quantity: Quantity) -> list[str]:
    """Return the units of a quantity as people write them."""
    written = {"w": "W", "kw": "kW", "mw": "MW", "wh": "Wh", "kwh": "kWh", "mwh": "MWh", "mbh": "MBH"}
    written |= {"btu": "Btu", "btu/h": "Btu/h", "kbtu": "kBtu", "kbtu/h": "kBtu/h", "mmbtu": "MMBtu"}
    written |= {"mmbtu/h": "MMBtu/h", "kj": "kJ", "mj": "MJ", "gj": "GJ", "degc": "degC", "degf": "degF"}
    written |= {"btuh": "Btuh", "kbtuh": "kBtuh", "w/m2": "W/m2", "wh/m2": "Wh/m2", "kj/m2": "kJ/m2"}
    return [written.get(unit, unit) for unit in quantity.units]


def refuse_unknown(sheet: Sheet, unknown: Sequence[int], quantities: Sequence[Quantity]) -> list[str]:
    """Return the headings of columns that surely hold something else.

    Raises
    ------
    InvalidFile
        If a column may hold what is looked for.
    """
    import pandas as pd

    left = []
    if unknown and not np.isnan(numbers(pd.Series(sheet.headings), sheet.decimal)[0]).any():
        line = ", ".join(sheet.headings)
        allowed = f"must be a header, such as {quantities[0].name}_kW: the first line holds numbers"
        raise sheet.rows.fault(-1, "", line, allowed)
    for place in unknown:
        text = sheet.headings[place]
        values, bad = numbers(sheet.cells[place], sheet.decimal)
        no_numbers = len(sheet) > 0 and (bad | np.isnan(values)).all()
        if is_of_something_else(text) or (no_numbers and text):
            left.append(text)
            continue
        units = ("W", "kW", "kBtu_per_h", "kWh")
        names = [f"{quantity.name}_{unit}" for quantity in quantities for unit in units]
        near = difflib.get_close_matches(text, names, n=1, cutoff=_ALIKE)
        known = ", ".join(quantity.name for quantity in quantities)
        hint = f"did you mean {near[0]}?" if near else f"known are {known} with a unit, such as {names[1]};"
        shown = text or f"column {place + 1}"
        allowed = f"unknown column; {hint} any other heading can be named in columns"
        raise sheet.rows.fault(-1, shown, shown, allowed)
    return left


def values(sheet: Sheet, column: Column, step: float) -> Series:
    """Return a column in the unit in which it is kept, NaN where a cell is empty.

    Parameters
    ----------
    sheet : Sheet
        The cells.
    column : Column
        The column.
    step : float
        Length of a step, over which amounts are averaged [s].

    Raises
    ------
    InvalidFile
        If a cell is no number, or outside the range of its quantity.
    """
    quantity = column.quantity
    text = sheet.headings[column.place]
    cells = sheet.cells[column.place]
    found, bad = numbers(cells, sheet.decimal)
    factor = column.unit.factor / step if column.unit.per_step else column.unit.factor
    turned = factor * found + column.unit.offset if factor != 1.0 or column.unit.offset else found
    with np.errstate(invalid="ignore"):
        outside = ~((quantity.least <= turned) & (turned <= quantity.most)) & ~np.isnan(turned)
    if column.unit.per_step and _counts_up(found):
        shown = f"from {cells.iloc[0]} up to {cells.iloc[-1]}"
        allowed = "looks like the readings of a counter: must be their differences, the energy of each step"
        raise sheet.rows.fault(len(sheet) - 1, text, shown, allowed)
    row = first_true(bad | outside)
    if row is not None:
        per = " as the mean of a step" if column.unit.per_step else ""
        allowed = f"must be a number from {quantity.least:g} to {quantity.most:g} {quantity.unit}{per}"
        if bad[row] and sheet.decimal == "," and "." in str(cells.iloc[row]):
            allowed += ", with a decimal comma as elsewhere in the file"
        raise sheet.rows.fault(row, text, cells.iloc[row], allowed)
    return turned


def _counts_up(found: Series) -> bool:
    """Return whether numbers never fall, and end above their beginning, as a counter's readings do."""
    known = found[~np.isnan(found)]
    return bool(known.size > 48 and (np.diff(known) >= 0.0).all() and known[-1] > known[0])
