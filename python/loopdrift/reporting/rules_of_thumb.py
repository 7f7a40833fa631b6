"""Rules of thumb beside the computed answer: how far the design departs from each, and why."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.analysis import key_figures
from loopdrift.basics.both_units import WATER_GPM, WATTS_PER_TON, both, both_degrees
from loopdrift.basics.series import HOURS_PER_YEAR
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.reporting import departures

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

NO_SOURCE = "common practice, no source"


class Usual(NamedTuple):
    """What a rule has, in both systems."""

    low: float
    high: float | None
    """None where the rule names no most."""
    unit: str
    inch_pound: str

    def __str__(self) -> str:
        if self.high is None:
            return f"{self.low:,.15g} {self.unit} ({self.inch_pound}) and more"
        return f"{self.low:,.15g} to {self.high:,.15g} {self.unit} ({self.inch_pound})"

    def end(self, value: float) -> float:
        """Return the end that a value is closer to."""
        if self.high is None or value - self.low < self.high - value:
            return self.low
        return self.high


METRES_PER_TON = Usual(45.0, 90.0, "m", "150 to 300 ft")
"""Length of bore or trench per ton of heating, or of cooling where that is the larger."""

USUAL_TRENCHES = (1.8, 2.4)
TRENCH_DEPTHS = Usual(*USUAL_TRENCHES, "m", "6 to 8 ft")
"""Depth of such trenches."""

POND_AREA = Usual(4000.0, None, "m2", "1 acre")
"""Surface from which on ponds are used."""

POND_DEPTH = Usual(3.0, None, "m", "10 to 12 ft")
"""Depth from which on ponds are used: 3 to 3.7 m."""

GROUND_TEMPERATURES = Usual(7.0, 21.0, "degC", "45 to 70 degF")
"""Temperature of the ground in which loops are laid."""

GROUND_DEPTH = 1.8
"""Depth to which that temperature belongs [m]."""

WELL_FLOWS = Usual(0.095, 0.19, "kg/s", "1.5 to 3 gal/min")
"""Groundwater per ton of heating, or of cooling where that is the larger."""

_INCH_POUND = {
    "m": ("ft", 1.0 / 0.3048),
    "m2": ("acre", 1.0 / 4046.8564224),
    "kg/s": ("gal/min", WATER_GPM),
    "K": ("degF", 1.8),
}


@dataclass(frozen=True)
class RuleOfThumb:
    """One rule beside what was computed; prints as sentences.

    Parameters
    ----------
    what : str
        What it measures.
    value : float
        What the design has of it, in `unit`.
    usual : Usual
        What the rule has.
    why : str
        What of the design makes it depart, in sentences; empty where it doesn't.
    """

    what: str
    value: float
    usual: Usual
    why: str = ""

    @property
    def departure(self) -> float:
        """Distance to the rule's range, negative below it, 0 within."""
        low, high, *_ = self.usual
        if self.value < low:
            return self.value - low
        return self.value - high if high is not None and self.value > high else 0.0

    @property
    def by_how_much(self) -> str:
        """The departure in words."""
        if self.departure == 0.0:
            return "as usual"
        amount = abs(self.departure)
        if self.usual.unit == "degC":
            return f"{_both(amount, 'K')} {'colder' if self.departure < 0.0 else 'warmer'}"
        share = amount / self.usual.end(self.value)
        words = f"{_both(amount, self.usual.unit)} or {share:.0%}"
        return f"{words} {'less' if self.departure < 0.0 else 'more'}"

    def __str__(self) -> str:
        found = _both(self.value, self.usual.unit)
        text = f"{self.what}: {found}; {self.usual} are usual ({NO_SOURCE}): {self.by_how_much}."
        return f"{text} {self.why}".rstrip()


def rules_of_thumb(design: Design, run: Run | None = None) -> list[RuleOfThumb]:
    """Return the rules of thumb for a design's kind of loop.

    Parameters
    ----------
    design : Design
        The design.
    run : Run, optional
        Its run, which tells more of why it departs.

    Returns
    -------
    list of RuleOfThumb
        Length of bore or trench per ton, depth of trenches, the ground's temperature; a pond's area and
        depth; a well's flow per ton. A ton is one of heating, or of cooling where the most cold is
        more than the most heat; rules per ton are left out where there is neither.
    """
    side = design.ground_side
    rules = _pond(side, run) if isinstance(side, Pond) else _well(design, side, run)
    if isinstance(side, BoreField | TrenchField):
        rules = _per_ton(design, side, run)
    return list(rules)


def _per_ton(design: Design, field: BoreField | TrenchField, run: Run | None) -> Iterator[RuleOfThumb]:
    length, noun = departures.laid_length(field)
    capacity, what = key_figures.capacity(design)
    if capacity > 0.0:
        per_ton = length / (capacity / WATTS_PER_TON)
        end = METRES_PER_TON.end(per_ton)
        rule = RuleOfThumb(f"{noun.capitalize()} per ton (3.517 kW) of {what}", per_ton, METRES_PER_TON)
        yield _explained(rule, departures.of_length(design, run, scale=per_ton / end, usual=end))
    if isinstance(field, TrenchField):
        rule = RuleOfThumb("Depth of the trenches", field.bottom, TRENCH_DEPTHS)
        yield _explained(rule, departures.of_trench_depth(design, field, USUAL_TRENCHES))
        hours = np.arange(HOURS_PER_YEAR)
        year = field.surface.temperature(design.ground, depth=GROUND_DEPTH, hours=hours)
        for which, value in (("Coldest", float(year.min())), ("Warmest", float(year.max()))):
            rule = RuleOfThumb(
                f"{which} ground at {both(GROUND_DEPTH, 'm', 'g')}", value, GROUND_TEMPERATURES
            )
            yield _explained(rule, departures.of_surface(design, field, GROUND_DEPTH))
    else:
        ground = design.ground
        mean = ground.temperature + GROUND_DEPTH * ground.gradient
        rule = RuleOfThumb(
            f"Ground at {both(GROUND_DEPTH, 'm', 'g')}, mean of the year", mean, GROUND_TEMPERATURES
        )
        yield _explained(rule, departures.of_mean_ground(design, field))


def _pond(pond: Pond, run: Run | None) -> Iterator[RuleOfThumb]:
    rule = RuleOfThumb("Area of the pond", pond.area, POND_AREA)
    yield _explained(rule, departures.of_pond_area(pond, run))
    rule = RuleOfThumb("Depth of the pond", pond.depth, POND_DEPTH)
    yield _explained(rule, departures.of_pond_depth(pond, run))


def _well(design: Design, side: object, run: Run | None) -> Iterator[RuleOfThumb]:
    capacity, what = key_figures.capacity(design)
    if not isinstance(side, Well) or capacity <= 0.0:
        return
    tons = capacity / WATTS_PER_TON
    per_ton = (design.flow if side.flow is None else side.flow) / tons
    end = WELL_FLOWS.end(per_ton)
    rule = RuleOfThumb(f"Groundwater per ton (3.517 kW) of {what}", per_ton, WELL_FLOWS)
    yield _explained(rule, departures.of_well_flow(side, run, scale=per_ton / end, usual=end))


def _explained(rule: RuleOfThumb, why: str) -> RuleOfThumb:
    """Return the rule with what makes the design depart, if it does."""
    return rule if rule.departure == 0.0 else dataclasses.replace(rule, why=why)


def _both(value: float, unit: str) -> str:
    if unit == "degC":
        return both_degrees(value)
    other, factor = _INCH_POUND[unit]
    return f"{_number(value)} {unit} ({_number(factor * value)} {other})"


def _number(value: float) -> str:
    if abs(value) < 1.0:
        return f"{value:.2g}"
    return f"{value:,.{1 if abs(value) < 20.0 else 0}f}"
