"""The report: the answer first, what it rests on, and the complete input to repeat the run."""

from __future__ import annotations

import math
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopdrift import _core
from loopdrift.analysis import shaped_loads
from loopdrift.analysis.cost import own
from loopdrift.analysis.findings import drift, findings
from loopdrift.analysis.unusual import unusual
from loopdrift.basics.both_units import factor
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.output import ResultPage
from loopdrift.files import design_file
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.cautions import HAZARDS, PERMITS, STANDING
from loopdrift.reporting.changes import changed_sections, changes_of, years_in_words
from loopdrift.reporting.html import Units, link, rounded, template
from loopdrift.reporting.loads import beside_heat_pump, of_loads, of_series
from loopdrift.reporting.report import answer, engineering
from loopdrift.reporting.report.yearly import some_years, yearly_table
from loopdrift.reporting.rules_of_thumb import rules_of_thumb

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure

    from loopdrift.analysis.cost import Cost
    from loopdrift.analysis.learning import Forecast
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

_TITLE = "Ground-source heat pump"
_LONGEST_PAYBACK = 100
"""Years; nothing lasts longer."""


def write(
    run: Run,
    path: str | os.PathLike[str],
    *,
    title: str | None = None,
    units: Units = "SI",
    full: bool = False,
    charts: dict[str, Figure] | None = None,
    forecast: Forecast | None = None,
    force: bool = False,
) -> Path:
    """Write a run as one self-contained HTML page.

    Parameters
    ----------
    run : Run
        The run.
    path : str or path-like
        The file.
    title : str, optional
        Heading of the page; plain text. By default the name of the project.
    units : {"SI", "IP"}, default "SI"
        Units of tables and charts, which also come first in sentences.
    full : bool, default False
        Whether the page also has the engineer's part: hydraulics, heat pump and fit, monthly and yearly
        tables, error figures, checks and sources.
    charts : dict of str to matplotlib.figure.Figure, optional
        The run's charts, if they have already been drawn.
    forecast : Forecast, optional
        Results of the plant's log, as a section of its own.
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
    file.write(page(run, title=title, units=units, full=full, charts=charts, forecast=forecast))
    return file.path


def page(
    run: Run,
    *,
    title: str | None = None,
    units: Units = "SI",
    full: bool = False,
    charts: dict[str, Figure] | None = None,
    forecast: Forecast | None = None,
) -> str:
    """Return the text of the page; see `write`."""
    from loopdrift.reporting.figures import figures, svg
    from loopdrift.reporting.overview import facts

    design = run.design
    project = design.project
    if title is None:
        title = _TITLE if project is None or project.name is None else project.name
    require_title(title)
    holds, sentence = answer.answer(run)
    drawn = figures(run, units) if charts is None else charts
    kind = kind_of(design.ground_side)
    open_points = [finding for finding in run.once(findings) if not finding.holds]
    return template("loopdrift.reporting.report", "page.html.jinja", units).render(
        title=title,
        project=[] if project is None else [each for each in project.lines if each != ("project", title)],
        metadata={"title": title} | ({} if project is None else project.file_metadata),
        version=_core.VERSION,
        years=run.years,
        units=units,
        full=full,
        holds=holds,
        answer=sentence,
        margins=answer.margins(run),
        points=[finding.text for finding in open_points if not finding.is_note],
        notes=[finding.text for finding in open_points if finding.is_note],
        drift=drift(run, decimals=1),
        rules=rules_of_thumb(design, run),
        charts={name: svg(drawn[name], name) for name in _shown(run) if name in drawn},
        changes=changes_of(run),
        tables=_yearly_tables(run, units),
        needs=_needs(run),
        unusual=[f"{each.key.replace('.', ', ').replace('_', ' ')}: {each.text}" for each in unusual(design)],
        origin=_origin(design),
        shaped=shaped_loads.in_words(run),
        facts=[(label, text) for label, text in facts(design) if label not in _shown_elsewhere(run, full)],
        error=kind.error_in_words(run.error, design.ground_side),
        conduction=kind.conducts,
        water_flows=design.ground.darcy_flux > 0.0,
        cost=_cost(run, units),
        log=None if forecast is None else _log(forecast, units),
        cautions=(HAZARDS, STANDING, PERMITS),
        sections=changed_sections(run, units),
        files=_input(run),
        engineering=engineering.content(run, units, drawn) if full else None,
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


def _yearly_tables(run: Run, units: Units) -> list[tuple[str, list[list[str]]]]:
    """Return the yearly table of each plant with its heading, which is empty if the plant never changes."""
    return [
        (
            years_in_words(span.first, span.last) if len(run.spans) > 1 else "",
            yearly_table(run.yearly, units, some_years(span.last, span.first)),
        )
        for span in run.spans
    ]


def _needs(run: Run) -> list[str]:
    """Return what the building needs, in a sentence for each of the loads that follow each other."""
    return [answer.needs(span.design, span.first) for span in run.spans if span.loads_since == span.first]


def _shown(run: Run) -> list[str]:
    """Return the names of the charts that the page shows."""
    hot = ["hottest-week"] if run.yearly["cooling_kWh"].any() else []
    return ["horizon", "loads", "energy", "coldest-week", *hot, "site", "layout", "section", "cost"]


def _log(forecast: Forecast, units: Units) -> str:
    """Return the section about the plant's log."""
    from loopdrift.reporting import learning

    return learning.section(forecast, units)


def _origin(design: Design) -> list[tuple[str, str]]:
    """Return origin and doubts of the loads; the page has their sums and peaks in a sentence."""
    in_a_sentence = {"needs", "shaped from", *(label for label, _ in of_series(design.loads))}
    return [
        (label, text)
        for label, text in (*of_loads(design.loads), *beside_heat_pump(design))
        if label not in in_a_sentence
    ]


def _shown_elsewhere(run: Run, full: bool) -> set[str]:
    """Return the labels of facts that the page has elsewhere."""
    project = run.design.project
    return {
        *("rule of thumb", "caution"),
        *(("resistance",) if full else ()),
        *(() if project is None else (label for label, _ in project.lines)),
    }


def _cost(run: Run, units: Units) -> dict[str, Any] | None:
    """Return the plants' costs as rows of text, with a summary."""
    if run.spans[0].design.prices is None:
        return None
    of_heat, per_kwh, decimals = "kWh", 1.0, 3
    if units == "IP":
        of_heat, per_kwh, decimals = "million Btu", factor("kWh", "million Btu"), 1
    cost = run.once(own)
    by_year = cost.by_year("cost")
    energy = cost.yearly.groupby("plant")[["electricity_kWh", "fuel_kWh"]].sum()
    rows = []
    for plant, row in cost.summary.iterrows():
        name = str(plant)
        rows.append(
            [
                name,
                rounded(row["first_cost"]),
                rounded(float(by_year[name].iloc[0])),
                rounded(float(energy["electricity_kWh"][name])),
                rounded(per_kwh * float(energy["fuel_kWh"][name])),
                rounded(row["present_cost"]),
                f"{row['levelised_cost_per_kWh'] / per_kwh:.{decimals}f}",
                _tonnes(row["carbon_kg"] / 1000.0),
                _payback(row),
            ]
        )
    return {
        "answer": answer.bill(cost),
        "currency": cost.prices.currency,
        "discount": 100.0 * cost.prices.discount_rate,
        "of_heat": of_heat,
        "rows": rows,
        "drift": None if cost.plant_changes else 100.0 * cost.drift,
        "invested": _invested(cost),
    }


def _invested(cost: Cost) -> str:
    """Return what later changes of the plant cost; empty without any."""
    if "investment" not in cost.yearly:
        return ""
    return rounded(float(cost.yearly["investment"].sum()))


def _tonnes(amount: float) -> str:
    """Return an amount with three digits, small ones with one decimal."""
    return rounded(amount) if amount >= 100.0 else f"{amount:.1f}"


def _payback(row: pd.Series[float]) -> str:
    years, lasts = (
        float(row.get(f"{name}_years", math.nan)) for name in ("simple_payback", "advantage_lasts")
    )
    if math.isinf(years):
        return "never"
    if years > _LONGEST_PAYBACK:
        return f"over {_LONGEST_PAYBACK}"
    if not math.isnan(years):
        return f"{years:.0f}" if years >= 3.0 else f"{years:.1f}"
    return f"initial advantage lasts {lasts:.0f}" if math.isfinite(lasts) else "-"


def _input(run: Run) -> dict[str, str]:
    """Return the design file and its hourly files by name, as links that hold them."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "design.toml"
        design_file.write_input(run, path)
        files = {file.name: link(file.read_bytes(), "text/csv") for file in sorted(path.parent.glob("*.csv"))}
        return {path.name: link(path.read_bytes(), "application/toml")} | files
