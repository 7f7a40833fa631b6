"""A loop on a site: of a kind, sized, or proposed by the designer."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.errors import FluidFreezes, InvalidInput
from loopdrift.basics.words import InALine
from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.remedies import larger, no_remedy
from loopdrift.ground_sides.rule import RuleOfThumb
from loopdrift.model.judgement import LABELS, Judgement
from loopdrift.model.moment import moment
from loopdrift.model.search import first_that_holds, least_size

if TYPE_CHECKING:
    from loopdrift.ground_sides.proposal import Proposal
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


@dataclass(frozen=True)
class Candidate(InALine):
    """One kind of loop on a site, or a loop that the designer proposes.

    Parameters
    ----------
    kind : str
        Name of the kind, or of the proposal.
    reasons : tuple of str
        Why it is infeasible, in sentences; empty if it is feasible.
    run : Run or None
        The run of the smallest size that holds, or of the nearest size if none holds, or of the proposal;
        None if nothing can be run on the site.
    remedies : tuple of str
        What would make it feasible, as computed, in sentences.
    """

    kind: str
    reasons: tuple[str, ...]
    run: Run | None = None
    remedies: tuple[str, ...] = ()

    @property
    def fits(self) -> bool:
        """Whether it is feasible."""
        return not self.reasons

    @functools.cached_property
    def rules_of_thumb(self) -> list[RuleOfThumb]:
        """The rules of thumb for the sized loop; none without a run."""
        if self.run is None:
            return []
        design = self.run.design
        return list(kind_of(design.ground_side).rules(design, self.run))


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
        deciding = self.judgement.deciding
        return math.inf if deciding is None else deciding.rank

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
    return Judged(designs[int(searched.value)], searched.judgement)


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
    smallest = design.ground_side.sized(what, searched.value)
    return Judged(design.replace(ground_side=smallest), searched.judgement)


def _first_of(designs: Sequence[Design], years: int) -> Judged | None:
    """Return the first of several designs with which all limits hold; None if there is none."""
    try:
        first = judged(designs, years) if designs else None
    except InvalidInput:
        return None
    return first if first is not None and first.holds else None


def ran(
    kind: str,
    found: Judged,
    site: Site,
    years: int,
    *,
    reasons: Sequence[str] = (),
    remedies: Callable[[], tuple[str, ...]] | None = None,
    label: str = "Nearest",
) -> Candidate:
    """Return a candidate with the run of a design, infeasible if limits are broken or for other reasons.

    Parameters
    ----------
    kind : str
        Name of the kind.
    found : Judged
        The design and its margin.
    site : Site
        The site.
    years : int
        Horizon.
    reasons : sequence of str, optional
        Other reasons why it is infeasible.
    remedies : callable, optional
        Finds what would make it feasible if limits are broken; by default, which larger sizes hold.
    label : str, default "Nearest"
        What the design is, if limits are broken.
    """
    reasons = (*found.reasons(label), *reasons)
    known: tuple[str, ...] = ()
    if not found.holds:
        known = larger(found.design, site, years) if remedies is None else remedies()
        known = known or (no_remedy(found.design.ground_side),)
    try:
        run = found.design.run(years)
    except FluidFreezes:
        return Candidate(kind, (*reasons, "The fluid freezes."), None, known)
    return Candidate(kind, reasons, run, known)


def not_run(kind: str, error: InvalidInput, reasons: Sequence[str] = ()) -> Candidate:
    """Return a candidate that can't be run.

    Parameters
    ----------
    kind : str
        Name of the kind.
    error : InvalidInput
        Why it can't be run.
    reasons : sequence of str, optional
        Other reasons why it is infeasible.
    """
    return Candidate(kind, (f"It can't be run: {error}", *reasons))


def proposed(proposal: Proposal, design: Design, site: Site, years: int) -> Candidate:
    """Return a proposal as a candidate: run as it stands, and judged on the site.

    Parameters
    ----------
    proposal : Proposal
        The proposal.
    design : Design
        The design that gives the building.
    site : Site
        The site.
    years : int
        Horizon.

    Raises
    ------
    InvalidInput
        If the proposal doesn't go together with the design.
    """
    kind = kind_of(proposal.ground_side)
    changed = proposal.for_building(design, kind.ground(design, site))
    objections = tuple(kind.objections(changed, site))
    try:
        found = judged([changed], years)
    except InvalidInput as error:
        return not_run(proposal.name, error, objections)
    return ran(proposal.name, found, site, years, reasons=objections, label="As proposed")
