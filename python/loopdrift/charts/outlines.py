"""Distances between points and outlines in plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Outline = Sequence[tuple[float, float]]
"""Corners in order [m]; the last is joined to the first."""


class NearestEdge(NamedTuple):
    """The nearest place on an outline for each of several points."""

    feet: Points
    """x and y of these places, shape (n, 2) [m]."""
    distances: Points
    """Distance to them, shape (n,) [m]."""


def nearest_edge(points: Points, corners: Outline) -> NearestEdge:
    """Return the nearest place on an outline for each of several points.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        The points [m].
    corners : sequence of tuple of float
        The outline [m].

    Examples
    --------
    >>> square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    >>> nearest_edge(np.array([[4.0, 3.0], [14.0, 13.0]]), square).distances
    array([3., 5.])
    """
    first = np.array(corners)
    along = np.roll(first, -1, axis=0) - first
    off = points[:, None, :] - first
    length = np.maximum((along**2).sum(axis=1), 1e-12)
    share = np.clip((off * along).sum(axis=2) / length, 0.0, 1.0)
    places = first + share[..., None] * along
    apart = np.hypot(*np.moveaxis(points[:, None, :] - places, 2, 0))
    nearest = apart.argmin(axis=1)
    rows = np.arange(len(points))
    return NearestEdge(places[rows, nearest], apart[rows, nearest])
