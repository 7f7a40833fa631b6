"""Files as sheets of cells: separated text, Excel workbooks and Parquet."""

from __future__ import annotations

import csv
import datetime
import io
import os
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from loopdrift.basics import text_file
from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.parts.series.decimals import has_decimal_comma
from loopdrift.parts.series.sheet import FileRows, Sheet

_SEPARATORS = ",;\t|"
_LINES_BEFORE_HEADER = 60
_WORKBOOKS = (".xlsx", ".xlsm")
_PARQUET = (".parquet", ".pq")

Knows = Callable[[str], bool]
"""Whether a heading is one that is looked for."""


def read(path: str | os.PathLike[str], knows: Knows, *, sheet: str | None, owner: str) -> Sheet:
    """Return the cells of a file.

    The header is the first line with a heading that is looked for; what stands above it are titles.

    Parameters
    ----------
    path : str or path-like
        The file: Excel and Parquet by the ends of their names, any other is text.
    knows : callable
        Whether a heading is one that is looked for.
    sheet : str, optional
        Sheet of a workbook; the only one that holds a known heading unless given.
    owner : str
        What the file is read for, for messages.

    Raises
    ------
    InvalidFile
        If the file isn't what its name says, or its lines have no common number of cells.
    InvalidInput
        If a sheet is named where there are none, or a library to read the file is missing.
    OSError
        If the file can't be read.
    """
    end = Path(path).suffix.lower()
    if sheet is not None and end not in _WORKBOOKS:
        raise InvalidInput(owner, "sheet", repr(sheet), "", "must be left out: the file is no workbook")
    if end in _WORKBOOKS:
        return _workbook(path, knows, sheet, owner)
    if end in _PARQUET:
        return _parquet(path)
    if end == ".xls":
        allowed = "old Excel format: must be saved as .xlsx or CSV"
        raise InvalidFile(path, 1, "", Path(path).name, allowed)
    return _text(path, knows)


def _text(path: str | os.PathLike[str], knows: Knows) -> Sheet:
    import pandas as pd

    text = text_file.read_any(path)
    lines = text.split("\n", _LINES_BEFORE_HEADER)[:_LINES_BEFORE_HEADER]
    header, separator = _header_of_text(lines, knows)
    if header is None:
        raise InvalidFile(path, 1, "", "", "must have a header")
    comments = [line for line in lines[:header] if line.startswith("#")]
    headings = [cell.strip() for cell in next(csv.reader([lines[header]], delimiter=separator))]
    body = text.split("\n", header + 1)
    rows = FileRows(path, header + 2)
    cells = pd.DataFrame(columns=range(len(headings)), dtype=str)
    if len(body) > header + 1 and body[header + 1].strip():
        try:
            cells = pd.read_csv(
                io.StringIO(body[header + 1]),
                sep=separator,
                header=None,
                names=list(range(len(headings) + 1)),  # one more, so that a cell too many is seen
                dtype=str,
                keep_default_na=False,
                na_filter=False,
                skip_blank_lines=False,
                index_col=False,
            )
        except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
            found = re.search(r"in line (\d+), saw (\d+)", str(error))
            if found is None:
                raise InvalidFile(path, header + 1, "", "lines after the header", str(error)) from None
            allowed = f"must have {len(headings)} cells, as the header has"
            raise rows.fault(int(found[1]) - 1, "", f"{found[2]} cells", allowed) from None
    return _whole(headings, cells, rows, comments, separator)


def _whole(headings: list[str], cells: Any, rows: FileRows, comments: list[str], separator: str) -> Sheet:
    """Return text cells without empty lines at their end and empty columns, of one number in each line."""
    width = len(headings)
    cells = cells.fillna("")
    filled = (cells != "").to_numpy()
    last = len(cells)
    while last and not filled[last - 1].any():
        last -= 1
    cells, filled = cells.iloc[:last], filled[:last]
    if cells.shape[1] > width:
        over = filled[:, width].nonzero()[0]
        if over.size:
            allowed = f"must have {width} cells, as the header has"
            raise rows.fault(int(over[0]), "", f"{width + 1} cells", allowed)
        cells = cells.iloc[:, :width]
    kept = [place for place in range(width) if headings[place] or (last and filled[:, place].any())]
    cells = cells[kept].set_axis(range(len(kept)), axis="columns")
    return Sheet(
        [headings[place] for place in kept],
        cells,
        rows,
        comments,
        comma=has_decimal_comma(cells, rows, separator),
    )


def _header_of_text(lines: Sequence[str], knows: Knows) -> tuple[int | None, str]:
    """Return the place of the header and the separator of its cells."""
    first = None
    for place, line in enumerate(lines):
        if line.startswith("#") or not line.strip():
            continue
        best = max(_SEPARATORS, key=line.count)
        for separator in sorted(_SEPARATORS, key=lambda each: -line.count(each)):
            try:
                cells = next(csv.reader([line], delimiter=separator))
            except csv.Error:
                continue
            if any(knows(cell) for cell in cells):
                return place, separator
        if first is None:
            first = (place, best)
    return (None, ",") if first is None else first


def _workbook(path: str | os.PathLike[str], knows: Knows, sheet: str | None, owner: str) -> Sheet:
    import pandas as pd

    content = text_file.read_bytes(path)
    try:
        import openpyxl  # noqa: F401
    except ImportError:
        allowed = "needs openpyxl: pip install 'loopdrift[excel]', or save the sheet as CSV"
        raise InvalidInput(owner, "file", Path(path).name, "", allowed) from None
    try:
        tables = pd.read_excel(
            io.BytesIO(content),
            sheet_name=None,
            header=None,
            dtype=object,
            engine="openpyxl",
            na_filter=False,
        )
    except Exception as error:  # whatever a damaged archive raises
        raise InvalidFile(path, 1, "", Path(path).name, f"must be an Excel workbook: {error}") from None
    if sheet is not None and sheet not in tables:
        allowed = f"must be one of {', '.join(map(repr, tables))}"
        raise InvalidInput(owner, "sheet", repr(sheet), "", allowed)
    found = {}
    for name, table in tables.items():
        header = _header_of_table(table, knows)
        if header is not None and sheet in (None, name):
            found[name] = header
    if not found:
        first = sheet or next(iter(tables))
        found[first] = 0
        if tables[first].empty:
            raise InvalidFile(path, 1, "", first, "must have a header")
    if len(found) > 1:
        allowed = f"{len(found)} sheets hold what is looked for: must be one of {', '.join(map(repr, found))}"
        raise InvalidInput(owner, "sheet", "nothing", "", allowed)
    name, header = next(iter(found.items()))
    table = tables[name].map(_as_text)
    headings = [cell.strip() for cell in table.iloc[header]]
    cells = table.iloc[header + 1 :].reset_index(drop=True)
    return _whole(headings, cells, FileRows(path, header + 2), [], "\t")


def _header_of_table(table: Any, knows: Knows) -> int | None:
    for place in range(min(len(table), _LINES_BEFORE_HEADER)):
        if any(isinstance(cell, str) and knows(cell) for cell in table.iloc[place]):
            return place
    return None


def _as_text(cell: object) -> str:
    """Return a cell of a workbook as a text file would have it."""
    if isinstance(cell, datetime.datetime):
        rounded = cell + datetime.timedelta(microseconds=500_000)  # workbooks keep days as fractions
        return f"{rounded:%Y-%m-%d %H:%M:%S}"
    if isinstance(cell, datetime.date):
        return f"{cell:%Y-%m-%d}"
    if isinstance(cell, datetime.time):
        return f"{cell:%H:%M:%S}"
    return "" if cell is None else str(cell)


def _parquet(path: str | os.PathLike[str]) -> Sheet:
    import pyarrow
    import pyarrow.parquet

    content = text_file.read_bytes(path)
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
    headings = [str(name) for name in frame.columns]
    return Sheet(
        headings, frame.set_axis(range(len(headings)), axis="columns"), FileRows(path, 1), units=units
    )
