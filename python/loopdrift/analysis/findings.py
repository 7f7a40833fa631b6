"""Findings of a run: each criterion, met or not, in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from loopdrift.analysis.shaped_loads import beside_margin
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.words import change, counted
from loopdrift.ground_sides.finding import Finding, broken, hours_in
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.clearance import clearances, misplaced
from loopdrift.model.judgement import LABELS
from loopdrift.model.moment import moment

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


def findings(run: Run) -> list[Finding]:
    """Return the findings of a run: the criteria that it is judged by, and any warnings.

    Parameters
    ----------
    run : Run
        The run.

    Returns
    -------
    list of Finding
        The lowest and the highest entering fluid temperature, the freezing margin, and any other limits
        and warnings that apply.
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
    found += _place(run.design)
    uncertain = beside_margin(run.design, run.judgement)
    if uncertain:
        found.append(Finding(False, uncertain))
    return [finding for finding in found if finding is not None]


def verdict(run: Run) -> str:
    """Return whether the design holds, in a sentence."""
    broken = [LABELS[each.name] for each in run.judgement.broken]
    if broken:
        return f"The design does not hold. Limits exceeded: {', '.join(broken)}."
    return f"The design holds in every hour of {counted(run.years, 'year')}."


def drift(run: Run, decimals: int = 2) -> str:
    """Return the drift of the entering fluid temperature over the run, in a sentence.

    Parameters
    ----------
    run : Run
        The run.
    decimals : int, default 2
        Decimals of the drift over all years; that of the last year has one more.
    """
    yearly = run.yearly
    if run.years == 1:
        return "A run of one year shows no drift."
    ends = yearly.loc[[1, run.years]]
    lowest, mean, highest = (
        change(ends[f"entering_fluid_{which}_degC"].diff().iloc[1], f".{decimals}f")
        for which in ("min", "mean", "max")
    )
    if lowest == mean == highest == change(0.0, f".{decimals}f"):
        return f"From year 1 to year {run.years}, the entering fluid temperature {mean}.{_warming(run)}"
    last = change(yearly["drift_mean_K"].loc[run.years], f".{decimals + 1}f")
    return (
        f"From year 1 to year {run.years}, the lowest entering fluid temperature {lowest}, the mean {mean} "
        f"and the highest {highest}. In the last year, the mean {last}.{_warming(run)}"
    )


def _warming(run: Run) -> str:
    """Return the change of the ground without the plant over the run, as a sentence; empty without."""
    warming = run.design.ground.warming
    if warming is None:
        return ""
    moved = warming.mean(run.years) - warming.mean(1)
    return f" Without the plant, the mean temperature of the ground {change(moved)} in these years."


def _extreme(run: Run, which: Literal["coldest", "hottest"], name: str, criterion: str) -> Finding:
    judged = run.judgement[criterion]
    if judged is not None:
        when = moment(run.design, judged.year, judged.hour) + _plant_of(run, judged.year)
        text = f"{name} entering fluid temperature is {both_degrees(judged.actual)} ({when})"
        side = "within" if judged.holds else "beyond"
        limit = both_degrees(judged.required)
        return Finding(judged.holds, f"{text}, {judged.apart()} {side} the limit of {limit}.", decides=True)
    year, hour = run.hour_of(which)
    column = "entering_fluid_min_degC" if which == "coldest" else "entering_fluid_max_degC"
    text = f"{name} entering fluid temperature is {both_degrees(run.yearly[column].loc[year])}"
    given = getattr(run.design.limits, criterion) is not None
    why = "the heat pump never runs, so no limit applies" if given else "no limit is set"
    return Finding(True, f"{text} ({moment(run.design, year, hour)}); {why}.")


def _freezing(run: Run) -> Finding:
    judged = run.judgement["freezing_margin"]
    year = judged.year if judged is not None and judged.year is not None else run.years
    plant = run.span_of(year).design
    freezing_point, margin = plant.fluid.freezing_point, plant.limits.freezing_margin
    coldest = float(run.yearly["leaving_fluid_min_degC"].min()) if judged is None else judged.actual
    text = (
        f"Lowest leaving fluid temperature is {both_degrees(coldest)}{_plant_of(run, year)}, "
        f"{both(coldest - freezing_point, 'K', '.1f')} above the freezing point of "
        f"{both_degrees(freezing_point)}. The required margin is {both(margin, 'K', '.1f')}"
    )
    near = 0 if judged is None else sum(judged.hours_broken)
    text = f"{text}." if near == 0 else f"{text}; {near:,} hours are below it."
    return Finding(near == 0, text, decides=True)


def _outside_table(run: Run) -> Finding | None:
    """Return in how many hours the entering fluid is outside the heat pump's table."""
    text = "the entering fluid is outside the heat pump's table"
    judged = run.judgement["hours_outside_table"]
    if judged is None or not judged.decides:
        text = f"{text}; performance is held at the table limit"
        if _is_easier_than_table(run):
            text += ", and the unit works with less lift than the table covers"
            return hours_in(run.yearly["hours_outside_table"], text, matters=False)
        return hours_in(run.yearly["hours_outside_table"], text)
    most = f"{judged.actual:,.0f} hours of year {judged.year}"
    return Finding(
        judged.holds,
        f"In up to {most}, {text}; {judged.required:,.0f} hours a year are allowed. Performance is held at "
        "the table limit.",
        decides=True,
    )


def _is_easier_than_table(run: Run) -> bool:
    """Return whether the fluid only leaves the table where the unit has less lift to overcome.

    That is fluid warmer than the table while heating, and colder than it while cooling, as in spring.
    """
    entering = run.hourly["entering_fluid_degC"].to_numpy()
    # The table is looked up with the fluid of the whole hour: the temperatures at both of its ends count.
    before = np.concatenate([entering[:1], entering[:-1]])
    coldest, hottest = np.minimum(before, entering), np.maximum(before, entering)
    for span in run.spans:
        unit, demand = span.design.heat_pump, span.design.demand
        years = slice((span.first - 1) * HOURS_PER_YEAR, span.last * HOURS_PER_YEAR)
        for mode, loads in (
            (unit.heating, demand["heating"] + demand["hot_water"]),
            (unit.cooling, demand["cooling"]),
        ):
            if mode is None or mode.entering_fluid_range is None:
                continue
            low, high = mode.entering_fluid_range
            runs = loads.take(span.hours_of_loads(), mode="wrap") > 0.0
            beyond = coldest[years] < low if mode is unit.heating else hottest[years] > high
            if (runs & beyond).any():
                return False
    return True


def _plant_of(run: Run, year: int | None) -> str:
    """Return in words since when the plant of a year runs; empty for a plant that never changes."""
    if year is None or len(run.spans) == 1:
        return ""
    return f", with the plant from year {run.span_of(year).first}"


def _capacity(run: Run) -> Finding | None:
    """Return in how many hours the heat pump's capacity is too low."""
    backup, unmet = run.yearly["backup_kWh"].max(), run.yearly["unmet_cooling_kWh"].max()
    amounts = {"back-up heat": backup, "unmet cooling": unmet}
    missing = [f"{both(amount, 'kWh')} of {name}" for name, amount in amounts.items() if amount >= 0.5]
    most = f": up to {' and '.join(missing)} in a year" if missing else ""
    return hours_in(
        run.yearly["hours_short_of_capacity"], f"the heat pump's capacity is below the load{most}"
    )


def _share(run: Run, criterion: str, name: str) -> Finding | None:
    """Return a share of back-up heat or unmet cooling and its limit; None without a limit."""
    judged = run.judgement[criterion]
    if judged is None or not judged.decides:
        return None
    actual, most = judged.in_words(judged.actual), judged.in_words(judged.required)
    text = f"{name} reaches {actual} in year {judged.year}; the limit is {most}."
    return Finding(judged.holds, text, decides=True)


def _fluid_table(run: Run) -> Finding | None:
    """Return in how many hours the fluid boils or is above the range of its property data."""
    judged = run.judgement["fluid_max"]
    if judged is None or judged.holds:
        return None
    _, last = run.design.fluid.temperature_range
    why = f"{both_degrees(judged.required)}, the upper end of its property data"
    if last > judged.required:
        why = f"{both_degrees(judged.required)}, where unpressurised water boils"
    return broken(
        run,
        "fluid_max",
        f"the fluid is above {why}: up to {both_degrees(judged.actual)}; these results are not valid",
    )


def _frost(run: Run) -> Finding | None:
    """Return in how many hours the ground at bores or pipes is below its limit, or frozen."""
    judged = run.judgement["wall_min"]
    if judged is None:
        return None
    wall, frost = kind_of(run.design.ground_side).frost
    text = f"{wall} is below {both_degrees(judged.required)} (lowest: {both_degrees(judged.actual)})"
    return broken(run, "wall_min", f"{text}; {frost}" if judged.actual < 0.0 else text)


def _flow(run: Run) -> list[Finding]:
    """Return the findings on flow; none without piping."""
    if run.design.piping is None:
        return []
    from loopdrift.analysis.hydraulics.text import flow_findings

    return flow_findings(run, run.design.piping)


def _place(design: Design) -> list[Finding]:
    """Return what is wrong about the place of the loop, and the distances that the site requires."""
    if design.site is None:
        return []
    kind = kind_of(design.ground_side)
    beside = design.site, design.ground_side.paths, kind.built(design).places.noun
    return [
        *(Finding(False, text) for text in misplaced(*beside)),
        *(
            Finding(each.holds, str(each), decides=True)
            for each in clearances(*beside)
            if each.required is not None
        ),
    ]
