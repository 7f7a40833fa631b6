"""The engineer's part of the report: hydraulics, heat pump and fit, tables, errors, checks and sources."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.basics.both_units import DEGREE, both_degrees, factor, pair
from loopdrift.basics.model_time import HOURS_PER_YEAR, MONTHS, month_of_hours, months
from loopdrift.basics.words import percent
from loopdrift.charts.style import POWER
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.judgement import SUBJECTS
from loopdrift.model.moment import moment
from loopdrift.reporting.curves import CURVES, equation
from loopdrift.reporting.html import Units, rounded
from loopdrift.reporting.loads import of_series
from loopdrift.reporting.overview import peak_form
from loopdrift.reporting.report.yearly import heading, yearly_table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.plant.fit_quality import Residual

Table = list[list[str]]

_PLAIN_ERROR = 0.01
"""Least error that is written without a power of ten, in either unit."""
_MODES = {
    "heating": "Heating",
    "heating_low": "Heating, lowest stage",
    "cooling": "Cooling",
    "cooling_low": "Cooling, lowest stage",
}
_ERRORS = {
    "exponentials": "history as exponentials, against exact superposition",
    "iteration": "iteration of each hour, against the curves of the heat pump",
    "tabulation": "step response read from its table",
    "segments": "step response solved with fewer unknowns than segments",
    "resistance": "resistance of the loop read from its table",
    "inside": "heat capacity of fluid, pipes and grout",
    "steps": "length of the time step",
    "film": "film at the coils",
}


def content(run: Run, units: Units, drawn: dict[str, Figure]) -> dict[str, Any]:
    """Return tables and charts of the engineer's part, by name.

    Parameters
    ----------
    run : Run
        The run.
    units : {"SI", "IP"}
        Units that come first.
    drawn : dict of str to matplotlib.figure.Figure
        The run's charts.
    """
    from loopdrift.reporting.figures import svg

    design = run.design
    kind = kind_of(design.ground_side)
    return {
        "pressure_chart": svg(drawn["pressure-drop"], "pressure-drop") if "pressure-drop" in drawn else "",
        "pressure": _pressure(design, units),
        "resistances": list(kind.resistances(design)),
        "unit_chart": _unit_chart(design, units),
        "curves": _curves(design, units),
        "fit": _fit(design),
        "sums": of_series(design.loads),
        "loads": _monthly_loads(design, units),
        "months": {f"Year {year}": _months(run, year, units) for year in sorted({1, run.years})},
        "years": yearly_table(run.yearly, units, list(run.yearly.index)),
        "errors": _errors(run, units),
        "checks": _checks(run),
        "sources": _sources(design),
    }


def _pressure(design: Design, units: Units) -> Table:
    """Return flow, velocity, regime and pressure drop by part; empty without piping."""
    if design.piping is None:
        return []
    first = 0 if units == "SI" else 1
    rows = [["Part", "Flow in one pipe", "Velocity", "Reynolds number", "Regime", "Pressure drop", ""]]
    for part, row in design.pressure_drop().iterrows():
        lost = pair(row["pressure_drop_Pa"] / 1e3, "kPa", ".2f")
        cells = ["", "", "", ""]
        if np.isfinite(row["reynolds"]):
            cells = [
                pair(row["flow_kg_per_s"], "kg/s", ".3f")[first],
                pair(row["velocity_m_per_s"], "m/s", ".2f")[first],
                f"{row['reynolds']:,.0f}",
                str(row["regime"]),
            ]
        rows.append([str(part), *cells, lost[first], lost[1 - first]])
    return rows


def _unit_chart(design: Design, units: Units) -> str:
    from matplotlib.figure import Figure

    from loopdrift.reporting.figures import svg

    figure = Figure(figsize=(8.0, 3.8), layout="constrained")
    design.heat_pump.plot(units=units, ax=figure.subplots())
    return svg(figure, "heat-pump")


def _curves(design: Design, units: Units) -> Table:
    """Return the polynomials of COP and capacity, with the range in which they are known."""
    degree = "°C" if units == "SI" else "°F"
    rows = [["Mode", f"COP over entering fluid T [{degree}]", "Capacity over T", "Range of T"]]
    for name, label in _MODES.items():
        mode = getattr(design.heat_pump, name)
        if mode is None:
            continue
        capacity = "no limit"
        if mode.capacity is not None:
            capacity = equation(mode.capacity, CURVES["Mode", "capacity"], units)
        between = "not known"
        if mode.entering_fluid_range is not None:
            between = " to ".join(map(both_degrees, mode.entering_fluid_range))
        rows.append([label, equation(mode.cop, CURVES["Mode", "cop"], units), capacity, between])
    return rows


def _fit(design: Design) -> Table:
    """Return how far the curves are from the rating points of the table."""
    fit = design.heat_pump.fit
    if fit is None:
        return []
    rows = [["Mode", "Points", "Terms", "Capacity rms", "at most", "Power rms", "at most"]]
    for name, label in _MODES.items():
        mode = getattr(fit, name)
        if mode is not None:
            terms = ", ".join(term.replace("T2", "T²").replace("T3", "T³") for term in mode.terms)
            rows.append([label, str(mode.rows), terms, *_residual(mode.capacity), *_residual(mode.power)])
    return rows


def _residual(found: Residual | None) -> tuple[str, str]:
    return ("-", "-") if found is None else (percent(found.rms, ".2f"), percent(abs(found.largest), ".2f"))


def _monthly_loads(design: Design, units: Units) -> Table:
    """Return heat and peak hour of each month; for several years, the mean heat and the highest peak."""
    of_heat, per_kwh = ("kWh", 1.0) if units == "SI" else ("kBtu", factor("kWh", "kBtu"))
    of_power, per_watt = POWER[units]
    by_month = design.loads.monthly().groupby(level="month")
    columns = [["Month", *MONTHS]]
    for name, peak in design.loads.peak.items():
        if peak > 0.0:
            label = name.replace("_", " ").capitalize()
            heat = per_kwh * by_month[f"{name}_kWh"].mean().to_numpy()
            most = per_watt * by_month[f"{name}_peak_W"].max().to_numpy()
            columns.append([f"{label} [{of_heat}]", *(rounded(each, 4) for each in heat)])
            columns.append(
                [f"{label}, peak [{of_power}]", *(f"{each:{peak_form(most.max())}}" for each in most)]
            )
    return [list(row) for row in zip(*columns, strict=True)]


def _months(run: Run, year: int, units: Units) -> Table:
    """Return the temperatures and energies of each month of a year, in the order of the run."""
    from loopdrift.basics.units import to_inch_pound

    begin = (year - 1) * HOURS_PER_YEAR
    hours = run.hourly.iloc[begin : begin + HOURS_PER_YEAR]
    of_month = month_of_hours(run.design.start_month)
    grouped = hours.groupby(of_month)
    heat = hours["heat_extracted_W"] / 1e3
    table = grouped["entering_fluid_degC"].agg(["min", "mean", "max"])
    table.columns = [f"entering_fluid_{name}_degC" for name in table.columns]
    table["heat_extracted_kWh"] = heat.clip(lower=0.0).groupby(of_month).sum()
    table["heat_rejected_kWh"] = (-heat).clip(lower=0.0).groupby(of_month).sum()
    table["electricity_kWh"] = (hours["electricity_W"] / 1e3).groupby(of_month).sum()
    table["backup_kWh"] = (hours["backup_W"] / 1e3).groupby(of_month).sum()
    headings = [heading(str(name), units) for name in table.columns]
    table = table.loc[months(run.design.start_month).tolist()]
    if units == "IP":
        table = to_inch_pound(table)
    rows = [["Month", *headings]]
    for month, values in zip(table.index, table.to_numpy(), strict=True):
        cells = [f"{value:z.1f}" for value in values[:3]] + [rounded(value, 4) for value in values[3:]]
        rows.append([MONTHS[int(month) - 1], *cells])
    return rows


def _errors(run: Run, units: Units) -> Table:
    """Return the parts of the error of the temperatures, and their sum."""

    def shown(kelvins: float) -> str:
        error, unit = (kelvins, "K") if units == "SI" else (DEGREE * kelvins, "degF")
        return f"{error:{'.2g' if error >= _PLAIN_ERROR else '.1e'}} {unit}"

    rows = [["Part of the numerical error", "Largest in any hour"]]
    for field in dataclasses.fields(run.error):
        value = getattr(run.error, field.name)
        if value > 0.0:
            rows.append([_ERRORS[field.name].capitalize(), shown(value)])
    rows.append(["Sum", shown(run.error.largest)])
    return rows


def _checks(run: Run) -> Table:
    """Return all criteria of the run, those that decide and cautions."""
    rows = [["Criterion", "Decides", "Required", "Actual", "When", "Hours broken"]]
    for each in run.judgement.criteria:
        rows.append(
            [
                SUBJECTS[each.name],
                "yes" if each.decides else "no, caution",
                each.in_words(each.required),
                each.in_words(each.actual),
                moment(run.design, each.year, each.hour),
                f"{sum(each.hours_broken):,}",
            ]
        )
    return rows


def _sources(design: Design) -> list[str]:
    """Return the published methods and data behind the run."""
    found = [*kind_of(design.ground_side).sources, f"Fluid: {design.fluid.source}."]
    if design.heat_pump.fit is not None:
        found.append("Heat pump: polynomials fitted by least squares to the table given with the design.")
    else:
        found.append("Heat pump: performance curves given with the design.")
    found.append("Films: Gnielinski 1976, 2009 and 2013.")
    if design.piping is not None:
        found.append("Pressure drop: Darcy and Weisbach; friction 64/Re, and Colebrook above Re 4000.")
    if any("building" in label for label, _ in design.loads.origin):
        found.append(
            "Loads: ISO 13790:2008, annex C; sun on windows: Spencer (1971), Perez and others (1990)."
        )
    return found
