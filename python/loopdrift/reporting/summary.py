"""A run on a page of plain text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal, NamedTuple

from loopdrift.analysis.cautions import CAUTIONS
from loopdrift.analysis.cost import own
from loopdrift.analysis.findings import drift, findings, verdict
from loopdrift.basics.words import WIDTH, counted
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.columns import heading_unit
from loopdrift.model.key_figures import flow_in_words
from loopdrift.reporting.rules_of_thumb import rules_of_thumb

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.model.run import Run
    from loopdrift.parts.project import Project

YEARS_SHOWN_EACH = 5


class _Column(NamedTuple):
    """A column of the yearly table as the page has it."""

    heading: tuple[str, str]
    decimals: int


_COLUMNS = {
    "entering_fluid_min_degC": _Column(("EFT", "min"), 2),
    "entering_fluid_mean_degC": _Column(("EFT", "mean"), 2),
    "entering_fluid_max_degC": _Column(("EFT", "max"), 2),
    "drift_mean_K": _Column(("drift of", "the mean"), 3),
    "heat_extracted_kWh": _Column(("heat from", "ground"), 0),
    "heat_rejected_kWh": _Column(("heat into", "ground"), 0),
    "electricity_kWh": _Column(("elec-", "tricity"), 0),
    "backup_kWh": _Column(("back-up", "heat"), 0),
    "seasonal_cop": _Column(("seasonal", "COP"), 2),
}


def summary(run: Run, *, long_run: str = "", units: Literal["SI", "IP"] = "SI") -> str:
    """Return the results of a run: findings, yearly table, error and cautions.

    Parameters
    ----------
    run : Run
        The run.
    long_run : str, optional
        Long-term behaviour, in sentences.
    units : {"SI", "IP"}, default "SI"
        Units of the table; the sentences give both where they matter.

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
    blocks = [
        *(() if design.project is None else [_project(design.project)]),
        _wrapped(head),
        "\n".join(_wrapped(answer, "  ") for answer in answers),
        _years(run.yearly, units),
        "\n".join(_wrapped(str(rule), "  ") for rule in rules_of_thumb(design, run)),
        *([_wrapped(long_run)] if long_run else []),
        *([run.once(own).text(units=units)] if design.prices is not None else []),
        _wrapped(kind.error_in_words(run.error, design.ground_side)),
        _wrapped(f"Assumptions: {kind.assumptions(design)}."),
        _wrapped(CAUTIONS),
    ]
    return "\n\n".join(blocks) + "\n"


def _project(project: Project) -> str:
    """Return the fields of a project that are given, one a line."""
    return "\n".join(_wrapped(f"{label}: {text}", "  ") for label, text in project.lines)


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)


def _years(yearly: pd.DataFrame, units: Literal["SI", "IP"]) -> str:
    """Return the yearly table: the first five years, then every fifth and the last."""
    from loopdrift.basics.units import to_inch_pound

    last = len(yearly)
    shown = [
        year
        for year in range(1, last + 1)
        if year <= YEARS_SHOWN_EACH or year % YEARS_SHOWN_EACH == 0 or year == last
    ]
    table = yearly.loc[shown, list(_COLUMNS)]
    if units == "IP":
        table = to_inch_pound(table)
    columns = [["year", "", "", *map(str, shown)]]
    for (name, column), values in zip(_COLUMNS.items(), table.to_numpy().T, strict=True):
        numbers = [_number(value, column.decimals) for value in values]
        columns.append([*column.heading, f"[{heading_unit(name, units) or '-'}]", *numbers])
    widths = [max(map(len, column)) for column in columns]
    rows = zip(*columns, strict=True)
    return "\n".join(
        "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def _number(value: float, decimals: int) -> str:
    return "-" if math.isnan(value) else f"{value:,.{decimals}f}"
