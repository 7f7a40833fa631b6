"""The engine's searches for the smallest size with which the limits hold."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from loopdrift import _core
from loopdrift.basics.errors import LoopdriftError
from loopdrift.model.design import Design
from loopdrift.model.judgement import Judgement

RESOLUTION = {"depth": 0.1, "length": 0.1, "spacing": 0.01}
"""Resolution of the smallest size [m]."""


class Searched(NamedTuple):
    """Result of a search."""

    value: float
    """The size [m], or the index of a design."""
    judgement: Judgement
    """Judgement of the design of that size."""
    runs: int
    """Number of hourly runs."""
    refusal: LoopdriftError | None
    """Why the largest size can't be run, if it can't."""


def least_size(
    design: Design,
    what: str,
    between: tuple[float, float],
    years: int,
    progress: Callable[[int], object] | None = None,
) -> Searched:
    """Return the smallest size of a ground side with which the limits hold, or the nearest.

    Parameters
    ----------
    design : Design
        The design.
    what : str
        One of the ground side's `sizes`.
    between : tuple of float
        Smallest and largest size [m].
    years : int
        Horizon.
    progress : callable, optional
        Called periodically with the number of runs done.

    Raises
    ------
    InvalidInput
        If no size can be run.
    """
    value, found, runs, refusal = _core.size_measure(
        design.for_engine(), what, between, RESOLUTION[what], design.demand, years, progress
    )
    return Searched(value, Judgement.of_engine(found), runs, refusal)


def first_that_holds(
    designs: Sequence[Design], years: int, progress: Callable[[int], object] | None = None
) -> Searched:
    """Return the index of the first of several designs with which the limits hold, or of the nearest.

    Parameters
    ----------
    designs : sequence of Design
        The designs, which share their loads.
    years : int
        Horizon.
    progress : callable, optional
        Called periodically with the number of runs done.

    Raises
    ------
    InvalidInput
        If none of them can be run.
    """
    described = [design.for_engine() for design in designs]
    place, found, runs, refusal = _core.size_among(described, designs[0].demand, years, progress)
    return Searched(place, Judgement.of_engine(found), runs, refusal)
