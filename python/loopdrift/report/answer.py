"""The answer of a run in one sentence, and how far off each limit is."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from loopdrift.findings import both_degrees, findings, moment

if TYPE_CHECKING:
    from loopdrift.run import Run


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
    to_look_at = sum(not finding.holds for finding in findings(run))
    beyond = sum(not margin.holds for margin in margins(run))
    yearly = run.yearly
    low, high = yearly["entering_fluid_min_degC"].min(), yearly["entering_fluid_max_degC"].max()
    kept = (
        f"in {run.years} years the fluid that comes back to the heat pump stays between {both_degrees(low)} "
        f"and {both_degrees(high)}"
    )
    last = yearly.iloc[-1]
    bought = (
        f"in year {run.years} the heat pump delivers {last['heating_kWh']:,.0f} kWh of heat and "
        f"{last['cooling_kWh']:,.0f} kWh of cold for {last['electricity_kWh']:,.0f} kWh of electricity"
    )
    if beyond:
        return False, f"Not as it stands: {kept}, beyond {beyond} of the limits below; {bought}."
    if to_look_at:
        points = "one point" if to_look_at == 1 else f"{to_look_at} points"
        return True, f"Yes, with {points} to look at: {kept}, inside every limit, and {bought}."
    return True, f"Yes: {kept}, inside every limit, and {bought}."


def margins(run: Run) -> list[Margin]:
    """Return each limit of the design with what the run came to."""
    limits, rows = run.design.limits, []
    year, hour = run.hour_of("coldest")
    lowest = float(run.yearly["entering_fluid_min_degC"].min())
    when = moment(run.design, year, hour)
    if limits.entering_fluid_min is not None:
        spare = lowest - limits.entering_fluid_min
        rows.append(_row("Lowest entering fluid", limits.entering_fluid_min, lowest, when, spare))
    if limits.entering_fluid_max is not None:
        year, hour = run.hour_of("hottest")
        highest = float(run.yearly["entering_fluid_max_degC"].max())
        spare = limits.entering_fluid_max - highest
        when = moment(run.design, year, hour)
        rows.append(_row("Highest entering fluid", limits.entering_fluid_max, highest, when, spare))
    leaving = run.yearly["leaving_fluid_min_degC"]
    least = run.design.fluid.freezing_point + limits.freezing_margin
    when = f"year {leaving.idxmin()}"
    rows.append(
        _row(
            "Coldest leaving fluid, with its margin from freezing",
            least,
            leaving.min(),
            when,
            leaving.min() - least,
        )
    )
    return rows


def _row(name: str, limit: float, found: float, when: str, spare: float) -> Margin:
    apart = f"{abs(spare):.1f} K {'inside' if spare >= 0.0 else 'beyond'}"
    return Margin(name, both_degrees(limit), both_degrees(found), when, apart, spare >= 0.0)
