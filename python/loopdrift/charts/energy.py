"""Heat and electricity by year or by month."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_LABELS = {"year": "Year of operation", "month": "Month of operation"}


def energy(table: pd.DataFrame, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw heat extracted and rejected, electricity and back-up heat, one group of bars per row.

    Parameters
    ----------
    table : pandas.DataFrame
        `Run.yearly`, or a table by month with the same columns in kWh; its index labels the rows.
    units : {"SI", "IP"}, default "SI"
        Units of the chart: MWh, or million Btu with electricity in MWh on the right.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    from matplotlib.ticker import MaxNLocator

    style.require_units(units)
    ax = style.new_axes(ax, width=9.0)
    unit, scale = style.ENERGY[units]
    places = np.arange(len(table), dtype=np.float64)
    width = 0.4
    left, right = places - width / 2, places + width / 2

    def energies(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return scale * table[f"{name}_kWh"].to_numpy(dtype=float)

    backup = energies("backup")
    has_backup = bool((backup > 0.0).any())
    style.bars(
        ax,
        left,
        energies("heat_extracted"),
        width,
        color=style.BLUE,
        label="heat extracted",
    )
    style.bars(
        ax,
        left,
        -energies("heat_rejected"),
        width,
        color=style.ORANGE,
        hatch="////",
        label="heat rejected",
    )
    style.bars(
        ax,
        right,
        energies("electricity") - backup,
        width,
        color=0.8,
        hatch="..",
        label="electricity without back-up heat" if has_backup else "electricity",
    )
    if has_backup:
        style.bars(
            ax,
            right,
            backup,
            width,
            bottom=energies("electricity") - backup,
            color=1.0,
            hatch="xxxx",
            label="back-up heat, electric",
        )
    ax.axhline(0.0, color=style.tone(ax, 0.0), linewidth=0.8)
    ax.xaxis.set_major_locator(MaxNLocator(nbins=24, integer=True))
    names = [str(name) for name in table.index]
    ax.xaxis.set_major_formatter(
        lambda at, _: names[int(at)] if float(at).is_integer() and 0 <= at < len(names) else ""
    )
    ax.set_xlim(-0.6, len(table) - 0.4)
    ax.set_xlabel(_LABELS.get(str(table.index.name), str(table.index.name or "")))
    ax.set_ylabel(f"Energy [{unit}]")
    style.finish(ax)
    if units == "IP":
        style.electricity_scale(ax, "MWh", 1e3 * scale)
    return ax
