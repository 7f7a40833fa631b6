"""What a run says about the promises made for it, in sentences."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from loopdrift.trench_field import TrenchField

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.design import Design
    from loopdrift.run import Run

HOURS_PER_DAY = 24


@dataclass(frozen=True)
class Finding:
    """One answer about a run.

    Parameters
    ----------
    holds : bool
        Whether the designer may be content.
    text : str
        The answer in a sentence.
    """

    holds: bool
    text: str

    def __str__(self) -> str:
        return f"{'holds' if self.holds else 'LOOK'}: {self.text}"


def findings(run: Run) -> list[Finding]:
    """Return what the run says about limits, freezing, the heat pump's table and its capacity.

    Parameters
    ----------
    run : Run
        The run.

    Returns
    -------
    list of Finding
        The lowest and the highest entering fluid temperature, freezing, and whatever else needs a look.
    """
    limits = run.design.limits
    found: list[Finding | None] = [
        _extreme(run, "coldest", "Lowest", limits.entering_fluid_min),
        _extreme(run, "hottest", "Highest", limits.entering_fluid_max),
        _freezing(run),
    ]
    backup, unmet = run.yearly["backup_kWh"].max(), run.yearly["unmet_cooling_kWh"].max()
    short = (
        f"the heat pump's capacity falls short: at most {backup:,.1f} kWh of back-up heat and {unmet:,.1f} "
        "kWh of unmet cooling in a year"
    )
    counted = {
        "hours_outside_limits": "the entering fluid is outside the limits while the plant runs",
        "hours_outside_table": "the entering fluid is outside the heat pump's table; its end is used there",
        "hours_short_of_capacity": short,
    }
    found += [_hours(run.yearly[column], text) for column, text in counted.items()]
    found.append(_fluid_table(run))
    found.append(_frozen_soil(run))
    found += _flow(run)
    return [finding for finding in found if finding is not None]


def drift(run: Run) -> str:
    """Return how far the entering fluid moved over the run, in a sentence."""
    yearly = run.yearly
    if run.years == 1:
        return "One year shows no drift."
    ends = yearly.loc[[1, run.years]]
    moved = {which: ends[f"entering_fluid_{which}_degC"].diff().iloc[1] for which in ("min", "mean", "max")}
    return (
        f"From year 1 to year {run.years} the lowest entering fluid moved by {moved['min']:+.2f} K, the "
        f"mean by {moved['mean']:+.2f} K and the highest by {moved['max']:+.2f} K; in the last year the mean "
        f"moved by {yearly['drift_mean_K'].loc[run.years]:+.3f} K."
    )


def moment(design: Design, year: int, hour: int) -> str:
    """Return year and hour of a run in words, such as ``year 20, 3 February, 07:00 to 08:00``."""
    first_day = datetime.date(2001, design.start_month, 1)  # neither 2001 nor 2002 has a leap day
    day = first_day + datetime.timedelta(days=hour // HOURS_PER_DAY)
    begin = hour % HOURS_PER_DAY
    return f"year {year}, {day.day} {day:%B}, {begin:02d}:00 to {begin + 1:02d}:00"


def both_degrees(temperature: float) -> str:
    """Return a temperature [degC] in degC and degF."""
    return f"{temperature:.1f} degC ({1.8 * temperature + 32.0:.1f} degF)"


def _extreme(run: Run, which: Literal["coldest", "hottest"], name: str, limit: float | None) -> Finding:
    year, hour = run.hour_of(which)
    column = "entering_fluid_min_degC" if which == "coldest" else "entering_fluid_max_degC"
    value = float(run.yearly[column].loc[year])
    text = f"{name} entering fluid is {both_degrees(value)} in {moment(run.design, year, hour)}"
    if limit is None:
        return Finding(True, f"{text}; no limit was given.")
    spare = value - limit if which == "coldest" else limit - value
    if spare >= 0.0:
        return Finding(True, f"{text}: {spare:.1f} K inside the limit of {both_degrees(limit)}.")
    return Finding(False, f"{text}: {-spare:.1f} K beyond the limit of {both_degrees(limit)}.")


def _freezing(run: Run) -> Finding:
    coldest = float(run.yearly["leaving_fluid_min_degC"].min())
    freezing_point, margin = run.design.fluid.freezing_point, run.design.limits.freezing_margin
    text = (
        f"Coldest leaving fluid is {both_degrees(coldest)}, {coldest - freezing_point:.1f} K above freezing "
        f"at {both_degrees(freezing_point)}; the wanted margin is {margin:.1f} K"
    )
    near = int(run.yearly["hours_near_freezing"].sum())
    return Finding(near == 0, f"{text}." if near == 0 else f"{text}, and {near:,} hours are closer.")


def _fluid_table(run: Run) -> Finding | None:
    """Return in how many hours the fluid is warmer than its table of properties reaches."""
    _, last = run.design.fluid.temperature_range
    beyond = run.hourly[["entering_fluid_degC", "leaving_fluid_degC"]].max(axis="columns") > last
    text = f"the fluid is warmer than its properties are known, {both_degrees(last)}; those are used there"
    return _hours(beyond.groupby(level="year").sum(), text)


def _frozen_soil(run: Run) -> Finding | None:
    """Return in how many hours the soil at the pipes of trenches is frozen."""
    if not isinstance(run.design.ground_side, TrenchField):
        return None
    frozen = run.hourly["wall_degC"] < 0.0
    text = (
        "the soil at the pipes is below 0 degC; that freezing moisture gives off heat, conducts better and "
        "heaves the ground is not modelled, and the heat it gives would keep the fluid warmer than shown"
    )
    return _hours(frozen.groupby(level="year").sum(), text)


def _flow(run: Run) -> list[Finding]:
    """Return what piping tells about the flow, if there is any."""
    if run.design.piping is None:
        return []
    from loopdrift.hydraulics.text import flow_findings

    return flow_findings(run, run.design.piping)


def _hours(hours: pd.Series, text: str) -> Finding | None:
    """Return what is so in some hours of each year; None where it never is."""
    if not hours.any():
        return None
    first = int(hours.index[hours > 0][0])
    return Finding(False, f"In {int(hours.sum()):,} hours, from year {first} on, {text}.")
