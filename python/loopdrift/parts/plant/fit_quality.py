"""Quality of the fit of a heat pump's curves to its table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from loopdrift.basics.words import InALine, Shown, percent

if TYPE_CHECKING:
    from loopdrift import _core

UNKNOWN = "error of the curves unknown: they have as many terms as the table has points"
"""Text for a fit without redundant points."""


@dataclass(frozen=True)
class Residual(Shown):
    """Relative differences fitted / given - 1 over the rating points.

    Parameters
    ----------
    rms : float
        Root of the mean square.
    largest : float
        The one of greatest magnitude.
    line : int
        Line of the file where it is.
    path : str
        The file.
    """

    rms: float
    largest: float
    line: int
    path: str = ""

    def __str__(self) -> str:
        return f"rms {percent(self.rms, '.2f')}, largest {percent(self.largest, '+.2f')} in line {self.line}"


@dataclass(frozen=True)
class ModeQuality(InALine):
    """Quality of the fit in one mode.

    Parameters
    ----------
    rows : int
        Number of rating points.
    terms : tuple of str
        Terms of the fit in the entering fluid temperature T, the flow m and the entering load temperature L.
    entering_fluid_range : tuple of float
        Lowest and highest entering fluid temperature of the table [degC].
    capacity, power : Residual or None
        Relative differences; None if there are no more distinct rating points than terms: the curve then
        passes through all of them, which says nothing about its error in between.
    points : tuple of tuple of float
        Entering fluid temperature [degC], capacity and power [W] of each rating point.
    """

    rows: int
    terms: tuple[str, ...]
    entering_fluid_range: tuple[float, float]
    capacity: Residual | None
    power: Residual | None
    points: tuple[tuple[float, ...], ...]

    @classmethod
    def from_engine(cls, found: _core._ModeQuality | None, places: Sequence[tuple[str, int]]) -> Self | None:
        """Return what the engine found; None where the table lacks the mode.

        Parameters
        ----------
        found : dict or None
            What the engine found in a file that has one rating point a line.
        places : sequence of tuple
            File and line of each of the points.
        """
        if found is None:
            return None
        low, high = found["entering_fluid_range"]
        capacity, power = (
            None if each is None else _residual(each, places) for each in (found["capacity"], found["power"])
        )
        points = tuple(map(tuple, found["points"]))
        return cls(found["rows"], tuple(found["terms"]), (low, high), capacity, power, points)

    def __str__(self) -> str:
        low, high = self.entering_fluid_range
        head = f"{self.rows} rating points, {low:g} to {high:g} degC, terms {', '.join(self.terms)}\n"
        if self.capacity is None or self.power is None:
            return f"{head}  {UNKNOWN}"
        return f"{head}  capacity: {self.capacity}\n  power:    {self.power}"


@dataclass(frozen=True)
class FitQuality(InALine):
    """Quality of the fit of a heat pump's curves to its table; prints as a table.

    Parameters
    ----------
    heating, cooling, heating_low, cooling_low : ModeQuality or None
        None if the table lacks the mode or its lowest stage.
    """

    heating: ModeQuality | None
    cooling: ModeQuality | None
    heating_low: ModeQuality | None
    cooling_low: ModeQuality | None

    def __str__(self) -> str:
        qualities = {name.replace("_", " "): quality for name, quality in vars(self).items()}
        return "\n".join(f"{name}: {quality}" for name, quality in qualities.items() if quality is not None)


def _residual(found: _core._Residual, places: Sequence[tuple[str, int]]) -> Residual:
    path, line = places[found["line"] - 2]  # below the header
    return Residual(found["rms"], found["largest"], line, path)
