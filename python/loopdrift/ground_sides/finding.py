"""One answer of a run about the promises made for it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopdrift.model.run import Run


@dataclass(frozen=True)
class Finding:
    """One answer about a run.

    Parameters
    ----------
    holds : bool
        Whether the designer may be content.
    text : str
        The answer in a sentence.
    decides : bool, default False
        Whether the design doesn't hold where this doesn't; if not, it is a caution.
    """

    holds: bool
    text: str
    decides: bool = False

    def __str__(self) -> str:
        label = "holds" if self.holds else "BROKEN" if self.decides else "LOOK"
        return f"{label}: {self.text}"


def broken(run: Run, criterion: str, text: str) -> Finding | None:
    """Return in how many hours a criterion is broken; None where it holds or the run isn't judged by it."""
    judged = run.judgement[criterion]
    if judged is None or judged.holds:
        return None
    return hours_in(judged.hours_broken, text, decides=judged.decides)


def hours_in(hours: Iterable[int], text: str, *, decides: bool = False) -> Finding | None:
    """Return what is so in some hours of each year; None where it never is."""
    counts = list(hours)
    if not any(counts):
        return None
    first = next(year for year, count in enumerate(counts, start=1) if count)
    return Finding(False, f"In {int(sum(counts)):,} hours, from year {first} on, {text}.", decides)
