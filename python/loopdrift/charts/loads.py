"""Building loads by month."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_SERIES: dict[str, dict[str, Any]] = {
    "heating": {"color": style.VERMILION},
    "cooling": {"color": style.SKY, "hatch": "////"},
    "hot_water": {"color": 0.85, "hatch": ".."},
}
_MONTHS = "JFMAMJJASOND"


def loads(table: pd.DataFrame, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the load of each month as bars, and its peak hour as a marker in a panel above them.

    Parameters
    ----------
    table : pandas.DataFrame
        `Loads.monthly`; for several years, the mean load and the highest peak of each month are drawn.
    units : {"SI", "IP"}, default "SI"
        Units of the chart: MWh and kW, or million Btu and kBtu/h.
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
    from mpl_toolkits.axes_grid1 import make_axes_locatable

    style.require_units(units)
    if ax is None:
        import matplotlib.pyplot as plt

        # A layout that measures labels would miss those of the panel of peaks.
        margins = {"left": 0.1, "right": 0.97, "top": 0.9, "bottom": 0.13}
        _, ax = plt.subplots(figsize=(9.0, 4.5), gridspec_kw=margins)
    energy_unit, energy = style.ENERGY[units]
    power_unit, power = style.POWER[units]
    months = table.groupby(level="month")
    drawn = [name for name in _SERIES if (table[f"{name}_kWh"] > 0.0).any()]
    width = 0.8 / max(len(drawn), 1)
    peaks = make_axes_locatable(ax).append_axes("top", size="45%", pad=0.12, sharex=ax)
    mark: dict[str, Any] = {
        "linestyle": "none",
        "marker": "D",
        "markersize": 5.0,
        "markeredgecolor": style.tone(ax, 0.0),
        "clip_on": False,
    }
    for place, name in enumerate(drawn):
        at = np.arange(12, dtype=np.float64) + (place - 0.5 * (len(drawn) - 1)) * width
        heat = energy * months[f"{name}_kWh"].mean().to_numpy()
        style.bars(ax, at, heat, width, label=name.replace("_", " "), **_SERIES[name])
        largest = power * months[f"{name}_peak_W"].max().to_numpy()
        asked = largest > 0.0
        peaks.vlines(at[asked], 0.0, largest[asked], color=style.tone(ax, 0.4), linewidth=1.0)
        peaks.plot(at[asked], largest[asked], color=style.tone(ax, _SERIES[name]["color"]), **mark)
    ax.set_xticks(range(12), _MONTHS)
    ax.set_xlabel("Month")
    ax.set_ylabel(f"Load [{energy_unit}]")
    peaks.set_ylabel(f"Peak hour [{power_unit}]")
    peaks.margins(y=0.15)
    peaks.set_ylim(bottom=0.0)
    peaks.tick_params(labelbottom=False)
    style.quiet_grid(ax)
    for panel in (ax, peaks):
        panel.spines[["top", "right"]].set_visible(False)
        panel.grid(axis="y", color=style.tone(ax, 0.88), linewidth=0.8)
    style.legend_above(ax, peaks)
    return ax
