"""Loads of the years so far, from the heat or the electricity that was measured."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.learning.plant_log import PlantLog
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, hour_of_calendar_year
from loopdrift.model.design import Design

Numbers = NDArray[np.float64]

_SERIES = ("heating", "cooling", "hot_water")
_ROUNDS = 3
_LEAST = 1e-3
"""Mean power below which a step has no heat [W]."""


def with_history(design: Design, log: PlantLog) -> Design:
    """Return the design with loads scaled so that its run has the measured heat or electricity.

    In each step of the log, the loads of the design are multiplied so that the run extracts the measured heat
    (or takes the measured electricity): hours keep their shape within a step. Where a step has both heating
    and cooling, both change as little as they can; where the design has no load of the kind that was
    measured, the heat is spread evenly over the step. Heat takes precedence where both were measured. Steps
    without a measurement, and the years to come, have the design's loads times the mean ratio of the steps
    that have one.

    Parameters
    ----------
    design : Design
        The design.
    log : PlantLog
        The log; without heat and electricity the design is returned as it is.

    Raises
    ------
    InvalidInput
        If no measured step overlaps with loads.
    """
    measured = log.heat if log.heat is not None else log.electricity
    if measured is None:
        return design
    steps = _Steps(design, log, np.asarray(measured))
    loads = {name: steps.of_run(getattr(design.loads, name)) for name in _SERIES}
    given = {name: series.copy() for name, series in loads.items()}
    for _ in range(_ROUNDS):
        found = steps.design(loads).run(steps.years).hourly
        if log.heat is not None:
            _fit_heat(steps, loads, found["heat_extracted_W"].to_numpy())
        else:
            _fit_electricity(steps, loads, found["electricity_W"].to_numpy())
    inside = steps.inside
    for name, series in loads.items():
        of_design = float(given[name][inside].sum())
        if of_design > 0.0:
            series[~inside] = given[name][~inside] * float(series[inside].sum()) / of_design
    return steps.design(loads)


class _Steps:
    """The hours of each step that has a measurement."""

    def __init__(self, design: Design, log: PlantLog, measured: Numbers) -> None:
        self._design = design
        known = np.isfinite(measured)
        begins = log.hours(design.start_month)[known]
        width = float(log.step or 1.0)
        last = float(begins[-1] + width) if begins.size else 0.0
        self.years = max(int(np.ceil(last / HOURS_PER_YEAR - 1e-9)), 1)
        count = self.years * HOURS_PER_YEAR
        # Steps shorter than an hour are averaged to hours.
        first = np.floor(begins + 1e-6).astype(np.intp)
        hours_each = max(round(width), 1)
        first, which = np.unique(first, return_inverse=True)
        self.measured = np.bincount(which, measured[known]) / np.bincount(which)
        self.of_hour = np.full(count, -1, dtype=np.intp)
        for later in range(hours_each):
            at = first + later
            self.of_hour[at[at < count]] = np.flatnonzero(at < count)
        self.inside = self.of_hour >= 0
        if not self.inside.any():
            allowed = "must have at least one known value"
            raise InvalidInput("PlantLog", "heat", "none", "W", allowed)

    def of_run(self, series: Numbers) -> Numbers:
        """Return a series of loads by the hours of the run [W]."""
        hours = hour_of_calendar_year(self._design.start_month) + np.arange(self.inside.size)
        return series.take(hours, mode="wrap")

    def design(self, loads: dict[str, Numbers]) -> Design:
        """Return the design with loads by the hours of the run."""
        shift = hour_of_calendar_year(self._design.start_month)
        years = self.inside.size // HOURS_PER_YEAR
        of_calendar = {name: np.roll(series, shift) for name, series in loads.items()}
        recharge = np.resize(self._design.loads.recharge, years * HOURS_PER_YEAR)
        changed = self._design.loads.with_series(**of_calendar, recharge=recharge)
        return self._design.replace(loads=changed)

    def mean(self, series: Numbers) -> Numbers:
        """Return the mean of a series in each step."""
        of = self.of_hour[self.inside]
        count = np.maximum(np.bincount(of, minlength=self.measured.size), 1)
        return np.bincount(of, series[self.inside], minlength=self.measured.size) / count

    def spread(self, factors: Numbers) -> Numbers:
        """Return the number of each step by hours, 1 elsewhere."""
        found = np.ones(self.of_hour.size)
        found[self.inside] = factors[self.of_hour[self.inside]]
        return found


def _fit_heat(steps: _Steps, loads: dict[str, Numbers], heat: Numbers) -> None:
    """Change loads towards those that extract the measured heat."""
    extracted, rejected = steps.mean(np.maximum(heat, 0.0)), steps.mean(np.maximum(-heat, 0.0))
    missing = steps.measured - (extracted - rejected)
    square = np.maximum(extracted**2 + rejected**2, _LEAST**2)
    more = np.maximum(1.0 + missing * extracted / square, 0.0)
    less = np.maximum(1.0 - missing * rejected / square, 0.0)
    ratio = {"heating": _ratio(loads["heating"] + loads["hot_water"], np.maximum(heat, 0.0), 1.3)}
    ratio["cooling"] = _ratio(loads["cooling"], np.maximum(-heat, 0.0), 0.8)
    left = steps.measured - (more * extracted - less * rejected)
    for name in ("heating", "hot_water"):
        loads[name] *= steps.spread(more)
    loads["cooling"] *= steps.spread(less)
    # What scaling the loads can't reach.
    left[np.abs(left) < 1e-3 * np.abs(steps.measured) + _LEAST] = 0.0
    spread = np.where(steps.inside, steps.spread(left), 0.0)
    loads["heating"] += ratio["heating"] * np.maximum(spread, 0.0)
    loads["cooling"] += ratio["cooling"] * np.maximum(-spread, 0.0)


def _fit_electricity(steps: _Steps, loads: dict[str, Numbers], power: Numbers) -> None:
    """Change loads towards those that take the measured electricity."""
    taken = steps.mean(power)
    factors = np.where(taken > _LEAST, steps.measured / np.maximum(taken, _LEAST), 1.0)
    for name in _SERIES:
        loads[name] *= steps.spread(factors)


def _ratio(load: Numbers, heat: Numbers, usual: float) -> float:
    """Return loads over heat from or to the ground [-]; a usual value where there is none."""
    total = float(heat.sum())
    return float(load[heat > 0.0].sum()) / total if total > 0.0 else usual
