"""A run on a page of plain text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal, NamedTuple

from loopdrift.both_units import both
from loopdrift.cautions import CAUTIONS
from loopdrift.findings import drift, findings
from loopdrift.key_figures import flow_in_words
from loopdrift.pond import Pond
from loopdrift.rules_of_thumb import rules_of_thumb
from loopdrift.well import Well
from loopdrift.words import counted

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.run import Run

WIDTH = 100
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
_UNITS = ("delta_degF", "degF", "degC", "K", "kWh", "kBtu")


def summary(run: Run, *, long_run: str = "", units: Literal["SI", "IP"] = "SI") -> str:
    """Return what a run found: the answers, the years, the error and the cautions.

    Parameters
    ----------
    run : Run
        The run.
    long_run : str, optional
        What becomes of it in the long run, in sentences.
    units : {"SI", "IP"}, default "SI"
        Units of the table; the sentences give both where they matter.

    Returns
    -------
    str
        Lines of plain text, the last one ended.
    """
    design = run.design
    head = (
        f"{counted(run.years, 'year')} of {design.ground_side}, with {design.fluid} at "
        f"{flow_in_words(design)}"
    )
    answers = [str(finding) for finding in findings(run)] + [drift(run)]
    error = error_of(run)
    blocks = [
        _wrapped(head),
        "\n".join(_wrapped(answer, "  ") for answer in answers),
        _years(run.yearly, units),
        "\n".join(_wrapped(str(rule), "  ") for rule in rules_of_thumb(design, run)),
        *([_wrapped(long_run)] if long_run else []),
        *([run.cost().text(units=units)] if design.prices is not None else []),
        _wrapped(error),
        _wrapped(CAUTIONS),
    ]
    return "\n\n".join(blocks) + "\n"


def error_of(run: Run) -> str:
    """Return how far the temperatures are those of the equations, in a sentence."""
    side, error = run.design.ground_side, run.error
    if isinstance(side, Pond):
        return (
            f"Steps of an hour cost the pond's water up to about {both(error.steps, 'K', '.1g')}, and that "
            "the film around the coils is that of past hours the fluid up to about "
            f"{both(error.film, 'K', '.1g')}, where heat begins or changes abruptly. What the model leaves "
            "out counts for more."
        )
    if isinstance(side, Well) and side.return_distance is None:
        return (
            "The well's water has the aquifer's temperature, and the level is the sum of all pumping: "
            "nothing of that is approximate but the model itself."
        )
    if isinstance(side, Well):
        return (
            f"That the well's water keeps one temperature for an interval of pumping costs up to about "
            f"{both(error.steps, 'K', '.1g')}; what the model leaves out counts for more."
        )
    return (
        f"Temperatures are those of the equations to about {both(error.largest, 'K', '.1g')}: exponentials "
        f"{error.exponentials:.1g} K, tabulation {error.tabulation:.1g} K, segments of the loop "
        f"{error.segments:.1g} K."
    )


def _wrapped(text: str, indent: str = "") -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)


def _years(yearly: pd.DataFrame, units: Literal["SI", "IP"]) -> str:
    """Return the yearly table, each of the first years, then every fifth and the last."""
    from loopdrift.units import to_inch_pound

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
    for name, column in zip(table.columns, _COLUMNS.values(), strict=True):
        unit = next((f"[{unit}]" for unit in _UNITS if name.endswith(f"_{unit}")), "[-]")
        numbers = [_number(value, column.decimals) for value in table[name]]
        columns.append([*column.heading, unit.replace("delta_", ""), *numbers])
    widths = [max(map(len, column)) for column in columns]
    rows = zip(*columns, strict=True)
    return "\n".join(
        "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    )


def _number(value: float, decimals: int) -> str:
    return "-" if math.isnan(value) else f"{value:,.{decimals}f}"
