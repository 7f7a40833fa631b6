"""Searches of the engine for the least size with which the limits hold."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from loopdrift import _core
from loopdrift.basics.errors import LoopdriftError
from loopdrift.model.design import Design
from loopdrift.model.judgement import Judgement

RESOLUTION = {"depth": 0.1, "length": 0.1, "spacing": 0.01}
"""How far the least size may lie above one that doesn't hold [m]."""


class Searched(NamedTuple):
    """What a search found."""

    value: float
    """The size [m], or the place of a design."""
    judgement: Judgement
    """How the design of that size is judged."""
    runs: int
    """Number of hourly runs."""
    refusal: LoopdriftError | None
    """Why the greatest size can't be run, where it can't."""


def least_size(
    design: Design,
    what: str,
    between: tuple[float, float],
    years: int,
    progress: Callable[[int], object] | None = None,
) -> Searched:
    """Return the least size of a ground side with which the limits hold, or the nearest.

    Parameters
    ----------
    design : Design
        The design.
    what : str
        One of the ground side's `sizes`.
    between : tuple of float
        Least and greatest size [m].
    years : int
        Horizon.
    progress : callable, optional
        Called now and then with the number of runs done.

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
    """Return the place of the first of some designs with which the limits hold, or of the nearest.

    Parameters
    ----------
    designs : sequence of Design
        The designs, which share their loads.
    years : int
        Horizon.
    progress : callable, optional
        Called now and then with the number of runs done.

    Raises
    ------
    InvalidInput
        If none of them can be run.
    """
    described = [design.for_engine() for design in designs]
    place, found, runs, refusal = _core.size_among(described, designs[0].demand, years, progress)
    return Searched(place, Judgement.of_engine(found), runs, refusal)
