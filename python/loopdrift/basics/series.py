"""Hourly series as read-only arrays."""

from __future__ import annotations

import reprlib
from typing import Any

import numpy as np
import numpy.typing as npt

from loopdrift.basics import units
from loopdrift.basics.bounds import MOST_TIMES, require_count
from loopdrift.basics.errors import InvalidInput, shown

Series = npt.NDArray[np.float64]


def read_only(values: npt.ArrayLike) -> Series:
    """Return a read-only contiguous copy of numbers."""
    copy = np.array(values, dtype=np.float64)
    copy.setflags(write=False)
    return copy


def array(values: Any, unit: str, *, owner: str, field: str) -> Series:
    """Return a copy of numbers of any shape.

    Raises
    ------
    InvalidInput
        If `values` are not numbers, or have no regular shape.
    """
    if units.is_quantity(values):
        values = units.quantity_in(values, unit, owner=owner, field=field)
    try:
        given = np.asarray(values)
        if not np.iscomplexobj(given) and not has_truths(values):
            return np.array(given, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        pass
    plain = values.tolist() if isinstance(values, np.ndarray) else values
    raise InvalidInput(owner, field, shown(plain, reprlib.repr), "", f"must be numbers in {unit}")


def has_truths(values: Any) -> bool:
    """Whether True or False is among the values, in lists of any depth."""
    if isinstance(values, np.ndarray) and values.dtype != object:
        return bool(values.dtype == np.bool_)
    if isinstance(values, list | tuple | np.ndarray):
        return any(map(has_truths, values))
    return isinstance(values, bool | np.bool_)


class ReadOnlyArrays:
    """Base of classes with validated arrays, which stay read-only in copies."""

    def __setstate__(self, state: dict[str, Any]) -> None:
        for value in state.values():
            if isinstance(value, np.ndarray):
                value.setflags(write=False)
        self.__dict__.update(state)


def instants(times: Any, *, owner: str) -> Series:
    """Return times [s] as an array of the same shape.

    Raises
    ------
    InvalidInput
        If they are not numbers, or more than `MOST_TIMES`.
    """
    at = array(times, "s", owner=owner, field="times")
    require_count(at.size, MOST_TIMES, owner=owner, field="times")
    return at


def numbers(values: Any, unit: str, *, owner: str, field: str) -> Series:
    """Return `values` as a read-only one-dimensional array.

    Raises
    ------
    InvalidInput
        If `values` are not numbers, or not one-dimensional.
    """
    series = read_only(array(values, unit, owner=owner, field=field))
    if series.ndim != 1:
        raise InvalidInput(
            owner, field, f"array of shape {series.shape}", "", "must have one dimension, hours"
        )
    return series
