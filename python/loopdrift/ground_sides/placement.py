"""Where on a plot the points of a loop find room."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.both_units import both
from loopdrift.parts.site_plan import SitePlan

_MOST_PLACES = 24
"""Places that are tried along each side of a plot, at most."""

_MOST_EDGES = 8
"""Edges of a plot along which points are placed, the longest first."""
_SAME_ANGLE = 1e-6
"""Difference of directions that are the same [rad]."""

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
    """Return the shorter and the longer side that a rectangle around a plot has at most [m].

    Parameters
    ----------
    plan : SitePlan
        The plot.
    """
    around = [sorted(np.ptp(np.array(turned.property_lines), axis=0)) for _, turned in _along_edges(plan)]
    shorter, longer = np.max(around, axis=0).tolist()
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
    """Return points moved, turned or mirrored until a plot has room for all of them beside its house.

    The sides of their rectangle are parallel to x and y, or to one of the longest edges of the plot.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        x and y of each point [m].
    plan : SitePlan
        The plot, and perhaps a house and distances to be kept.
    step : float
        Distance between the places that are tried, at least [m].

    Returns
    -------
    ndarray or None
        The points in the coordinates of the plot, shape (n, 2) [m]; None if no place was found.
    """
    for turn, plot in _along_edges(plan):
        found = _placed_upright(points, plot, step)
        if found is not None:
            return found @ turn.T
    return None


def _along_edges(plan: SitePlan) -> Iterator[tuple[NDArray[np.float64], SitePlan]]:
    """Yield a plot as it is, then turned so that one of its longest edges is parallel to x.

    Each comes with the matrix that turned its points, as rows.
    """
    corners = np.array(plan.property_lines)
    along = np.roll(corners, -1, axis=0) - corners
    by_length = np.argsort(-np.hypot(*along.T), kind="stable")[:_MOST_EDGES]
    angles = np.arctan2(along[by_length, 1], along[by_length, 0]) % (0.5 * np.pi)
    angles[0.5 * np.pi - angles < _SAME_ANGLE] = 0.0
    seen = [0.0]
    yield np.eye(2), plan
    for angle in angles.tolist():
        if min(abs(angle - each) for each in seen) < _SAME_ANGLE:
            continue
        seen.append(angle)
        sine, cosine = np.sin(angle), np.cos(angle)
        turn = np.array([[cosine, -sine], [sine, cosine]])
        house = None if plan.house is None else np.array(plan.house) @ turn
        yield turn, plan.replace(property_lines=corners @ turn, house=house)


def _placed_upright(points: NDArray[np.float64], plan: SitePlan, step: float) -> NDArray[np.float64] | None:
    """Return points placed on a plot with the sides of their rectangle parallel to x and y."""
    corners, kept = np.array(plan.property_lines), plan.distance_to_property_lines or 0.0
    low, high = corners.min(axis=0) + kept, corners.max(axis=0) - kept
    for turned in _turned(points):
        span = turned.max(axis=0)
        room = high - low - span
        if (room < -_WITHIN).any():
            continue
        inward = turned + _WITHIN * np.sign(0.5 * span - turned)
        for offset in _offsets(np.maximum(room, 0.0), step):
            if plan.has_room(low + offset + inward):
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
