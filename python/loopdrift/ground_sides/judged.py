"""Designs that were run and judged, and searches among them for the smallest that holds."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.errors import InvalidInput
from loopdrift.model.judgement import LABELS, Judgement
from loopdrift.model.moment import moment
from loopdrift.model.search import first_that_holds, least_size

if TYPE_CHECKING:
    from loopdrift.model.design import Design


class Judged(NamedTuple):
    """A design and its margin to the limits."""

    design: Design
    judgement: Judgement

    @property
    def holds(self) -> bool:
        """Whether all limits hold."""
        return self.judgement.holds

    @property
    def margin(self) -> float:
        """Rank of the deciding criterion [K or equivalent]; infinite without any."""
        return self.judgement.rank

    def reasons(self, label: str = "Nearest") -> tuple[str, ...]:
        """Return why the design is infeasible, in sentences; none if all limits hold.

        Parameters
        ----------
        label : str, default "Nearest"
            What the design is.
        """
        deciding = self.judgement.deciding
        if deciding is None or self.holds:
            return ()
        when = moment(self.design, deciding.year, deciding.hour)
        beyond = f"{deciding.apart()} beyond {LABELS[deciding.name]} in {when}"
        return (f"{label}: {self.design.ground_side}, {beyond}.",)


def judged(designs: Sequence[Design], years: int) -> Judged:
    """Return the first of several designs with which all limits hold, or the nearest.

    Raises
    ------
    InvalidInput
        If none of them can be run.
    """
    searched = first_that_holds(designs, years)
    return Judged(searched.design, searched.judgement)


def least(design_of: Callable[[int], Design], count: int, years: int) -> Judged:
    """Return the first of many designs, in ascending order of size, with which all limits hold.

    Designs are tried in doubling steps until one holds, then all before it in order, because a smaller one
    may hold where a larger one doesn't: a long row of bores, compared with a square of more bores. If none
    of the steps holds, the nearest of them is returned.

    Parameters
    ----------
    design_of : callable
        Returns the design with a given index, from 0.
    count : int
        Number of designs.
    years : int
        Horizon.

    Raises
    ------
    InvalidInput
        If none of the designs tried can be run.
    """
    below, step, closest, refusal = -1, 1, None, None
    tried: set[int] = set()
    while below < count - 1:
        place = min(below + step, count - 1)
        try:
            found = judged([design_of(place)], years)
        except InvalidInput as error:
            refusal = error
        else:
            if found.holds:
                before = [design_of(each) for each in range(place) if each not in tried]
                return _first_of(before, years) or found
            closest = found if closest is None or found.margin > closest.margin else closest
        tried.add(place)
        below, step = place, 2 * step
    if closest is None:
        raise refusal or InvalidInput("Comparison", "designs", "none", "", "must be at least one")
    return closest


def shortest(design: Design, what: str, between: tuple[float, float], years: int) -> Judged:
    """Return a design with its ground side reduced to the smallest size that holds, or the nearest.

    Parameters
    ----------
    design : Design
        The design.
    what : str
        One of the measures in its ground side's `sizes`.
    between : tuple of float
        Least and greatest size, in the unit of the measure.
    years : int
        Horizon.
    """
    searched = least_size(design, what, between, years)
    return Judged(searched.design, searched.judgement)


def _first_of(designs: Sequence[Design], years: int) -> Judged | None:
    """Return the first of several designs with which all limits hold; None if there is none."""
    try:
        first = judged(designs, years) if designs else None
    except InvalidInput:
        return None
    return first if first is not None and first.holds else None
