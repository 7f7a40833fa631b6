"""The protocol of a kind of ground side: texts, charts and layout on a site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from loopdrift.basics.both_units import both
from loopdrift.charts.plan import site_plan
from loopdrift.ground_sides.finding import Finding
from loopdrift.ground_sides.quantities import Built, Places
from loopdrift.ground_sides.rule import RuleOfThumb
from loopdrift.model.run_error import RunError
from loopdrift.parts import constructors
from loopdrift.parts.ground_side import GroundSide

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

    from loopdrift.charts.style import Units
    from loopdrift.ground_sides.candidate import Candidate
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.site_plan import SitePlan


class Chart(NamedTuple):
    """A chart of a ground side."""

    draw: Callable[[Units, Axes | None], Axes]
    has_short_labels: bool = False
    """Whether its labels fit standard margins and need not be measured."""


def site_charts(paths: Sequence[ArrayLike], site: SitePlan | None) -> dict[str, Chart]:
    """Return the chart ``site`` of a loop on its property; none without a site.

    Parameters
    ----------
    paths : sequence of array_like, each of shape (n, 2)
        Bores or pipes in plan [m].
    site : SitePlan or None
        House and property lines.
    """
    if site is None:
        return {}
    return {"site": Chart(lambda units, ax: site_plan(paths, site, units=units, ax=ax), True)}


Layout = Callable[["Design", "Site", int], "Candidate"]
"""Finds the smallest loop on a site with which a design holds over a number of years."""


class Kind:
    """A kind of ground side; the defaults suit a conductive kind without texts of its own."""

    name: ClassVar[str]
    """Its name, and the ``kind`` of its table in design files."""

    part: ClassVar[type[GroundSide]]
    """The part of a design that describes it."""

    frost: ClassVar[tuple[str, str]] = (
        "the ground at the loop",
        "the latent heat of freezing is not modelled",
    )
    """What can freeze around the loop, and the effects of frost."""

    conducts: ClassVar[bool] = True
    """Whether heat accumulates in the ground and makes it drift over the years."""

    sources: ClassVar[tuple[str, ...]] = ()
    """Published methods that it follows, in sentences."""

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield the description of a design's ground side: labels and sentences.

        Parameters
        ----------
        design : Design
            The design.
        """
        yield self.name, str(design.ground_side)

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield flow regime and resistance at the temperatures of interest: labels and sentences.

        Parameters
        ----------
        design : Design
            The design.
        """
        yield from ()

    def assumptions(self, design: Design) -> str:
        """Return the assumptions of a run about it and the effect of each, in a sentence.

        Parameters
        ----------
        design : Design
            The design.
        """
        return "none beyond those of the model itself"

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return the numerical error of a run's temperatures, in a sentence.

        Parameters
        ----------
        error : RunError
            The error of the run.
        side : GroundSide
            The ground side.
        """
        parts = {
            "heat capacity inside the bores": error.inside,
            "loop segments": error.segments,
            "resistance table": error.resistance,
            "exponentials, tabulation and iteration": error.exponentials + error.tabulation + error.iteration,
        }
        shown = ", ".join(f"{name} {both(size, 'K', '.1g')}" for name, size in parts.items() if size > 0.0)
        return f"Numerical error of the temperatures: about {both(error.largest, 'K', '.1g')} ({shown})."

    def findings(self, run: Run) -> list[Finding | None]:
        """Return the findings about a run that are specific to this kind.

        Parameters
        ----------
        run : Run
            The run.
        """
        return []

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield the rules of thumb that apply.

        Parameters
        ----------
        design : Design
            The design.
        run : Run or None
            Its run, which allows a fuller explanation of departures.
        """
        yield from ()

    def charts(self, design: Design) -> Mapping[str, Chart]:
        """Return its charts by name: ``layout``, ``section``, ``site``.

        Parameters
        ----------
        design : Design
            The design.
        """
        return {}

    def ground(self, design: Design, site: Site) -> Ground:
        """Return the ground for a loop of this kind on a site: the design's, if its loop is of this kind.

        Parameters
        ----------
        design : Design
            The design.
        site : Site
            The site.
        """
        return design.ground

    def objections(self, design: Design, site: Site) -> Iterator[str]:
        """Yield what a design's loop needs and a site doesn't offer, in sentences.

        Parameters
        ----------
        design : Design
            The design.
        site : Site
            The site.
        """
        yield from ()

    def built(self, design: Design) -> Built:
        """Return what it is built of: places, pipes and amounts.

        Parameters
        ----------
        design : Design
            The design.
        """
        return Built(places=Places(design.ground_side.branch, (), ()))

    @property
    def constructors(self) -> Mapping[str, Callable[..., GroundSide]]:
        """Constructors of the part, by the ``kind`` of its table in design files."""
        return {self.name: self.part}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """How it is sized on a site, by the names used in comparisons."""
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
    constructors.register(kind.part, kind.constructors)


def kind_of(side: GroundSide) -> Kind:
    """Return the kind of a ground side.

    Parameters
    ----------
    side : GroundSide
        The ground side.
    """
    return next(_kinds[each] for each in type(side).__mro__ if each in _kinds)


def kinds() -> tuple[Kind, ...]:
    """Return all registered kinds, in order of registration."""
    return tuple(_kinds.values())
