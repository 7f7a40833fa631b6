"""Hourly series of a year as daily ranges, beside the means and peaks of months."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.model_time import DAYS_OF_MONTHS, HOURS_OF_MONTHS
from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MONTHS = "JFMAMJJASOND"
_COLOURS = {"heating": style.VERMILION, "cooling": style.SKY}


def days(
    series: NDArray[np.float64],
    label: str,
    *,
    quantity: str = "heat",
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the range and the mean of each day, with the mean and the largest hour of each month.

    Parameters
    ----------
    series : numpy.ndarray
        Hourly means of whole years, of which the first is drawn [W] or [degC].
    label : str
        What it is, such as ``heating``.
    quantity : {"heat", "temperature"}, default "heat"
        Whether the series is in W or in degC.
    units : {"SI", "IP"}, default "SI"
        Units of the chart: kW and degC, or kBtu/h and degF.
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
    style.require_units(units)
    ax = style.new_axes(ax, width=9.0)
    hours = sum(HOURS_OF_MONTHS)
    if quantity == "temperature":
        values, unit = style.temperature(series[:hours], units), style.LABEL[style.TEMPERATURE[units]]
    else:
        unit, factor = style.POWER[units]
        values = factor * series[:hours]
    by_day = values.reshape(-1, 24)
    day = np.arange(by_day.shape[0]) + 0.5
    colour = _COLOURS.get(label, style.BLUE)
    low, high = by_day.min(axis=1), by_day.max(axis=1)
    ax.fill_between(day, low, high, color=colour, alpha=0.35, linewidth=0.0, label="range of the day")
    ax.plot(day, by_day.mean(axis=1), color=colour, linewidth=1.0, label="mean of the day")
    edges = np.concatenate([[0], np.cumsum(DAYS_OF_MONTHS)])
    months = np.split(values, np.cumsum(HOURS_OF_MONTHS)[:-1])
    means, largest = (np.array([of(month) for month in months]) for of in (np.mean, np.max))
    ax.stairs(
        means, edges, baseline=None, color=style.tone(ax, 0.0), linewidth=1.4, label="mean of the month"
    )
    shown = (largest > 0.0) | (quantity == "temperature")
    ax.plot(
        (0.5 * (edges[1:] + edges[:-1]))[shown],
        largest[shown],
        linestyle="none",
        marker="D",
        markersize=5.0,
        color=style.tone(ax, 0.0),
        markerfacecolor=style.tone(ax, 1.0),
        label="warmest hour of the month" if quantity == "temperature" else "largest hour of the month",
    )
    months_across(ax)
    if quantity != "temperature" and float(values.min()) >= 0.0:
        ax.set_ylim(bottom=0.0, top=1.1 * max(float(values.max()), 1e-9))
    ax.set_ylabel(f"{label.replace('_', ' ').capitalize()} [{unit}]")
    style.finish(ax)
    return ax


def months_across(ax: Axes) -> None:
    """Put the months along an axis of days."""
    edges = np.concatenate([[0], np.cumsum(DAYS_OF_MONTHS)])
    ax.set_xlim(0.0, edges[-1])
    ax.set_xticks(edges[:-1], [""] * 12)
    ax.set_xticks(0.5 * (edges[1:] + edges[:-1]), _MONTHS, minor=True)
    ax.tick_params(axis="x", which="minor", length=0.0)
    ax.set_xlabel("Month")
