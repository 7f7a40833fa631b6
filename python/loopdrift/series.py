"""Hourly series as read-only arrays."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from loopdrift.errors import InvalidInput

Series = npt.NDArray[np.float64]

HOURS_PER_YEAR = 8760


def read_only(values: npt.ArrayLike) -> Series:
    """Return a contiguous copy of one-dimensional numbers that can't be written to."""
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def numbers(values: Any, unit: str, *, owner: str, field: str) -> Series:
    """Return `values` as a read-only one-dimensional array.

    Raises
    ------
    InvalidInput
        If `values` are no numbers or not one-dimensional.
    """
    try:
        series = read_only(values)
    except (TypeError, ValueError):
        raise InvalidInput(owner, field, type(values).__name__, "", f"must be numbers in {unit}") from None
    if series.ndim != 1:
        raise InvalidInput(
            owner, field, f"array of shape {series.shape}", "", "must have one dimension, hours"
        )
    return series
