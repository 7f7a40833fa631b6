"""Pressure drop of the loop by part."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.both_units import factor
from loopdrift.basics.words import percent
from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_UNITS = {"SI": ("kPa", 1e-3), "IP": ("psi", factor("Pa", "psi"))}


def pressure_drop(table: pd.DataFrame, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the pressure drop of each part with its share of the total, from the heat pump to the bores.

    Parameters
    ----------
    table : pandas.DataFrame
        `Design.pressure_drop` or `Piping.pressure_drop`, indexed by part.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; each bar is labelled with the flow regime.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = style.new_axes(ax, height=1.6 + 0.5 * len(table))
    unit, scale = _UNITS[units]
    lost = scale * table["pressure_drop_Pa"].to_numpy(dtype=float)
    whole = float(lost.sum())
    places = np.arange(len(table))
    ax.barh(places, lost, height=0.6, color=style.SKY, edgecolor=style.tone(ax, 0.0), linewidth=0.5)
    for place, value, kind in zip(places, lost, table["regime"], strict=True):
        share = f"{value:.3g} {unit}, {percent(value / whole)}" if whole > 0.0 else f"0 {unit}"
        ax.annotate(
            share if not isinstance(kind, str) else f"{share}, {kind}",
            xy=(value, float(place)),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontsize="small",
        )
    ax.set_yticks(places, [style.plain(str(name)) for name in table.index])
    ax.invert_yaxis()
    ax.set_xlim(0.0, 1.45 * float(lost.max()) or 1.0)
    ax.set_title(f"Total {whole:.3g} {unit}", loc="left", fontsize="medium")
    ax.set_xlabel(f"Pressure drop [{unit}]")
    style.finish(ax)
    ax.grid(visible=False, axis="y")
    ax.grid(axis="x", color=style.tone(ax, 0.88), linewidth=0.8)
    return ax
