"""The criteria of a run, the same for runs, studies, sizing and comparisons; the engine judges most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import InALine, percent

if TYPE_CHECKING:
    from loopdrift import _core

LABELS = {
    "entering_fluid_min": "the minimum entering fluid temperature",
    "entering_fluid_max": "the maximum entering fluid temperature",
    "freezing_margin": "the freezing limit",
    "frozen_fluid": "the freezing point of the fluid",
    "fluid_max": "the maximum fluid temperature",
    "ice_max": "the maximum ice thickness on the pond",
    "lowest_discharge": "the minimum discharge temperature",
    "discharge_freezing": "the freezing point of the discharge",
    "available_drawdown": "the available drawdown",
    "wall_min": "the minimum ground temperature at the loop",
    "coil_surface_min": "the freezing point at the coil surface",
    "water_at_coils_min": "the minimum water temperature at the coils",
    "hours_outside_table": "the allowed hours outside the heat pump's table",
    "backup_share": "the allowed share of back-up heat",
    "unmet_cooling_share": "the allowed share of unmet cooling",
    "distance_to_property_lines": "the required distance to the property lines",
    "distance_to_house": "the required distance to the house",
}
"""The limit of each criterion, in words."""

SUBJECTS = {
    "entering_fluid_min": "Lowest entering fluid temperature",
    "entering_fluid_max": "Highest entering fluid temperature",
    "freezing_margin": "Lowest leaving fluid temperature (limit: freezing point plus margin)",
    "frozen_fluid": "Lowest fluid temperature (limit: freezing point)",
    "fluid_max": "Highest fluid temperature (limit: property data or boiling)",
    "ice_max": "Greatest ice thickness on the pond",
    "lowest_discharge": "Lowest discharge temperature",
    "discharge_freezing": "Lowest discharge temperature (limit: freezing point)",
    "available_drawdown": "Greatest drawdown in the well",
    "wall_min": "Lowest ground temperature at the loop",
    "coil_surface_min": "Lowest surface temperature of the coils",
    "water_at_coils_min": "Lowest water temperature at the coils",
    "hours_outside_table": "Hours per year outside the heat pump's table",
    "backup_share": "Back-up heat in a year",
    "unmet_cooling_share": "Unmet cooling in a year",
    "distance_to_property_lines": "Least distance to the property lines",
    "distance_to_house": "Least distance to the house",
}
"""The quantity that each criterion measures, as a heading."""


@dataclass(frozen=True)
class Criterion(InALine):
    """One criterion that a run is judged by.

    Parameters
    ----------
    name : str
        Its name; criteria that stem from a field of `Limits` or of the ground side have the field's name.
    decides : bool
        Whether a run that breaks it doesn't hold; otherwise breaking it is a warning.
    unit : str
        Unit of `required` and `actual`: ``degC``, ``m``, ``h`` or, for shares, an empty string.
    required, actual : float
        The limit, and the value of the run that is closest to it or farthest beyond it.
    margin : float
        Difference between the two, negative if the limit is broken; in K for temperatures, else in `unit`.
    rank : float
        The margin on a common scale for all units: 1 K, 0.1 m, 1 % and 10 h count alike.
    year : int or None
        Year, from 1, in which the margin is smallest; None if it is the same in all.
    hour : int or None
        Hour of that year, from 0; None for yearly quantities.
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
    year: int | None
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
        """Whether the limit is kept."""
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
            return both(value, "m", ".2f" if abs(value) < 10.0 else ".1f")
        return f"{value:,.0f} h" if self.unit == "h" else percent(value, ".1f")

    def apart(self, decimals: int = 1) -> str:
        """Return the size of the margin, with its unit.

        Parameters
        ----------
        decimals : int, default 1
            Decimals of a temperature difference.
        """
        if self.unit == "degC":
            return both(abs(self.margin), "K", f".{decimals}f")
        return self.in_words(abs(self.margin))


@dataclass(frozen=True)
class Judgement(InALine):
    """All criteria that a run is judged by.

    Parameters
    ----------
    holds : bool
        Whether every deciding criterion is met.
    criteria : tuple of Criterion
        The criteria of the fluid, the ground side and the heat pump.
    deciding : Criterion or None
        The deciding criterion with the smallest margin; None if there is none. Distances that are kept are
        never this one.
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
            The engine's judgement.
        """
        criteria = tuple(map(Criterion.of_engine, found["criteria"]))
        place = found["deciding"]
        return cls(found["holds"], criteria, None if place is None else criteria[place])

    def with_distances(self, distances: Sequence[Criterion]) -> Judgement:
        """Return the judgement with criteria of the place of the loop, which are the same in all hours.

        Parameters
        ----------
        distances : sequence of Criterion
            The criteria.
        """
        if not distances:
            return self
        broken = [each for each in distances if not each.holds]
        first = min(
            (each for each in (self.deciding, *broken) if each is not None),
            key=lambda each: each.rank,
            default=None,
        )
        return Judgement(self.holds and not broken, (*self.criteria, *distances), first)

    @property
    def rank(self) -> float:
        """Rank of the deciding criterion [K or equivalent]; infinite if there is none."""
        return math.inf if self.deciding is None else self.deciding.rank

    @property
    def broken(self) -> tuple[Criterion, ...]:
        """The deciding criteria that are broken."""
        return tuple(each for each in self.criteria if each.decides and not each.holds)

    def __getitem__(self, name: str) -> Criterion | None:
        """The criterion of a given name; None if it doesn't apply to the run."""
        return next((each for each in self.criteria if each.name == name), None)
