"""The variants of each field of a design that a study covers, made where they are needed."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.study.planning.axis import Axis
from loopdrift.analysis.study.planning.variation import varied
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Part
from loopdrift.model.design import Design

Indices = NDArray[np.intp]

_KEPT = 64
"""Variants of a field that are kept as parts: a few of them serve all cases where others vary."""


class Variants:
    """All variants of one field of a design.

    A variant that differs from the design only in numbers is made as a copy of what the engine reads, with
    these numbers in place. Any other is made as a part.

    Parameters
    ----------
    design : Design
        The base design.
    field : str
        The field.
    axes : sequence of Axis
        What varies in it.
    which : numpy.ndarray, shape (cases, axes)
        Index of each case's value on each of these axes.
    """

    def __init__(self, design: Design, field: str, axes: Sequence[Axis], which: Indices) -> None:
        self.of_case, self._places = together([which[:, column] for column in range(len(axes))])
        self._design = design
        self._field = field
        self._axes = axes
        self._part = functools.lru_cache(_KEPT)(self._made)
        self._form: Any = None
        self._changes: list[Callable[[Any, float], Any]] | None = None
        part = getattr(design, field)
        if isinstance(part, Part) and all(
            axis.numbers is not None and axis.variable.path != field for axis in axes
        ):
            found = [part.change_in_engine(tuple(axis.variable.names[1:])) for axis in axes]
            changes = [change for change in found if change is not None]
            if len(changes) == len(axes):
                self._form, self._changes = part.for_engine(), changes

    def part(self, variant: int) -> Any:
        """Return a variant as the design takes it.

        Raises
        ------
        InvalidInput
            If the field can't have these values.
        """
        return self._part(variant)

    def form(self, variant: int) -> Any:
        """Return a variant as the engine reads it.

        Raises
        ------
        InvalidInput
            If the field can't have these values, as far as the engine doesn't check it.
        """
        if self._changes is None:
            part = self.part(variant)
            return part.for_engine() if isinstance(part, Part) else part
        form = self._form
        for change, value in zip(self._changes, self._values(variant), strict=True):
            form = change(form, value)
        return form

    def _made(self, variant: int) -> Any:
        paths = [axis.variable.path for axis in self._axes]
        return varied(self._design, self._field, dict(zip(paths, self._values(variant), strict=True)))

    def _values(self, variant: int) -> list[Any]:
        places = self._places[variant].tolist()
        return [axis.value(place) for axis, place in zip(self._axes, places, strict=True)]


def together(columns: Sequence[Indices]) -> tuple[Indices, Indices]:
    """Number the combinations that occur in the rows of some columns of indices.

    Parameters
    ----------
    columns : sequence of numpy.ndarray
        At least one, each of shape (cases,), zero or more.

    Returns
    -------
    of_case : numpy.ndarray, shape (cases,)
        The combination of each row, in ascending order of the columns.
    combinations : numpy.ndarray, shape (combinations, columns)
        The indices of each.
    """
    of_case = np.zeros(len(columns[0]), dtype=np.intp)
    first = of_case[:1]
    for column in columns:
        # Fewer combinations than rows, so that the product can't overflow.
        keys = of_case * (int(column.max(initial=0)) + 1) + column
        _, first, of_case = np.unique(keys, return_index=True, return_inverse=True)
    return of_case, np.column_stack([column[first] for column in columns])


def of_some(make: Callable[[int], Any], of_case: Indices) -> tuple[list[Any], Indices, dict[int, str]]:
    """Make the variants of some cases.

    Parameters
    ----------
    make : callable
        Returns a variant by its number, or raises `InvalidInput`.
    of_case : numpy.ndarray
        The variant of each case.

    Returns
    -------
    made : list
        The variants; never empty unless all are refused.
    which : numpy.ndarray
        Index in `made` of each case's variant; 0 if it is refused.
    refused : dict of int to str
        Places in `of_case` whose variant is refused, and why.
    """
    used, places = np.unique(of_case, return_inverse=True)
    made: list[Any] = []
    which = np.zeros(len(used), dtype=np.intp)
    refused: dict[int, str] = {}
    for place, variant in enumerate(used.tolist()):
        try:
            made.append(make(variant))
            which[place] = len(made) - 1
        except InvalidInput as error:
            refused |= dict.fromkeys(np.flatnonzero(places == place).tolist(), str(error))
    return made, which[places], refused
