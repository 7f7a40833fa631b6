"""Arrangements of equally spaced bores: rows, rectangles, L and U shapes, and those that fit on a plot."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopdrift.ground_sides.placement import placed, sides
from loopdrift.parts.site_plan import SitePlan

_TOLERANCE = 1e-9
_STEPS_PER_SPACING = 4
_ON_GRID = 1e-6
"""Distance from the cells of a grid, by its spacing, within which bores stand on them [-]."""


@dataclass(frozen=True)
class Arrangement:
    """Bores on the cells of a grid: on all of them, or on the first row, first column and last column only.

    Parameters
    ----------
    columns, rows : int
        Cells along x and along y.
    left, right : int or None
        Bores beyond the first row in the first column and in the last, for an L or U shape; None if all cells
        have a bore.
    """

    columns: int
    rows: int
    left: int | None = None
    right: int | None = None

    @property
    def count(self) -> int:
        """Number of bores."""
        if self.left is None or self.right is None:
            return self.columns * self.rows
        return self.columns + self.left + self.right

    @property
    def cells(self) -> NDArray[np.int64]:
        """Column and row of each bore, row by row, shape (count, 2)."""
        row, column = np.divmod(np.arange(self.columns * self.rows), self.columns)
        if self.left is not None and self.right is not None:
            is_left = (column == 0) & (row <= self.left)
            is_right = (column == self.columns - 1) & (row <= self.right)
            taken = (row == 0) | is_left | is_right
            row, column = row[taken], column[taken]
        cells: NDArray[np.int64] = np.column_stack([column, row])
        return cells


class Placed(NamedTuple):
    """An arrangement on a plot."""

    arrangement: Arrangement
    positions: NDArray[np.float64]
    """x and y of each bore, shape (n, 2) [m]."""


def most_in_line(length: float, spacing: float) -> int:
    """Return the largest number of bores in a row of some length.

    Parameters
    ----------
    length, spacing : float
        Length of the row, and distance between neighbouring bores [m].
    """
    return 1 + int(length / spacing + _TOLERANCE)


def on_plot(plan: SitePlan, spacing: float, most: int) -> list[Placed]:
    """Return the arrangements that fit on a plot beside its house, in ascending order of bores.

    For equal numbers, rectangles come first, the closest to a square before the others, then L and U shapes,
    then the single row. L and U shapes have more bores than fit in a single row, in which the same number of
    bores interacts less. Of each number and letter there are up to two: with the longest side, and around the
    largest rectangle.

    Parameters
    ----------
    plan : SitePlan
        The plot and the house.
    spacing : float
        Distance between neighbouring bores [m].
    most : int
        Largest number of bores.
    """
    shorter, longer = (most_in_line(side, spacing) for side in sides(plan))
    grids = [
        Arrangement(columns, rows)
        for rows in range(1, min(shorter, math.isqrt(most)) + 1)
        for columns in range(rows, min(longer, most // rows) + 1)
    ]
    found = list(_with_room(grids, plan, spacing))
    in_a_row = max((each.arrangement.columns for each in found if each.arrangement.rows == 1), default=0)
    shapes = [
        each
        for rows in range(2, longer + 1)
        for columns in range(2, longer + 1)
        if min(columns, rows) <= shorter
        for each in _shapes(columns, rows)
        if in_a_row < each.count <= most and (each.right or columns >= rows)
    ]
    groups: dict[tuple[int, bool], list[Arrangement]] = {}
    for each in shapes:
        groups.setdefault((each.count, each.right == 0), []).append(each)
    chosen: dict[Arrangement, Placed] = {}
    for group in groups.values():
        for size in (_longest, _area):
            by_size = sorted(group, key=size, reverse=True)
            first = next(_with_room(by_size, plan, spacing), None)
            if first is not None:
                chosen[first.arrangement] = first
    return sorted([*found, *chosen.values()], key=_order)


def upright(positions: NDArray[np.float64], spacing: float) -> NDArray[np.float64]:
    """Return the positions of a square grid, or of a part of one, turned until its rows run along x.

    Parameters
    ----------
    positions : ndarray
        x and y of each bore, shape (n, 2) [m].
    spacing : float
        Distance between neighbouring bores [m].

    Returns
    -------
    ndarray
        The positions, shape (n, 2) [m]; as they are unless they stand on a grid that is turned.
    """
    off = positions[1:] - positions[0]
    apart = np.hypot(*off.T)
    if not len(apart) or apart.min() > spacing * (1.0 + _ON_GRID):
        return positions
    x, y = off[apart.argmin()]
    angle = float(np.arctan2(y, x) % (0.5 * np.pi))
    if min(angle, 0.5 * np.pi - angle) < _ON_GRID:
        return positions
    sine, cosine = np.sin(angle), np.cos(angle)
    turned: NDArray[np.float64] = np.round(off @ np.array([[cosine, -sine], [sine, cosine]]), 9)
    places = turned / spacing
    if not np.allclose(places, np.rint(places), rtol=0.0, atol=_ON_GRID):
        return positions
    return np.concatenate([np.zeros((1, 2)), turned])


def shape_in_words(positions: NDArray[np.float64], spacing: float) -> str:
    """Return what an L or U shape is called, such as ``an L of 5 by 3``; empty for any other arrangement.

    Parameters
    ----------
    positions : ndarray
        x and y of each bore, shape (n, 2) [m].
    spacing : float
        Distance between neighbouring bores [m].
    """
    places = upright(positions, spacing)
    places = (places - places.min(axis=0)) / spacing
    cells = np.rint(places).astype(int)
    if not np.allclose(places, cells, rtol=0.0, atol=_ON_GRID):
        return ""
    taken = frozenset(map(tuple, cells.tolist()))
    width, height = cells.max(axis=0).tolist()
    for quarter in range(4):
        columns, rows = (width, height) if quarter % 2 == 0 else (height, width)
        for each in _shapes(columns + 1, rows + 1):
            for mirrored in (each.cells, each.cells * [-1, 1]):
                turned = mirrored @ np.linalg.matrix_power(np.array([[0, 1], [-1, 0]]), quarter)
                if taken == frozenset(map(tuple, (turned - turned.min(axis=0)).tolist())):
                    return f"{'an L' if each.right == 0 else 'a U'} of {columns + 1} by {rows + 1}"
    return ""


def _with_room(arrangements: list[Arrangement], plan: SitePlan, spacing: float) -> Iterator[Placed]:
    for each in arrangements:
        positions = placed(spacing * each.cells.astype(np.float64), plan, spacing / _STEPS_PER_SPACING)
        if positions is not None:
            yield Placed(each, positions)


def _order(found: Placed) -> tuple[int, int, int]:
    """Return the place in the search: number of bores, kind, and how far it is from a square."""
    each = found.arrangement
    is_row = each.rows == 1 and each.columns > 1
    kind = 1 if each.left is not None else 2 * is_row
    return each.count, kind, abs(each.columns - each.rows)


def _longest(each: Arrangement) -> int:
    return max(each.columns, each.rows)


def _area(each: Arrangement) -> int:
    return each.columns * each.rows


def _shapes(columns: int, rows: int) -> Iterator[Arrangement]:
    """Yield L and U shapes that just fit into columns and rows; the shorter leg of a U may lack one bore."""
    leg = rows - 1
    if columns < 2 or leg < 1:
        return
    yield Arrangement(columns, rows, leg, 0)
    if columns > 2:
        yield Arrangement(columns, rows, leg, leg)
        if leg > 1:
            yield Arrangement(columns, rows, leg, leg - 1)
