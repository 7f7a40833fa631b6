"""Where trenches lie in plan: x points east and y north."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range

Points = NDArray[np.float64]

COORDINATE, AZIMUTH = Range("m", least=-1e5, most=1e5), Range("deg", least=0.0, most=360.0)


def place(value: Any, *, owner: str, field: str) -> tuple[float, float]:
    """Return a place of two coordinates [m].

    Raises
    ------
    InvalidInput
        If it isn't one.
    """
    if isinstance(value, str) or not hasattr(value, "__len__") or len(value) != 2:
        raise InvalidInput(owner, field, repr(value), "", "must be x and y, numbers in m or text with a unit")
    x, y = (COORDINATE.of(each, owner=owner, field=field) for each in value)
    return x, y


def straight(across: Points, length: float) -> Points:
    """Return straight pipes of a trench in plan, shape (3 n, 2) [m], with NaN after each.

    Parameters
    ----------
    across : numpy.ndarray, shape (n,)
        Distances from the trench's centre line [m].
    length : float
        Length of the trench [m].
    """
    return np.column_stack([np.repeat(across, 3), np.tile([0.0, length, np.nan], len(across))])


def coiled(*, diameter: float, pitch: float, upright: bool, rings: int) -> Points:
    """Return the centre line of a coil in plan, shape (n, 2) [m], with NaN after each ring.

    Parameters
    ----------
    diameter, pitch : float
        Diameter of the rings, and distance between them [m].
    upright : bool
        Whether the rings are vertical.
    rings : int
        Number of rings.
    """
    turn = np.append(np.linspace(0.0, 2.0 * np.pi, 49), np.nan)
    half = 0.5 * diameter
    across = 0.0 * turn if upright else half * np.cos(turn)
    along = half + half * np.sin(turn) + pitch * np.arange(rings)[:, None]
    return np.column_stack([np.tile(across, rings), along.ravel()])


def in_plan(points: Points, origin: tuple[float, float], direction: float) -> Points:
    """Return points given across and along the first trench in the coordinates of the site.

    Parameters
    ----------
    points : numpy.ndarray, shape (n, 2)
        Distance to the right of the first trench's centre line, and from its beginning [m].
    origin : tuple of float
        Where that line begins [m].
    direction : float
        Its azimuth, clockwise from north [deg].
    """
    sine, cosine = np.sin(np.radians(direction)), np.cos(np.radians(direction))
    found: Points = np.array(origin) + points @ np.array([[cosine, -sine], [sine, cosine]])
    return found


def corners(length: float, across: float, step: float) -> tuple[Points, int, int]:
    """Return points over a rectangle no farther apart than a step, and which are at its other two ends.

    Parameters
    ----------
    length, across : float
        Its sides [m]; the first point is a corner.
    step : float
        Greatest distance between neighbouring points [m].

    Returns
    -------
    tuple of numpy.ndarray, int and int
        Points of shape (n, 2) [m]; numbers of the corners at the end of the length and of the width.
    """
    x, y = (np.linspace(0.0, side, 2 + int(side / step)) for side in (length, across))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return points, len(x) - 1, len(x) * (len(y) - 1)


def begin(corner: Points, end: Points, other: Points, inset: float) -> tuple[tuple[float, float], float]:
    """Return origin and direction of trenches that fill a rectangle in plan.

    Parameters
    ----------
    corner : numpy.ndarray, shape (2,)
        One of its corners [m].
    end, other : numpy.ndarray, shape (2,)
        The corners at the end of its length and of its width [m].
    inset : float
        Distance of the first centre line from the left side [m].

    Returns
    -------
    tuple
        Where the first centre line begins [m], and its azimuth, clockwise from north [deg].
    """
    along = (end - corner) / np.hypot(*(end - corner))
    right = np.array([along[1], -along[0]])
    left_side = corner if float((other - corner) @ right) > 0.0 else other
    x, y = (np.round(left_side + inset * right, 6) + 0.0).tolist()
    return (x, y), float(np.round(np.degrees(np.arctan2(*along)) % 360.0, 9)) % 360.0
