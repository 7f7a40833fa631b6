"""The result of a run in one sentence, and the margin to each limit."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from loopdrift.analysis.findings import findings
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import counted
from loopdrift.model.judgement import SUBJECTS
from loopdrift.model.moment import moment

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
    """Return whether the design holds, and the result in a sentence."""
    warnings = sum(not finding.holds and not finding.decides for finding in run.once(findings))
    beyond = len(run.judgement.broken)
    yearly = run.yearly
    low, high = yearly["entering_fluid_min_degC"].min(), yearly["entering_fluid_max_degC"].max()
    kept = (
        f"Over {counted(run.years, 'year')}, the fluid entering the heat pump stays between "
        f"{both_degrees(low)} and {both_degrees(high)}."
    )
    last = yearly.iloc[-1]
    heat = last["heating_kWh"] + last["backup_kWh"] + last.get("hot_water_element_kWh", 0.0)
    bought = (
        f"In year {run.years}, the plant delivers {both(heat, 'kWh')} of heating and "
        f"{both(last['cooling_kWh'], 'kWh')} of cooling for {last['electricity_kWh']:,.0f} kWh of "
        "electricity."
    )
    if beyond:
        limits = "one limit" if beyond == 1 else f"{beyond} limits"
        return False, f"The design does not hold: {limits} exceeded. {kept} {bought}"
    if warnings:
        points = "one warning" if warnings == 1 else f"{warnings} warnings"
        return True, f"The design holds, with {points}. {kept} {bought}"
    return True, f"The design holds. {kept} {bought}"


def bill(cost: Cost) -> str:
    """Return the cost of year 1 with that of the alternatives, in a sentence."""
    (_, amount), *others = cost.by_year("cost").iloc[0].items()
    beside = ", ".join(f"{other:,.0f} with {name}" for name, other in others)
    text = f"Energy, fixed charges and maintenance cost {amount:,.0f} {cost.prices.currency} in year 1"
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


def asked(design: Design) -> str:
    """Return the building loads of a mean year, and the peak hour of each, in a sentence."""
    loads, water = design.loads, design.tank
    needs = {"space heating": loads.heating, "cooling": loads.cooling}
    needs["hot water"] = loads.hot_water if water is None else water["drawn_W"]
    needs["recharge of the loop"] = loads.recharge
    parts = [
        f"{both(kilowatts.sum() / loads.years, 'kWh')} of {what}, peak {both(kilowatts.max(), 'kW', '.1f')}"
        for what, kilowatts in ((what, watts / 1000.0) for what, watts in needs.items())
        if kilowatts.any()
    ]
    return f"In a mean year: {'; '.join(parts)}." if parts else "There are no loads."
