"""A study prepared for the engine: its cases in an order, cut into portions that are made one at a time."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from loopdrift import _core
from loopdrift.analysis.study.planning.axis import Axis
from loopdrift.analysis.study.planning.demands import MET, Demands
from loopdrift.analysis.study.planning.portion import Portion
from loopdrift.analysis.study.planning.variants import Indices, Variants, of_some, together
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Part
from loopdrift.model.clearance import criteria
from loopdrift.model.columns import YEARLY
from loopdrift.model.design import Design
from loopdrift.parts.digest import add_to
from loopdrift.parts.ground_side import GroundSide
from loopdrift.parts.hydraulics import Piping
from loopdrift.parts.site_plan import SitePlan

CASE_YEARS = 10_000
"""Total years of the cases in a portion: about a second of work, worth sending to another machine."""

CASES = 1000
"""Most cases in a portion: each takes some 30 kB while it runs, however few its years."""

SERIES = 16
"""Demands with series of their own in a portion, each of about half a megabyte for each year of loads."""

_PIPED = ("ground_side", "fluid", "flow", "limits")
"""Fields that the power of a design's pump depends on."""


class Plan:
    """The cases of a study, prepared for the engine.

    Only numbers of cases and variants are kept for all cases. What the engine reads is made for one portion
    at a time.

    Parameters
    ----------
    design : Design
        The base design.
    axes : list of Axis
        The parameters that vary.
    which : numpy.ndarray, shape (cases, axes)
        Index of each case's value on each axis.
    years : int
        Horizon.
    is_grid : bool, default False
        Whether the cases are all combinations of the values, in their order.
    """

    def __init__(
        self, design: Design, axes: list[Axis], which: Indices, years: int, *, is_grid: bool = False
    ) -> None:
        self.axes = axes
        self.is_grid = is_grid
        self.which = which
        self.years = years
        self.project = design.project
        self._design = design
        self._base = design.for_engine()
        self._fields: dict[str, Variants] = {}
        for field in dict.fromkeys(axis.variable.names[0] for axis in axes):
            columns = [place for place, axis in enumerate(axes) if axis.variable.names[0] == field]
            self._fields[field] = Variants(
                design, field, [axes[column] for column in columns], which[:, columns]
            )
        self._demands = Demands(design, axes, which, self._fields)
        self._order, self._edges = self._portioned()

    @property
    def count(self) -> int:
        """Number of cases."""
        return len(self.which)

    @property
    def dimensions(self) -> list[str]:
        """Names of the dimensions of the cases."""
        return [axis.name for axis in self.axes] if self.is_grid else ["case"]

    @property
    def portions(self) -> int:
        """Number of portions."""
        return len(self._edges) - 1

    @property
    def yearly(self) -> list[str]:
        """Names of the columns by year that any case can have."""
        own = [axis.values for axis in self.axes if axis.variable.path == "ground_side"]
        sides = own[0] if own else [self._design.ground_side]
        kinds = {side.for_engine().get("kind") for side in sides if isinstance(side, Part)}
        return [name for name, column in YEARLY.items() if not column.only or column.only in kinds]

    def _portioned(self) -> tuple[Indices, Indices]:
        """Return the cases in order of shared loads and step responses, and where each portion begins."""
        demand = self._demands.of_case
        side = self._fields.get("ground_side")
        order = np.lexsort((demand,) if side is None else (side.of_case, demand))
        length = max(1, min(CASES, CASE_YEARS // self.years))
        if not self._demands.differ:
            return order, np.append(np.arange(0, self.count, length), self.count)
        starts = np.flatnonzero(np.diff(demand[order], prepend=-1))
        edges = [0]
        for start in [*starts[SERIES::SERIES].tolist(), self.count]:
            edges += [*range(edges[-1] + length, start, length), start]
        return order, np.array(edges)

    def cases(self, number: int) -> Indices:
        """Return the numbers of the cases in a portion."""
        return self._order[self._edges[number] : self._edges[number + 1]]

    def portion(self, number: int, cache: str | None = None) -> Portion:
        """Make a portion.

        Parameters
        ----------
        number : int
            Its number, from 0.
        cache : str, optional
            Folder in which step responses are cached.
        """
        cases = self.cases(number)
        refused: dict[int, str] = {}
        parts: dict[str, list[Any]] = {}
        which: dict[str, Indices] = {}

        def make(of: Callable[[int], Any], of_case: Indices) -> tuple[list[Any], Indices]:
            """Make variants; of several reasons to refuse a case, the first counts."""
            made, places, unfit = of_some(of, of_case[cases])
            refused.update(unfit | refused)
            return made, places

        for field, variants in self._fields.items():
            if field not in MET:
                parts[field], which[field] = make(variants.form, variants.of_case)
            elif not self._demands.are_scaled:
                make(variants.part, variants.of_case)
        piping = self._design.piping
        if piping is not None and self._design.pump_power_follows and "pump_power" not in self._fields:
            named = [name for name in _PIPED if name in self._fields]
            if named:
                power, of_case = self._power(piping, named)
                parts["pump_power"], which["pump_power"] = make(power, of_case)
        series, of_series = (
            make(self._demands.series, self._demands.of_case)
            if self._demands.differ
            else (
                [self._design.demand],
                np.zeros(len(cases), dtype=np.intp),
            )
        )
        scales, of_scales = make(self._demands.scales, self._demands.of_case)
        demand_of_case, pairs = together([of_series, of_scales])
        demands = [(int(place), scales[scale] if scales else ()) for place, scale in pairs.tolist()]
        near, years, of_case = self._too_near(cases), self.years, demand_of_case
        return Portion(cases, self._base, parts, which, series, demands, of_case, years, refused, cache, near)

    def _too_near(self, cases: Indices) -> Indices:
        """Return how many distances of the site each case doesn't keep; 0 where the field is refused."""
        variants = self._fields.get("ground_side")
        site, found = self._design.site, np.zeros(len(cases), dtype=np.intp)
        if site is None or not site.requires_distances:
            return found
        if variants is None:
            return found + _broken(site, self._design.ground_side)
        number, places = np.unique(variants.of_case[cases], return_inverse=True)
        counts = np.zeros(len(number), dtype=np.intp)
        for place, variant in enumerate(number.tolist()):
            with contextlib.suppress(InvalidInput):
                counts[place] = _broken(site, variants.part(variant))
        return counts[places]

    def _power(self, piping: Piping, named: list[str]) -> tuple[Callable[[int], float], Indices]:
        """Return the pump's power for each combination of variants of some fields, and that of each case."""
        of_case, places = together([self._fields[name].of_case for name in named])
        own = {name: getattr(self._design, name) for name in _PIPED}

        def power(combination: int) -> float:
            chosen = zip(named, places[combination].tolist(), strict=True)
            return piping.design_power(
                **(own | {name: self._fields[name].part(place) for name, place in chosen})
            )

        return power, of_case

    def __iter__(self) -> Iterator[Portion]:
        return map(self.portion, range(self.portions))

    def identity(self) -> str:
        """Return a digest that identifies the study and the version of the engine."""
        digest = hashlib.sha256()
        design = self._design
        add_to(digest, [_core.VERSION, self.years, CASE_YEARS, CASES, SERIES, self._base, design.demand])
        add_to(digest, [getattr(design, name) for name in (*MET, "piping")])
        if design.site is not None and design.site.requires_distances:
            add_to(digest, [design.site, [np.asarray(path) for path in design.ground_side.paths]])
        for axis in self.axes:
            add_to(digest, [axis.name, axis.variable.path, axis.values, axis.labels])
        add_to(digest, self.which)
        return digest.hexdigest()


def _broken(site: SitePlan | None, side: GroundSide) -> int:
    """Return the number of distances of a site that a loop doesn't keep."""
    return sum(not each.holds for each in criteria(site, side))
