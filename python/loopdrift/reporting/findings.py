"""What a run says about the promises made for it, in sentences."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import counted
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.model.judgement import LABELS

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

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
    decides : bool, default False
        Whether the design doesn't hold where this doesn't; if not, it is a caution.
    """

    holds: bool
    text: str
    decides: bool = False

    def __str__(self) -> str:
        label = "holds" if self.holds else "BROKEN" if self.decides else "LOOK"
        return f"{label}: {self.text}"


def findings(run: Run) -> list[Finding]:
    """Return what the run says about what it is judged by, and whatever else needs a look.

    Parameters
    ----------
    run : Run
        The run.

    Returns
    -------
    list of Finding
        The lowest and the highest entering fluid temperature, freezing, and whatever else needs a look.
    """
    found: list[Finding | None] = [
        _extreme(run, "coldest", "Lowest", "entering_fluid_min"),
        _extreme(run, "hottest", "Highest", "entering_fluid_max"),
        _freezing(run),
        _hours(
            run.yearly["hours_outside_limits"],
            "the entering fluid is outside the limits while the plant runs",
            decides=True,
        ),
        _outside_table(run),
        _capacity(run),
        _share(run, "backup_share", "Back-up heat"),
        _share(run, "unmet_cooling_share", "Unmet cooling"),
        _fluid_table(run),
        _frost(run),
    ]
    found += _pond(run)
    found += _well(run)
    found += _flow(run)
    return [finding for finding in found if finding is not None]


def verdict(run: Run) -> str:
    """Return whether the design holds, in a sentence."""
    broken = [LABELS[each.name] for each in run.judgement.broken]
    if broken:
        return f"The design does not hold: it breaks {', '.join(broken)}."
    return f"The design holds in every hour of {counted(run.years, 'year')}."


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


def moment(design: Design, year: int, hour: int | None) -> str:
    """Return year and hour of a run in words, such as ``year 20, 3 February, 07:00 to 08:00``."""
    if hour is None:
        return f"year {year}"
    first_day = datetime.date(2001, design.start_month, 1)  # neither 2001 nor 2002 has a leap day
    day = first_day + datetime.timedelta(days=hour // HOURS_PER_DAY)
    begin = hour % HOURS_PER_DAY
    return f"year {year}, {day.day} {day:%B}, {begin:02d}:00 to {begin + 1:02d}:00"


def _extreme(run: Run, which: Literal["coldest", "hottest"], name: str, criterion: str) -> Finding:
    judged = run.judgement[criterion]
    if judged is not None:
        when = moment(run.design, judged.year, judged.hour)
        text = f"{name} entering fluid is {both_degrees(judged.actual)} in {when}"
        side = "inside" if judged.holds else "beyond"
        limit = both_degrees(judged.required)
        return Finding(judged.holds, f"{text}: {judged.apart()} {side} the limit of {limit}.", decides=True)
    year, hour = run.hour_of(which)
    column = "entering_fluid_min_degC" if which == "coldest" else "entering_fluid_max_degC"
    text = f"{name} entering fluid is {both_degrees(run.yearly[column].loc[year])}"
    given = getattr(run.design.limits, criterion) is not None
    why = "the heat pump never runs, so that no limit counts" if given else "no limit was given"
    return Finding(True, f"{text} in {moment(run.design, year, hour)}; {why}.")


def _freezing(run: Run) -> Finding:
    judged, freezing_point = run.judgement["freezing_margin"], run.design.fluid.freezing_point
    coldest = float(run.yearly["leaving_fluid_min_degC"].min()) if judged is None else judged.actual
    margin = run.design.limits.freezing_margin
    text = (
        f"Coldest leaving fluid is {both_degrees(coldest)}, {both(coldest - freezing_point, 'K', '.1f')} "
        f"above freezing at {both_degrees(freezing_point)}; the wanted margin is {both(margin, 'K', '.1f')}"
    )
    near = 0 if judged is None else sum(judged.hours_broken)
    text = f"{text}." if near == 0 else f"{text}, and {near:,} hours are closer."
    return Finding(near == 0, text, decides=True)


def _outside_table(run: Run) -> Finding | None:
    """Return in how many hours the entering fluid is outside the heat pump's table."""
    text = "the entering fluid is outside the heat pump's table; its end is used there"
    judged = run.judgement["hours_outside_table"]
    if judged is None or not judged.decides:
        return _hours(run.yearly["hours_outside_table"], text)
    most = f"{judged.actual:,.0f} hours of year {judged.year}, {judged.required:,.0f} are allowed"
    return Finding(judged.holds, f"In at most {most}, {text}.", decides=True)


def _capacity(run: Run) -> Finding | None:
    """Return in how many hours the heat pump's capacity falls short."""
    backup, unmet = run.yearly["backup_kWh"].max(), run.yearly["unmet_cooling_kWh"].max()
    return _hours(
        run.yearly["hours_short_of_capacity"],
        f"the heat pump's capacity falls short: at most {both(backup, 'kWh', ',.1f')} of back-up heat and "
        f"{both(unmet, 'kWh', ',.1f')} of unmet cooling in a year",
    )


def _share(run: Run, criterion: str, name: str) -> Finding | None:
    """Return how a share of back-up heat or unmet cooling stands to its limit; None without one."""
    judged = run.judgement[criterion]
    if judged is None or not judged.decides:
        return None
    actual, most = judged.in_words(judged.actual), judged.in_words(judged.required)
    text = f"{name} is at most {actual}, in year {judged.year}; the limit is {most}."
    return Finding(judged.holds, text, decides=True)


def _fluid_table(run: Run) -> Finding | None:
    """Return in how many hours the fluid is warmer than it can be, or than it is known."""
    judged = run.judgement["fluid_max"]
    if judged is None or judged.holds:
        return None
    _, last = run.design.fluid.temperature_range
    why = f"than its properties are known, {both_degrees(judged.required)}"
    if last > judged.required:
        why = f"than {both_degrees(judged.required)}, where water boils without pressure"
    return _broken(
        run,
        "fluid_max",
        f"the fluid is warmer {why}: up to {both_degrees(judged.actual)}, which is no result to use",
    )


SOIL_FROST = (
    "that freezing moisture gives off heat, conducts better and heaves the ground is not modelled, and the "
    "heat it gives would keep the fluid warmer than shown"
)
BORE_FROST = (
    "frost can damage grout, open a path for water along the bore and heave the ground above; the heat of "
    "freezing is not modelled, and would keep the fluid warmer than shown"
)


def _frost(run: Run) -> Finding | None:
    """Return in how many hours the ground at bores or pipes is colder than its limit, or frozen."""
    judged = run.judgement["wall_min"]
    if judged is None:
        return None
    lowest = f"at the lowest {both_degrees(judged.actual)}"
    in_trenches = isinstance(run.design.ground_side, TrenchField)
    wall, frost = ("the soil at the pipes", SOIL_FROST) if in_trenches else ("the bore wall", BORE_FROST)
    text = f"{wall} is below {both_degrees(judged.required)}, {lowest}"
    return _broken(run, "wall_min", f"{text}; {frost}" if judged.actual < 0.0 else text)


def _broken(run: Run, criterion: str, text: str) -> Finding | None:
    """Return in how many hours a criterion is broken; None where it holds or the run isn't judged by it."""
    judged = run.judgement[criterion]
    if judged is None or judged.holds:
        return None
    return _hours(judged.hours_broken, text, decides=judged.decides)


def _pond(run: Run) -> list[Finding | None]:
    """Return what a pond's water says."""
    if not isinstance(run.design.ground_side, Pond):
        return []
    found: list[Finding | None] = []
    ice = run.hourly["ice_m"]
    if ice.max() > 0.0:
        text = (
            f"Ice of up to {both(ice.max(), 'm', '.2f')} lies on the pond, in {int((ice > 0.0).sum()):,} "
            "hours"
        )
        found.append(
            Finding(False, f"{text}; snow, which keeps it thinner, and safety on it are not modelled.")
        )
    near, most = run.judgement["water_at_coils_min"], run.judgement["ice_max"]
    if near is not None:
        text = f"the water at the coils is below {both_degrees(near.required)}"
        found.append(_broken(run, "water_at_coils_min", text))
    text = "the coils' outside is below 0 degC (32 degF) and ice may grow there, which is not modelled"
    found.append(_broken(run, "coil_surface_min", text))
    if most is not None:
        share = most.required / run.design.ground_side.depth
        text = f"ice takes more than {share:.0%} of the depth and reaches the coils; the model doesn't hold"
        found.append(_broken(run, "ice_max", text))
    return found


def _well(run: Run) -> list[Finding | None]:
    """Return what a well's level, its pump, the discharge and the water say."""
    well, hourly, yearly = run.design.ground_side, run.hourly, run.yearly
    if not isinstance(well, Well):
        return []
    found = [
        _broken(
            run,
            "lowest_discharge",
            f"the discharge is below the lowest allowed, {both_degrees(well.lowest_discharge)}",
        )
    ]
    frozen = run.judgement["discharge_freezing"]
    if frozen is not None:
        text = (
            f"the discharge is below 0 degC (32 degF), at the lowest {both_degrees(frozen.actual)}: "
            "groundwater freezes in the exchanger, which can burst it"
        )
        found.append(_broken(run, "discharge_freezing", text))
    pump, whole = yearly["electricity_well_kWh"], yearly["electricity_kWh"]
    delivered = (yearly["seasonal_cop"] * whole).sum()
    if pump.sum() > 0.0:
        cop, without = (delivered / electricity.sum() for electricity in (whole, whole - pump))
        text = f"The well's pump takes {pump.mean():,.0f} kWh of the electricity of a year"
        found.append(Finding(True, f"{text}: the seasonal COP is {cop:.2f} with it, {without:.2f} without."))
    text = f"The level in the well falls by up to {both(float(hourly['drawdown_m'].max()), 'm', '.2f')}"
    level = run.judgement["available_drawdown"]
    if level is None:
        found.append(Finding(True, f"{text}; no limit was given."))
    else:
        available = level.in_words(level.required)
        found.append(Finding(level.holds, f"{text}; {available} are available.", decides=True))
    if well.return_distance is not None:
        found.append(_returned(run, well))
    found.append(_quality(well))
    return found


def _returned(run: Run, well: Well) -> Finding:
    """Return when and how far what was returned changes the well's water."""
    mean_flow = float(run.hourly["well_flow_kg_per_s"].mean())
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
    from loopdrift.reporting.hydraulics import flow_findings

    return flow_findings(run, run.design.piping)


def _hours(hours: Iterable[int], text: str, *, decides: bool = False) -> Finding | None:
    """Return what is so in some hours of each year; None where it never is."""
    counts = list(hours)
    if not any(counts):
        return None
    first = next(year for year, count in enumerate(counts, start=1) if count)
    return Finding(False, f"In {int(sum(counts)):,} hours, from year {first} on, {text}.", decides)
