"""Which cases a study has, in what portions they are run, and what makes it the same study again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.design import Design
from loopdrift.errors import InvalidInput
from loopdrift.hydraulics import Piping
from loopdrift.loads import Loads
from loopdrift.part import Part
from loopdrift.study.variation import Variable, varied

CASE_YEARS = 10_000
"""Years of all cases of a portion together: a second or so of work, worth sending to another machine."""

Indices = NDArray[np.intp]


@dataclass(frozen=True)
class Axis:
    """One thing that varies, and the values that it takes.

    Parameters
    ----------
    name : str
        What the study calls it.
    variable : Variable
        What it is in the design.
    values : list
        The values, as the design takes them.
    labels : numpy.ndarray
        The values as coordinates: numbers in SI, or what names them.
    """

    name: str
    variable: Variable
    values: list[Any]
    labels: NDArray[Any]


@dataclass(frozen=True)
class Found:
    """What was found for some cases.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    yearly : dict of str to numpy.ndarray
        Columns of shape (cases, years); NaN where a case failed.
    by_case : dict of str to numpy.ndarray
        Columns of shape (cases,).
    """

    cases: Indices
    yearly: dict[str, NDArray[np.float64]]
    by_case: dict[str, NDArray[Any]]


@dataclass(frozen=True)
class Portion:
    """Cases that are run at one go, with all that this takes; goes to other processes.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    base : dict
        The design that they vary, as the engine reads it.
    parts : dict of str to list
        The varied fields of the design, each in all its variants.
    which : dict of str to numpy.ndarray
        The variant of each case.
    loads : Loads
        What the building asks for.
    years : int
        Horizon.
    refused : dict of int to str
        Places in `cases` that can't be run, and why.
    """

    cases: Indices
    base: dict[str, Any]
    parts: dict[str, list[Any]]
    which: dict[str, Indices]
    loads: Loads
    years: int
    refused: dict[int, str]

    def run(self, progress: Callable[[int], object] | None = None) -> Found:
        """Run the cases over all cores, without the interpreter."""
        places = np.array([place for place in range(len(self.cases)) if place not in self.refused], dtype=int)
        which = {field: of_case[places].tolist() for field, of_case in self.which.items()}
        loads = self.loads.for_engine()
        yearly, by_case, failures = _core.run_cases(
            self.base, self.parts, which, len(places), loads, self.years, progress
        )
        count = len(self.cases)
        reasons = np.full(count, "", dtype=object)
        for place, reason in self.refused.items():
            reasons[place] = reason
        reasons[places] = [failure or "" for failure in failures]

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
    """Run a portion: what other processes are asked to do."""
    return portion.run()


class Plan:
    """The cases of a study, made ready for the engine.

    Parameters
    ----------
    design : Design
        The design that they vary.
    axes : list of Axis
        What varies.
    which : numpy.ndarray, shape (cases, axes)
        Place of each case's value on each axis.
    years : int
        Horizon.
    """

    def __init__(self, design: Design, axes: list[Axis], which: Indices, years: int) -> None:
        self.axes = axes
        self.which = which
        self.years = years
        self._base = design.for_engine()
        self._loads = [design.loads]
        self._parts: dict[str, list[Any]] = {}
        made: dict[str, list[Any]] = {}
        self._of_case: dict[str, Indices] = {"loads": np.zeros(len(which), dtype=np.intp)}
        self._refused: dict[int, str] = {}
        fields = dict.fromkeys(axis.variable.names[0] for axis in axes)
        for field in fields:
            made[field] = self._vary(design, field)
        if design.piping is not None and design.pump_power_follows and "pump_power" not in made:
            self._follow(design, design.piping, made)

    def _vary(self, design: Design, field: str) -> list[Any]:
        """Make each variant of a field of the design once."""
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
        if field == "loads":
            self._loads = made
        else:
            self._parts[field] = [part.for_engine() if isinstance(part, Part) else part for part in made]
        return made

    def _follow(self, design: Design, piping: Piping, made: dict[str, list[Any]]) -> None:
        """Let the pump's power follow from the piping for each variant of what it depends on."""
        fields = [name for name in ("ground_side", "fluid", "flow", "limits") if name in made]
        if not fields:
            return
        of_fields = np.column_stack([self._of_case[name] for name in fields])
        variants, of_case = np.unique(of_fields, axis=0, return_inverse=True)
        of_case = of_case.reshape(-1)
        powers = []
        for variant, places in enumerate(variants):
            chosen = {name: made[name][place] for name, place in zip(fields, places, strict=True)}
            try:
                powers.append(piping.design_power(**(_piped(design) | chosen)))
            except InvalidInput as error:
                powers.append(design.pump_power)
                cases = np.flatnonzero(of_case == variant).tolist()
                self._refused = dict.fromkeys(cases, str(error)) | self._refused
        self._parts["pump_power"], self._of_case["pump_power"] = powers, of_case

    @property
    def count(self) -> int:
        """Number of cases."""
        return len(self.which)

    def portions(self) -> Iterator[Portion]:
        """Yield the cases in portions, those together that share a field's step response and loads."""
        length = max(1, CASE_YEARS // self.years)
        nothing = np.zeros(self.count, dtype=np.intp)
        order = np.lexsort((self._of_case.get("ground_side", nothing), self._of_case["loads"]))
        for loads, cases in _runs(order, self._of_case["loads"]):
            for first in range(0, len(cases), length):
                yield self._portion(cases[first : first + length], self._loads[loads])

    def _portion(self, cases: Indices, loads: Loads) -> Portion:
        parts, which = {}, {}
        for field, variants in self._parts.items():
            used, which[field] = np.unique(self._of_case[field][cases], return_inverse=True)
            parts[field] = [variants[variant] for variant in used]
        refused = {
            place: self._refused[case] for place, case in enumerate(cases.tolist()) if case in self._refused
        }
        return Portion(cases, self._base, parts, which, loads, self.years, refused)

    def identity(self) -> str:
        """Return a text that is the same for the same study with the same engine only."""
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
        for loads in self._loads:
            for series in loads.for_engine().values():
                digest.update(series.tobytes())
        return digest.hexdigest()


def _piped(design: Design) -> dict[str, Any]:
    """Return what the power of a design's pump depends on."""
    return {name: getattr(design, name) for name in ("ground_side", "fluid", "flow", "limits")}


def _runs(order: Indices, keys: Indices) -> Iterator[tuple[int, Indices]]:
    """Yield each key with the cases that have it, in order."""
    sorted_keys = keys[order]
    edges = np.flatnonzero(np.diff(sorted_keys)) + 1
    for cases in np.split(order, edges):
        if len(cases):
            yield int(keys[cases[0]]), cases
