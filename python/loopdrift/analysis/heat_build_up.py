"""How heat builds up in the ground: what isn't given back, where the drift ends, and how it recovers."""

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
from loopdrift.basics.words import counted
from loopdrift.ground_sides.bore_field.field import BoreField
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
"""Time that stands for a field's steady state: the longest for which there is a step response [s]."""

_EXTREMES: tuple[Which, ...] = ("min", "mean", "max")
_COLUMNS = (("entering_fluid", "degC"), ("drift", "K"))
_YEARS_SHOWN = (1, 2, 5, 10)


@dataclass(frozen=True, eq=False, repr=False)
class HeatBuildUp:
    """What heat does to the ground in the long run; prints as sentences.

    Made by `Run.heat_build_up`. The drift ends in the steady state: what the temperatures come to if the same
    loads go on for ever. It is reckoned from a run of 100 years, and not from the run's own last year, in
    which the drift may be far from its end.

    Parameters
    ----------
    years : int
        Horizon of the run that was asked.
    yearly : pandas.DataFrame
        One row a year for 100 years, or for as many whole periods of the loads as they hold:
        ``heat_extracted_kWh`` and ``heat_rejected_kWh`` of the ground; ``imbalance_kWh``, extracted less
        rejected, and ``imbalance_share`` of the larger of the two [-]; ``entering_fluid_min_degC``,
        ``_mean_degC`` and ``_max_degC``, and ``drift_min_K``, ``_mean_K`` and ``_max_K``, their change from
        the year before.
    final : dict of str to float
        Lowest, mean and highest entering fluid temperature of a year in the steady state, by ``min``,
        ``mean`` and ``max`` [degC].
    period : int
        Years after which the loads repeat; more than one where the loads differ from year to year.
    error : float
        Error to be reckoned with in the temperatures of the longer run [K].
    """

    years: int
    yearly: pd.DataFrame
    final: dict[Which, float]
    period: int
    error: float

    @property
    def final_drift(self) -> dict[Which, float]:
        """How far lowest, mean and highest entering fluid go from the first year to the steady state [K]."""
        first = _periods(self.yearly, self.period)
        return {which: self.final[which] - float(first[which][0]) for which in _EXTREMES}

    @property
    def is_balanced(self) -> bool:
        """Whether the final drift of the mean is no larger than the error of the temperatures."""
        return abs(self.final_drift["mean"]) <= self.error

    @property
    def settled_year(self) -> int | None:
        """Year from which on the mean entering fluid temperature has done 90 % of its final drift.

        None if that takes more than 100 years, or there is no drift to speak of.
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
        columns = ("imbalance_kWh", "imbalance_share", "heat_extracted_kWh", "heat_rejected_kWh")
        year = min(self.years, len(self.yearly))
        imbalance, share, *heat = (float(self.yearly[name].loc[year]) for name in columns)
        what, back = ("extracted", "are not given back") if imbalance >= 0.0 else ("rejected", "stay there")
        text = (
            f"Of {both(max(heat), 'kWh')} {what} in year {year}, {both(abs(imbalance), 'kWh')} or "
            f"{abs(share):.0%} {back}."
        )
        drift = {which: both(moved, "K", "+.2f") for which, moved in self.final_drift.items()}
        if self.is_balanced:
            return f"{text} The yearly mean of the entering fluid does not drift."
        text += (
            f" If it goes on like this, the entering fluid ends at {both_degrees(self.final['min'])} lowest, "
            f"{both_degrees(self.final['mean'])} mean and {both_degrees(self.final['max'])} highest in a "
            f"year, {drift['min']}, {drift['mean']} and {drift['max']} from the first; "
        )
        if self.settled_year is None:
            return f"{text}{SHARE:.0%} of the mean's drift takes more than {len(self.yearly)} years."
        return f"{text}{SHARE:.0%} of the mean's drift is done in year {self.settled_year}."


@dataclass(frozen=True, eq=False, repr=False)
class Recovery:
    """How the ground recovers after the plant stops for good; prints as a sentence.

    Made by `Run.recovery`. What recovers is the bore wall's temperature: nothing circulates any more, and the
    entering fluid of a new start would begin from there. It is measured against the mean of the last year of
    operation, as the last hour's own temperature is one of its load rather than of the ground.

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
        Error to be reckoned with in the temperatures [K].
    """

    years: int
    undisturbed: float
    working: float
    wall: pd.Series[float]
    error: float

    @property
    def recovered(self) -> pd.Series[float]:
        """Share of the way back to the undisturbed temperature by years since the stop [-].

        NaN where operation moved the wall by no more than the error of the temperatures.
        """
        moved = self.undisturbed - self.working
        share = 1.0 - (self.undisturbed - self.wall) / (moved if abs(moved) > self.error else np.nan)
        return share.rename("recovered_share")

    def __repr__(self) -> str:
        return f"<Recovery: {counted(len(self.wall), 'year')}>"

    def _repr_html_(self) -> str:
        return notebook.heading("Recovery") + notebook.sentences([str(self)])

    def __str__(self) -> str:
        share, moved = self.recovered, self.undisturbed - self.working
        if share.isna().any():
            return f"{counted(self.years, 'year')} of operation leave the bore wall as it was."
        shown = [year for year in _YEARS_SHOWN if year < len(share)] + [len(share)]
        parts = [f"{share[year]:.0%} after {counted(year, 'year')}" for year in shown]
        return (
            f"After {counted(self.years, 'year')} of operation the bore wall is "
            f"{both(abs(moved), 'K', '.2f')} {'below' if moved > 0.0 else 'above'} undisturbed in the mean "
            f"of the last year. Once the plant stops, the way back is {', '.join(parts)}."
        )


def heat_build_up(run: Run) -> HeatBuildUp:
    """Return what heat does to the ground in the long run; see `Run.heat_build_up`."""
    import pandas as pd

    period = run.design.loads.years
    horizon = MOST_YEARS // period * period
    if horizon < 2 * period:
        allowed = f"must be at most {MOST_YEARS // 2}, so that the loads repeat within {MOST_YEARS} years"
        raise InvalidInput("Loads", "years", period, "", allowed)
    long = run if run.years == horizon else run.design.run(horizon)
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
    return HeatBuildUp(run.years, yearly, final, period, long.error.largest)


def _periods(yearly: pd.DataFrame, period: int) -> dict[Which, NDArray[np.float64]]:
    """Return lowest, mean and highest entering fluid temperature of each period of the loads [degC]."""

    def gathered(which: Which) -> NDArray[np.float64]:
        values = yearly[f"entering_fluid_{which}_degC"].to_numpy().reshape(-1, period)
        return np.asarray(getattr(values, which)(axis=1))

    return {which: gathered(which) for which in _EXTREMES}


def _rest_of_drift(run: Run, period: int) -> float:
    """Return how far the bore wall's mean over the last period of the loads is from its steady state [K].

    The heat of that period goes on for ever, so that the wall's mean comes to T0 - q g / (2 pi k L), with q
    the mean heat extracted, g the g-function's steady value and L the depth of all bores together (Eskilson
    1987). The entering fluid's lowest, mean and highest temperatures move along with it. Loops near the
    surface are settled long before.
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


def recovery(run: Run, rest: int) -> Recovery:
    """Return how the ground recovers after a run; see `Run.recovery`."""
    import pandas as pd

    most = MOST_YEARS - run.years
    what = f"{MOST_YEARS} less the years of the run"
    rest = whole_number(rest, 1, most, owner="Run", field="rest", what=what)
    design = run.design
    stopped = design.replace(loads=_stopped(design, run.years, rest))
    whole = stopped.run(run.years + rest)
    wall = whole.hourly["wall_degC"].to_numpy().reshape(-1, HOURS_PER_YEAR)
    working, ends = float(wall[run.years - 1].mean()), wall[run.years :, -1]
    since = pd.Index(np.arange(1, rest + 1), name="years_since_stop")
    series = pd.Series(ends, index=since, name="wall_degC")
    return Recovery(run.years, _undisturbed(design), working, series, whole.error.largest)


def _stopped(design: Design, years: int, rest: int) -> Loads:
    """Return the loads of years of operation, as a run meets them, and of years without any after them."""
    start = hour_of_calendar_year(design.start_month)

    def stopped(series: Any) -> NDArray[np.float64]:
        working = np.resize(np.roll(series, -start), years * HOURS_PER_YEAR)
        return np.roll(np.concatenate([working, np.zeros(rest * HOURS_PER_YEAR)]), start)

    return Loads(**{name: stopped(series) for name, series in design.loads.for_engine().items()}, origin=())


def _undisturbed(design: Design) -> float:
    return _core.undisturbed(design.ground_side.for_engine(), design.ground.for_engine())
