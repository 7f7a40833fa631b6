"""The yearly table of a report, with no more digits than a reader needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.model.columns import OF_YEARS
from loopdrift.reporting.html import Units, rounded

if TYPE_CHECKING:
    import pandas as pd

_YEARS_SHOWN = 5
_SHOWN = (
    *("entering_fluid_min_degC", "entering_fluid_mean_degC", "entering_fluid_max_degC"),
    *("heat_extracted_kWh", "heat_rejected_kWh", "electricity_kWh", "electricity_well_kWh"),
    *("distribution_kWh", "hot_water_element_kWh", "backup_kWh", "seasonal_cop"),
)
"""Columns of the table."""
_PARTS_OF_ELECTRICITY = ("electricity_well_kWh", "distribution_kWh", "hot_water_element_kWh", "backup_kWh")
"""Shown only if there is any."""


def some_years(last: int, first: int = 1) -> list[int]:
    """Return the first year, the last, and evenly spaced years.

    Parameters
    ----------
    last : int
        The last year.
    first : int, default 1
        The first year.
    """
    every = max(1, round((last - first + 1) / _YEARS_SHOWN))
    return [year for year in range(first, last + 1) if year in (first, last) or year % every == 0]


def yearly_table(yearly: pd.DataFrame, units: Units, shown: list[int]) -> list[list[str]]:
    """Return heading and rows of the yearly table.

    Parameters
    ----------
    yearly : pandas.DataFrame
        `Run.yearly`.
    units : {"SI", "IP"}
        Units of the table.
    shown : list of int
        The years to show.
    """
    from loopdrift.basics.units import to_inch_pound

    names = [
        name
        for name in _SHOWN
        if name not in _PARTS_OF_ELECTRICITY or (name in yearly and yearly[name].any())
    ]
    table = yearly.loc[shown, names]
    if units == "IP":
        table = to_inch_pound(table)
    values = table.to_numpy()
    return [
        ["Year", *(heading(name, units) for name in names)],
        *([str(year), *map(_cell, names, row)] for year, row in zip(shown, values, strict=True)),
    ]


def heading(name: str, units: Units) -> str:
    """Return the heading of a yearly column with its unit.

    Parameters
    ----------
    name : str
        Name of the column.
    units : {"SI", "IP"}
        Units of the table.
    """
    column = OF_YEARS[name]
    label = column.heading[0].upper() + column.heading[1:]
    if name in _PARTS_OF_ELECTRICITY:
        label = f"incl. {column.heading}"
    unit = column.unit_in(units, name).replace("deg", "°")
    return f"{label} [{unit}]" if unit else label


def _cell(name: str, value: float) -> str:
    """Return 0.1 of a degree, three digits of an energy, and pure numbers as the registry has them."""
    column = OF_YEARS[name]
    if column.unit == "kWh":
        return rounded(value)
    return f"{value:z,.{1 if column.unit == 'degC' else column.decimals}f}"
