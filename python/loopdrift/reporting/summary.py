"""A run on a page of plain text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal

from loopdrift.analysis import shaped_loads
from loopdrift.analysis.cost import own
from loopdrift.analysis.findings import drift, findings, verdict
from loopdrift.analysis.unusual import unusual
from loopdrift.basics.both_units import inch_pound_first
from loopdrift.basics.words import WIDTH, counted
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.cautions import CAUTIONS
from loopdrift.model.columns import OF_YEARS
from loopdrift.model.key_figures import flow_in_words
from loopdrift.reporting.changes import changes_of
from loopdrift.reporting.rules_of_thumb import rules_of_thumb

if TYPE_CHECKING:
    from loopdrift.model.run import Run
    from loopdrift.parts.project import Project

YEARS_SHOWN_EACH = 5


_SHOWN = (
    *("entering_fluid_min_degC", "entering_fluid_mean_degC", "entering_fluid_max_degC", "drift_mean_K"),
    *("heat_extracted_kWh", "heat_rejected_kWh", "electricity_kWh", "backup_kWh", "seasonal_cop"),
)
"""Columns of the yearly table on the page."""


def summary(run: Run, *, long_run: str = "", units: Literal["SI", "IP"] = "SI") -> str:
    """Return the results of a run: findings, yearly table, error and cautions.

    Parameters
    ----------
    run : Run
        The run.
    long_run : str, optional
        Long-term behaviour, in sentences.
    units : {"SI", "IP"}, default "SI"
        Units of the table, and those that sentences give first.

    Returns
    -------
    str
        Lines of plain text, ending with a newline.
    """
    design, kind = run.design, kind_of(run.design.ground_side)
    head = (
        f"{counted(run.years, 'year')} of {design.ground_side}, with {design.fluid} at "
        f"{flow_in_words(design)}"
    )
    answers = [verdict(run), *map(str, run.once(findings)), drift(run)]
    answers += [text for text in [shaped_loads.in_words(run)] if text]
    in_order = inch_pound_first if units == "IP" else str

    def wrapped(text: str, indent: str = "") -> str:
        return _wrapped(in_order(text), indent)

    blocks = [
        *(() if design.project is None else [_project(design.project)]),
        wrapped(head),
        *(["\n".join(changes)] if (changes := [wrapped(text, "  ") for text in changes_of(run)]) else []),
        "\n".join(wrapped(answer, "  ") for answer in answers),
        _years(run, units),
        "\n".join(wrapped(str(rule), "  ") for rule in rules_of_thumb(design, run)),
        *(
            ["\n".join(odd)]
            if (odd := [wrapped(f"Unusual input: {each}.", "  ") for each in unusual(design)])
            else []
        ),
        *([wrapped(long_run)] if long_run else []),
        *([run.once(own).text(units=units)] if design.prices is not None else []),
        wrapped(kind.error_in_words(run.error, design.ground_side)),
        wrapped(f"Assumptions: {kind.assumptions(design)}."),
        wrapped(CAUTIONS),
    ]
    return "\n\n".join(blocks) + "\n"


def _project(project: Project) -> str:
    """Return the fields of a project that are given, one a line."""
    return "\n".join(_wrapped(f"{label}: {text}", "  ") for label, text in project.lines)


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)


def _years(run: Run, units: Literal["SI", "IP"]) -> str:
    """Return the yearly table: the first five years, every fifth, and the first and last of each plant."""
    from loopdrift.basics.units import to_inch_pound

    ends = {year for span in run.spans for year in (span.first, span.last)}
    shown = [
        year
        for year in range(1, run.years + 1)
        if year <= YEARS_SHOWN_EACH or year % YEARS_SHOWN_EACH == 0 or year in ends
    ]
    table = run.yearly.loc[shown, list(_SHOWN)]
    if units == "IP":
        table = to_inch_pound(table)
    columns = [["year", "", "", *map(str, shown)]]
    for name, values in zip(_SHOWN, table.to_numpy().T, strict=True):
        column = OF_YEARS[name]
        first, _, second = column.heading.rpartition(" ")
        numbers = [_number(value, column.decimals) for value in values]
        columns.append([first, second, f"[{column.unit_in(units, name) or '-'}]", *numbers])
    widths = [max(map(len, column)) for column in columns]
    rows = zip(*columns, strict=True)
    return "\n".join(
        "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def _number(value: float, decimals: int) -> str:
    return "-" if math.isnan(value) else f"{value:,.{decimals}f}"
