"""A loop on a site: of a kind, sized, or proposed by the designer."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.errors import FluidFreezes, InvalidInput
from loopdrift.basics.words import InALine
from loopdrift.ground_sides.judged import Judged, judged
from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.remedies import larger, no_remedy
from loopdrift.ground_sides.rule import RuleOfThumb

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
