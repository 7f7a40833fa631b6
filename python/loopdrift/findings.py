"""What a run says about the promises made for it, in sentences."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from loopdrift.both_units import both, both_degrees
from loopdrift.pond import Pond
from loopdrift.trench_field import TrenchField
from loopdrift.well import Well

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
        f"the heat pump's capacity falls short: at most {both(backup, 'kWh', ',.1f')} of back-up heat and "
        f"{both(unmet, 'kWh', ',.1f')} of unmet cooling in a year"
    )
    counted = {
        "hours_outside_limits": "the entering fluid is outside the limits while the plant runs",
        "hours_outside_table": "the entering fluid is outside the heat pump's table; its end is used there",
        "hours_short_of_capacity": short,
    }
    found += [_hours(run.yearly[column], text) for column, text in counted.items()]
    found.append(_fluid_table(run))
    found.append(_frozen_soil(run))
    found += _pond(run)
    found += _well(run)
    found += _flow(run)
    return [finding for finding in found if finding is not None]


def drift(run: Run) -> str:
    """Return how far the entering fluid moved over the run, in a sentence."""
    yearly = run.yearly
    if run.years == 1:
        return "One year shows no drift."
    ends = yearly.loc[[1, run.years]]
    lowest, mean, highest = (
        both(ends[f"entering_fluid_{which}_degC"].diff().iloc[1], "K", "+.2f")
        for which in ("min", "mean", "max")
    )
    last = both(yearly["drift_mean_K"].loc[run.years], "K", "+.3f")
    return (
        f"From year 1 to year {run.years} the lowest entering fluid moved by {lowest}, the mean by {mean} "
        f"and the highest by {highest}; in the last year the mean moved by {last}."
    )


def moment(design: Design, year: int, hour: int) -> str:
    """Return year and hour of a run in words, such as ``year 20, 3 February, 07:00 to 08:00``."""
    first_day = datetime.date(2001, design.start_month, 1)  # neither 2001 nor 2002 has a leap day
    day = first_day + datetime.timedelta(days=hour // HOURS_PER_DAY)
    begin = hour % HOURS_PER_DAY
    return f"year {year}, {day.day} {day:%B}, {begin:02d}:00 to {begin + 1:02d}:00"


def _extreme(run: Run, which: Literal["coldest", "hottest"], name: str, limit: float | None) -> Finding:
    year, hour = run.hour_of(which)
    column = "entering_fluid_min_degC" if which == "coldest" else "entering_fluid_max_degC"
    value = float(run.yearly[column].loc[year])
    text = f"{name} entering fluid is {both_degrees(value)} in {moment(run.design, year, hour)}"
    if limit is None:
        return Finding(True, f"{text}; no limit was given.")
    spare = value - limit if which == "coldest" else limit - value
    if spare >= 0.0:
        return Finding(True, f"{text}: {both(spare, 'K', '.1f')} inside the limit of {both_degrees(limit)}.")
    return Finding(False, f"{text}: {both(-spare, 'K', '.1f')} beyond the limit of {both_degrees(limit)}.")


def _freezing(run: Run) -> Finding:
    coldest = float(run.yearly["leaving_fluid_min_degC"].min())
    freezing_point, margin = run.design.fluid.freezing_point, run.design.limits.freezing_margin
    text = (
        f"Coldest leaving fluid is {both_degrees(coldest)}, {both(coldest - freezing_point, 'K', '.1f')} "
        f"above freezing at {both_degrees(freezing_point)}; the wanted margin is {both(margin, 'K', '.1f')}"
    )
    near = int(run.yearly["hours_near_freezing"].sum())
    return Finding(near == 0, f"{text}." if near == 0 else f"{text}, and {near:,} hours are closer.")


def _fluid_table(run: Run) -> Finding | None:
    """Return in how many hours the fluid is warmer than its table of properties reaches."""
    _, last = run.design.fluid.temperature_range
    beyond = run.hourly[["entering_fluid_degC", "leaving_fluid_degC"]].max(axis="columns") > last
    text = f"the fluid is warmer than its properties are known, {both_degrees(last)}; those are used there"
    return _in_years(beyond, text)


def _frozen_soil(run: Run) -> Finding | None:
    """Return in how many hours the soil at the pipes of trenches is frozen."""
    if not isinstance(run.design.ground_side, TrenchField):
        return None
    frozen = run.hourly["wall_degC"] < 0.0
    text = (
        "the soil at the pipes is below 0 degC (32 degF); that freezing moisture gives off heat, conducts "
        "better and heaves the ground is not modelled, and the heat it gives would keep the fluid warmer "
        "than shown"
    )
    return _in_years(frozen, text)


NEAR_FREEZING = 1.0
"""Temperature of the water at a pond's coils below which it is near freezing [degC]."""

SHARE_OF_ICE = 0.8
"""Share of a pond's depth beyond which ice leaves no room for the layers of the model [-]."""


def _pond(run: Run) -> list[Finding | None]:
    """Return what a pond's water says."""
    pond = run.design.ground_side
    if not isinstance(pond, Pond):
        return []
    found: list[Finding | None] = []
    hourly = run.hourly
    ice = hourly["ice_m"]
    if ice.max() > 0.0:
        text = (
            f"Ice of up to {both(ice.max(), 'm', '.2f')} lies on the pond, in {int((ice > 0.0).sum()):,} "
            "hours"
        )
        found.append(
            Finding(False, f"{text}; snow, which keeps it thinner, and safety on it are not reckoned.")
        )
    counted = {
        f"the water at the coils is below {both_degrees(NEAR_FREEZING)}": hourly["wall_degC"] < NEAR_FREEZING,
        "the coils' outside is below 0 degC (32 degF) and ice may grow there, which is not modelled": (
            hourly["coil_surface_degC"] < 0.0
        ),
        f"ice takes more than {SHARE_OF_ICE:.0%} of the depth: the model doesn't hold there": (
            ice > SHARE_OF_ICE * pond.depth
        ),
    }
    found += [_in_years(hours, text) for text, hours in counted.items()]
    return found


def _well(run: Run) -> list[Finding | None]:
    """Return what a well's level, its pump, the discharge and the water say."""
    well, hourly, yearly = run.design.ground_side, run.hourly, run.yearly
    if not isinstance(well, Well):
        return []
    running = hourly["heat_extracted_W"] != 0.0
    cold = running & (hourly["discharge_degC"] < well.lowest_discharge)
    found = [
        _in_years(
            cold,
            f"the discharge is below the lowest allowed, {both_degrees(well.lowest_discharge)}",
        )
    ]
    pump, whole = yearly["electricity_well_kWh"], yearly["electricity_kWh"]
    delivered = (yearly["heating_kWh"] + yearly["cooling_kWh"]).sum()
    if pump.sum() > 0.0:
        cop, without = (delivered / electricity.sum() for electricity in (whole, whole - pump))
        text = f"The well's pump takes {pump.mean():,.0f} kWh of the electricity of a year"
        found.append(Finding(True, f"{text}: the seasonal COP is {cop:.2f} with it, {without:.2f} without."))
    fall = float(hourly["drawdown_m"].max())
    text = f"The level in the well falls by up to {both(fall, 'm', '.2f')}"
    if well.available_drawdown is None:
        found.append(Finding(True, f"{text}; no limit was given."))
    else:
        holds = fall <= well.available_drawdown
        found.append(Finding(holds, f"{text}; {both(well.available_drawdown, 'm', '.2f')} are available."))
    if well.return_distance is not None:
        found.append(_returned(run, well, running))
    found.append(_quality(well))
    return found


def _returned(run: Run, well: Well, running: pd.Series) -> Finding:
    """Return when and how far what was returned changes the well's water."""
    mean_flow = (run.design.flow if well.flow is None else well.flow) * float(running.mean())
    if mean_flow == 0.0:
        return Finding(True, "Nothing is returned, as nothing is pumped.")
    years = well.breakthrough_time(run.design.ground, mean_flow) / (8760.0 * 3600.0)
    moved = run.hourly["wall_degC"] - well.aquifer.temperature
    text = f"With the mean flow what is returned arrives after {years:.1f} years; up to year {run.years} it "
    if not moved.any():
        return Finding(True, f"{text}leaves the well's water as it is.")
    least, most = (both(value, "K", "+.2f") for value in (moved.min(), moved.max()))
    return Finding(False, f"{text}moves the well's water by {least} to {most}.")


def _quality(well: Well) -> Finding:
    """Return what the analysis of the water says."""
    if not well.quality:
        text = "No analysis of the water was given: hardness, iron, manganese, chloride, pH, oxygen and sand "
        return Finding(False, f"{text}decide whether an exchanger and a return well last.")
    beyond = [str(each) for each in well.quality if not each.holds]
    if beyond:
        return Finding(False, f"The water has more than allowed: {'; '.join(beyond)}.")
    return Finding(True, f"The water is within the limits given: {'; '.join(map(str, well.quality))}.")


def _flow(run: Run) -> list[Finding]:
    """Return what piping tells about the flow, if there is any."""
    if run.design.piping is None:
        return []
    from loopdrift.hydraulics.text import flow_findings

    return flow_findings(run, run.design.piping)


def _in_years(so: pd.Series, text: str) -> Finding | None:
    """Return what is so in some of all hours; None where it never is."""
    return _hours(so.groupby(level="year").sum(), text) if so.any() else None


def _hours(hours: pd.Series, text: str) -> Finding | None:
    """Return what is so in some hours of each year; None where it never is."""
    if not hours.any():
        return None
    first = int(hours.index[hours > 0][0])
    return Finding(False, f"In {int(hours.sum()):,} hours, from year {first} on, {text}.")
