"""Numbers of text: point or comma before the decimals."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.basics.series import Series
from loopdrift.parts.series.sheet import Rows

if TYPE_CHECKING:
    import pandas as pd

_WITH_COMMA = re.compile(r"[-+]?[\d.]*,[\d,.]*(?:[eE][-+]?\d+)?")
_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(?:,\d{3})+")
_GROUPED = {
    False: re.compile(r"[-+]?\d{1,3}(?:,\d{3})+(?:\.\d*)?"),
    True: re.compile(r"[-+]?\d{1,3}(?:\.\d{3})+(?:,\d*)?"),
}
"""Numbers whose thousands are parted, with a decimal point and with a decimal comma."""
_MISSING = ("", "nan", "na", "n/a", "null", "none", "-", "--", "#n/a")
_SPACES = dict.fromkeys(map(ord, "\u00a0\u202f' "))
"""Characters that part thousands, and say nothing."""


def has_decimal_comma(cells: pd.DataFrame, rows: Rows, separator: str) -> bool:
    """Return whether the numbers of a table have a decimal comma.

    Parameters
    ----------
    cells : pandas.DataFrame
        Cells of text.
    rows : Rows
        Where they stand.
    separator : str
        What parts them in their file; where it is a comma, cells with one were quoted.

    Raises
    ------
    InvalidFile
        If commas may stand before decimals or part thousands.
    """
    doubtful: tuple[int, str] | None = None
    for place in cells:
        column = cells[place]
        given = column[column.str.contains(",", regex=False)]
        for row, cell in given.drop_duplicates().items():
            text = cell.translate(_SPACES)
            if not _WITH_COMMA.fullmatch(text):
                continue
            if "." in text:
                return text.rindex(",") > text.rindex(".")
            if not _THOUSANDS.fullmatch(text):
                return True
            if text.count(",") > 1:
                return False
            doubtful = doubtful or (int(str(row)), cell)
    if doubtful is None:
        return False
    if separator == ";":
        return True  # where a comma parts thousands, it parts cells too
    allowed = (
        "may be a decimal comma or part thousands: must be written with a decimal point and without "
        "thousands, or with semicolons between the cells"
    )
    raise rows.fault(doubtful[0], "", doubtful[1], allowed)


def numbers(column: pd.Series[Any], *, comma: bool) -> tuple[Series, np.ndarray]:
    """Return cells as numbers, NaN where there is none, and where a cell is neither number nor empty.

    Parameters
    ----------
    column : pandas.Series
        Cells of text, or numbers.
    comma : bool
        Whether text has a decimal comma.
    """
    if column.dtype.kind in "iuf":
        values = column.to_numpy(dtype=np.float64, na_value=np.nan)
        return values, np.isinf(values)
    if column.dtype.kind in "bmM":
        return np.full(len(column), np.nan), np.ones(len(column), dtype=bool)
    text = column.astype(str).str.strip()
    missing = text.str.lower().isin(_MISSING).to_numpy(dtype=bool)
    values = _plain(text)
    bad = np.isnan(values) & ~missing
    if comma or bad.any():
        bare = text.str.translate(_SPACES)
        grouped = bare.str.fullmatch(_GROUPED[comma]).to_numpy(dtype=bool)
        group, point = (".", ",") if comma else (",", ".")
        without = bare.str.replace(group, "", regex=False).str.replace(point, ".", regex=False)
        odd = bare.str.contains(group, regex=False).to_numpy(dtype=bool) & ~grouped
        values = np.where(odd, np.nan, _plain(without))
        bad = np.isnan(values) & ~missing
    return values, bad


def _plain(text: pd.Series[str]) -> Series:
    """Return text with a decimal point as finite numbers, NaN for all else."""
    import pandas as pd

    values = pd.to_numeric(text, errors="coerce").to_numpy(dtype=np.float64, na_value=np.nan)
    odd = ~np.isfinite(values) | text.str.contains("_", regex=False).to_numpy(dtype=bool)
    return np.where(odd, np.nan, values)
