"""What a ground side is built of, for the people who build it: places, pipes and amounts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from loopdrift.parts.bore import Pipe
    from loopdrift.parts.site_plan import SitePlan


class PlaceColumn(NamedTuple):
    """A column of a table of places.

    Parameters
    ----------
    heading : str
        Its heading.
    unit : str, default ""
        SI unit of its numbers.
    decimals : int, default 0
        Decimals of its numbers.
    """

    heading: str
    unit: str = ""
    decimals: int = 0


@dataclass(frozen=True)
class Places:
    """Bores, trenches, coils or wells by number, with what the builder has to know of each.

    Parameters
    ----------
    noun : str
        What they are, such as ``bore``.
    columns : tuple of PlaceColumn
        The columns after the number.
    rows : tuple of tuple of float
        One row per place, in SI.
    is_drilled : bool
        Whether the builder keeps a log of each.
    """

    noun: str
    columns: tuple[PlaceColumn, ...]
    rows: tuple[tuple[float, ...], ...]
    is_drilled: bool = False


@dataclass(frozen=True)
class Amount:
    """One amount of the building site.

    Parameters
    ----------
    label : str
        What it is.
    value : float
        The amount in `unit`.
    unit : str
        Its SI unit, or an empty string for a number of pieces.
    decimals : int
        Decimals of the number in SI.
    """

    label: str
    value: float
    unit: str = ""
    decimals: int = 0


@dataclass(frozen=True, kw_only=True)
class PipeLength:
    """Pipes of one part of the loop with the same size and length.

    Parameters
    ----------
    part : str
        The part, such as ``bores``.
    pipe : Pipe
        The pipe that is bought.
    pieces : int
        Number of pieces.
    length : float
        Length of a piece, there and back if it is a loop [m].
    area : float
        Cross-section of the fluid in it [m2].
    flow_share : float
        Share of the total flow that passes one piece [-].
    loss_coefficient : float
        Sum of the loss coefficients of its bends and fittings [-].
    """

    part: str
    pipe: Pipe
    pieces: int
    length: float
    area: float
    flow_share: float
    loss_coefficient: float = 0.0

    @property
    def total(self) -> float:
        """Length of all pieces [m]."""
        return self.pieces * self.length

    @property
    def volume(self) -> float:
        """Volume of the fluid in all pieces [m3]."""
        return self.total * self.area


@dataclass(frozen=True, kw_only=True)
class Built:
    """What a ground side is built of.

    Parameters
    ----------
    places : Places
        Bores, trenches, coils or wells by number.
    amounts : tuple of Amount
        Further amounts, such as drilled length.
    pipes : tuple of PipeLength
        Its pipes; none if they are unknown.
    grout : float, optional
        Net volume of grout [m3].
    notes : tuple of str
        What these numbers don't include, in sentences.
    """

    places: Places
    amounts: tuple[Amount, ...] = ()
    pipes: tuple[PipeLength, ...] = ()
    grout: float | None = None
    notes: tuple[str, ...] = ()


def inside_area(pipe: Pipe) -> float:
    """Return the cross-section of the fluid in a pipe [m2].

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    """
    return math.pi / 4.0 * (pipe.outer_diameter - 2.0 * pipe.wall_thickness) ** 2


def misplaced(site: SitePlan | None, paths: Sequence[ArrayLike], noun: str) -> list[str]:
    """Return which bores or pipes cross the property lines or lie below the house, in sentences.

    Parameters
    ----------
    site : SitePlan or None
        House and property lines.
    paths : sequence of array_like, each of shape (n, 2)
        Bores or pipes in plan, in the order of their numbers [m].
    noun : str
        What they are, such as ``bore``.
    """
    if site is None:
        return []
    checks = {"outside the property lines": site.outside_property, "below the house": site.below_house}
    found = []
    for where, lies in checks.items():
        numbers = [str(number) for number, path in enumerate(paths, start=1) if lies(_along(path)).any()]
        if numbers:
            plural = "s" if len(numbers) > 1 else ""
            verb = "lie" if len(numbers) > 1 else "lies"
            shown = ", ".join(numbers[:_MOST_NUMBERS]) + (" ..." if len(numbers) > _MOST_NUMBERS else "")
            found.append(f"{noun.capitalize()}{plural} {shown} {verb} partly or wholly {where}.")
    return found


_MOST_NUMBERS = 12
_STEPS = 50


def _along(path: ArrayLike) -> NDArray[np.float64]:
    """Return points along a path, so that none of it leaves an outline unseen between its ends."""
    points: NDArray[np.float64] = np.asarray(path, dtype=float).reshape(-1, 2)
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) != 2:
        return points
    start, end = points
    return np.linspace(start, end, _STEPS)
