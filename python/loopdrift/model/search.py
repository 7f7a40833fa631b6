"""Searches for the smallest size with which the limits hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from loopdrift import _core
from loopdrift.basics.errors import InvalidInput, LoopdriftError
from loopdrift.model.design import Design
from loopdrift.model.judgement import Judgement

LADDER = 24
"""Values that are tried over a range, in even ratios, if the engine doesn't vary the quantity."""

SIDE_BY_SIDE = 4
"""Designs that the engine runs side by side."""


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
        One of the measures in the ground side's `sizes`.
    between : tuple of float
        Smallest and largest size, in the unit of the measure.
    years : int
        Horizon.
    progress : callable, optional
        Called periodically with the number of runs done.

    Raises
    ------
    InvalidInput
        If no size can be run.
    """
    measure = design.ground_side.sizes[what]
    if measure is None:
        raise InvalidInput("Sizing", "what", what, "", "must be a quantity, not a number of branches")
    if not measure.in_engine:
        return _Ladder(design, what, years, progress).least(between, measure.resolution)
    value, found, runs, refusal = _core.size_measure(
        design.for_engine(), what, between, measure.resolution, design.demand, years, progress
    )
    return Searched(value, Judgement.of_engine(found), runs, refusal)


class _Ladder:
    """Search among values of a quantity that the engine doesn't vary itself."""

    def __init__(
        self, design: Design, what: str, years: int, progress: Callable[[int], object] | None
    ) -> None:
        self._design = design
        self._what = what
        self._years = years
        self._progress = progress
        self._runs = 0

    def least(self, between: tuple[float, float], resolution: float) -> Searched:
        """Return the least value that holds, or the nearest.

        Values over the whole range are tried, in even ratios; then values around the nearest, if none holds;
        then values below the least that holds. The result was run and holds; a value less by at most
        `resolution` was run too and doesn't hold, unless the result is the least of the range.
        """
        values = np.geomspace(*between, LADDER).tolist()
        place, found = self._first(values)
        if not found.judgement.holds:
            values, place, found = self._approach(values, place, found, resolution)
        while found.judgement.holds and place > 0 and values[place] - values[place - 1] > resolution:
            values = np.linspace(values[place - 1], values[place], SIDE_BY_SIDE + 2).tolist()
            below, within = self._first(values[1:-1])
            place = SIDE_BY_SIDE + 1
            if within.judgement.holds:
                place, found = 1 + below, within
        return Searched(values[place], found.judgement, self._runs, found.refusal)

    def _approach(
        self, values: list[float], place: int, found: Searched, resolution: float
    ) -> tuple[list[float], int, Searched]:
        """Return values, the place of the first that holds or of the nearest, and its judgement."""
        while not found.judgement.holds:
            nearest = values[place]
            low, high = values[max(place - 1, 0)], values[min(place + 1, len(values) - 1)]
            if high - low <= resolution:
                break
            inner = np.linspace(low, high, SIDE_BY_SIDE + 2).tolist()[1:-1]
            best, within = self._first(inner)
            values = sorted({low, *inner, nearest, high})
            if within.judgement.holds or _rank(within) > _rank(found):
                nearest, found = inner[best], within
            place = values.index(nearest)
        return values, place, found

    def _first(self, values: Sequence[float]) -> tuple[int, Searched]:
        """Return the place of the first value that holds, or of the nearest, and its judgement."""
        before, report = self._runs, self._progress
        so_far = None if report is None else lambda done: report(before + done)
        side = self._design.ground_side
        designs = [self._design.replace(ground_side=side.sized(self._what, value)) for value in values]
        found = first_that_holds(designs, self._years, so_far)
        self._runs += found.runs
        return int(found.value), found


def _rank(found: Searched) -> float:
    """Return the rank of the deciding criterion [K or equivalent]; infinite without any."""
    deciding = found.judgement.deciding
    return math.inf if deciding is None else deciding.rank


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
