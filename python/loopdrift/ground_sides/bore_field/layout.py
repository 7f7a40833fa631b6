"""Layouts of a bore field: positions and angles of its bores, and their checks."""

from __future__ import annotations

import dataclasses
import math
import reprlib
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.bounds import MOST_BORES, require_count
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import WholeRange
from loopdrift.basics.series import ReadOnlyArrays, has_truths
from loopdrift.ground_sides.bore_field.arrangement import shape_in_words, upright
from loopdrift.parts.bore import Bore

_MOST_BORES_IN_LINE = 1000
IN_LINE = WholeRange(1, _MOST_BORES_IN_LINE)
"""Bores along one side of a grid."""
_MAY_DIFFER = {"depth", "buried_depth"}


class Placed(ReadOnlyArrays):
    """Bores at positions, vertical or inclined; the base of `BoreField`, which documents the attributes."""

    bores: tuple[Bore, ...]
    positions: NDArray[np.float64]
    inclination: NDArray[np.float64]
    direction: NDArray[np.float64]

    @property
    def count(self) -> int:
        """Number of bores."""
        return len(self.positions)

    @property
    def depths(self) -> NDArray[np.float64]:
        """Active depth of each bore, shape (count,) [m]."""
        return np.resize([bore.depth for bore in self.bores], self.count)

    @property
    def total_depth(self) -> float:
        """Total active depth of all bores [m]."""
        return math.fsum(self.depths)

    @property
    def leans(self) -> bool:
        """Whether any bore is inclined."""
        return bool(self.inclination.any())

    @property
    def feet(self) -> NDArray[np.float64]:
        """x and y of the lower end of each bore, shape (count, 2) [m]."""
        along = self.depths + np.resize([bore.buried_depth for bore in self.bores], self.count)
        across = along * np.sin(np.radians(self.inclination))
        direction = np.radians(self.direction)
        below: NDArray[np.float64] = np.column_stack([across * np.sin(direction), across * np.cos(direction)])
        return self.positions + below

    @property
    def extent(self) -> NDArray[np.float64]:
        """Sides of the rectangle that encloses the axes of all bores, shape (2,) [m].

        They are parallel to the rows of a grid of vertical bores, otherwise to x and y.
        """
        if self.leans or self.count == 1:
            ends = np.concatenate([self.positions, self.feet])
        else:
            ends = upright(self.positions, self.spacing)
        sides: NDArray[np.float64] = ends.max(axis=0) - ends.min(axis=0)
        return sides

    @property
    def spacing(self) -> float:
        """Distance between the closest two bores at the surface, infinite for a single bore [m]."""
        return _core.closest(self.positions)

    @property
    def land(self) -> float:
        """Area of the rectangle that encloses all bores in plan, with the sides of `extent` [m2]."""
        width, height = self.extent + self.bores[0].diameter
        return float(width * height)

    @property
    def arrangement(self) -> str:
        """Columns and rows of a grid, or an L or U shape; empty for any other field."""
        sides = self._sides_of(upright(self.positions, self.spacing)) if self.count > 1 else None
        if sides is not None:
            return "{} by {}".format(*sides)
        is_of_shape = self.count > 2 and len(self.bores) == 1 and not self.leans
        return shape_in_words(self.positions, self.spacing) if is_of_shape else ""

    @property
    def sides(self) -> tuple[int, int] | None:
        """Columns and rows of a full rectangular grid along x and y; None for any other field."""
        return self._sides_of(self.positions)

    def _sides_of(self, positions: NDArray[np.float64]) -> tuple[int, int] | None:
        """Return columns and rows of a full rectangular grid along x and y, with the bores at positions."""
        if len(self.bores) != 1 or self.count == 1 or self.leans:
            return None
        places = (positions - positions.min(axis=0)) / self.spacing
        cells = np.rint(places)
        columns, rows = (int(side) + 1 for side in cells.max(axis=0))
        is_full = len(np.unique(cells, axis=0)) == columns * rows == self.count
        return (columns, rows) if is_full and np.allclose(places, cells, rtol=0.0, atol=1e-6) else None

    @property
    def _places(self) -> tuple[NDArray[np.float64], ...]:
        """Positions and inclinations of the bores."""
        return self.positions, self.inclination, self.direction


def unit_grid(columns: int, rows: int) -> NDArray[np.float64]:
    """Return the positions of a rectangular grid of unit spacing, row by row, shape (columns x rows, 2).

    Parameters
    ----------
    columns, rows : int
        Bores along x and along y.

    Raises
    ------
    InvalidInput
        If a count isn't from 1 to 1000.
    """
    for name, count in (("columns", columns), ("rows", rows)):
        IN_LINE.of(count, owner="BoreField", field=name)
    y, x = np.divmod(np.arange(columns * rows), columns)
    return np.column_stack([x, y]).astype(np.float64)


def sides_of_rectangles(most: int, ratio: float) -> list[tuple[int, int]]:
    """Return rows and columns of all rectangles and single rows, by number of bores, squarest first.

    Parameters
    ----------
    most : int
        Maximum number of bores.
    ratio : float
        Maximum ratio of columns to rows [-], for two rows or more.
    """

    def longest(rows: int) -> int:
        return _MOST_BORES_IN_LINE if rows == 1 else min(int(ratio * rows), _MOST_BORES_IN_LINE)

    sides = [
        (rows, columns)
        for rows in range(1, math.isqrt(most) + 1)
        for columns in range(rows, min(most // rows, longest(rows)) + 1)
    ]
    return sorted(sides, key=lambda side: (side[0] * side[1], side[1]))


def checked_positions(positions: ArrayLike) -> NDArray[np.float64]:
    """Return positions [m] as a read-only array of shape (n, 2)."""
    try:
        given = np.asarray(positions)
        if has_truths(positions):
            raise ValueError
    except ValueError:
        raise InvalidInput(
            "BoreField", "positions", reprlib.repr(positions), "", "must have shape (n, 2), n from 1"
        ) from None
    if given.ndim != 2 or given.shape[1] != 2 or len(given) == 0:
        raise InvalidInput(
            "BoreField", "positions", f"shape {given.shape}", "", "must have shape (n, 2), n from 1"
        )
    require_count(len(given), MOST_BORES, owner="BoreField", field="positions")
    if np.issubdtype(given.dtype, np.number) and not np.issubdtype(given.dtype, np.complexfloating):
        places = given.astype(np.float64)
    else:
        flat = [
            units.to_si(value, "m", owner="BoreField", field="positions") for value in given.ravel().tolist()
        ]
        places = np.array(flat).reshape(given.shape)
    places += 0.0  # turns -0.0 into 0.0
    places.flags.writeable = False
    return places


def checked_angles(given: Any, name: str, count: int) -> NDArray[np.float64]:
    """Return one angle for each bore [deg], read-only, from one for all or one for each."""
    values = given.tolist() if isinstance(given, np.ndarray) else given
    each = values if isinstance(values, Sequence) and not isinstance(values, str) else [values]
    if len(each) not in (1, count):
        allowed = f"must be one, or one for each of the {count} positions"
        raise InvalidInput("BoreField", name, len(each), "", allowed)
    angles = np.resize([units.to_si(value, "deg", owner="BoreField", field=name) for value in each], count)
    angles += 0.0
    angles.flags.writeable = False
    return angles


def one_or_each(angles: NDArray[np.float64]) -> float | NDArray[np.float64]:
    """Return the common angle of all bores, or the angle of each."""
    return float(angles[0]) if np.ptp(angles) == 0.0 else angles


def check_spacing(step: float, diameter: float) -> None:
    """Refuse bores of a layout that overlap.

    Parameters
    ----------
    step : float
        Distance between neighbours [m].
    diameter : float
        Diameter of the bores [m].

    Raises
    ------
    InvalidInput
        If the distance is less than the diameter.
    """
    if step < diameter:
        allowed = f"must be at least {diameter:g} m, the diameter of the bores, or they overlap"
        raise InvalidInput("BoreField", "spacing", step, "m", allowed)


def check_alike(bores: tuple[Bore, ...]) -> None:
    """Refuse bores of one field that differ in more than depth and upper end.

    Parameters
    ----------
    bores : tuple of Bore
        The bores of the field.

    Raises
    ------
    InvalidInput
        If one isn't a bore, or differs from the first.
    """
    names = [field.name for field in dataclasses.fields(Bore) if field.name not in _MAY_DIFFER]
    for number, bore in enumerate(bores, start=1):
        if not isinstance(bore, Bore):
            raise InvalidInput(
                "BoreField", "bore", repr(bore), "", "must be a Bore, or one Bore for each position"
            )
        for name in names:
            if getattr(bore, name) != getattr(bores[0], name):
                allowed = f"of bore {number} differs from bore 1: only depth and buried_depth may differ"
                raise InvalidInput("BoreField", f"bore.{name}", getattr(bore, name), "", allowed)
