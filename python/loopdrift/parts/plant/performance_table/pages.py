"""The pages of a heat pump's table: each a header, what its title says of all its rows, and its rows."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from loopdrift.basics.errors import InvalidFile, printable, shortened
from loopdrift.basics.table_file import Cell, Row, Sheet, number, sheets
from loopdrift.parts.plant.performance_table.columns import (
    QUANTITIES,
    Column,
    Mode,
    column,
    is_unit,
    mode_in,
    statement,
)

_LONGEST_HEADER = 40
_MOST_LISTED = 20
_LONGEST_MEANING = 300


@dataclass
class Page:
    """Rows under one header."""

    sheet: Sheet
    header_line: int
    columns: tuple[Column, ...]
    stated: dict[str, float]
    """What holds for all rows, by quantity, in SI."""
    mode: Mode | None
    """Which mode the title, the sheet or the file names."""
    rows: list[Row] = field(default_factory=list)


class UnreadHeader(InvalidFile):
    """A header that is not understood; its notes list what each column was taken for.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    line : int
        Line of the header.
    columns : tuple of tuple of str
        Header and meaning of each column.
    wrong : str
        What is wrong, and what would do.
    """

    def __init__(self, path: str, line: int, columns: tuple[tuple[str, str], ...], wrong: str) -> None:
        self.columns = columns
        self.wrong = wrong
        super().__init__(path, line, "", "columns", wrong)
        for name, meaning in columns[:_MOST_LISTED]:
            self.add_note(f"{shortened(repr(name), _LONGEST_HEADER)}: {shortened(meaning, _LONGEST_MEANING)}")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.path, self.line, self.columns, self.wrong)

    def __str__(self) -> str:
        return f"{shortened(self.path, 100)}, line {self.line}: {shortened(self.wrong, _LONGEST_MEANING)}"


def pages(paths: tuple[str | os.PathLike[str], ...]) -> list[Page]:
    """Return the pages of one table that stands in one or several files, sheets and blocks.

    Raises
    ------
    InvalidFile
        If a file is no table, or a header is not understood.
    OSError
        If a file can't be read.
    """
    found = [page for path in paths for sheet in sheets(path) for page in _of_sheet(sheet)]
    if not found:
        raise InvalidFile(paths[0], 1, "", "end of file", "must have a header")
    return found


def _of_sheet(sheet: Sheet) -> Iterator[Page]:
    """Yield the pages of a sheet, each with what the title above it says."""
    page: Page | None = None
    title: list[Row] = []
    rows = list(sheet.rows)
    for place, row in enumerate(rows):
        texts = [str(cell) for cell in row.cells]
        filled = [text for text in texts if text]
        if texts[0].startswith("#") or len(filled) == 1 or _states(filled):
            title.append(row)
        elif _is_header(texts):
            if page is not None:
                yield page
            units = _units_below(rows, place)
            page = _page(sheet, row.line, texts, units, title, page)
            title = []
        elif page is None:
            if any(_is_header([str(cell) for cell in each.cells]) for each in rows[place + 1 :]):
                title.append(row)
                continue
            raise _unread(sheet, row.line, [column(text) for text in texts if text])
        elif not (rows[place - 1].line == page.header_line and _units_below(rows, place - 1)):
            page.rows.append(row)
    if page is not None:
        yield page


def _is_header(texts: list[str]) -> bool:
    """Whether at least two of a row's cells, and a third of all, are columns of the table."""
    filled = [text for text in texts if text and not text[0].isdigit()]
    named = [text for text in filled if column(text).quantity]
    return len(named) >= 2 and 3 * len(named) >= len(filled) and _no_data(texts)


def _no_data(texts: list[str]) -> bool:
    return not any(text.strip().lstrip("+-").replace(".", "").replace(",", "").isdigit() for text in texts)


def _states(filled: list[str]) -> bool:
    return len(filled) <= 3 and statement(" ".join(filled)) is not None


def _units_below(rows: list[Row], place: int) -> list[str]:
    """Return the cells of the row below a header if they are its units."""
    if place + 1 >= len(rows):
        return []
    cells = [str(cell) for cell in rows[place + 1].cells]
    filled = [cell for cell in cells if cell]
    return cells if filled and all(map(is_unit, filled)) else []


def _page(
    sheet: Sheet, line: int, texts: list[str], units: list[str], title: list[Row], above: Page | None
) -> Page:
    """Return a page; what a title states holds until another one of its sheet states the same."""
    units = units + [""] * (len(texts) - len(units))
    # A workbook's rows may end in cells that were never filled.
    columns = tuple(column(text, unit) for text, unit in zip(texts, units, strict=False) if text)
    width = len(texts) - next((n for n, text in enumerate(reversed(texts)) if text), 0)
    if not all(texts[:width]):
        empty = texts.index("") + 1
        raise sheet.fault(line, "", f"column {empty}", "must have a name")
    if not all(each.known for each in columns):
        raise _unread(sheet, line, columns)
    named: dict[tuple[str, Mode | None], str] = {}
    for each in columns:
        key = each.quantity, each.mode
        if key in named and "not used" not in QUANTITIES[each.quantity].label:
            raise sheet.fault(line, each.header, each.header, f"must not stand beside {named[key]!r}")
        named[key] = each.header
    names = [sheet.name, *(" ".join(str(cell) for cell in row.cells if cell != "") for row in title)]
    stated = {
        found.quantity: found.in_si(_stated(number, sheet, line))
        for found, number in filter(None, map(statement, names))
    }
    titles = [Path(sheet.path).stem, sheet.name, *names[1:]] if above is None else names[1:]
    named_modes = [found for found in map(mode_in, titles) if found is not None]
    mode = named_modes[-1] if named_modes else (above.mode if above is not None else None)
    if above is not None:
        stated = above.stated | stated
    return Page(sheet, line, columns, stated, mode)


def _stated(text: str, sheet: Sheet, line: int) -> float:
    found = number(text.rstrip(".,"), sheet.decimal)
    if found is None:
        raise sheet.fault(line, "", text, "must be a number, where the title of the page states one")
    return found


def _unread(sheet: Sheet, line: int, columns: Sequence[Column], lacks: str = "") -> UnreadHeader:
    path = f"{sheet.path}, sheet {sheet.name!r}" if sheet.name else sheet.path
    faults = "; ".join(f"{each.header!r}: {each.fault}" for each in columns if each.fault)
    wrong = f"the table {lacks}" if lacks else faults
    return UnreadHeader(path, line, tuple((each.header, str(each)) for each in columns), wrong)


def lacking(page: Page, lacks: str) -> UnreadHeader:
    """Return the error for a page whose columns are understood, but don't suffice.

    Parameters
    ----------
    page : Page
        The page.
    lacks : str
        What it must have.
    """
    return _unread(page.sheet, page.header_line, page.columns, lacks)


def cell_of(row: Row, place: int) -> Cell:
    """Return a cell of a row, empty where the row ends before."""
    return row.cells[place] if place < len(row.cells) else ""


def text_of(cell: Cell) -> str:
    """Return a cell for a message."""
    return printable(f"{cell:.12g}" if isinstance(cell, float) else cell)
