"""The smallest bore field, trench field, pond coils or well with which the limits hold in every hour."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, TypeVar, cast

from loopdrift.analysis import split
from loopdrift.analysis.shaped_loads import beside_margin
from loopdrift.analysis.split import Split
from loopdrift.basics import notebook, units
from loopdrift.basics.errors import InvalidInput, LoopdriftError
from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import require
from loopdrift.basics.words import counted, with_article
from loopdrift.ground_sides.placement import rectangle
from loopdrift.model.design import Design, check_years
from loopdrift.model.judgement import LABELS, SUBJECTS, Judgement
from loopdrift.model.moment import moment
from loopdrift.model.progress import Progress, Reporting
from loopdrift.model.search import first_that_holds, least_size
from loopdrift.parts.aquifer import mass_flow_of_water
from loopdrift.parts.ground_side import GroundSide, Measure
from loopdrift.parts.site_plan import SitePlan

if TYPE_CHECKING:
    from typing import Any

    import pandas as pd

D = TypeVar("D", bound=Design)

What = Literal["depth", "length", "spacing", "bores", "trenches", "coils", "flow", "effectiveness"]


_SHARE_SAID = 0.005
"""Least share of back-up heat or unmet cooling that a result mentions where no limit is set [-]."""
ROUNDING = 1e-9
"""Relative tolerance of the range that a share of a total length must be in."""


@dataclass(frozen=True, repr=False)
class Sizing(Generic[D]):
    """Result of sizing; prints as sentences, and the divisions of a total length as a table.

    Parameters
    ----------
    what : str
        The quantity that was minimised, as in `Design.size`.
    holds : bool
        Whether the limits hold in every hour, as `Limits` lists them; if not, nothing in the range holds and
        this is the nearest size.
    value : float
        Depth, length or spacing [m], flow [kg/s], effectiveness [-], or number of bores, trenches or
        coils [-].
    design : Design
        The design of that size.
    years : int
        Horizon.
    judgement : Judgement
        Judgement of the design of that size.
    runs : int
        Number of hourly coupled runs.
    searched : str
        The search range, in words.
    refusal : LoopdriftError or None
        Why the largest size can't be run, if it can't.
    splits : tuple of Split
        With a fixed total length: all divisions of it that can be run, in the order of the search.
    """

    what: What
    holds: bool
    value: float
    design: D
    years: int
    judgement: Judgement
    runs: int
    searched: str
    refusal: LoopdriftError | None
    splits: tuple[Split, ...] = ()

    @property
    def margin(self) -> float | None:
        """Margin to the deciding limit [K, or the limit's own unit], negative beyond it."""
        return None if self.judgement.deciding is None else self.judgement.deciding.margin

    @property
    def limit(self) -> str | None:
        """Name of the deciding limit, as in `Limits`; None without demand."""
        return None if self.judgement.deciding is None else self.judgement.deciding.name

    @property
    def year(self) -> int | None:
        """Year, from 1, in which the margin is smallest; None for a distance."""
        return None if self.judgement.deciding is None else self.judgement.deciding.year

    @property
    def hour(self) -> int | None:
        """Hour of that year, from 0; None for yearly quantities."""
        return None if self.judgement.deciding is None else self.judgement.deciding.hour

    @property
    def table(self) -> pd.DataFrame | None:
        """With a fixed total length: its divisions, one row each; otherwise None.

        ``number`` of bores, trenches or coils and ``share_m``, the depth or length of each; ``holds``;
        ``margin`` to the deciding ``limit`` [K, or the limit's own unit]; ``arrangement`` in words.
        """
        return split.table(self.splits) if self.splits else None

    @property
    def moment(self) -> str:
        """The critical hour, in words; empty without demand."""
        return "" if self.judgement.deciding is None else moment(self.design, self.year, self.hour)

    def __repr__(self) -> str:
        verdict = "holds" if self.holds else "nothing holds"
        measure = self.design.ground_side.sizes.get(self.what)
        size = f"{self.value:g} {measure.unit if measure else ''}".rstrip()
        return f"<Sizing: {self.what} {size}, {verdict}, {counted(self.years, 'year')}>"

    def _repr_html_(self) -> str:
        shown = notebook.heading(f"Sizing of {self.what}") + notebook.sentences([self._sentences()])
        return shown if self.table is None else shown + notebook.table(self.table)

    def __str__(self) -> str:
        if not self.splits:
            return self._sentences()
        share = next(iter(self.design.ground_side.sizes))
        return f"{self._sentences()}\n\n{split.lines(self.splits, self.what, share)}"

    def _sentences(self) -> str:
        side, deciding = self.design.ground_side, self.judgement.deciding
        size = str(side)
        if self.what == "bores" and side.arrangement and f"in {side.arrangement}" not in size:
            size += f" ({side.arrangement})"
        if deciding is None:
            return f"There are no loads: any size holds, including {size}."
        limit = LABELS[deciding.name]
        if self.holds:
            text = (
                f"All limits hold in every hour of {counted(self.years, 'year')} with {size}. The smallest "
                f"margin is {deciding.apart(3)} to {limit}, in {self.moment}."
            )
            text = " ".join([text, *self._cautions()])
        else:
            nearest = f"{deciding.apart(2)} beyond {limit} in {self.moment}"
            text = f"Infeasible for {self.searched}. Nearest: {size}, {nearest}."
        if self.refusal is not None:
            text += f" The largest size can't be run: {self.refusal}"
        return text

    def _cautions(self) -> Iterator[str]:
        """Yield what the limits don't cover although it matters, in sentences."""
        uncertain = beside_margin(self.design, self.judgement)
        if uncertain:
            yield uncertain
        for name in ("backup_share", "unmet_cooling_share"):
            judged = self.judgement[name]
            if judged is not None and not judged.decides and judged.actual >= _SHARE_SAID:
                yield (
                    f"{SUBJECTS[name]} reaches {judged.in_words(judged.actual)}, because the heat pump's "
                    f"capacity is below the load; {name} in the limits would set how much is allowed."
                )


def size(
    design: D,
    what: What | None,
    *,
    years: int,
    between: tuple[float | str, float | str] | None,
    among: Sequence[GroundSide] | None,
    plot: tuple[float | str, float | str] | None,
    total_length: float | str | None,
    progress: Progress,
) -> Sizing[D]:
    """Find the smallest ground side with which the limits hold; see `Design.size`."""
    sizes = design.ground_side.sizes
    if not sizes:
        allowed = "must be of bores, trenches, a pond's coils or a well with a heat exchanger"
        raise InvalidInput("Sizing", "what", repr(what), "", allowed)
    if what is None:
        what = cast(What, next(iter(sizes)))
    if what not in sizes:
        raise InvalidInput("Sizing", "what", repr(what), "", f"must be one of {', '.join(sizes)}")
    measure = sizes[what]
    horizon = check_years(years, owner="Sizing")
    if measure is not None:
        for name, value in (("among", among), ("plot", plot), ("total_length", total_length)):
            _require_omitted(name, value, f"for {what}")
    elif total_length is None:
        _require_omitted("between", between, f"for {what} without a total length")
    if among is not None:
        _require_omitted("plot", plot, "with among")
    with Reporting(progress, owner="Sizing", unit="run") as tell:
        if measure is not None:
            return _smallest(design, what, measure, between, horizon, tell)
        sides = _family(design, among, plot)
        if total_length is None:
            return _fewest(design, what, sides, horizon, tell)
        return _divided(design, what, sides, total_length, between, horizon, tell)


def _require_omitted(name: str, value: object, beside: str) -> None:
    if value is not None:
        raise InvalidInput("Sizing", name, repr(value), "", f"must be omitted {beside}")


def _smallest(
    design: D,
    what: What,
    measure: Measure,
    between: tuple[float | str, float | str] | None,
    years: int,
    progress: Callable[[int], object] | None,
) -> Sizing[D]:
    low, high = measure.between if between is None else _pair(between, "between", measure.unit)
    found = least_size(design, what, (low, high), years, progress)
    unit = f" {measure.unit}" if measure.unit else ""
    searched = f"{with_article(what)} from {low:g} to {high:g}{unit}"
    holds = found.judgement.holds
    return Sizing(
        what, holds, found.value, found.design, years, found.judgement, found.runs, searched, found.refusal
    )


def _fewest(
    design: D,
    what: What,
    sides: Sequence[GroundSide],
    years: int,
    progress: Callable[[int], object] | None,
) -> Sizing[D]:
    designs = [design.replace(ground_side=side) for side in sides]
    found = first_that_holds(designs, years, progress)
    sized = found.design
    value = sized.ground_side.size_of(what)
    most = max(side.size_of(what) for side in sides)
    searched = f"{counted(len(designs), 'layout')} of up to {most:g} {what}"
    holds = found.judgement.holds
    return Sizing(what, holds, value, sized, years, found.judgement, found.runs, searched, found.refusal)


def _divided(
    design: D,
    what: What,
    sides: Sequence[GroundSide],
    total_length: float | str,
    between: tuple[float | str, float | str] | None,
    years: int,
    progress: Callable[[int], object] | None,
) -> Sizing[D]:
    """Divide a total length among 1, 2, ... bores, trenches or coils, and judge each division."""
    name, measure = next(iter(design.ground_side.sizes.items()))
    if measure is None:
        raise InvalidInput("Sizing", "total_length", repr(total_length), "", f"must be omitted for {what}")
    total = units.to_si(total_length, measure.unit, owner="Sizing", field="total_length")
    low, high = measure.between if between is None else _pair(between, "between", measure.unit)
    shares = [(side, total / side.size_of(what)) for side in sides]
    least, most = low * (1.0 - ROUNDING), high * (1.0 + ROUNDING)
    divided = [side.sized(name, share) for side, share in shares if least <= share <= most]
    if not divided:
        span = f"{with_article(name)} from {low:g} to {high:g} {measure.unit}"
        allowed = f"must give {span} for some number of {what}"
        raise InvalidInput("Sizing", "total_length", total, measure.unit, allowed)
    splits, refusal = [], None
    for number, side in enumerate(divided, start=1):
        try:
            judgement = first_that_holds([design.replace(ground_side=side)], years).judgement
        except InvalidInput as error:
            refusal = error
        else:
            splits.append(Split(int(side.size_of(what)), side.size_of(name), side, judgement))
        if progress is not None:
            progress(number)
    if not splits and refusal is not None:
        raise refusal
    chosen = next((each for each in splits if each.judgement.holds), None) or max(
        splits, key=lambda each: each.judgement.rank
    )
    side = chosen.ground_side
    sized = design.replace(ground_side=side, ground=side.mean_ground(design.ground))
    value, holds = chosen.ground_side.size_of(what), chosen.judgement.holds
    searched = f"{total:g} {measure.unit} in total, {name} from {low:g} to {high:g} {measure.unit}"
    runs = len(divided)
    return Sizing(what, holds, value, sized, years, chosen.judgement, runs, searched, None, tuple(splits))


def _pair(given: Any, name: str, unit: str) -> tuple[float, float]:
    """Return two rising values in a unit, given as numbers or text."""
    try:
        low, high = given
    except (TypeError, ValueError):
        raise InvalidInput("Sizing", name, repr(given), "", "must be a minimum and a maximum") from None
    if unit == "kg/s":
        first, second = (mass_flow_of_water(end, owner="Sizing", field=name) for end in (low, high))
    else:
        first, second = (units.to_si(end, unit, owner="Sizing", field=name) for end in (low, high))
    if not 0.0 < first <= second:
        raise InvalidInput(
            "Sizing", name, f"{first:g} to {second:g}", unit, "must be two rising numbers above 0"
        )
    return first, second


def _family(
    design: Design,
    among: Sequence[GroundSide] | None,
    plot: tuple[float | str, float | str] | None,
) -> Sequence[GroundSide]:
    if among is None:
        return design.ground_side.family(_plan(design) if plot is None else _rectangle(plot))
    fields = list(among)
    if not fields:
        raise InvalidInput("Sizing", "among", "none", "", "must be at least one ground side")
    for each in fields:
        require(each, type(design.ground_side), owner="Sizing", field="among")
    return fields


def _plan(design: Design) -> SitePlan | None:
    """Return the outlines of a design that states its plot."""
    return None if design.site is None or design.site.property_lines is None else design.site


def _rectangle(given: Any) -> SitePlan:
    try:
        length, width = given
    except (TypeError, ValueError):
        raise InvalidInput("Sizing", "plot", repr(given), "", "must be a length and a width") from None
    along, across = (
        number_within(side, "m", owner="Sizing", field="plot", least=0.1, most=1e5)
        for side in (length, width)
    )
    return rectangle(along, across)
