"""Where on a plot the points of a loop find room."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.both_units import both
from loopdrift.parts.site_plan import SitePlan

_MOST_PLACES = 24
"""Places that are tried along each side of a plot, at most."""

_WITHIN = 1e-6
"""Distance by which a point on an edge is moved inward before it is judged [m]."""


def rectangle(length: float, width: float) -> SitePlan:
    """Return a rectangular plot without a house.

    Parameters
    ----------
    length, width : float
        Its sides [m].
    """
    return SitePlan(property_lines=((0.0, 0.0), (length, 0.0), (length, width), (0.0, width)))


def sides(plan: SitePlan) -> tuple[float, float]:
    """Return the shorter and the longer side of the rectangle that encloses a plot [m].

    Parameters
    ----------
    plan : SitePlan
        The plot.
    """
    shorter, longer = sorted(np.ptp(np.array(plan.property_lines), axis=0).tolist())
    return shorter, longer


def in_words(length: float, width: float) -> str:
    """Return the sides and the area of a rectangle, such as ``12 m (39 ft) by 6 m (20 ft), 72 m2 (775 ft2)``.

    Parameters
    ----------
    length, width : float
        Its sides [m].
    """
    shorter, longer = sorted((length, width))
    if shorter == 0.0:
        return f"{both(longer, 'm', '.1f')} in a row"
    return f"{both(longer, 'm', '.1f')} by {both(shorter, 'm', '.1f')}, {both(longer * shorter, 'm2')}"


def placed(points: NDArray[np.float64], plan: SitePlan, step: float) -> NDArray[np.float64] | None:
    """Return points moved, turned or mirrored until all stand on a plot and none below its house.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        x and y of each point [m].
    plan : SitePlan
        The plot, and perhaps a house.
    step : float
        Distance between the places that are tried, at least [m].

    Returns
    -------
    ndarray or None
        The points in the coordinates of the plot, shape (n, 2) [m]; None if no place was found.
    """
    corners = np.array(plan.property_lines)
    low, high = corners.min(axis=0), corners.max(axis=0)
    for turned in _turned(points):
        span = turned.max(axis=0)
        room = high - low - span
        if (room < -_WITHIN).any():
            continue
        inward = turned + _WITHIN * np.sign(0.5 * span - turned)
        for offset in _offsets(np.maximum(room, 0.0), step):
            at = low + offset + inward
            if not plan.outside_property(at).any() and not plan.below_house(at).any():
                found: NDArray[np.float64] = low + offset + turned
                return found
    return None


def _turned(points: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    """Yield points turned and mirrored in all ways that differ, from the origin on."""
    seen = set()
    for mirrored in (points, points * [-1.0, 1.0]):
        for turns in range(4):
            quarter = np.linalg.matrix_power(np.array([[0.0, 1.0], [-1.0, 0.0]]), turns)
            turned = mirrored @ quarter
            turned = turned - turned.min(axis=0) + 0.0
            key = frozenset(map(tuple, turned.round(6).tolist()))
            if key not in seen:
                seen.add(key)
                yield turned


def _offsets(room: NDArray[np.float64], step: float) -> Iterator[NDArray[np.float64]]:
    """Yield places over the free room, from its lower corner."""
    along, across = (
        np.linspace(0.0, side, 1 + min(int(side / step), _MOST_PLACES)) if side > 0.0 else np.zeros(1)
        for side in room.tolist()
    )
    for y in across:
        for x in along:
            yield np.array([x, y])
