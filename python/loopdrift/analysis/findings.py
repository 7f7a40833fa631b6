"""What a run says about the promises made for it, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import counted
from loopdrift.ground_sides.finding import Finding, broken, hours_in
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.judgement import LABELS
from loopdrift.model.moment import moment

if TYPE_CHECKING:
    from loopdrift.model.run import Run


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
        hours_in(
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
    found += kind_of(run.design.ground_side).findings(run)
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
        return hours_in(run.yearly["hours_outside_table"], text)
    most = f"{judged.actual:,.0f} hours of year {judged.year}, {judged.required:,.0f} are allowed"
    return Finding(judged.holds, f"In at most {most}, {text}.", decides=True)


def _capacity(run: Run) -> Finding | None:
    """Return in how many hours the heat pump's capacity falls short."""
    backup, unmet = run.yearly["backup_kWh"].max(), run.yearly["unmet_cooling_kWh"].max()
    return hours_in(
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
    return broken(
        run,
        "fluid_max",
        f"the fluid is warmer {why}: up to {both_degrees(judged.actual)}, which is no result to use",
    )


def _frost(run: Run) -> Finding | None:
    """Return in how many hours the ground at bores or pipes is colder than its limit, or frozen."""
    judged = run.judgement["wall_min"]
    if judged is None:
        return None
    lowest = f"at the lowest {both_degrees(judged.actual)}"
    wall, frost = kind_of(run.design.ground_side).frost
    text = f"{wall} is below {both_degrees(judged.required)}, {lowest}"
    return broken(run, "wall_min", f"{text}; {frost}" if judged.actual < 0.0 else text)


def _flow(run: Run) -> list[Finding]:
    """Return what piping tells about the flow, if there is any."""
    if run.design.piping is None:
        return []
    from loopdrift.analysis.hydraulics.text import flow_findings

    return flow_findings(run, run.design.piping)
