"""Charts of heat build-up: drift, steady state and recovery."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import cycle
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.charts import style
from loopdrift.charts.horizon import horizon

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.analysis.heat_build_up import HeatBuildUp, Recovery

_NAMES: dict[str, tuple[str, float | str]] = {
    "max": ("highest", style.VERMILION),
    "mean": ("mean", 0.0),
    "min": ("lowest", style.BLUE),
}
_LINES: tuple[tuple[float | str, Any], ...] = (
    (0.0, "-"),
    (style.VERMILION, "--"),
    (style.BLUE, "-."),
    (style.ORANGE, ":"),
    (style.SKY, (0, (5, 1, 1, 1, 1, 1))),
)


def drift(yearly: Mapping[str, pd.DataFrame], *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the drift of the mean entering fluid temperature since the first year, for one or several runs.

    Parameters
    ----------
    yearly : mapping of str to pandas.DataFrame
        `Run.yearly` by the label in the legend.
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
    for (name, table), (colour, line) in zip(yearly.items(), cycle(_LINES), strict=False):
        means = style.temperature(table["entering_fluid_mean_degC"].to_numpy(), units)
        ax.plot(
            table.index,
            means - means[0],
            color=style.tone(ax, colour),
            linestyle=line,
            linewidth=1.8,
            label=name,
        )
    ax.axhline(0.0, color=style.tone(ax, 0.4), linewidth=0.8)
    last = max(table.index[-1] for table in yearly.values())
    ax.set_xlim(1.0 - 0.02 * last, 1.02 * last)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel("Year of operation")
    ax.set_ylabel(f"Drift of the mean\nentering fluid [{'°F' if units == 'IP' else 'K'}]")
    style.finish(ax, legend_columns=1)
    return ax


def heat_build_up(found: HeatBuildUp, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw lowest, mean and highest entering fluid temperature over up to 100 years, and at steady state.

    Parameters
    ----------
    found : HeatBuildUp
        The result of `Run.heat_build_up`.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; a vertical line marks the year in which 90 % of the drift of the mean is complete.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = horizon(found.yearly, units=units, ax=ax)
    unit = style.LABEL[style.TEMPERATURE[units]]
    ends = {which: float(style.temperature(at, units)) for which, at in found.final.items()}
    for which, value in ends.items():
        name, colour = _NAMES[which]
        style.level(ax, value, f"{name}, steady\n{value:.1f} {unit}", style=":", color=style.tone(ax, colour))
    low, high = ax.get_ylim()
    room = 0.04 * (high - low)
    ax.set_ylim(min(low, min(ends.values()) - room), max(high, max(ends.values()) + room))
    style.spread_labels(ax, gap=0.1)
    if found.settled_year is not None:
        ax.axvline(found.settled_year, color=style.tone(ax, 0.4), linestyle="--", linewidth=1.2)
        ax.annotate(
            f"90 % of the drift\nin year {found.settled_year}",
            xy=(found.settled_year, _widest_gap(found, units, ax)),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            color=style.tone(ax, 0.4),
            fontsize="small",
        )
    return ax


def _widest_gap(found: HeatBuildUp, units: style.Units, ax: Axes) -> float:
    """Return the temperature in the middle of the widest gap between the lines from the settled year on."""
    later = found.yearly.loc[found.settled_year :]
    low, high = ax.get_ylim()
    edges = [low, high]
    for which, end in found.final.items():
        values = style.temperature(later[f"entering_fluid_{which}_degC"].to_numpy(), units)
        edges += [float(values.min()), float(values.max()), float(style.temperature(end, units))]
    edges.sort()
    gaps = np.diff(edges)
    widest = int(gaps.argmax())
    return edges[widest] + 0.5 * float(gaps[widest])


def recovery(found: Recovery, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the bore wall's temperature at the end of each year since the plant stopped.

    Parameters
    ----------
    found : Recovery
        The result of `Run.recovery`.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; it starts with the mean of the last year of operation.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    from matplotlib.ticker import MaxNLocator

    style.require_units(units)
    ax = style.new_axes(ax)
    unit = style.LABEL[style.TEMPERATURE[units]]
    undisturbed, working = (style.temperature(value, units) for value in (found.undisturbed, found.working))
    years = np.concatenate([[0], found.wall.index])
    wall = np.concatenate([[working], style.temperature(found.wall.to_numpy(), units)])
    ax.plot(years, wall, color=style.tone(ax, 0.0), marker="o", markersize=4.0, linewidth=1.6)
    style.level(
        ax, undisturbed, f"undisturbed\n{undisturbed:.1f} {unit}", style=":", color=style.tone(ax, 0.4)
    )
    last_year = f"last year of\noperation {working:.1f} {unit}"
    style.level(ax, working, last_year, style="--", color=style.BLUE)
    style.spread_labels(ax, gap=0.1)
    ax.set_xlim(-0.02 * years[-1], 1.02 * years[-1])
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel(f"Years since the plant stopped, after {found.years} of operation")
    ax.set_ylabel(f"Bore wall temperature [{unit}]")
    style.finish(ax)
    return ax
