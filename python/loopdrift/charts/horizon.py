"""Entering fluid temperature by year, and the changes of a plant."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.charts.style import FluidLimits


_FAR = 0.6
"""Distance of a limit from the temperatures, relative to their range, up to which it is drawn to scale."""
_LEAST_SPAN = 4.0
"""Least range of temperatures that this is relative to [K]."""


def horizon(
    yearly: pd.DataFrame,
    *,
    limits: FluidLimits | None = None,
    freezing_point: float | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw lowest, mean and highest entering fluid temperature of each year, each with its drift.

    The scale is that of the temperatures; a limit far outside them is only named at the edge, so that the
    drift stays visible.

    Parameters
    ----------
    yearly : pandas.DataFrame
        `Run.yearly`, indexed by year.
    limits : Limits, optional
        Limits of the entering fluid temperature, drawn with labels.
    freezing_point : float, optional
        Freezing point of the fluid [degC], drawn with a label.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
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
    ax = style.new_axes(ax)
    unit = style.TEMPERATURE[units]
    names = [f"entering_fluid_{which}_degC" for which in ("min", "mean", "max")]
    table = style.in_units(yearly[names], units)
    years = table.index.to_numpy()
    lowest, mean, highest = (
        table[f"entering_fluid_{which}_{unit}"].to_numpy() for which in ("min", "mean", "max")
    )
    markers: dict[str, Any] = {"markersize": 4.0} if len(years) <= 40 else {"markersize": 0.0}
    ax.fill_between(years, lowest, highest, color=style.tone(ax, 0.93), linewidth=0.0)
    looks = {
        "highest": (highest, {"color": style.VERMILION, "linestyle": "--", "marker": "^", **markers}),
        "mean": (mean, {"color": style.tone(ax, 0.0), "linestyle": "-"}),
        "lowest": (lowest, {"color": style.BLUE, "linestyle": "-.", "marker": "v", **markers}),
    }
    for name, (values, look) in looks.items():
        ax.plot(years, values, label=f"{name}{_drift(values, units)}", **look)
    levels = []
    if limits is not None and limits.entering_fluid_max is not None:
        levels.append((limits.entering_fluid_max, "upper limit", style.VERMILION, ":"))
    if limits is not None and limits.entering_fluid_min is not None:
        levels.append((limits.entering_fluid_min, "lower limit", style.BLUE, ":"))
    if freezing_point is not None:
        levels.append((freezing_point, "freezing point", style.tone(ax, 0.4), "-"))
    low, high = float(lowest.min()), float(highest.max())
    room = _FAR * max(
        high - low, float(style.temperature(_LEAST_SPAN, units) - style.temperature(0.0, units))
    )
    near = [
        at for at in (style.temperature(each[0], units) for each in levels) if low - room < at < high + room
    ]
    low, high = min(low, *near, low), max(high, *near, high)
    margin = 0.05 * (high - low) + 0.1
    ax.set_ylim(low - margin, high + margin)
    for value, name, color, line in levels:
        at = style.temperature(value, units)
        text = f"{name} {at:.1f} {style.LABEL[unit]}"
        if at in near:
            style.level(ax, at, text, style=line, color=color)
        else:
            style.off_chart(ax, text, above=at > high, color=color)
    style.spread_labels(ax)
    ax.set_xlim(years[0] - 0.4, years[-1] + 0.4)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel("Year of operation")
    ax.set_ylabel(f"Entering fluid temperature [{style.LABEL[unit]}]")
    style.finish(ax)
    return ax


def phases(ax: Axes, changes: Iterable[tuple[int, str]]) -> None:
    """Mark the years that begin with a change of the plant: vertical lines, named in the legend.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        A chart over years.
    changes : iterable of tuple of int and str
        The first year after each change, and what changes.
    """
    for year, text in changes:
        ax.axvline(year - 0.5, color=style.tone(ax, 0.4), linestyle=(0, (6, 4)), linewidth=1.0, label=text)
    style.legend_above(ax, ax, legend_columns=3)


def _drift(values: np.ndarray[tuple[int], np.dtype[np.float64]], units: style.Units) -> str:
    """Return the change of a temperature over all years, for the legend."""
    if len(values) < 2:
        return ""
    unit = "K" if units == "SI" else "°F"
    return f" ({values[-1] - values[0]:+.1f} {unit} since year 1)".replace("-", "\N{MINUS SIGN}")
