"""A run on a page of plain text."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from loopdrift.cautions import CAUTIONS
from loopdrift.findings import drift, findings

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.run import Run

WIDTH = 100
YEARS_SHOWN_EACH = 5
_DECIMALS = {"_degC": 2, "_degF": 2, "_K": 3, "_kWh": 0, "_cop": 2}
_COLUMNS = [
    "entering_fluid_min_degC",
    "entering_fluid_mean_degC",
    "entering_fluid_max_degC",
    "drift_mean_K",
    "heat_extracted_kWh",
    "heat_rejected_kWh",
    "electricity_kWh",
    "backup_kWh",
    "seasonal_cop",
]


def summary(run: Run, *, units: Literal["SI", "IP"] = "SI") -> str:
    """Return what a run found: the answers, the years, the error and the cautions.

    Parameters
    ----------
    run : Run
        The run.
    units : {"SI", "IP"}, default "SI"
        Units of the table; the sentences give both where they matter.

    Returns
    -------
    str
        Lines of plain text, the last one ended.
    """
    import textwrap

    field, design = run.design.ground_side, run.design
    head = (
        f"{run.years} years of {field.count} bores, {field.total_depth:,.0f} m in all, with {design.fluid.name} at "
        f"{design.flow:.2f} kg/s"
    )
    answers = [str(finding) for finding in findings(run)] + [drift(run)]
    error = (
        f"Temperatures agree with exact superposition of the same heat within {run.error.largest:.1g} K "
        f"(exponentials {max(run.error.exponentials, run.error.exponentials_fluid):.1g} K, tabulation "
        f"{run.error.tabulation:.1g} K)."
    )
    wrapped = [textwrap.fill(text, WIDTH, subsequent_indent="  ") for text in (head, *answers)]
    closing = [textwrap.fill(text, WIDTH) for text in (error, CAUTIONS)]
    return "\n".join([*wrapped, "", _years(run.yearly, units), "", *closing, ""])


def _years(yearly: pd.DataFrame, units: Literal["SI", "IP"]) -> str:
    """Return the yearly table, each of the first years and then every fifth."""
    from loopdrift.units import to_inch_pound

    shown = yearly.loc[
        [
            year
            for year in yearly.index
            if year <= YEARS_SHOWN_EACH or year % YEARS_SHOWN_EACH == 0 or year == len(yearly)
        ]
    ]
    table = shown[_COLUMNS]
    if units == "IP":
        table = to_inch_pound(table)
    lines = {}
    for name in table.columns:
        decimals = next(places for ending, places in _DECIMALS.items() if name.endswith(ending))
        lines[_heading(name)] = [f"{value:,.{decimals}f}" if value == value else "-" for value in table[name]]
    import pandas as pd

    return pd.DataFrame(lines, index=table.index).to_string()


def _heading(name: str) -> str:
    stem, _, unit = name.rpartition("_")
    return {"seasonal_cop": "seasonal COP"}.get(
        name, f"{stem.replace('entering_fluid_', 'EFT ').replace('_', ' ')} [{unit}]"
    )
