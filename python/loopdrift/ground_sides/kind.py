"""What a kind of ground side says, draws and takes on a site: the one protocol that every kind follows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.finding import Finding
from loopdrift.ground_sides.rule import RuleOfThumb
from loopdrift.model.run_error import RunError
from loopdrift.parts.ground_side import GroundSide

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.charts.style import Units
    from loopdrift.ground_sides.candidate import Candidate
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


class Chart(NamedTuple):
    """A chart of a ground side."""

    draw: Callable[[Units, Axes | None], Axes]
    has_short_labels: bool = False
    """Whether its labels fit usual margins, so that they need not be measured."""


Layout = Callable[["Design", "Site", int], "Candidate"]
"""Finds the least loop on a site with which a design holds over some years."""


class Kind:
    """A kind of ground side; the defaults suit one that conducts heat and has nothing else to say."""

    name: ClassVar[str]
    """How design files call it."""

    part: ClassVar[type[GroundSide]]
    """The part of a design that describes it."""

    frost: ClassVar[tuple[str, str]] = ("the ground at the loop", "the heat of freezing is not modelled")
    """What can freeze around the loop, and what frost does to it."""

    conducts: ClassVar[bool] = True
    """Whether the ground's memory makes it drift over the years."""

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield what describes the ground side of a design: labels and sentences.

        Parameters
        ----------
        design : Design
            The design.
        """
        yield self.name, str(design.ground_side)

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield regime and resistance at the temperatures of interest: labels and sentences.

        Parameters
        ----------
        design : Design
            The design.
        """
        yield from ()

    def assumptions(self, design: Design) -> str:
        """Return what a run assumes of it and what each assumption is worth, in a sentence.

        Parameters
        ----------
        design : Design
            The design.
        """
        return "nothing beyond the model itself"

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return how far a run's temperatures are those of the equations, in a sentence.

        Parameters
        ----------
        error : RunError
            The error of the run.
        side : GroundSide
            The ground side.
        """
        return (
            f"Temperatures are those of the equations to about {both(error.largest, 'K', '.1g')}: "
            f"exponentials {error.exponentials:.1g} K, table of resistances {error.resistance:.1g} K, heat "
            f"capacity inside the bores {error.inside:.1g} K, tabulation {error.tabulation:.1g} K, segments "
            f"of the loop {error.segments:.1g} K."
        )

    def findings(self, run: Run) -> list[Finding | None]:
        """Return what only this kind has to say about a run.

        Parameters
        ----------
        run : Run
            The run.
        """
        return []

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield the rules of thumb beside the computed answer.

        Parameters
        ----------
        design : Design
            The design.
        run : Run or None
            Its run, which says more of why it departs.
        """
        yield from ()

    def charts(self, side: GroundSide) -> Mapping[str, Chart]:
        """Return its charts by name: ``layout``, ``section``.

        Parameters
        ----------
        side : GroundSide
            The ground side.
        """
        return {}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """How it is sized on a site, by the names under which loops are compared."""
        return {}


_kinds: dict[type[GroundSide], Kind] = {}


def register(kind: Kind) -> None:
    """Make a kind known to reports, charts, comparisons and design files.

    Parameters
    ----------
    kind : Kind
        The kind.
    """
    _kinds[kind.part] = kind


def kind_of(side: GroundSide) -> Kind:
    """Return the kind of a ground side.

    Parameters
    ----------
    side : GroundSide
        The ground side.
    """
    return next(_kinds[each] for each in type(side).__mro__ if each in _kinds)


def kinds() -> tuple[Kind, ...]:
    """Return all kinds that are known, in the order in which they were registered."""
    return tuple(_kinds.values())
