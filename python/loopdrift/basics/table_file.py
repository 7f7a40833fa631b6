"""Tables as spreadsheets save them: separators, decimal commas, encodings and Excel workbooks."""

from __future__ import annotations

import codecs
import csv
import io
import os
import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator
from typing import Any, Literal, NamedTuple

from loopdrift.basics import text_file
from loopdrift.basics.errors import InvalidFile, LoopdriftError

Decimal = Literal[".", ","]
Cell = str | float
"""A number only where the file has its type, as a workbook does."""

MOST_ROWS = 2_000_000
"""Of a sheet."""

_WORKBOOK = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_NO_TEXT = re.compile("[\x00-\x08\x0e-\x1f]")
_WITH_COMMA = re.compile(r"[-+]?[\d.]*\d,\d+(?:[eE][-+]?\d+)?")
_WITH_POINT = re.compile(r"[-+]?[\d,]*\d\.\d+(?:[eE][-+]?\d+)?")
_THOUSANDS_BY_COMMA = re.compile(r"[-+]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")
_THOUSANDS_BY_POINT = re.compile(r"[-+]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?")
_SPACES = str.maketrans({"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2212": "-"})


class Dialect(NamedTuple):
    """How a text file writes a table; names as those of `pandas.read_csv`."""

    encoding: str
    sep: str
    decimal: Decimal


class Row(NamedTuple):
    """One row of a sheet."""

    line: int
    """Line of the file, or row of the sheet, the first being 1."""
    cells: tuple[Cell, ...]
    """Without spaces around them."""


class Sheet(NamedTuple):
    """A text file, or one sheet of a workbook."""

    path: str
    name: str
    """Empty for a text file."""
    decimal: Decimal
    rows: tuple[Row, ...]
    """All but the empty ones."""

    def fault(self, line: int, column: str, value: str, allowed: str) -> InvalidFile:
        """Return the error for a row or a cell of this sheet."""
        path = f"{self.path}, sheet {self.name!r}" if self.name else self.path
        return InvalidFile(path, line, column, value, allowed)


class ExcelNeeded(LoopdriftError, ImportError):
    """A workbook can't be read because the package that reads it is not installed.

    Parameters
    ----------
    path : str
        The workbook.
    """

    def __init__(self, path: str) -> None:
        self.workbook = path
        super().__init__(path)

    def __str__(self) -> str:
        return (
            f"{self.workbook}: Excel needs an extra: pip install 'loopdrift[excel]', or save the sheet as CSV"
        )


def is_workbook(path: str | os.PathLike[str]) -> bool:
    """Return whether a file is an Excel workbook, by its first bytes.

    Raises
    ------
    InvalidFile
        If it is one of the old binary kind, which is not read.
    OSError
        If the file can't be read.
    """
    with open(path, "rb") as file:
        beginning = file.read(4)
    if beginning == _OLD_WORKBOOK:
        raise InvalidFile(path, 1, "", "workbook", "must be saved as .xlsx or as CSV: .xls is not read")
    return beginning == _WORKBOOK


def sheets(path: str | os.PathLike[str]) -> tuple[Sheet, ...]:
    """Return what a table file holds: the visible sheets of a workbook, or the one table of a text file.

    Parameters
    ----------
    path : str or path-like
        The file.

    Raises
    ------
    InvalidFile
        If it is neither text nor a workbook, or its numbers can be read in two ways.
    ExcelNeeded
        If it is a workbook and openpyxl is not installed.
    OSError
        If the file can't be read.
    """
    path = os.fspath(path)
    if is_workbook(path):
        return tuple(_of_workbook(path))
    text, encoding = decoded(path)
    found = dialect(path, text, encoding)
    return (Sheet(path, "", found.decimal, tuple(_rows(path, text, found.sep))),)


def decoded(path: str | os.PathLike[str]) -> tuple[str, str]:
    """Return the text of a file and the encoding: UTF-8, UTF-16 with its mark, or else Windows' Latin-1.

    Raises
    ------
    InvalidFile
        If the file is no text, with the line number, or is too long.
    OSError
        If the file can't be read.
    """
    content = text_file.content(path)
    marked = next((name for mark, name in _MARKS if content.startswith(mark)), None)
    for encoding in [marked] if marked else ["utf-8", "cp1252", "latin-1"]:
        try:
            text = content.decode(encoding)
        except UnicodeError:
            continue
        odd = _NO_TEXT.search(text)
        if odd is None:
            return text.replace("\r\n", "\n").replace("\r", "\n"), encoding
        break
    else:
        odd = None
    line = 1 if odd is None else text[: odd.start()].count("\n") + 1
    raise InvalidFile(path, line, "", "bytes", "must be UTF-8 text, Latin-1 text, or an Excel workbook")


def dialect(path: str | os.PathLike[str], text: str, encoding: str) -> Dialect:
    """Return how a text writes its table.

    The separator is a tab, a semicolon or a comma: the first of them that half of the lines have. A comma is
    the decimal one where the separator is another and the numbers leave no doubt.

    Parameters
    ----------
    path : str or path-like
        The file, for messages.
    text : str
        What stands in it.
    encoding : str
        How it is encoded.

    Raises
    ------
    InvalidFile
        If a comma within numbers can be that of decimals or of thousands.
    """
    lines = [line for line in text.split("\n") if line.strip() and not line.startswith("#")]
    sep = next((each for each in "\t;" if 2 * sum(each in line for line in lines) >= max(len(lines), 1)), ",")
    if sep == ",":
        return Dialect(encoding, sep, ".")
    return Dialect(encoding, sep, _decimal(path, _rows(path, text, sep)))


def number(cell: Cell, decimal: Decimal) -> float | None:
    """Return the number that a cell holds, thousands parted or not; None where it holds none.

    Parameters
    ----------
    cell : str or float
        The cell.
    decimal : {".", ","}
        The sign before decimals.
    """
    if isinstance(cell, float):
        return cell
    text = cell.translate(_SPACES).strip()
    if re.fullmatch(r"[-+]?\d{1,3}( \d{3})+([.,]\d+)?", text):
        text = text.replace(" ", "")
    if decimal == ",":
        if "." in text and not _THOUSANDS_BY_POINT.fullmatch(text):
            return None  # a decimal point, so that other points may be decimal ones as well
        text = text.replace(".", "").replace(",", ".")
    elif _THOUSANDS_BY_COMMA.fullmatch(text):
        text = text.replace(",", "")
    try:
        return float(text) if re.fullmatch(r"[-+.\deE]+", text) else None
    except ValueError:
        return None


def _rows(path: str | os.PathLike[str], text: str, sep: str) -> Iterator[Row]:
    """Yield the rows of a text with their line numbers, comments as rows of one cell."""
    lines = text.split("\n")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sep, skipinitialspace=True)
    line = 1
    try:
        for cells in reader:
            stripped = tuple(cell.strip() for cell in cells)
            if stripped and stripped[0].startswith("#"):
                stripped = (lines[line - 1].strip(),)
            if any(stripped):
                yield Row(line, stripped)
            line = reader.line_num + 1
    except csv.Error as error:
        raise InvalidFile(path, line, "", "line", f"must be cells parted by {sep!r}: {error}") from None


def _decimal(path: str | os.PathLike[str], rows: Iterable[Row]) -> Decimal:
    """Return the sign before decimals in a table whose separator is no comma."""
    doubtful: tuple[int, str] | None = None
    commas: tuple[int, str] | None = None
    points: tuple[int, str] | None = None
    for line, cells in rows:
        for cell in cells:
            if not isinstance(cell, str):
                continue
            if _THOUSANDS_BY_COMMA.fullmatch(cell) and "." not in cell:
                doubtful = doubtful or (line, cell)
            elif _WITH_COMMA.fullmatch(cell):
                commas = commas or (line, cell)
            elif _WITH_POINT.fullmatch(cell) and not _THOUSANDS_BY_POINT.fullmatch(cell):
                points = points or (line, cell)
    if commas and points:
        line, cell = max(commas, points)
        other = min(commas, points)
        allowed = f"must write decimals as {other[1]!r} in line {other[0]} does"
        raise InvalidFile(path, line, "", cell, allowed)
    if doubtful and not commas and not points:
        line, cell = doubtful
        allowed = f"can be {cell.replace(',', '')} or {cell.replace(',', '.', 1)}: write it without comma"
        raise InvalidFile(path, line, "", cell, allowed)
    return "," if commas else "."


def _of_workbook(path: str) -> Iterator[Sheet]:
    try:
        import openpyxl
    except ImportError:
        raise ExcelNeeded(path) from None
    content = io.BytesIO(text_file.content(path))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of what a workbook has beside its cells
            book = openpyxl.load_workbook(content, read_only=True, data_only=True)
    except (zipfile.BadZipFile, KeyError, ValueError, OSError, SyntaxError):
        raise InvalidFile(path, 1, "", "workbook", "must be an Excel workbook that opens in Excel") from None
    for sheet in book.worksheets:
        if sheet.sheet_state != "visible":
            continue
        rows = []
        for line, values in enumerate(sheet.iter_rows(max_row=MOST_ROWS, values_only=True), start=1):
            cells = tuple(map(_cell, values))
            if any(cell != "" for cell in cells):
                rows.append(Row(line, cells))
        texts = (Row(line, tuple(c for c in cells if isinstance(c, str))) for line, cells in rows)
        yield Sheet(path, sheet.title, _decimal(path, texts), tuple(rows))


def _cell(value: Any) -> Cell:
    if value is None:
        return ""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    return str(value).strip()
