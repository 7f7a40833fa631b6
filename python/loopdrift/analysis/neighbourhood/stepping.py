"""One round: all plants, each stepped through its own hours, many side by side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.neighbourhood.ladder import INTERVAL, INTERVALS_PER_YEAR
from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.basics.errors import FluidFreezes, InvalidInput
from loopdrift.model.columns import YEARLY
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.warming import Warming

Table = NDArray[np.float64]
Indices = NDArray[np.intp]

_AT_ONCE = 128
"""Plants that are handed to the engine together."""

YEARLY_COLUMNS = tuple(name for name, column in YEARLY.items() if not column.only)
"""Columns by year that every field of bores has."""


@dataclass
class Found:
    """What a round found, for plants in their order.

    Parameters
    ----------
    heat : numpy.ndarray, shape (plants, intervals)
        Mean heat extracted in each interval of the horizon [W]; 0 where a plant doesn't run.
    yearly : dict of str to numpy.ndarray, shape (plants, years)
        Columns of the yearly table; NaN in years in which a plant doesn't run.
    by_plant : dict of str to numpy.ndarray
        Margin, and where it is smallest; the year counts from the plant's first.
    failures : dict of int to str
        Why a plant's fluid freezes.
    """

    heat: Table
    yearly: dict[str, Table]
    by_plant: dict[str, NDArray[Any]]
    failures: dict[int, str]

    @classmethod
    def nothing(cls, plants: int, years: int) -> Found:
        """Return that of plants which haven't run."""
        return cls(
            heat=np.zeros((plants, years * INTERVALS_PER_YEAR)),
            yearly={name: np.full((plants, years), np.nan) for name in YEARLY_COLUMNS},
            by_plant={
                "margin_K": np.full(plants, np.nan),
                "deciding_limit": np.full(plants, "", dtype=object),
            },
            failures={},
        )

    def copy(self) -> Found:
        """Return one whose arrays are its own."""
        return Found(
            self.heat.copy(),
            {name: column.copy() for name, column in self.yearly.items()},
            {name: column.copy() for name, column in self.by_plant.items()},
            dict(self.failures),
        )


class Town:
    """Plants as the engine steps them.

    Parameters
    ----------
    plants : mapping of str to Plant
        The plants by name.
    ground : Ground
        The ground of all.
    years : int
        The horizon.
    """

    def __init__(self, plants: Mapping[str, Plant], ground: Ground, years: int) -> None:
        self.names = list(plants)
        self.ground = ground
        self.years = years
        self._plants = list(plants.values())
        self.running = [plant.years_until(years) for plant in self._plants]
        self._base = self._plants[0].design.for_engine() | {"ground": ground.for_engine()}

    def step(
        self,
        which: Indices,
        drops: Table | None,
        into: Found,
        progress: Callable[[int], object] | None = None,
    ) -> None:
        """Step some of the plants through all their hours.

        Parameters
        ----------
        which : numpy.ndarray
            The plants.
        drops : numpy.ndarray, shape (plants, intervals + 1), or None
            How far neighbours lower the temperature along each plant's bores [K], for all plants; None if
            they don't.
        into : Found
            Takes the results.
        progress : callable, optional
            Called with the number of plants done.

        Raises
        ------
        InvalidInput
            If a plant can't be run; a fluid that freezes is a result.
        """
        by_years: defaultdict[int, list[int]] = defaultdict(list)
        for place in which.tolist():
            if self.running[place]:
                by_years[len(self.running[place])].append(place)
        done = 0
        for years, places in sorted(by_years.items()):
            for first in range(0, len(places), _AT_ONCE):
                few = places[first : first + _AT_ONCE]

                def tell(count: int, before: int = done) -> None:
                    if progress is not None:
                        progress(before + count)

                self._step_few(few, years, drops, into, tell)
                done += len(few)
        if progress is not None:
            progress(len(which))

    def _step_few(
        self,
        places: Sequence[int],
        years: int,
        drops: Table | None,
        into: Found,
        progress: Callable[[int], object],
    ) -> None:
        plants = [self._plants[place] for place in places]
        parts, which = self._parts(plants)
        if drops is not None or self.ground.warming is not None:
            parts["ground"] = [self._moved(place, years, drops) for place in places]
            which["ground"] = list(range(len(places)))
        series, series_of = _once(plants, lambda plant: id(plant.design), lambda plant: plant.design.demand)
        demands, demand_of = _once(
            list(zip(series_of, plants, strict=True)),
            lambda pair: (pair[0], pair[1].loads_scale),
            lambda pair: (pair[0], pair[1].scales),
        )
        (yearly, by_case, failures), heat = _core.run_neighbours(
            self._base, parts, which, series, demands, demand_of, years, INTERVAL, progress
        )
        for row, (place, failure) in enumerate(zip(places, failures, strict=True)):
            if isinstance(failure, FluidFreezes):
                into.failures[place] = str(failure)
            elif failure is not None:
                self._refuse(place, failure)
            else:
                into.failures.pop(place, None)
            start = self.running[place].start - 1
            for name in YEARLY_COLUMNS:
                into.yearly[name][place, start : start + years] = yearly[name][row]
            into.by_plant["margin_K"][place] = by_case["margin_K"][row]
            into.by_plant["deciding_limit"][place] = by_case["deciding_limit"][row]
            interval = start * INTERVALS_PER_YEAR
            into.heat[place, interval : interval + years * INTERVALS_PER_YEAR] = heat[row]

    def _refuse(self, place: int, failure: Exception) -> None:
        name = self.names[place]
        if isinstance(failure, InvalidInput):
            field = f"plants[{name!r}].{failure.field}"
            raise InvalidInput("Neighbourhood", field, failure.value, failure.unit, failure.allowed)
        raise failure

    def _parts(self, plants: Sequence[Plant]) -> tuple[dict[str, list[Any]], dict[str, list[int]]]:
        """Return the parts of designs as the engine reads them, each once, and those of each plant."""
        parts: dict[str, list[Any]] = {}
        which: dict[str, list[int]] = {}
        for name in ("fluid", "heat_pump", "limits"):
            parts[name], which[name] = _once(
                [getattr(plant.design, name) for plant in plants], id, lambda part: part.for_engine()
            )
        parts["ground_side"], which["ground_side"] = _once(
            [plant.field for plant in plants], id, lambda field: field.for_engine()
        )
        for name in ("flow", "pump_power", "pump_stops", "start_month"):
            parts[name], which[name] = _once(
                [getattr(plant.design, name) for plant in plants], lambda value: value, lambda value: value
            )
        return parts, which

    def _moved(self, place: int, years: int, drops: Table | None) -> dict[str, Any]:
        """Return the ground of a plant as its neighbours and a warming change it, from its first hour on."""
        first = (self.running[place].start - 1) * INTERVALS_PER_YEAR
        own = slice(first, first + years * INTERVALS_PER_YEAR + 1)
        change = np.zeros(own.stop - own.start) if drops is None else -drops[place, own]
        if self.ground.warming is not None:
            change += self.ground.warming.at(float(INTERVAL) * np.arange(own.start, own.stop))
        return self.ground.replace(warming=Warming(values=change, interval=float(INTERVAL))).for_engine()


def _once(
    things: Sequence[Any], key: Callable[[Any], Hashable], make: Callable[[Any], Any]
) -> tuple[list[Any], list[int]]:
    """Make each thing with a key of its own once; return what was made and its place for each thing."""
    made: list[Any] = []
    known: dict[Hashable, int] = {}
    places = []
    for thing in things:
        at = key(thing)
        if at not in known:
            known[at] = len(made)
            made.append(make(thing))
        places.append(known[at])
    return made, places
