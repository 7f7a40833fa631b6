"""The result of a run in one sentence, and the margin to each limit."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from loopdrift.analysis.findings import findings
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import counted
from loopdrift.model.judgement import SUBJECTS
from loopdrift.model.moment import moment
from loopdrift.reporting.html import rounded, rounding
from loopdrift.reporting.overview import peak_form

if TYPE_CHECKING:
    from loopdrift.analysis.cost import Cost
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


class Margin(NamedTuple):
    """A limit and the value that the run reaches."""

    name: str
    limit: str
    found: str
    when: str
    spare: str
    holds: bool


def answer(run: Run) -> tuple[bool, str]:
    """Return whether the design holds, and the result in plain sentences."""
    warnings = sum(
        not finding.holds and not finding.decides and finding.matters for finding in run.once(findings)
    )
    beyond = len(run.judgement.broken)
    yearly = run.yearly
    low, high = yearly["entering_fluid_min_degC"].min(), yearly["entering_fluid_max_degC"].max()
    span = counted(run.years, "year")
    kept = (
        f"The fluid that comes back to the heat pump stays between {both_degrees(low)} and "
        f"{both_degrees(high)}."
    )
    last = yearly.iloc[-1]
    heat = last["heating_kWh"] + last["backup_kWh"] + last.get("hot_water_element_kWh", 0.0)
    delivered = {"heating": heat, "cooling": last["cooling_kWh"]}
    amounts = [
        f"{both(rounding(amount), 'kWh')} of {name}" for name, amount in delivered.items() if amount >= 0.5
    ]
    bought = (
        f"In year {run.years}, the plant delivers {' and '.join(amounts) or 'no heat'} for "
        f"{rounded(last['electricity_kWh'])} kWh of electricity."
    )
    if beyond:
        limits = "one limit is" if beyond == 1 else f"{beyond} limits are"
        return False, f"The loop does not hold for {span}: {limits} exceeded. {kept} {bought}"
    points = ""
    if warnings:
        points = ", with one point to look at" if warnings == 1 else f", with {warnings} points to look at"
    return True, f"The loop holds in every hour of {span}{points}. {kept} {bought}"


def bill(cost: Cost) -> str:
    """Return the cost of year 1 with that of the alternatives, in a sentence."""
    (_, amount), *others = cost.by_year("cost").iloc[0].items()
    beside = ", ".join(f"{rounded(other)} with {name}" for name, other in others)
    text = f"Energy, fixed charges and maintenance cost {rounded(amount)} {cost.prices.currency} in year 1"
    return f"{text}, against {beside}." if beside else f"{text}."


def margins(run: Run) -> list[Margin]:
    """Return each limit of the design with the value that the run reaches."""
    rows = []
    for each in run.judgement.criteria:
        if not each.decides:
            continue
        when = moment(run.design, each.year, each.hour)
        apart = f"{each.apart()} {'within' if each.holds else 'beyond'}"
        limit, found = each.in_words(each.required), each.in_words(each.actual)
        rows.append(Margin(SUBJECTS[each.name], limit, found, when, apart, each.holds))
    return rows


def needs(design: Design, first: int) -> str:
    """Return the building loads of a mean year from year `first` on, and each peak hour, in a sentence."""
    loads, water = design.loads, design.tank
    series = {"space heating": loads.heating, "cooling": loads.cooling}
    series["hot water"] = loads.hot_water if water is None else water["drawn_W"]
    series["recharge of the loop"] = loads.recharge
    parts = [
        f"{both(rounding(kilowatts.sum() / loads.years), 'kWh')} of {what}, "
        f"peak {both(kilowatts.max(), 'kW', peak_form(kilowatts.max()))}"
        for what, kilowatts in ((what, watts / 1000.0) for what, watts in series.items())
        if kilowatts.any()
    ]
    when = "In a mean year" if first == 1 else f"From year {first}, in a mean year"
    return f"{when}: {'; '.join(parts)}." if parts else "There are no loads."
