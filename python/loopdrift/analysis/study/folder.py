"""Text, tables and charts of a study in a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.analysis.study.dataset import ran
from loopdrift.analysis.study.statistics import missing_in_words
from loopdrift.basics.both_units import FACTORS, both, both_degrees, inch_pound_first
from loopdrift.basics.words import counted
from loopdrift.files.tables import without_formulas

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from loopdrift.charts.style import Units
    from loopdrift.parts.limits import Limits


_OF_WATER_OR_HEAT = ("kg/s", "W")
"""Units whose inch-pound units hold for water and for heat, but not for mixtures and electricity."""


def text(dataset: xr.Dataset, units: Units = "SI") -> str:
    """Return how many cases hold, which of them has the smallest margin, and why others failed.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run`.
    units : {"SI", "IP"}, default "SI"
        Units that come first.

    Returns
    -------
    str
        Lines of plain text, ending with a newline.
    """
    table = cases(dataset)
    were_run = ran(dataset).to_numpy().ravel()
    failed, finished = table[~were_run], table[were_run]
    broken = int((finished["margin_K"] < 0.0).sum())
    project = [f"Project: {dataset.attrs['project']}"] if "project" in dataset.attrs else []
    lines = [
        *project,
        f"{counted(len(table), 'case')} of {counted(dataset.sizes['year'], 'year')}: "
        f"{len(finished) - broken} hold, {broken} break a limit, {len(failed)} can't be run to the end.",
    ]
    names = [name for name in table.columns if name in dataset.coords]
    if len(finished) > broken:
        least = finished[finished["margin_K"] >= 0.0].sort_values("margin_K").iloc[0]
        values = ", ".join(
            f"{name} {_value(least[name], dataset[name].attrs.get('units', ''))}" for name in names
        )
        lines.append(
            f"Smallest margin of those that hold: {both(least['margin_K'], 'K', '.3f')}, with {values}."
        )
    missing = missing_in_words(dataset)
    lines += [f"{missing[0].upper()}{missing[1:]}."] if missing else []
    lines += [f"{count} x {reason}" for reason, count in failed["failure"].value_counts().items()]
    text = "\n".join(lines) + "\n"
    return inch_pound_first(text) if units == "IP" else text


def cases(dataset: xr.Dataset) -> pd.DataFrame:
    """Return one row per case: parameters, the extremes of all years, and the critical hour.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run`.

    Returns
    -------
    pandas.DataFrame
        The table.
    """
    by_case = dataset[[name for name, found in dataset.data_vars.items() if "year" not in found.dims]]
    extremes = {
        f"{name}_degC": getattr(dataset[f"{name}_degC"], name.rsplit("_", 1)[1])("year")
        for name in ("entering_fluid_min", "entering_fluid_max", "leaving_fluid_min")
    }
    return by_case.assign(extremes).to_dataframe().reset_index()


def write_into(dataset: xr.Dataset, folder: Path, *, limits: Limits, units: Units = "SI") -> None:
    """Write the table of cases as CSV, and a chart if two numbers vary or samples are drawn.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run`.
    folder : pathlib.Path
        An existing empty folder.
    limits : Limits
        The limits of the design.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    from matplotlib.figure import Figure

    from loopdrift.analysis.study import charts

    without_formulas(cases(dataset)).to_csv(folder / "cases.csv", index=False)
    dimensions = [str(name) for name in dataset["margin_K"].dims]
    if not ran(dataset).any():
        return
    if dimensions == ["case"]:
        figure = Figure(figsize=(8.0, 6.0), layout="constrained")
        upper, lower = figure.subplots(2, height_ratios=[3, 1], sharex=True)
        charts.uncertainty(dataset, limits=limits, units=units, axes=(upper, lower))
        figure.savefig(folder / "uncertainty.png", dpi=150)
    numbers = [name for name in dimensions if dataset[name].dtype.kind in "fiu" and dataset.sizes[name] > 1]
    if len(dimensions) == len(numbers) == 2:
        figure = Figure(figsize=(7.5, 5.0), layout="constrained")
        charts.limits_contour(dataset, *dimensions, limits=limits, units=units, ax=figure.subplots())
        figure.savefig(folder / "limits.png", dpi=150)


def _value(value: object, unit: str) -> str:
    """Return a value with its unit, in both systems where that has two."""
    if not isinstance(value, float | int | np.number):
        return str(value)
    if unit == "degC":
        return both_degrees(float(value))
    in_both = unit in FACTORS and unit not in _OF_WATER_OR_HEAT
    return both(float(value), unit, "g") if in_both else f"{value:g} {unit}".rstrip()
