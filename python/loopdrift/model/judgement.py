"""What a run must keep to, as the engine judged it: the same for runs, studies, sizing and comparisons."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both, both_degrees

if TYPE_CHECKING:
    from loopdrift import _core

LABELS = {
    "entering_fluid_min": "the lower limit of the entering fluid",
    "entering_fluid_max": "the upper limit of the entering fluid",
    "freezing_margin": "the wanted margin from freezing",
    "frozen_fluid": "the freezing point of the fluid",
    "fluid_max": "the highest temperature at which the fluid is known",
    "ice_max": "the ice that a pond can bear above its coils",
    "lowest_discharge": "the lowest discharge allowed",
    "discharge_freezing": "the freezing point of the discharge",
    "available_drawdown": "the available drawdown",
    "wall_min": "the lower limit of the ground at the loop",
    "coil_surface_min": "the freezing point of water at the coils' outside",
    "water_at_coils_min": "the temperature at which water at the coils is near freezing",
    "hours_outside_table": "the hours allowed outside the heat pump's table",
    "backup_share": "the share of back-up heat allowed",
    "unmet_cooling_share": "the share of unmet cooling allowed",
}
"""What each criterion requires, in words."""

SUBJECTS = {
    "entering_fluid_min": "Lowest entering fluid",
    "entering_fluid_max": "Highest entering fluid",
    "freezing_margin": "Coldest leaving fluid, with its margin from freezing",
    "frozen_fluid": "Fluid that circulates, above its freezing point",
    "fluid_max": "Warmest fluid, within its table",
    "ice_max": "Ice on the pond, by the depth of the coils",
    "lowest_discharge": "Coldest discharge of the well",
    "discharge_freezing": "Coldest discharge of the well, above freezing",
    "available_drawdown": "Drawdown in the well",
    "wall_min": "Coldest ground at the loop",
    "coil_surface_min": "Coldest outside of the coils",
    "water_at_coils_min": "Coldest water at the coils",
    "hours_outside_table": "Hours of a year outside the heat pump's table",
    "backup_share": "Back-up heat of a year",
    "unmet_cooling_share": "Unmet cooling of a year",
}
"""What each criterion measures, as a heading."""


@dataclass(frozen=True)
class Criterion:
    """One thing that a run is judged by.

    Parameters
    ----------
    name : str
        What it is; the fields of `Limits` and of the ground side keep their names.
    decides : bool
        Whether a run that breaks it doesn't hold; if not, it is a caution.
    unit : str
        Unit of `required` and `actual`: ``degC``, ``m``, ``h`` or, for shares, nothing.
    required, actual : float
        What is required, and the run's value that is closest to that or farthest beyond it.
    margin : float
        Distance between them, negative where it is broken; K for temperatures, else in `unit`.
    rank : float
        The margin as a number that compares criteria of different units: K, or what counts like a kelvin:
        0.1 m, 1 % or 10 h.
    year : int
        Year from 1 in which the run is closest.
    hour : int or None
        Hour of that year from 0; None for what is measured by year.
    hours_broken : tuple of int
        Hours of each year in which it is broken.
    """

    name: str
    decides: bool
    unit: str
    required: float
    actual: float
    margin: float
    rank: float
    year: int
    hour: int | None
    hours_broken: tuple[int, ...]

    @classmethod
    def of_engine(cls, found: _core._Criterion) -> Criterion:
        """Return a criterion from the engine's dictionary.

        Parameters
        ----------
        found : dict
            What the engine found.
        """
        return cls(
            name=found["name"],
            decides=found["decides"],
            unit=found["unit"],
            required=found["required"],
            actual=found["actual"],
            margin=found["margin"],
            rank=found["rank"],
            year=found["year"],
            hour=found["hour"],
            hours_broken=tuple(found["hours_broken"]),
        )

    @property
    def holds(self) -> bool:
        """Whether it isn't broken."""
        return self.margin >= 0.0

    def in_words(self, value: float) -> str:
        """Return a value of the criterion with its unit.

        Parameters
        ----------
        value : float
            The value, in `unit`.
        """
        if self.unit == "degC":
            return both_degrees(value)
        if self.unit == "m":
            return both(value, "m", ".2f")
        return f"{value:,.0f} h" if self.unit == "h" else f"{value:.1%}"

    def apart(self, decimals: int = 1) -> str:
        """Return the distance to what is required, without its sign.

        Parameters
        ----------
        decimals : int, default 1
            Decimals of a difference of temperatures.
        """
        if self.unit == "degC":
            return both(abs(self.margin), "K", f".{decimals}f")
        return self.in_words(abs(self.margin))


@dataclass(frozen=True)
class Judgement:
    """All that a run is judged by.

    Parameters
    ----------
    holds : bool
        Whether no criterion that decides is broken.
    criteria : tuple of Criterion
        Those of the fluid, of the ground side and of the heat pump.
    deciding : Criterion or None
        The one that is closest to being broken, or broken most, of those that decide; None where there is
        none.
    """

    holds: bool
    criteria: tuple[Criterion, ...]
    deciding: Criterion | None

    @classmethod
    def of_engine(cls, found: _core._Judgement) -> Judgement:
        """Return a judgement from the engine's dictionaries.

        Parameters
        ----------
        found : dict
            What the engine found.
        """
        criteria = tuple(map(Criterion.of_engine, found["criteria"]))
        place = found["deciding"]
        return cls(found["holds"], criteria, None if place is None else criteria[place])

    @property
    def broken(self) -> tuple[Criterion, ...]:
        """The criteria that decide and are broken."""
        return tuple(each for each in self.criteria if each.decides and not each.holds)

    def __getitem__(self, name: str) -> Criterion | None:
        """The criterion of a name; None where the run isn't judged by it."""
        return next((each for each in self.criteria if each.name == name), None)
