"""Columns of cells as numbers."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.basics import table_file
from loopdrift.basics.series import Series

if TYPE_CHECKING:
    import pandas as pd

_MISSING = ("", "nan", "na", "n/a", "null", "none", "-", "--", "#n/a")


def numbers(column: pd.Series[Any], decimal: table_file.Decimal) -> tuple[Series, np.ndarray]:
    """Return cells as numbers, NaN where there is none, and where a cell is neither number nor empty.

    Parameters
    ----------
    column : pandas.Series
        Cells of text, or numbers.
    decimal : {".", ","}
        The sign before decimals in text.
    """
    if column.dtype.kind in "iuf":
        values = column.to_numpy(dtype=np.float64, na_value=np.nan)
        return values, np.isinf(values)
    if column.dtype.kind in "bmM":
        return np.full(len(column), np.nan), np.ones(len(column), dtype=bool)
    text = column.astype(str).str.strip()
    missing = text.str.lower().isin(_MISSING).to_numpy(dtype=bool)
    values = np.full(len(text), np.nan)
    if decimal == ".":
        # pandas before version 3 loses the last digit of one number in six.
        values = np.fromiter(map(_plain, text.to_list()), np.float64, len(text))
        values[~np.isfinite(values) | text.str.contains("_", regex=False).to_numpy(dtype=bool)] = np.nan
    others = text[np.isnan(values) & ~missing]
    if len(others):
        known = {cell: table_file.number(cell, decimal) for cell in others.unique()}
        values[others.index] = others.map(known).to_numpy(dtype=np.float64, na_value=np.nan)
        values[~np.isfinite(values)] = np.nan
    return values, np.isnan(values) & ~missing


def _plain(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return math.nan
