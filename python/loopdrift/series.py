"""Hourly series as read-only arrays."""

from __future__ import annotations

import reprlib
from typing import Any

import numpy as np
import numpy.typing as npt

from loopdrift import units
from loopdrift.errors import InvalidInput

Series = npt.NDArray[np.float64]

HOURS_PER_YEAR = 8760


def read_only(values: npt.ArrayLike) -> Series:
    """Return a contiguous copy of one-dimensional numbers that can't be written to."""
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def array(values: Any, unit: str, *, owner: str, field: str) -> Series:
    """Return a copy of numbers of any shape.

    Raises
    ------
    InvalidInput
        If `values` are no numbers, or of no regular shape.
    """
    if units.is_quantity(values):
        values = units.quantity_in(values, unit, owner=owner, field=field)
    try:
        given = np.asarray(values)
        if not np.iscomplexobj(given):
            return np.array(given, dtype=np.float64)
    except (TypeError, ValueError):
        pass
    plain = values.tolist() if isinstance(values, np.ndarray) else values
    raise InvalidInput(owner, field, reprlib.repr(plain), "", f"must be numbers in {unit}")


def numbers(values: Any, unit: str, *, owner: str, field: str) -> Series:
    """Return `values` as a read-only one-dimensional array.

    Raises
    ------
    InvalidInput
        If `values` are no numbers or not one-dimensional.
    """
    series = read_only(array(values, unit, owner=owner, field=field))
    if series.ndim != 1:
        raise InvalidInput(
            owner, field, f"array of shape {series.shape}", "", "must have one dimension, hours"
        )
    return series
