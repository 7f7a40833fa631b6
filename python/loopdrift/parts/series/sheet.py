"""A table of cells as it comes, which knows where each row stands in its file."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

from loopdrift.basics.errors import InvalidFile, InvalidInput, LoopdriftError
from loopdrift.basics.table_file import Decimal

if TYPE_CHECKING:
    import pandas as pd


class Rows(Protocol):
    """Where the rows of a table stand, for messages."""

    def fault(self, row: int, column: str, value: object, allowed: str) -> LoopdriftError:
        """Return the error of a cell or, without a column, of a row; row -1 is the header."""


@dataclass(frozen=True)
class FileRows:
    """Rows of a file, whose line is known."""

    path: str | os.PathLike[str]
    header: int
    """Line of the header."""
    lines: Sequence[int]
    """Line of each row."""

    def fault(self, row: int, column: str, value: object, allowed: str) -> LoopdriftError:
        """Return the error of a cell or a row."""
        line = self.header if row < 0 else self.lines[row]
        return InvalidFile(self.path, line, column, str(value), allowed)


@dataclass(frozen=True)
class FrameRows:
    """Rows of a DataFrame."""

    owner: str

    def fault(self, row: int, column: str, value: object, allowed: str) -> LoopdriftError:
        """Return the error of a cell or a row."""
        place = f"row {row}" if row >= 0 else "columns"
        of = f", column {column!r}" if column and row >= 0 else ""
        return InvalidInput(self.owner, "frame", value, "", f"{place}{of}: {allowed}")


@dataclass(frozen=True)
class Sheet:
    """Cells under headings."""

    headings: list[str]
    cells: pd.DataFrame
    """One column for each heading, by its place from 0; text, or numbers and times as they are."""
    rows: Rows
    comments: list[str] = field(default_factory=list)
    """Lines before the header that begin with ``#``, in their order, without line end."""
    decimal: Decimal = "."
    """The sign before decimals in text."""
    units: dict[str, str] = field(default_factory=dict)
    """Units by heading, where the table states them beside the headings."""

    def __len__(self) -> int:
        return len(self.cells)
