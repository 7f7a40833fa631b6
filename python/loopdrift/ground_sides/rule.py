"""A rule of thumb beside a computed answer: how far a design departs from it, and why."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

from loopdrift.basics.both_units import both_degrees, factor, in_sentences

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


def explained(rule: RuleOfThumb, why: str) -> RuleOfThumb:
    """Return the rule with what makes the design depart, if it does."""
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
