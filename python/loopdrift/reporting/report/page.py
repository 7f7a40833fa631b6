"""The report: question, result, and the complete input to repeat the run."""

from __future__ import annotations

import base64
import math
import re
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from loopdrift.analysis.cautions import HAZARDS, PERMITS, STANDING
from loopdrift.analysis.cost import own
from loopdrift.basics.both_units import factor
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.output import ResultPage
from loopdrift.files import design_file
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.columns import OF_YEARS
from loopdrift.reporting.report import answer

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from loopdrift.model.run import Run

_YEARS_SHOWN = 10
_SHOWN = (
    *("entering_fluid_min_degC", "entering_fluid_mean_degC", "entering_fluid_max_degC"),
    *("heat_extracted_kWh", "heat_rejected_kWh", "electricity_kWh", "electricity_well_kWh"),
    *("distribution_kWh", "hot_water_element_kWh", "backup_kWh", "seasonal_cop"),
)
"""Columns of the yearly table on the page."""
_PARTS_OF_ELECTRICITY = ("electricity_well_kWh", "distribution_kWh", "hot_water_element_kWh", "backup_kWh")
"""Shown only if there is any."""


def write(
    run: Run,
    path: str | Path,
    *,
    title: str = "Ground-source heat pump",
    units: Literal["SI", "IP"] = "SI",
    charts: dict[str, Figure] | None = None,
    force: bool = False,
) -> Path:
    """Write a run as one self-contained HTML page.

    Parameters
    ----------
    run : Run
        The run.
    path : str or pathlib.Path
        The file.
    title : str, default "Ground-source heat pump"
        Heading of the page; plain text.
    units : {"SI", "IP"}, default "SI"
        Units of tables and charts.
    charts : dict of str to matplotlib.figure.Figure, optional
        The run's charts, if they have already been drawn.
    force : bool, default False
        Whether to replace a file that loopdrift didn't write or that has been modified.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InvalidInput
        If the file exists and isn't an unmodified page written by loopdrift.
    OSError
        If the file can't be written; an existing file is left unchanged.
    """
    file = ResultPage(path, force=force)
    file.write(page(run, title=title, units=units, charts=charts))
    return file.path


def page(
    run: Run,
    *,
    title: str = "Ground-source heat pump",
    units: Literal["SI", "IP"] = "SI",
    charts: dict[str, Figure] | None = None,
) -> str:
    """Return the text of the page; see `write`."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    from loopdrift.analysis import shaped_loads
    from loopdrift.analysis.findings import drift
    from loopdrift.analysis.findings import findings as said
    from loopdrift.reporting.figures import figures, svg
    from loopdrift.reporting.loads import beside_heat_pump, of_loads
    from loopdrift.reporting.overview import facts
    from loopdrift.reporting.rules_of_thumb import rules_of_thumb

    require_title(title)
    holds, sentence = answer.answer(run)
    drawn = figures(run, units) if charts is None else charts
    design, hourly = _input(run)
    kind = kind_of(run.design.ground_side)
    environment = Environment(
        loader=PackageLoader("loopdrift.reporting.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    )
    environment.filters["degrees"] = lambda text: re.sub(" ?deg([CF])", "\N{NO-BREAK SPACE}°\\1", text)
    return environment.get_template("page.html.jinja").render(
        title=title,
        project=() if run.design.project is None else list(run.design.project.lines),
        metadata={} if run.design.project is None else run.design.project.file_metadata,
        years=run.years,
        units=units,
        holds=holds,
        answer=sentence,
        margins=answer.margins(run),
        findings=[finding for finding in run.once(said) if not finding.holds],
        drift=drift(run),
        rules=rules_of_thumb(run.design, run),
        charts={name: svg(drawn[name], name) for name in _shown(run) if name in drawn},
        table=_table(run.yearly, units),
        asked=answer.asked(run.design),
        origin=[*of_loads(run.design.loads), *beside_heat_pump(run.design)],
        shaped=shaped_loads.in_words(run),
        facts=facts(run.design),
        error=kind.error_in_words(run.error, run.design.ground_side),
        conduction=kind.conducts,
        cost=_cost(run, units),
        cautions=(HAZARDS, STANDING, PERMITS),
        design=design,
        hourly=hourly,
    )


def require_title(title: str) -> None:
    """Check a title before a run is made for it.

    Raises
    ------
    InvalidInput
        If the title isn't text, or is empty.
    """
    if not isinstance(title, str) or not title.strip():
        raise InvalidInput("Report", "title", repr(title), "", "must be text, and not empty")


def _shown(run: Run) -> list[str]:
    """Return the names of the charts that the page shows."""
    hot = ["hottest-week"] if run.yearly["cooling_kWh"].any() else []
    return ["horizon", "loads", "energy", "coldest-week", *hot, "layout", "section", "cost"]


def _table(yearly: pd.DataFrame, units: Literal["SI", "IP"]) -> list[list[str]]:
    """Return heading and rows of the yearly table: the first, the last and evenly spaced years."""
    from loopdrift.basics.units import to_inch_pound

    last = len(yearly)
    every = max(1, round(last / _YEARS_SHOWN))
    shown = [year for year in range(1, last + 1) if year in (1, last) or year % every == 0]
    names = [
        name
        for name in _SHOWN
        if name not in _PARTS_OF_ELECTRICITY or (name in yearly and yearly[name].any())
    ]
    table = yearly.loc[shown, names]
    if units == "IP":
        table = to_inch_pound(table)
    heading = ["Year"]
    for name in names:
        column = OF_YEARS[name]
        incl = "incl. " if name in _PARTS_OF_ELECTRICITY else ""
        label = incl + column.heading if incl else column.heading[0].upper() + column.heading[1:]
        unit = column.unit_in(units, name).replace("deg", "°")
        heading.append(f"{label} [{unit}]" if unit else label)
    decimals = [OF_YEARS[name].decimals for name in names]
    rows = [
        [str(year), *(f"{value:z,.{places}f}" for value, places in zip(values, decimals, strict=True))]
        for year, values in zip(shown, table.to_numpy(), strict=True)
    ]
    return [heading, *rows]


def _cost(run: Run, units: Literal["SI", "IP"]) -> dict[str, Any] | None:
    """Return the plants' costs as rows of text, with a summary."""
    if run.design.prices is None:
        return None
    of_heat, per_kwh, decimals = "kWh", 1.0, 3
    if units == "IP":
        of_heat, per_kwh, decimals = "million Btu", factor("kWh", "million Btu"), 2
    cost = run.once(own)
    by_year = cost.by_year("cost")
    energy = cost.yearly.groupby("plant")[["electricity_kWh", "fuel_kWh"]].sum()
    rows = []
    for plant, row in cost.summary.iterrows():
        name = str(plant)
        rows.append(
            [
                name,
                f"{row['first_cost']:,.0f}",
                f"{float(by_year[name].iloc[0]):,.0f}",
                f"{float(energy['electricity_kWh'][name]):,.0f}",
                f"{per_kwh * float(energy['fuel_kWh'][name]):,.0f}",
                f"{row['present_cost']:,.0f}",
                f"{row['levelised_cost_per_kWh'] / per_kwh:.{decimals}f}",
                f"{row['carbon_kg'] / 1000.0:,.1f}",
                _payback(row),
            ]
        )
    return {
        "answer": answer.bill(cost),
        "currency": cost.prices.currency,
        "discount": 100.0 * cost.prices.discount_rate,
        "of_heat": of_heat,
        "rows": rows,
        "drift": 100.0 * cost.drift,
    }


def _payback(row: pd.Series[float]) -> str:
    years, lasts = (
        float(row.get(f"{name}_years", math.nan)) for name in ("simple_payback", "advantage_lasts")
    )
    if math.isinf(years):
        return "never"
    if not math.isnan(years):
        return f"{years:.1f}"
    return f"initial advantage lasts {lasts:.1f}" if math.isfinite(lasts) else "-"


def _input(run: Run) -> tuple[str, dict[str, str]]:
    """Return the design file, and its hourly files by name in base64, that reproduce the run."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "design.toml"
        design_file.write(run.design, path)
        hourly = {
            file.name: base64.b64encode(file.read_bytes()).decode("ascii")
            for file in sorted(path.parent.glob("*.csv"))
        }
        return path.read_text(encoding="utf-8"), hourly
