"""A parameter that varies in a study, and its values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.study.planning.variation import Variable, value, variable
from loopdrift.basics.errors import InvalidInput
from loopdrift.model.design import Design


@dataclass(frozen=True)
class Axis:
    """A parameter that varies, and its values.

    Parameters
    ----------
    name : str
        Its name in the study.
    variable : Variable
        Its meaning in the design.
    values : numpy.ndarray or list
        The values, as the design takes them: an array of numbers in SI, or a list of anything else.
    labels : numpy.ndarray
        The values as coordinates: numbers in SI, or labels.
    """

    name: str
    variable: Variable
    values: NDArray[np.float64] | list[Any]
    labels: NDArray[Any]

    @property
    def numbers(self) -> NDArray[np.float64] | None:
        """The values, if they are numbers with a unit."""
        return self.values if isinstance(self.values, np.ndarray) else None

    def value(self, place: int) -> Any:
        """Return one of the values, a number as a Python float."""
        found = self.values[place]
        return found.item() if isinstance(found, np.generic) else found


def axis(design: Design, name: str, given: Any) -> Axis:
    """Return the parameter of a design with a given name, and its values.

    Parameters
    ----------
    design : Design
        The design.
    name : str
        A full dotted name, or an unambiguous suffix.
    given : iterable or mapping
        The values; the keys of a mapping label them.

    Raises
    ------
    InvalidInput
        If the name is unknown or ambiguous, or a value doesn't fit.
    """
    which = variable(design, name)
    if which.is_number and not isinstance(given, Mapping):
        numbers = _plain_numbers(given)
        if numbers is not None:
            return Axis(name, which, numbers, numbers)
    named = given if isinstance(given, Mapping) else dict(enumerate(_listed(name, given)))
    values = [value(design, which, each) for each in named.values()]
    if which.is_number:
        numbers = np.array(values, dtype=np.float64)
        return Axis(name, which, numbers, numbers)
    if not isinstance(given, Mapping) and all(isinstance(each, str | int) for each in values):
        return Axis(name, which, values, np.array(values))
    return Axis(name, which, values, np.array(list(named)))


def _plain_numbers(given: Any) -> NDArray[np.float64] | None:
    """Return finite numbers without a unit as an array; None if a value has to be looked at alone."""
    if isinstance(given, list | tuple | range):
        is_plain = set(map(type, given)) <= {float, int}
    else:
        is_plain = isinstance(given, np.ndarray) and given.ndim == 1 and given.dtype.kind in "fiu"
    if not is_plain:
        return None
    try:
        numbers = np.array(given, dtype=np.float64)
    except OverflowError:
        return None
    return numbers if np.isfinite(numbers).all() else None


def _listed(name: str, given: Any) -> list[Any]:
    if isinstance(given, str) or not hasattr(given, "__iter__"):
        raise InvalidInput("Study", "vary", f"{name}: {given!r}", "", "must be a list of values")
    return list(given.tolist() if isinstance(given, np.ndarray) else given)


def columns(cases: Any) -> dict[str, Any]:
    """Return the columns of a table, or of rows with equal names.

    Parameters
    ----------
    cases : pandas.DataFrame or sequence of mapping
        One row for each case.

    Raises
    ------
    InvalidInput
        If the rows have different names.
    """
    if hasattr(cases, "columns"):
        return {str(name): _column(cases[name]) for name in cases.columns}
    rows: Sequence[Any] = list(cases)
    for row in rows:
        if not isinstance(row, Mapping) or set(row) != set(rows[0]):
            allowed = "must be a table, or mappings that all have the same names"
            raise InvalidInput("Study", "cases", repr(row), "", allowed)
    return {name: [row[name] for row in rows] for name in (rows[0] if rows else ())}


def _column(column: Any) -> Any:
    values = column.to_numpy()
    return values if values.dtype.kind in "fiu" else column.tolist()
