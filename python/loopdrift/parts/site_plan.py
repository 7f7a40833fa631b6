"""House and property lines around a loop, and the distances to be kept from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import FacePart, OptionalFigure
from loopdrift.charts.outlines import nearest_edge

_FARTHEST = 1e5
_COORDINATE = Range("m", least=-_FARTHEST, most=_FARTHEST)
_MOST_CORNERS = 1000
_CLOSE = 1e-6
"""Difference of distances that are the same [m]."""

Corners = tuple[tuple[float, float], ...]


@dataclass(frozen=True, kw_only=True)
class SitePlan(FacePart):
    """House and property lines, in the coordinates of the bores: x points east and y north.

    They are drawn on plans of the loop. A stated distance decides whether a run, a size, a case of a study or
    a candidate of a comparison holds, like `Limits`; sizing on a plot keeps it.

    Parameters
    ----------
    property_lines : array_like, optional
        Corners of the property lines in order, shape (n, 2), n from 3, numbers [m] or text with units.
    house : array_like, optional
        Corners of the house.
    distance_to_property_lines, distance_to_house : float or str, optional
        Least distance that bores and trenches must keep [m].

    Raises
    ------
    InvalidInput
        If an outline has fewer than three corners, crosses itself, or encloses no area, or a distance has no
        outline.

    Examples
    --------
    >>> corners = [["0 ft", "0 ft"], ["100 ft", "0 ft"], ["100 ft", "80 ft"], ["0 ft", "80 ft"]]
    >>> plan = SitePlan(property_lines=corners)
    >>> round(area(plan.property_lines), 1)
    743.2
    """

    property_lines: Annotated[Corners | None, _COORDINATE] = None
    house: Annotated[Corners | None, _COORDINATE] = None
    distance_to_property_lines: OptionalFigure = OptionalFigure("m", least=0.0, most=1e3)
    distance_to_house: OptionalFigure = OptionalFigure("m", least=0.0, most=1e3)

    def __post_init__(self) -> None:
        for name in ("property_lines", "house"):
            given = getattr(self, name)
            if given is not None:
                object.__setattr__(self, name, _outline(given, name))
            elif getattr(self, f"distance_to_{name}") is not None:
                raise InvalidInput("SitePlan", name, "nothing", "", f"must be given for distance_to_{name}")

    @property
    def requires_distances(self) -> bool:
        """Whether a distance is stated, which then decides whether a loop holds."""
        return self.distance_to_property_lines is not None or self.distance_to_house is not None

    def outside_property(self, points: ArrayLike) -> NDArray[np.bool_]:
        """Return which points lie outside the property lines, shape (n,); none without them.

        Parameters
        ----------
        points : array_like
            x and y of each point, shape (n, 2) [m].
        """
        at = _points(points)
        if self.property_lines is None:
            return np.zeros(len(at), dtype=bool)
        return ~inside(self.property_lines, at)

    def has_room(self, points: ArrayLike) -> bool:
        """Return whether all points lie on the plot and beside the house, and keep the distances from both.

        Parameters
        ----------
        points : array_like
            x and y of each point, shape (n, 2) [m].
        """
        at = _points(points)
        if self.outside_property(at).any() or self.below_house(at).any():
            return False
        kept = (
            (self.property_lines, self.distance_to_property_lines),
            (self.house, self.distance_to_house),
        )
        return all(
            corners is None or not distance or nearest_edge(at, corners).distances.min() > distance - _CLOSE
            for corners, distance in kept
        )

    def below_house(self, points: ArrayLike) -> NDArray[np.bool_]:
        """Return which points lie within the outline of the house, shape (n,); none without a house.

        Parameters
        ----------
        points : array_like
            x and y of each point, shape (n, 2) [m].
        """
        at = _points(points)
        return np.zeros(len(at), dtype=bool) if self.house is None else inside(self.house, at)


def area(corners: Corners | None) -> float:
    """Return the area of a polygon [m2]; 0 without one.

    Parameters
    ----------
    corners : tuple of tuple of float or None
        Its corners in order [m].
    """
    if corners is None:
        return 0.0
    x, y = np.array(corners).T
    return 0.5 * abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))))


def inside(corners: Corners, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return which points lie inside a polygon, by the number of edges to the right of each.

    Parameters
    ----------
    corners : tuple of tuple of float
        Its corners in order [m].
    points : ndarray, shape (n, 2)
        The points [m].
    """
    x, y = points[:, 0, None], points[:, 1, None]
    (x0, y0), (x1, y1) = np.array(corners).T, np.roll(corners, -1, axis=0).T
    spans = (y0 > y) != (y1 > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        is_right = x < x0 + (y - y0) * (x1 - x0) / (y1 - y0)
    crossed: NDArray[np.bool_] = (spans & is_right).sum(axis=1) % 2 == 1
    return crossed


def _points(points: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(points, dtype=np.float64).reshape(-1, 2)


def _outline(given: Any, field: str) -> Corners:
    allowed = f"must be a list of x and y of each corner, from 3 to {_MOST_CORNERS:,} corners"
    rows = given.tolist() if isinstance(given, np.ndarray) else given
    if isinstance(rows, str) or not isinstance(rows, Sequence) or not 3 <= len(rows) <= _MOST_CORNERS:
        raise InvalidInput("SitePlan", field, repr(given), "", allowed)
    for row in rows:
        if isinstance(row, str) or not isinstance(row, Sequence) or len(row) != 2:
            raise InvalidInput("SitePlan", field, repr(row), "", allowed)
    corners: Corners = tuple(
        (_COORDINATE.of(x, owner="SitePlan", field=field), _COORDINATE.of(y, owner="SitePlan", field=field))
        for x, y in rows
    )
    if _crosses_itself(np.array(corners)):
        raise InvalidInput("SitePlan", field, repr(given), "", "must not cross or touch itself")
    if area(corners) < 1e-6:
        raise InvalidInput("SitePlan", field, repr(given), "", "must enclose an area")
    return corners


def _crosses_itself(corners: NDArray[np.float64]) -> bool:
    """Return whether two edges that aren't neighbours meet."""
    first, second = corners, np.roll(corners, -1, axis=0)
    count = len(corners)
    for at in range(count):
        others = [other for other in range(at + 2, count) if (other + 1) % count != at]
        if not others:
            continue
        a, b, c, d = first[at], second[at], first[others], second[others]
        near = (np.minimum(c, d) <= np.maximum(a, b)) & (np.minimum(a, b) <= np.maximum(c, d))
        if (near.all(axis=1) & _apart(a, b, c, d) & _apart(c, d, a, b)).any():
            return True
    return False


def _apart(a: Any, b: Any, c: Any, d: Any) -> NDArray[np.bool_]:
    """Return whether points c and d lie on different sides of the line from a to b, or on it."""
    found: NDArray[np.bool_] = _side(a, b, c) * _side(a, b, d) <= 0.0
    return found


def _side(a: Any, b: Any, c: Any) -> Any:
    along, off = b - a, c - a
    return along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0]
