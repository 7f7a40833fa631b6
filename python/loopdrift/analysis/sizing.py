"""The smallest bore field, trench field or pond coils with which the limits hold in every hour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, TypeVar, cast

from loopdrift.basics import notebook, units
from loopdrift.basics.errors import InvalidInput, LoopdriftError
from loopdrift.basics.part import require
from loopdrift.basics.words import counted
from loopdrift.model.design import Design, check_years
from loopdrift.model.judgement import LABELS, Judgement
from loopdrift.model.moment import moment
from loopdrift.model.search import first_that_holds, least_size
from loopdrift.parts.ground_side import GroundSide

if TYPE_CHECKING:
    from typing import Any

D = TypeVar("D", bound=Design)

What = Literal["depth", "length", "spacing", "bores"]


@dataclass(frozen=True, repr=False)
class Sizing(Generic[D]):
    """Result of sizing; prints as sentences.

    Parameters
    ----------
    what : {"depth", "length", "spacing", "bores"}
        The quantity that was minimised.
    holds : bool
        Whether the limits hold in every hour, as `Limits` lists them; if not, nothing in the range holds and
        this is the nearest size.
    value : float
        Depth, length or spacing [m], or number of bores [-].
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
        """Year, from 1, in which the margin is smallest."""
        return None if self.judgement.deciding is None else self.judgement.deciding.year

    @property
    def hour(self) -> int | None:
        """Hour of that year, from 0; None for yearly quantities."""
        return None if self.judgement.deciding is None else self.judgement.deciding.hour

    @property
    def moment(self) -> str:
        """The critical hour, in words; empty without demand."""
        return "" if self.year is None else moment(self.design, self.year, self.hour)

    def __repr__(self) -> str:
        verdict = "holds" if self.holds else "nothing holds"
        return f"<Sizing: {self.what} {self.value:g}, {verdict}, {counted(self.years, 'year')}>"

    def _repr_html_(self) -> str:
        return notebook.heading(f"Sizing of {self.what}") + notebook.sentences([str(self)])

    def __str__(self) -> str:
        size, deciding = str(self.design.ground_side), self.judgement.deciding
        if deciding is None:
            return f"There are no loads: any size holds, including {size}."
        limit = LABELS[deciding.name]
        if self.holds:
            text = (
                f"All limits hold in every hour of {counted(self.years, 'year')} with {size}. The smallest "
                f"margin is {deciding.apart(3)} to {limit}, in {self.moment}."
            )
        else:
            nearest = f"{deciding.apart(2)} beyond {limit} in {self.moment}"
            text = f"Infeasible for {self.searched}. Nearest: {size}, {nearest}."
        if self.refusal is not None:
            text += f" The largest size can't be run: {self.refusal}"
        return text


def size(
    design: D,
    what: What | None,
    *,
    years: int,
    between: tuple[float | str, float | str] | None,
    among: Sequence[GroundSide] | None,
    progress: Callable[[int], object] | None,
) -> Sizing[D]:
    """Find the smallest ground side with which the limits hold; see `Design.size`."""
    sizes = design.ground_side.sizes
    if not sizes:
        raise InvalidInput("Sizing", "what", repr(what), "", "must be of bores, trenches or a pond's coils")
    if what is None:
        what = cast(What, next(iter(sizes)))
    if what not in sizes:
        raise InvalidInput("Sizing", "what", repr(what), "", f"must be one of {', '.join(sizes)}")
    default = sizes[what]
    horizon = check_years(years, owner="Sizing")
    if progress is not None and not callable(progress):
        raise InvalidInput("Sizing", "progress", repr(progress), "", "must be callable with a number of runs")
    wrong, name = (between, "between") if default is None else (among, "among")
    if wrong is not None:
        raise InvalidInput("Sizing", name, repr(wrong), "", f"must be omitted for {what}")
    if default is None:
        designs = [design.replace(ground_side=side) for side in _family(design, among)]
        found = first_that_holds(designs, horizon, progress)
        sized = designs[int(found.value)]
        value = float(sized.ground_side.count)
        searched = f"{len(designs)} fields of up to {max(each.ground_side.count for each in designs)} bores"
    else:
        low, high = default if between is None else _range(between)
        found = least_size(design, what, (low, high), horizon, progress)
        value = found.value
        sized = design.replace(ground_side=design.ground_side.sized(what, value))
        searched = f"a {what} from {low:g} to {high:g} m"
    judgement = found.judgement
    return Sizing(
        what, judgement.holds, value, sized, horizon, judgement, found.runs, searched, found.refusal
    )


def _range(between: Any) -> tuple[float, float]:
    try:
        low, high = between
    except (TypeError, ValueError):
        raise InvalidInput(
            "Sizing", "between", repr(between), "", "must be a minimum and a maximum"
        ) from None
    least, greatest = (units.to_si(end, "m", owner="Sizing", field="between") for end in (low, high))
    return least, greatest


def _family(design: Design, among: Sequence[GroundSide] | None) -> Sequence[GroundSide]:
    if among is None:
        return design.ground_side.family()
    fields = list(among)
    if not fields:
        raise InvalidInput("Sizing", "among", "none", "", "must be at least one ground side")
    for each in fields:
        require(each, type(design.ground_side), owner="Sizing", field="among")
    return fields
