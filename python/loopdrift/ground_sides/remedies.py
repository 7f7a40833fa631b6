"""What would make an infeasible loop fit: each is found by the same search and judgement as a size."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import TYPE_CHECKING, TypeVar

from loopdrift.basics.both_units import both
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.words import with_article
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.search import first_that_holds, least_size

if TYPE_CHECKING:
    from loopdrift.ground_sides.judged import Judged
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground_side import GroundSide, Measure

T = TypeVar("T")

_LEAST_STEPS = 2.0
"""Steps of a search's resolution that a range must have to be searched."""


def larger(
    design: Design, site: Site, years: int, *, sizes: Collection[str] | None = None
) -> tuple[str, ...]:
    """Return with which larger sizes a design would hold, and what they need that the site doesn't offer.

    Each quantity of the ground side's `sizes` is increased on its own, the others unchanged.

    Parameters
    ----------
    design : Design
        A design that doesn't hold.
    site : Site
        The site.
    years : int
        Horizon.
    sizes : collection of str, optional
        The quantities to increase; by default all.
    """
    found = []
    for what, measure in design.ground_side.sizes.items():
        if sizes is not None and what not in sizes:
            continue
        side = _more(design, what, years) if measure is None else _longer(design, what, measure, years)
        if side is not None:
            change = _change(what, measure, design.ground_side, side)
            found.append(" ".join([change, *_new_objections(design, side, site)]))
    return tuple(found)


def no_remedy(side: GroundSide) -> str:
    """Return which larger sizes of a ground side were tried without success, in a sentence.

    Parameters
    ----------
    side : GroundSide
        The ground side.
    """
    tried = [_tried(side, what, measure) for what, measure in side.sizes.items()]
    if not tried:
        return "No larger size was tried."
    return f"It wouldn't hold with {' or '.join(tried)} either."


def relaxed(found: Iterable[Judged | None], site: Site) -> tuple[str, ...]:
    """Return which of several designs, sized for sites that offer more and more, is the first to hold.

    Parameters
    ----------
    found : iterable of Judged or None
        The designs; None where there is none.
    site : Site
        The site as it is.
    """
    for each in found:
        if each is not None and each.holds:
            needs = kind_of(each.design.ground_side).objections(each.design, site)
            return (" ".join([f"It would hold with {each.design.ground_side}.", *needs]),)
    return ()


def _longer(design: Design, what: str, measure: Measure, years: int) -> GroundSide | None:
    """Return the ground side of the next greater size that holds, if any does."""
    side = design.ground_side
    own, most = side.size_of(what), measure.between[1]
    if not own + _LEAST_STEPS * measure.resolution < most:
        return None
    found = _or_none(lambda: least_size(design, what, (own, most), years))
    if found is None or not found.judgement.holds:
        return None
    return side.sized(what, found.value)


def _more(design: Design, what: str, years: int) -> GroundSide | None:
    """Return the layout with the fewest more branches that holds, if any does."""
    side = design.ground_side
    family = _or_none(side.family) or []
    more = [each for each in family if each.size_of(what) > side.size_of(what)]
    designs = [design.replace(ground_side=each) for each in more]
    found = _or_none(lambda: first_that_holds(designs, years)) if designs else None
    if found is None or not found.judgement.holds:
        return None
    return more[int(found.value)]


def _or_none(search: Callable[[], T]) -> T | None:
    try:
        return search()
    except InvalidInput:
        return None


def _change(what: str, measure: Measure | None, old: GroundSide, new: GroundSide) -> str:
    before, after = old.size_of(what), new.size_of(what)
    if measure is None:
        return f"It would hold with {after:.0f} {what} instead of {before:.0f}."
    values = [_value(each, measure) for each in (after, before)]
    return f"It would hold with {with_article(what)} of {values[0]} instead of {values[1]}."


def _value(value: float, measure: Measure) -> str:
    return both(value, measure.unit, ".2f") if measure.unit else f"{value:.3f}"


def _tried(side: GroundSide, what: str, measure: Measure | None) -> str:
    if measure is not None:
        return f"{with_article(what)} of up to {_value(max(measure.between[1], side.size_of(what)), measure)}"
    most = max((each.size_of(what) for each in _or_none(side.family) or [side]), default=0.0)
    return f"up to {most:.0f} {what}"


def _new_objections(design: Design, side: GroundSide, site: Site) -> Iterator[str]:
    """Yield what the site lacks for a changed ground side, and not for the original."""
    kind = kind_of(side)
    before = set(kind.objections(design, site))
    for each in kind.objections(design.replace(ground_side=side), site):
        if each not in before:
            yield each
