"""The cases of a study, the portions in which they are run, and the study's identity."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.variation import Variable, varied
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Part
from loopdrift.basics.series import Series
from loopdrift.model.design import Design, meet
from loopdrift.parts.hydraulics import Piping

CASE_YEARS = 10_000
"""Total years of the cases in a portion: about a second of work, worth sending to another machine."""

Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Axis:
    """A parameter that varies, and its values.

    Parameters
    ----------
    name : str
        Its name in the study.
    variable : Variable
        Its meaning in the design.
    values : list
        The values, as the design takes them.
    labels : numpy.ndarray
        The values as coordinates: numbers in SI, or labels.
    """

    name: str
    variable: Variable
    values: list[Any]
    labels: NDArray[Any]


@dataclass(frozen=True)
class Found:
    """Results of some cases.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    yearly : dict of str to numpy.ndarray
        Columns of shape (cases, years); NaN for failed cases.
    by_case : dict of str to numpy.ndarray
        Columns of shape (cases,).
    """

    cases: Indices
    yearly: dict[str, NDArray[np.float64]]
    by_case: dict[str, NDArray[Any]]


_MET = ("loads", "distribution", "hot_water")
"""Fields of a design that act through the demand on the heat pump."""


@dataclass(frozen=True)
class Portion:
    """Cases that are run together, with everything that the run needs; sent to other processes.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    base : dict
        The base design, as the engine reads it.
    parts : dict of str to list
        The varied fields of the design, with all variants of each.
    which : dict of str to numpy.ndarray
        The variant of each case.
    demand : dict of str to numpy.ndarray
        Hourly series of the demand on the heat pump, by name.
    years : int
        Horizon.
    refused : dict of int to str
        Indices in `cases` that can't be run, and why.
    cache : str or None
        Folder in which step responses are cached.
    """

    cases: Indices
    base: dict[str, Any]
    parts: dict[str, list[Any]]
    which: dict[str, Indices]
    demand: dict[str, Series]
    years: int
    refused: dict[int, str]
    cache: str | None

    def run(self, progress: Callable[[int], object] | None = None) -> Found:
        """Run the cases on all cores, without the interpreter lock."""
        places = np.array([place for place in range(len(self.cases)) if place not in self.refused], dtype=int)
        which = {field: of_case[places].tolist() for field, of_case in self.which.items()}
        yearly, by_case, failures = _core.run_cases(
            self.base, self.parts, which, len(places), self.demand, self.years, self.cache, progress
        )
        count = len(self.cases)
        reasons = np.full(count, "", dtype=object)
        for place, reason in self.refused.items():
            reasons[place] = reason
        reasons[places] = ["" if failure is None else str(failure) for failure in failures]

        def spread(column: Any) -> NDArray[Any]:
            if isinstance(column, list):
                everywhere = np.full(count, "", dtype=object)
            else:
                everywhere = np.full((count, *column.shape[1:]), np.nan)
            everywhere[places] = column
            return everywhere

        return Found(
            self.cases,
            {name: spread(column) for name, column in yearly.items()},
            {"failure": reasons} | {name: spread(column) for name, column in by_case.items()},
        )


def run_portion(portion: Portion) -> Found:
    """Run a portion; called in other processes."""
    return portion.run()


class Plan:
    """The cases of a study, prepared for the engine.

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
    """

    def __init__(self, design: Design, axes: list[Axis], which: Indices, years: int) -> None:
        self.axes = axes
        self.which = which
        self.years = years
        self.project = design.project
        self._base = design.for_engine()
        self._demands = [design.demand]
        self._parts: dict[str, list[Any]] = {}
        made: dict[str, list[Any]] = {}
        self._of_case: dict[str, Indices] = {"demand": np.zeros(len(which), dtype=np.intp)}
        self._refused: dict[int, str] = {}
        fields = dict.fromkeys(axis.variable.names[0] for axis in axes)
        for field in fields:
            made[field] = self._vary(design, field)
        if design.piping is not None and design.pump_power_follows and "pump_power" not in made:
            self._follow(design, design.piping, made)
        self._meet(design, made)

    def _vary(self, design: Design, field: str) -> list[Any]:
        """Create each variant of a field of the design once."""
        columns = [place for place, axis in enumerate(self.axes) if axis.variable.names[0] == field]
        variants, of_case = np.unique(self.which[:, columns], axis=0, return_inverse=True)
        of_case = of_case.reshape(-1)
        made: list[Any] = []
        for variant, places in enumerate(variants):
            chosen = [self.axes[column] for column in columns]
            changes = {
                axis.variable.path: axis.values[place] for axis, place in zip(chosen, places, strict=True)
            }
            try:
                made.append(varied(design, field, changes))
            except InvalidInput as error:
                made.append(getattr(design, field))
                self._refused |= dict.fromkeys(np.flatnonzero(of_case == variant).tolist(), str(error))
        self._of_case[field] = of_case
        if field not in _MET:
            self._parts[field] = [part.for_engine() if isinstance(part, Part) else part for part in made]
        return made

    def _follow(self, design: Design, piping: Piping, made: dict[str, list[Any]]) -> None:
        """Compute the pump's power from the piping for each variant of the fields that it depends on."""

        def power(chosen: dict[str, Any]) -> float:
            return piping.design_power(**(_piped(design) | chosen))

        fields = [name for name in ("ground_side", "fluid", "flow", "limits") if name in made]
        if fields:
            powers, of_case = self._together(fields, made, power, otherwise=design.pump_power)
            self._parts["pump_power"], self._of_case["pump_power"] = powers, of_case

    def _meet(self, design: Design, made: dict[str, list[Any]]) -> None:
        """Compute the demand on the heat pump for each variant of the fields that it depends on."""
        own = {name: getattr(design, name) for name in _MET}
        has_plant = any(own[name] is not None or name in made for name in ("distribution", "hot_water"))
        fields = [name for name in (*_MET, *(["heat_pump"] if has_plant else [])) if name in made]

        def demand(chosen: dict[str, Any]) -> dict[str, Series]:
            return meet(**({"heat_pump": design.heat_pump} | own | chosen))[0]

        if fields:
            found = self._together(fields, made, demand, otherwise=design.demand)
            self._demands, self._of_case["demand"] = found

    def _together(
        self,
        fields: Sequence[str],
        made: dict[str, list[Any]],
        find: Callable[[dict[str, Any]], Any],
        otherwise: Any,
    ) -> tuple[list[Any], Indices]:
        """Return the value for each combination of variants of some fields, and the combination of each case.

        A case whose value can't be computed is refused and gets `otherwise`.
        """
        of_fields = np.column_stack([self._of_case[name] for name in fields])
        variants, of_case = np.unique(of_fields, axis=0, return_inverse=True)
        of_case = of_case.reshape(-1)
        found = []
        for variant, places in enumerate(variants):
            chosen = {name: made[name][place] for name, place in zip(fields, places, strict=True)}
            try:
                found.append(find(chosen))
            except InvalidInput as error:
                found.append(otherwise)
                cases = np.flatnonzero(of_case == variant).tolist()
                self._refused = dict.fromkeys(cases, str(error)) | self._refused
        return found, of_case

    @property
    def count(self) -> int:
        """Number of cases."""
        return len(self.which)

    def portions(self, cache: str | None = None) -> Iterator[Portion]:
        """Yield the cases in portions, grouped by shared step response and loads.

        Parameters
        ----------
        cache : str, optional
            Folder in which step responses are cached.
        """
        length = max(1, CASE_YEARS // self.years)
        nothing = np.zeros(self.count, dtype=np.intp)
        order = np.lexsort((self._of_case.get("ground_side", nothing), self._of_case["demand"]))
        for demand, cases in _runs(order, self._of_case["demand"]):
            for first in range(0, len(cases), length):
                yield self._portion(cases[first : first + length], self._demands[demand], cache)

    def _portion(self, cases: Indices, demand: dict[str, Series], cache: str | None) -> Portion:
        parts, which = {}, {}
        for field, variants in self._parts.items():
            used, which[field] = np.unique(self._of_case[field][cases], return_inverse=True)
            parts[field] = [variants[variant] for variant in used]
        refused = {
            place: self._refused[case] for place, case in enumerate(cases.tolist()) if case in self._refused
        }
        return Portion(cases, self._base, parts, which, demand, self.years, refused, cache)

    def identity(self) -> str:
        """Return a digest that identifies the study and the version of the engine."""
        digest = hashlib.sha256()
        plain = {
            "engine": _core.VERSION,
            "base": self._base,
            "parts": self._parts,
            "of_case": {field: of_case.tolist() for field, of_case in self._of_case.items()},
            "refused": self._refused,
            "axes": [(axis.name, axis.labels.tolist()) for axis in self.axes],
            "which": self.which.tolist(),
            "years": self.years,
            "case_years": CASE_YEARS,
        }
        digest.update(json.dumps(plain, sort_keys=True).encode())
        for demand in self._demands:
            for name, series in sorted(demand.items()):
                digest.update(name.encode())
                digest.update(series.tobytes())
        return digest.hexdigest()


def _piped(design: Design) -> dict[str, Any]:
    """Return the fields that the power of a design's pump depends on."""
    return {name: getattr(design, name) for name in ("ground_side", "fluid", "flow", "limits")}


def _runs(order: Indices, keys: Indices) -> Iterator[tuple[int, Indices]]:
    """Yield each key with its cases, in order."""
    sorted_keys = keys[order]
    edges = np.flatnonzero(np.diff(sorted_keys)) + 1
    for cases in np.split(order, edges):
        if len(cases):
            yield int(keys[cases[0]]), cases
