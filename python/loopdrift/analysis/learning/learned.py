"""Ground and bore resistance from a plant's log."""

from __future__ import annotations

import functools
import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.learning import charts
from loopdrift.analysis.learning.fit import Fitted, fit
from loopdrift.analysis.learning.forecast import Forecast, forecast
from loopdrift.analysis.learning.history import with_history
from loopdrift.analysis.learning.intervals import Intervals, intervals
from loopdrift.analysis.learning.plant_log import PlantLog
from loopdrift.analysis.learning.unknowns import (
    OFFSET,
    USUAL,
    Unknown,
    first_value,
    nuisances,
    unknowns_of,
    with_values,
)
from loopdrift.analysis.study import Samples
from loopdrift.basics import notebook
from loopdrift.basics.both_units import fahrenheit
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import require
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.design import Design
from loopdrift.model.progress import Progress, Reporting

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.ground_sides.finding import Finding

Numbers = NDArray[np.float64]

LOAD_ERROR = 0.1
MEASURED_ERROR = 0.03
SENSOR_ERROR = 0.2
"""Standard errors unless they are given: of assumed loads, of measured heat or electricity, as shares of them
[-], and of the sensor [K]; common practice, no source."""
_FAR = 15.0
"""Difference of log and run that suggests another unit [K]."""
_BAND = 1.959964
"""Standard errors from the middle of a 95 % interval to its ends: normal distribution."""


def learn(
    design: Design,
    log: PlantLog | str | os.PathLike[str],
    *,
    unknown: Sequence[str] | None = None,
    load_error: float | str | None = None,
    sensor_error: float | str = SENSOR_ERROR,
    progress: Progress = False,
) -> Learned:
    """Find which ground, bore resistance and sensor offset would have given a plant's log.

    The run is the design's own, from the loads through the heat pump to the loop, hour by hour from the first
    year to the end of the log. Where the log has measured heat or electricity, the design's loads are
    scaled step by step so that the run has the same; otherwise they are used as they are, except for a factor
    for heating and one for cooling, which are fitted with the unknowns, within `load_error`. Loads
    that differed from year to year in another way count as noise and widen the bands. Log and run are
    compared as means over a week or more of the rows in which the heat pump runs.

    Parameters
    ----------
    design : Design
        The design as it was built, with bores or trenches.
    log : PlantLog or path-like
        The log, or its file.
    unknown : sequence of str, optional
        What is to be found: some of ``conductivity``, ``volumetric_heat_capacity``, ``temperature``
        (undisturbed), ``resistance`` of the bores (by the conductivity of the grout, if pipes and grout are
        given) and ``offset`` of the sensor; by default all but the last.
    load_error : float or str, optional
        Standard error of the loads as a share of them [-]; by default 0.1, or 0.03 where heat or electricity
        was measured (common practice, no source).
    sensor_error : float or str, default 0.2
        Standard error of the sensor [K], unless its offset is to be found (common practice, no source).
    progress : bool or callable, default False
        Whether to show a progress bar; or a function called with the number of runs done.

    Returns
    -------
    Learned
        What was found, with its covariance and what the log doesn't determine.

    Raises
    ------
    InvalidInput
        If a name is unknown or can't be found along with another, the log doesn't fit the design's calendar,
        has too few rows, or looks like one in another unit.
    InvalidFile
        If a file can't be used.
    """
    require(design, Design, owner="learn", field="design")
    given = log if isinstance(log, PlantLog) else PlantLog.read(log)
    require(given, PlantLog, owner="learn", field="log")
    unknowns = unknowns_of(design, _default(design) if unknown is None else unknown)
    is_measured = given.heat is not None or given.electricity is not None
    share = (MEASURED_ERROR if is_measured else LOAD_ERROR) if load_error is None else load_error
    limits = {"least": 0.0, "owner": "learn"}
    loads = number_within(share, "", field="load_error", most=0.5, **limits)  # type: ignore[arg-type]
    sensor = number_within(sensor_error, "K", field="sensor_error", most=5.0, **limits)  # type: ignore[arg-type]
    begins = given.hours(design.start_month)
    years = max(int(np.ceil((begins[-1] + given.width) / HOURS_PER_YEAR - 1e-9)), 1)
    with Reporting(progress, owner="learn", unit="run") as tell:
        so_far = with_history(design, given)
        hourly = so_far.run(years).hourly
        seen = intervals(given, begins, hourly["heat_extracted_W"].to_numpy(), fine=given.heat is not None)
        _refuse_other_units(seen, hourly["entering_fluid_degC"].to_numpy())
        every = [*unknowns, *nuisances(so_far, unknowns, loads, sensor, is_measured)]
        found = fit(so_far, seen, every, tell)
    return Learned(design, so_far, given, seen, unknowns, every, found)


def _default(design: Design) -> Sequence[str]:
    return USUAL if isinstance(design.ground_side, BoreField) else USUAL[:3]


def _refuse_other_units(seen: Intervals, entering: Numbers) -> None:
    """Refuse temperatures that are far from those of the run in degC but not in degF."""
    run = seen.of(entering)
    apart = float(np.abs(np.median(seen.measured - run)))
    in_fahrenheit = float(np.abs(np.median(seen.measured - fahrenheit(run))))
    if apart > _FAR:
        allowed = f"is {apart:.0f} K from the design's own run: check units, sensor and design"
        if in_fahrenheit < 0.5 * apart:
            allowed = (
                f"looks like degF: head the column entering_fluid_degF (in degC, {apart:.0f} K too much)"
            )
        middle = f"a median of {np.median(seen.measured):.1f}"
        raise InvalidInput("PlantLog", "entering_fluid", middle, "degC", allowed)


class Learned:
    """Ground and bore resistance from a plant's log; made by `learn`.

    Parameters
    ----------
    first : Design
        The design as it was built.
    so_far : Design
        The design with the loads of the years so far.
    log : PlantLog
        The log.
    seen : Intervals
        The log in intervals.
    unknowns : sequence of Unknown
        What was to be found.
    every : sequence of Unknown
        These, and what was fitted with them.
    fit : Fitted
        The result of the least squares.
    """

    def __init__(
        self,
        first: Design,
        so_far: Design,
        log: PlantLog,
        seen: Intervals,
        unknowns: Sequence[Unknown],
        every: Sequence[Unknown],
        fit: Fitted,
    ) -> None:
        self.first, self.so_far, self.log, self.seen = first, so_far, log, seen
        self.unknowns, self.every, self.fit = tuple(unknowns), tuple(every), fit

    @property
    def values(self) -> dict[str, float]:
        """What was found, by name, in SI; ``resistance`` is the grout's conductivity for bores of pipes."""
        return {each.name: each.value(at) for each, at in zip(self.every, self.fit.searched, strict=True)}

    @property
    def errors(self) -> dict[str, float]:
        """Standard error of each value."""
        spread = np.sqrt(np.diag(self.fit.covariance))
        return {
            each.name: each.error(self.values[each.name], at)
            for each, at in zip(self.every, spread, strict=True)
        }

    @property
    def covariance(self) -> Numbers:
        """Covariance of `values`, in their order and units, shape (values, values)."""
        turn = np.array([each.error(self.values[each.name], 1.0) for each in self.every])
        return self.fit.covariance * np.outer(turn, turn)

    def interval(self, name: str) -> tuple[float, float]:
        """Return the 95 % interval of a value.

        Parameters
        ----------
        name : str
            Its name, as in `values`.

        Raises
        ------
        InvalidInput
            If it wasn't found.
        """
        names = [each.name for each in self.every]
        if name not in names:
            raise InvalidInput("Learned", "name", repr(name), "", f"must be one of {', '.join(names)}")
        place = names.index(name)
        middle, error = self.fit.searched[place], float(np.sqrt(self.fit.covariance[place, place]))
        ends = [self.every[place].value(middle + sign * _BAND * error) for sign in (-1.0, 1.0)]
        return ends[0], ends[1]

    @functools.cached_property
    def design(self) -> Design:
        """The design with what was found, and the loads of the years so far."""
        return with_values(self.so_far, self.every, list(self.values.values()))

    @functools.cached_property
    def resistance(self) -> float | None:
        """Effective resistance of the bores that was found [m K/W]; None without bores."""
        side = self.design.ground_side
        if not isinstance(side, BoreField):
            return None
        design = self.design
        found = side.bores[0].resistance_at(
            ground=design.ground,
            fluid=design.fluid,
            flow=design.flow / side.count,
            temperature=float(self.seen.measured.mean()),
        )
        return float(found.effective)

    @property
    def table(self) -> pd.DataFrame:
        """What was found beside the design's own: value, standard error, and the 95 % interval."""
        import pandas as pd

        rows = {}
        for each in self.every:
            low, high = self.interval(each.name)
            name = f"{each.label} [{each.unit}]" if each.unit else each.label
            rows[name] = {
                "design": first_value(self.so_far, each),
                "found": self.values[each.name],
                "standard error": self.errors[each.name],
                "from": low,
                "to": high,
            }
        return pd.DataFrame.from_dict(rows, orient="index")

    def samples(self, count: int = 128, *, seed: int = 0) -> Samples:
        """Return what was found as samples for a study of `design`, with errors and correlations.

        Parameters
        ----------
        count : int, default 128
            Number of samples.
        seed : int, default 0
            Seed.

        Raises
        ------
        InvalidInput
            If the count is invalid.
        """
        from scipy import stats

        spread = np.sqrt(np.diag(self.fit.covariance))
        kept = [place for place, each in enumerate(self.every) if each.path]
        distributions: dict[str, Any] = {}
        for place in kept:
            each, value = self.every[place], self.values[self.every[place].name]
            # The design has the factors of loads already.
            middle = 1.0 if each.path.startswith("loads.") else value
            distributions[each.path] = (
                stats.lognorm(spread[place], scale=middle)
                if each.is_positive
                else stats.norm(middle, spread[place])
            )
        correlation = (self.fit.covariance / np.outer(spread, spread))[np.ix_(kept, kept)]
        return Samples(distributions, count=count, seed=seed, correlation=correlation)

    def forecast(
        self, years: int = 25, *, count: int = 128, seed: int = 0, progress: Progress = False
    ) -> Forecast:
        """Return the temperatures of the years to come, with bands from the uncertainty that the log leaves.

        Samples of the found numbers are run over the whole horizon, from the first year on. The loads of the
        years to come are those of the design times what was found of them. Bands don't cover loads that
        change otherwise.

        Parameters
        ----------
        years : int, default 25
            Horizon from the first year of operation, at least that of the log.
        count : int, default 128
            Number of samples.
        seed : int, default 0
            Seed.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called with the number of samples done.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, or the design's own run is impossible.
        """
        return forecast(self, years, count=count, seed=seed, progress=progress)

    @property
    def hidden(self) -> list[str]:
        """Sentences about what the log doesn't determine, or determines only in combination."""
        from loopdrift.analysis.learning.directions import hidden

        return hidden(self)

    @property
    def findings(self) -> list[Finding]:
        """What was found, what the log doesn't determine, and what the errors leave out."""
        from loopdrift.analysis.learning.text import findings

        return findings(self)

    def plot(
        self, kind: charts.Kind = "temperatures", *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None
    ) -> Axes:
        """Draw the log with the fit, or the residuals.

        Parameters
        ----------
        kind : {"temperatures", "residuals"}, default "temperatures"
            Log, fit and the design's own run; or log minus fit.
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.

        Raises
        ------
        InvalidInput
            If `kind` or `units` is unknown.
        """
        return charts.draw(self, kind, units, ax)

    def __repr__(self) -> str:
        return f"<Learned: {', '.join(each.label for each in self.unknowns)} from {self.log}>"

    def __str__(self) -> str:
        from loopdrift.analysis.learning.text import in_lines

        return in_lines(self)

    def _repr_html_(self) -> str:
        return (
            notebook.heading("Results of the log")
            + notebook.sentences([str(self.log)])
            + notebook.table(self.table, 3)
            + notebook.sentences(map(str, self.findings))
        )

    @functools.cached_property
    def of_design(self) -> Numbers:
        """What the sensor would have shown by the design's own run, in each interval [degC]."""
        entering = self.first.run(self.seen.years).hourly["entering_fluid_degC"]
        return self.seen.of(entering.to_numpy())

    @property
    def offset(self) -> float:
        """Reading of the sensor minus the true temperature [K]."""
        return self.values.get(OFFSET, 0.0)
