"""Files as sheets of cells: separated text, Excel workbooks and Parquet."""

from __future__ import annotations

import csv
import io
import os
import re
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from loopdrift.basics import table_file, text_file
from loopdrift.basics.errors import InvalidFile, InvalidInput, printable
from loopdrift.parts.series.sheet import FileRows, Sheet

if TYPE_CHECKING:
    import pandas as pd

_LINES_BEFORE_HEADER = 60
_LOOKED_AT = 200_000
"""Characters by which the dialect of a text is told."""
_PARQUET = (".parquet", ".pq")

Knows = Callable[[str], bool]
"""Whether a heading is one that is looked for."""


def read(path: str | os.PathLike[str], knows: Knows, *, sheet: str | None, owner: str) -> Sheet:
    """Return the cells of a file.

    The header is the first line with a heading that is looked for; what stands above it are titles.

    Parameters
    ----------
    path : str or path-like
        The file: Parquet by the end of its name, a workbook by its content, any other is text.
    knows : callable
        Whether a heading is one that is looked for.
    sheet : str, optional
        Sheet of a workbook; the only one that holds a known heading unless given.
    owner : str
        What the file is read for, for messages.

    Raises
    ------
    InvalidFile
        If the file can't be read as what it is, or its lines have no common number of cells.
    InvalidInput
        If a sheet is named that isn't there, or none where several could be meant.
    ExcelNeeded
        If it is a workbook and openpyxl is not installed.
    OSError
        If the file can't be read.
    """
    workbook = table_file.is_workbook(path)
    if sheet is not None and not workbook:
        raise InvalidInput(owner, "sheet", repr(sheet), "", "must be left out: the file is no workbook")
    if workbook:
        return _of_workbook(path, knows, sheet, owner)
    return _of_parquet(path) if Path(path).suffix.lower() in _PARQUET else _of_text(path, knows)


def _of_text(path: str | os.PathLike[str], knows: Knows) -> Sheet:
    import pandas as pd

    text, encoding = table_file.decoded(path)
    dialect = _dialect(path, text, encoding)
    lines = text.split("\n", _LINES_BEFORE_HEADER)[:_LINES_BEFORE_HEADER]
    header = _header(lines, dialect.sep, knows)
    if header is None:
        raise InvalidFile(path, 1, "", "", "must have a header")
    comments = [line for line in lines[:header] if line.startswith("#")]
    headings = _cells(lines[header], dialect.sep)
    body = text.split("\n", header + 1)[header + 1 :]
    rows = FileRows(path, header + 1, range(header + 2, header + 3 + text.count("\n")))
    cells = pd.DataFrame(columns=range(len(headings)), dtype=str)
    if body and body[0].strip():
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", pd.errors.ParserWarning)
                cells = pd.read_csv(
                    io.StringIO(body[0]),
                    sep=dialect.sep,
                    header=None,
                    names=list(range(len(headings) + 1)),  # one more, so that a cell too many is seen
                    dtype=str,
                    keep_default_na=False,
                    na_filter=False,
                    skip_blank_lines=False,
                    skipinitialspace=True,
                    index_col=False,
                )
        except pd.errors.ParserWarning:
            allowed = f"must have {len(headings)} cells, as the header has"
            raise rows.fault(0, "", "more cells", allowed) from None
        except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
            found = re.search(r"in line (\d+), saw (\d+)", str(error))
            if found is None:
                raise InvalidFile(path, header + 1, "", "lines after the header", str(error)) from None
            allowed = f"must have {len(headings)} cells, as the header has"
            raise rows.fault(int(found[1]) - 1, "", f"{found[2]} cells", allowed) from None
    return _whole(headings, cells.fillna(""), rows, comments, dialect.decimal)


def _dialect(path: str | os.PathLike[str], text: str, encoding: str) -> table_file.Dialect:
    """Return how a text writes its table, by its beginning unless that leaves a doubt."""
    beginning = text[: text.rfind("\n", 0, _LOOKED_AT) + 1] if len(text) > _LOOKED_AT else text
    try:
        return table_file.dialect(path, beginning, encoding)
    except InvalidFile:
        return table_file.dialect(path, text, encoding)


def _whole(
    headings: list[str],
    cells: pd.DataFrame,
    rows: FileRows,
    comments: list[str],
    decimal: table_file.Decimal,
) -> Sheet:
    """Return text cells without empty lines at their end and empty columns, as many in each line."""
    width = len(headings)
    filled = (cells != "").to_numpy(dtype=bool)
    last = len(cells)
    while last and not filled[last - 1].any():
        last -= 1
    cells, filled = cells.iloc[:last], filled[:last]
    if cells.shape[1] > width:
        over = filled[:, width].nonzero()[0]
        if over.size:
            allowed = f"must have {width} cells, as the header has"
            raise rows.fault(int(over[0]), "", f"{width + 1} cells", allowed)
    kept = [place for place in range(width) if headings[place] or (last and filled[:, place].any())]
    cells = cells[kept].set_axis(range(len(kept)), axis="columns")
    return Sheet([headings[place] for place in kept], cells, rows, comments, decimal)


def _header(lines: Sequence[str], separator: str, knows: Knows) -> int | None:
    """Return the place of the header: the first line with a known heading, or else with the most cells."""
    given = [place for place, line in enumerate(lines) if line.strip() and not line.startswith("#")]
    cells = {place: _cells(lines[place], separator) for place in given}
    known = (place for place in given if any(map(knows, cells[place])))
    return next(known, max(given, key=lambda place: len(cells[place]), default=None))


def _cells(line: str, separator: str) -> list[str]:
    try:
        return [
            _in_a_line(cell) for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True))
        ]
    except csv.Error:
        return [line]


def _in_a_line(heading: str) -> str:
    """Return a heading whose lines, as a spreadsheet wraps them, are one."""
    return printable(" ".join(heading.split()))


def _of_workbook(path: str | os.PathLike[str], knows: Knows, name: str | None, owner: str) -> Sheet:
    import pandas as pd

    tables = {table.name: table for table in table_file.sheets(path)}
    if name is not None and name not in tables:
        allowed = f"must be one of {', '.join(map(repr, tables))}"
        raise InvalidInput(owner, "sheet", repr(name), "", allowed)
    found = {}
    for each, table in tables.items():
        beginning = table.rows[:_LINES_BEFORE_HEADER]
        header = next(
            (at for at, row in enumerate(beginning) if any(knows(_in_a_line(str(c))) for c in row.cells)),
            None,
        )
        if header is not None and name in (None, each):
            found[each] = header
    if len(found) > 1:
        allowed = f"several hold what is looked for: must be one of {', '.join(map(repr, found))}"
        raise InvalidInput(owner, "sheet", "nothing", "", allowed)
    chosen, header = next(iter(found.items()), (name or next(iter(tables), ""), 0))
    if chosen not in tables or not tables[chosen].rows:
        raise InvalidFile(path, 1, "", "", "must have a header")
    table = tables[chosen]
    headings = [_in_a_line(str(cell)) for cell in table.rows[header].cells]
    body = table.rows[header + 1 :]
    texts = [[repr(cell) if isinstance(cell, float) else cell for cell in row.cells] for row in body]
    cells = pd.DataFrame(texts, columns=range(len(headings)), dtype=str)
    shown = f"{os.fspath(path)}, sheet {chosen!r}" if len(tables) > 1 else path
    rows = FileRows(shown, table.rows[header].line, [row.line for row in body])
    return _whole(headings, cells, rows, [], table.decimal)


def _of_parquet(path: str | os.PathLike[str]) -> Sheet:
    import pyarrow
    import pyarrow.parquet

    content = text_file.content(path)
    try:
        table = pyarrow.parquet.read_table(io.BytesIO(content))
        frame = table.to_pandas()
    except (pyarrow.ArrowException, OSError, ValueError) as error:
        raise InvalidFile(path, 1, "", Path(path).name, f"must be a Parquet file: {error}") from None
    units = {}
    for column in table.schema:
        kept = {key.decode(): value.decode() for key, value in (column.metadata or {}).items()}
        unit = kept.get("unit") or kept.get("units")
        if unit:
            units[column.name] = unit
    if frame.index.name is not None or frame.index.dtype.kind in "mM":
        frame = frame.reset_index(names=frame.index.name or "time")
    headings = [_in_a_line(str(name)) for name in frame.columns]
    cells = frame.set_axis(range(len(headings)), axis="columns")
    return Sheet(headings, cells, FileRows(path, 1, range(1, len(cells) + 2)), units=units)
