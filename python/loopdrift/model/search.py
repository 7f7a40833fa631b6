"""Searches for the smallest size with which the limits hold."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, NamedTuple, TypeVar

import numpy as np

from loopdrift import _core
from loopdrift.basics.errors import InvalidInput, LoopdriftError
from loopdrift.model.clearance import criteria, judged
from loopdrift.model.design import Design
from loopdrift.model.judgement import Judgement
from loopdrift.parts.ground_side import Measure

D = TypeVar("D", bound=Design)

LADDER = 24
"""Values that are tried over a range, in even ratios, if the engine doesn't vary the quantity."""

SIDE_BY_SIDE = 4
"""Designs that the engine runs side by side."""

MOST_MEANS = 20
"""Most means of the ground's layers that are tried for a size."""

MEANS_AGREE = 1e-3
"""Relative difference between a size and the size whose mean ground it was found with, at most."""


class Searched(NamedTuple, Generic[D]):
    """Result of a search."""

    value: float
    """The size [m], or the index of a design."""
    design: D
    """The design of that size, with the mean of the ground's layers along it."""
    judgement: Judgement
    """Judgement of the design of that size."""
    runs: int
    """Number of hourly runs."""
    refusal: LoopdriftError | None
    """Why the largest size can't be run, if it can't."""


def least_size(
    design: D,
    what: str,
    between: tuple[float, float],
    years: int,
    progress: Callable[[int], object] | None = None,
) -> Searched[D]:
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
    found = _least_in_engine(design, what, measure, between, years, progress)
    if not design.ground.layers:
        return found
    # The layers' mean depends on the size: half a step towards the size found with it, until both agree.
    size = found.value
    for _ in range(MOST_MEANS):
        as_large = design.replace(ground_side=design.ground_side.sized(what, size))
        found = _least_in_engine(_with_mean_ground(as_large), what, measure, between, years, progress)
        if abs(found.value - size) <= MEANS_AGREE * size:
            break
        size = 0.5 * (size + found.value)
    return found


def _least_in_engine(
    design: D,
    what: str,
    measure: Measure,
    between: tuple[float, float],
    years: int,
    progress: Callable[[int], object] | None,
) -> Searched[D]:
    value, found, runs, refusal = _core.size_measure(
        design.for_engine(), what, between, measure.resolution, design.demand, years, progress
    )
    sized = design.replace(ground_side=design.ground_side.sized(what, value))
    return Searched(value, sized, judged(sized, found), runs, refusal)


def _with_mean_ground(design: D) -> D:
    """Return a design with the mean properties of the ground's layers along its own ground side."""
    if not design.ground.layers:
        return design
    return design.replace(ground=design.ground_side.mean_ground(design.ground))


class _Ladder(Generic[D]):
    """Search among values of a quantity that the engine doesn't vary itself."""

    def __init__(self, design: D, what: str, years: int, progress: Callable[[int], object] | None) -> None:
        self._design = design
        self._what = what
        self._years = years
        self._progress = progress
        self._runs = 0

    def least(self, between: tuple[float, float], resolution: float) -> Searched[D]:
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
        return found._replace(value=values[place], runs=self._runs)

    def _approach(
        self, values: list[float], place: int, found: Searched[D], resolution: float
    ) -> tuple[list[float], int, Searched[D]]:
        """Return values, the place of the first that holds or of the nearest, and its judgement."""
        while not found.judgement.holds:
            nearest = values[place]
            low, high = values[max(place - 1, 0)], values[min(place + 1, len(values) - 1)]
            if high - low <= resolution:
                break
            inner = np.linspace(low, high, SIDE_BY_SIDE + 2).tolist()[1:-1]
            best, within = self._first(inner)
            values = sorted({low, *inner, nearest, high})
            if within.judgement.holds or within.judgement.rank > found.judgement.rank:
                nearest, found = inner[best], within
            place = values.index(nearest)
        return values, place, found

    def _first(self, values: Sequence[float]) -> tuple[int, Searched[D]]:
        """Return the place of the first value that holds, or of the nearest, and its judgement."""
        before, report = self._runs, self._progress
        so_far = None if report is None else lambda done: report(before + done)
        side = self._design.ground_side
        designs = [self._design.replace(ground_side=side.sized(self._what, value)) for value in values]
        found = first_that_holds(designs, self._years, so_far)
        self._runs += found.runs
        return int(found.value), found


def first_that_holds(
    designs: Sequence[D], years: int, progress: Callable[[int], object] | None = None
) -> Searched[D]:
    """Return the index of the first of several designs with which the limits hold, or of the nearest.

    Designs that keep the distances of their site come before all others: those are not tried unless all are
    too near.

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
    with_room = [
        place
        for place, design in enumerate(designs)
        if all(each.holds for each in criteria(design.site, design.ground_side))
    ]
    places = with_room or range(len(designs))
    tried = [_with_mean_ground(designs[place]) for place in places]
    described = [each.for_engine() for each in tried]
    place, found, runs, refusal = _core.size_among(described, designs[0].demand, years, progress)
    return Searched(places[place], tried[place], judged(tried[place], found), runs, refusal)
