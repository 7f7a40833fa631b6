"""Heat build-up in the ground: imbalance, final drift and recovery."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from loopdrift import _core
from loopdrift.basics import notebook
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, SECONDS_PER_YEAR, hour_of_calendar_year
from loopdrift.basics.numbers import whole_number
from loopdrift.basics.words import counted, percent
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.progress import Progress
from loopdrift.parts.loads import Loads

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

Which = Literal["min", "mean", "max"]

MOST_YEARS = 100
SHARE = 0.9
STEADY = 10_000.0 * SECONDS_PER_YEAR
"""Time that represents the steady state of a field: the longest for which there is a step response [s]."""

WITHOUT_WARMING = " This leaves out that the ground itself warms or cools."

_EXTREMES: tuple[Which, ...] = ("min", "mean", "max")
_COLUMNS = (("entering_fluid", "degC"), ("drift", "K"))
_YEARS_SHOWN = (1, 2, 5, 10)


@dataclass(frozen=True, eq=False, repr=False)
class HeatBuildUp:
    """Long-term effect of the loads on the ground; prints as sentences.

    Made by `Run.heat_build_up`. The drift ends in the steady state, which the temperatures approach if the
    same loads continue indefinitely. It is computed from a run of 100 years, not from the last year of the
    original run, in which the drift may be far from complete.

    Parameters
    ----------
    years : int
        Horizon of the original run.
    yearly : pandas.DataFrame
        One row a year for 100 years, or for as many whole periods of the loads as fit:
        ``heat_extracted_kWh`` and ``heat_rejected_kWh`` of the ground; ``imbalance_kWh``, extracted less
        rejected, and ``imbalance_share`` of the larger of the two [-]; ``entering_fluid_min_degC``,
        ``_mean_degC`` and ``_max_degC``, and ``drift_min_K``, ``_mean_K`` and ``_max_K``, their change from
        the year before.
    final : dict of str to float
        Lowest, mean and highest entering fluid temperature of a year in the steady state, by ``min``,
        ``mean`` and ``max`` [degC].
    period : int
        Years after which the loads repeat; more than one if the loads differ from year to year.
    error : float
        Numerical error of the temperatures of the longer run [K].
    without_warming : bool, default False
        Whether the ground of the design warms by itself, which is left out here.
    """

    years: int
    yearly: pd.DataFrame
    final: dict[Which, float]
    period: int
    error: float
    without_warming: bool = False

    @property
    def final_drift(self) -> dict[Which, float]:
        """Change of the lowest, mean and highest entering fluid from the first year to steady state [K]."""
        first = _periods(self.yearly, self.period)
        return {which: self.final[which] - float(first[which][0]) for which in _EXTREMES}

    @property
    def is_balanced(self) -> bool:
        """Whether the final drift of the mean is no larger than the error of the temperatures."""
        return abs(self.final_drift["mean"]) <= self.error

    @property
    def settled_year(self) -> int | None:
        """Year by which the mean entering fluid temperature has completed 90 % of its final drift.

        None if that takes more than 100 years, or the drift is negligible.
        """
        if self.is_balanced:
            return None
        left = np.abs(self.final["mean"] - _periods(self.yearly, self.period)["mean"])
        settled = int(np.flatnonzero(left > (1.0 - SHARE) * left[0])[-1]) + 2
        return None if settled > len(left) else self.period * settled

    def __repr__(self) -> str:
        return f"<HeatBuildUp: {counted(self.years, 'year')}>"

    def _repr_html_(self) -> str:
        return notebook.heading("Heat build-up") + notebook.sentences([str(self)])

    def __str__(self) -> str:
        return self._in_words() + (WITHOUT_WARMING if self.without_warming else "")

    def _in_words(self) -> str:
        columns = ("imbalance_kWh", "imbalance_share", "heat_extracted_kWh", "heat_rejected_kWh")
        year = min(self.years, len(self.yearly))
        imbalance, share, *heat = (float(self.yearly[name].loc[year]) for name in columns)
        what, back = (
            ("extracted from", "is not returned") if imbalance >= 0.0 else ("rejected to", "remains there")
        )
        text = (
            f"Of the {both(max(heat), 'kWh')} {what} the ground in year {year}, "
            f"{both(abs(imbalance), 'kWh')} or {percent(abs(share))} {back}."
        )
        drift = {which: both(moved, "K", "+.2f") for which, moved in self.final_drift.items()}
        if self.is_balanced:
            return f"{text} The yearly mean entering fluid temperature does not drift."
        text += (
            f" At steady state, entering fluid reaches a minimum of {both_degrees(self.final['min'])}, a "
            f"mean of {both_degrees(self.final['mean'])} and a maximum of {both_degrees(self.final['max'])} "
            f"in a year, changes of {drift['min']}, {drift['mean']} and {drift['max']} from the first year. "
        )
        if self.settled_year is None:
            return (
                f"{text}{percent(SHARE)} of the drift of the mean takes more than {len(self.yearly)} years."
            )
        return f"{text}{percent(SHARE)} of the drift of the mean is complete in year {self.settled_year}."


@dataclass(frozen=True, eq=False, repr=False)
class Recovery:
    """Recovery of the ground after the plant stops permanently; prints as sentences.

    Made by `Run.recovery`. Recovery is that of the bore wall temperature, from which the entering fluid would
    start if operation resumed. It is relative to the mean of the last year of operation, because the
    temperature of the last hour depends more on its load than on the ground.

    Parameters
    ----------
    years : int
        Years of operation.
    undisturbed : float
        Temperature of the bore wall before the first hour [degC].
    working : float
        Mean temperature of the bore wall in the last year of operation [degC].
    wall : pandas.Series
        Temperature of the bore wall at the end of each year since the stop [degC], by years from 1.
    error : float
        Numerical error of the temperatures [K].
    without_warming : bool, default False
        Whether the ground of the design warms by itself, which is left out here.
    """

    years: int
    undisturbed: float
    working: float
    wall: pd.Series[float]
    error: float
    without_warming: bool = False

    @property
    def recovered(self) -> pd.Series[float]:
        """Recovery toward the undisturbed temperature by years since the stop [-].

        NaN if operation changed the wall temperature by no more than the numerical error.
        """
        moved = self.undisturbed - self.working
        share = 1.0 - (self.undisturbed - self.wall) / (moved if abs(moved) > self.error else np.nan)
        return share.rename("recovered_share")

    def __repr__(self) -> str:
        return f"<Recovery: {counted(len(self.wall), 'year')}>"

    def _repr_html_(self) -> str:
        return notebook.heading("Recovery") + notebook.sentences([str(self)])

    def __str__(self) -> str:
        return self._in_words() + (WITHOUT_WARMING if self.without_warming else "")

    def _in_words(self) -> str:
        share, moved = self.recovered, self.undisturbed - self.working
        if share.isna().any():
            return f"After {counted(self.years, 'year')} of operation, the bore wall is still undisturbed."
        shown = [year for year in _YEARS_SHOWN if year < len(share)] + [len(share)]
        parts = [f"{percent(share[year])} after {counted(year, 'year')}" for year in shown]
        return (
            f"After {counted(self.years, 'year')} of operation, the bore wall is "
            f"{both(abs(moved), 'K', '.2f')} {'below' if moved > 0.0 else 'above'} undisturbed (mean of the "
            f"last year). Recovery after the plant stops: {', '.join(parts)}."
        )


def heat_build_up(run: Run, progress: Progress) -> HeatBuildUp:
    """Return the long-term effect of the loads on the ground; see `Run.heat_build_up`."""
    import pandas as pd

    period = run.design.loads.years
    horizon = MOST_YEARS // period * period
    if horizon < 2 * period:
        allowed = f"must be at most {MOST_YEARS // 2}, so that the loads repeat within {MOST_YEARS} years"
        raise InvalidInput("Loads", "years", period, "", allowed)
    is_long = run.years == horizon and run.design.ground.warming is None
    long = run if is_long else _without_warming(run.design).run(horizon, progress=progress)
    names = ["heat_extracted_kWh", "heat_rejected_kWh"]
    names += [f"{what}_{which}_{unit}" for what, unit in _COLUMNS for which in _EXTREMES]
    yearly = long.yearly[names].copy()
    extracted, rejected = yearly["heat_extracted_kWh"], yearly["heat_rejected_kWh"]
    larger = pd.concat([extracted, rejected], axis="columns").max(axis="columns")
    yearly.insert(2, "imbalance_kWh", extracted - rejected)
    yearly.insert(3, "imbalance_share", yearly["imbalance_kWh"] / larger.replace(0.0, 1.0))
    periods = _periods(yearly, period)
    rest = _rest_of_drift(long, period)
    final = {which: float(periods[which][-1]) + rest for which in _EXTREMES}
    warms = run.design.ground.warming is not None
    return HeatBuildUp(run.years, yearly, final, period, long.error.largest, warms)


def _periods(yearly: pd.DataFrame, period: int) -> dict[Which, NDArray[np.float64]]:
    """Return lowest, mean and highest entering fluid temperature of each period of the loads [degC]."""

    def gathered(which: Which) -> NDArray[np.float64]:
        values = yearly[f"entering_fluid_{which}_degC"].to_numpy().reshape(-1, period)
        return np.asarray(getattr(values, which)(axis=1))

    return {which: gathered(which) for which in _EXTREMES}


def _rest_of_drift(run: Run, period: int) -> float:
    """Return the difference between the steady state of the bore wall and its mean over the last period [K].

    If the heat of that period continues indefinitely, the mean wall temperature tends to
    T0 - q g / (2 pi k L), with q the mean heat extracted, g the steady-state value of the g-function and L
    the total depth of all bores (Eskilson 1987). The lowest, mean and highest entering fluid temperatures
    change by the same amount. Loops near the surface reach steady state much earlier.
    """
    design, hours = run.design, period * HOURS_PER_YEAR
    field, ground = design.ground_side, design.ground
    if not isinstance(field, BoreField):
        return 0.0
    last = run.hourly.iloc[-hours:]
    heat = float(last["heat_extracted_W"].mean())
    steady = float(field.g_function(ground, [STEADY])[0])
    drop = heat * steady / (2.0 * np.pi * ground.conductivity * field.total_depth)
    return _undisturbed(design) - drop - float(last["wall_degC"].mean())


def recovery(run: Run, rest: int, progress: Progress) -> Recovery:
    """Return the recovery of the ground after a run; see `Run.recovery`."""
    import pandas as pd

    most = MOST_YEARS - run.years
    what = f"{MOST_YEARS} less the years of the run"
    rest = whole_number(rest, 1, most, owner="Run", field="rest", what=what)
    design = _without_warming(run.design)
    stopped = design.replace(loads=_stopped(design, run.years, rest))
    whole = stopped.run(run.years + rest, progress=progress)
    wall = whole.hourly["wall_degC"].to_numpy().reshape(-1, HOURS_PER_YEAR)
    working, ends = float(wall[run.years - 1].mean()), wall[run.years :, -1]
    since = pd.Index(np.arange(1, rest + 1), name="years_since_stop")
    series = pd.Series(ends, index=since, name="wall_degC")
    warms = run.design.ground.warming is not None
    return Recovery(run.years, _undisturbed(design), working, series, whole.error.largest, warms)


def _stopped(design: Design, years: int, rest: int) -> Loads:
    """Return loads with a number of years of operation, followed by years without any."""
    start = hour_of_calendar_year(design.start_month)

    def stopped(series: Any) -> NDArray[np.float64]:
        working = np.resize(np.roll(series, -start), years * HOURS_PER_YEAR)
        return np.roll(np.concatenate([working, np.zeros(rest * HOURS_PER_YEAR)]), start)

    series: dict[str, Any] = {name: stopped(each) for name, each in design.loads.for_engine().items()}
    return Loads(**series)


def _without_warming(design: Design) -> Design:
    """Return a design in ground that only its loads change."""
    return design.replace(ground=design.ground.replace(warming=None)) if design.ground.warming else design


def _undisturbed(design: Design) -> float:
    return _core.undisturbed(design.ground_side.for_engine(), design.ground.for_engine())
