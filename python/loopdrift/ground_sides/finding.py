"""A finding of a run: a criterion that is met or not, or a warning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.words import Shown

if TYPE_CHECKING:
    from loopdrift.model.run import Run


@dataclass(frozen=True)
class Finding(Shown):
    """One finding about a run.

    Parameters
    ----------
    holds : bool
        Whether the criterion is met.
    text : str
        The finding in a sentence.
    decides : bool, default False
        Whether the design fails if the criterion isn't met; otherwise it is a warning.
    matters : bool, default True
        Whether a warning calls for attention; otherwise it is a note, for information.
    """

    holds: bool
    text: str
    decides: bool = False
    matters: bool = True

    @property
    def is_note(self) -> bool:
        """Whether it is for information only."""
        return not self.holds and not self.decides and not self.matters

    def __str__(self) -> str:
        label = "holds" if self.holds else "BROKEN" if self.decides else "WARNING" if self.matters else "note"
        return f"{label}: {self.text}"


def broken(run: Run, criterion: str, text: str) -> Finding | None:
    """Return in how many hours a criterion is broken; None where it holds or doesn't apply."""
    judged = run.judgement[criterion]
    if judged is None or judged.holds:
        return None
    return hours_in(judged.hours_broken, text, decides=judged.decides)


def hours_in(
    hours: Iterable[int], text: str, *, decides: bool = False, matters: bool = True
) -> Finding | None:
    """Return a finding on the hours of each year in which a statement is true; None if it never is."""
    counts = list(hours)
    if not any(counts):
        return None
    first = next(year for year, count in enumerate(counts, start=1) if count)
    total = int(sum(counts))
    shown = f"{total:,} hour{'' if total == 1 else 's'}"
    return Finding(False, f"In {shown} (first in year {first}), {text}.", decides, matters)
