"""The answer of a run in one sentence, and how far off each limit is."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from loopdrift.analysis.findings import findings
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.model.judgement import SUBJECTS
from loopdrift.model.moment import moment

if TYPE_CHECKING:
    from loopdrift.analysis.cost import Cost
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


class Margin(NamedTuple):
    """One limit and what the run came to."""

    name: str
    limit: str
    found: str
    when: str
    spare: str
    holds: bool


def answer(run: Run) -> tuple[bool, str]:
    """Return whether the plant holds, and why, in a sentence."""
    to_look_at = sum(not finding.holds and not finding.decides for finding in run.once(findings))
    beyond = len(run.judgement.broken)
    yearly = run.yearly
    low, high = yearly["entering_fluid_min_degC"].min(), yearly["entering_fluid_max_degC"].max()
    kept = (
        f"in {run.years} years the fluid that comes back to the heat pump stays between {both_degrees(low)} "
        f"and {both_degrees(high)}"
    )
    last = yearly.iloc[-1]
    heat = last["heating_kWh"] + last["backup_kWh"] + last.get("hot_water_element_kWh", 0.0)
    bought = (
        f"in year {run.years} the plant delivers {both(heat, 'kWh')} of heat and "
        f"{both(last['cooling_kWh'], 'kWh')} of cold for {last['electricity_kWh']:,.0f} kWh of electricity"
    )
    if beyond:
        return False, f"Not as it stands: {kept}, beyond {beyond} of the limits below; {bought}."
    if to_look_at:
        points = "one point" if to_look_at == 1 else f"{to_look_at} points"
        return True, f"Yes, with {points} to look at: {kept}, inside every limit, and {bought}."
    return True, f"Yes: {kept}, inside every limit, and {bought}."


def bill(cost: Cost) -> str:
    """Return what year 1 costs beside the alternatives, in a sentence."""
    (_, amount), *others = cost.by_year("cost").iloc[0].items()
    beside = ", ".join(f"{other:,.0f} with {name}" for name, other in others)
    text = f"Energy, charges and upkeep of year 1 cost {amount:,.0f} {cost.prices.currency}"
    return f"{text}, against {beside}." if beside else f"{text}."


def margins(run: Run) -> list[Margin]:
    """Return each limit of the design with what the run came to."""
    rows = []
    for each in run.judgement.criteria:
        if not each.decides:
            continue
        when = moment(run.design, each.year, each.hour)
        apart = f"{each.apart()} {'inside' if each.holds else 'beyond'}"
        limit, found = each.in_words(each.required), each.in_words(each.actual)
        rows.append(Margin(SUBJECTS[each.name], limit, found, when, apart, each.holds))
    return rows


def asked(design: Design) -> str:
    """Return what rooms and taps need in a mean year, and the largest hour of each, in a sentence."""
    loads, water = design.loads, design.tank
    needs = {"heat for the rooms": loads.heating, "cold": loads.cooling}
    needs["hot water"] = loads.hot_water if water is None else water["drawn_W"]
    needs["heat given to the loop from elsewhere"] = loads.recharge
    parts = [
        f"{both(kilowatts.sum() / loads.years, 'kWh')} of {what}, up to {both(kilowatts.max(), 'kW', '.1f')}"
        for what, kilowatts in ((what, watts / 1000.0) for what, watts in needs.items())
        if kilowatts.any()
    ]
    return f"In a mean year: {'; '.join(parts)}." if parts else "Nothing."
