"""Rules of thumb: how far a design departs from each, and why."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

from loopdrift.basics.both_units import both_degrees, factor, in_sentences
from loopdrift.basics.words import percent

NO_SOURCE = "common practice, no source"


class Usual(NamedTuple):
    """The typical range of a rule, in both unit systems."""

    low: float
    high: float | None
    """None if the rule has no upper end."""
    unit: str
    inch_pound: str

    def __str__(self) -> str:
        if self.high is None:
            return f"{self.low:,.15g} {self.unit} ({self.inch_pound}) or more"
        return f"{self.low:,.15g} to {self.high:,.15g} {self.unit} ({self.inch_pound})"

    def end(self, value: float) -> float:
        """Return the end that is closer to a value."""
        if self.high is None or value - self.low < self.high - value:
            return self.low
        return self.high


@dataclass(frozen=True)
class RuleOfThumb:
    """A rule of thumb and the computed value; prints as sentences.

    Parameters
    ----------
    what : str
        The quantity that it concerns.
    value : float
        The design's value, in `unit`.
    usual : Usual
        The typical range.
    why : str
        Why the design departs from the range, in sentences; empty if it doesn't.
    """

    what: str
    value: float
    usual: Usual
    why: str = ""

    @property
    def departure(self) -> float:
        """Distance to the typical range, negative below it, 0 within it."""
        low, high, *_ = self.usual
        if self.value < low:
            return self.value - low
        return self.value - high if high is not None and self.value > high else 0.0

    @property
    def by_how_much(self) -> str:
        """The departure in words."""
        if self.departure == 0.0:
            return "within it"
        amount, side = abs(self.departure), "below" if self.departure < 0.0 else "above"
        if self.usual.unit == "degC":
            return f"{_both(amount, 'K')} {side} it"
        share = amount / self.usual.end(self.value)
        return f"{_both(amount, self.usual.unit)} or {percent(share)} {side} it"

    def __str__(self) -> str:
        found = _both(self.value, self.usual.unit)
        text = f"{self.what}: {found}. Typical range ({NO_SOURCE}): {self.usual}; {self.by_how_much}."
        return f"{text} {self.why}".rstrip()


def explained(rule: RuleOfThumb, why: str) -> RuleOfThumb:
    """Return the rule with the reason for the departure, if there is one."""
    return rule if rule.departure == 0.0 else dataclasses.replace(rule, why=why)


def _both(value: float, unit: str) -> str:
    if unit == "degC":
        return both_degrees(value)
    other, each = ("acre", factor("m2", "acre")) if unit == "m2" else in_sentences(unit)
    return f"{_number(value)} {unit} ({_number(each * value)} {other})"


def _number(value: float) -> str:
    if abs(value) < 1.0:
        return f"{value:.2g}"
    return f"{value:,.{1 if abs(value) < 20.0 else 0}f}"
