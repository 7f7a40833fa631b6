"""Charts of a fit to a log, and of the forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.analysis.learning.forecast import Forecast
    from loopdrift.analysis.learning.learned import Learned

Numbers = NDArray[np.float64]
Kind = Literal["temperatures", "residuals"]

_LONGEST_GAP = 0.25
"""Longest gap that a curve bridges [years]."""
_DOTS: dict[str, Any] = {"linestyle": "none", "marker": ".", "markersize": 3.5}


def draw(learned: Learned, kind: Kind, units: style.Units, ax: Axes | None) -> Axes:
    """Draw one chart; see `Learned.plot`.

    Parameters
    ----------
    learned : Learned
        The result.
    kind : str
        Which chart.
    units : {"SI", "IP"}
        Units of the chart.
    ax : matplotlib.axes.Axes or None
        Where to draw.

    Raises
    ------
    InvalidInput
        If `kind` or `units` is unknown.
    """
    style.require_kind(kind, get_args(Kind), owner="Learned")
    style.require_units(units, owner="Learned")
    ax = style.new_axes(ax)
    return (_temperatures if kind == "temperatures" else _residuals)(learned, units, ax)


def _temperatures(learned: Learned, units: style.Units, ax: Axes) -> Axes:
    years = learned.seen.middle / HOURS_PER_YEAR
    _log(ax, learned, units)
    ax.plot(
        *style.interrupted(years, style.temperature(learned.of_design, units), _LONGEST_GAP),
        color=style.VERMILION,
        linestyle="--",
        linewidth=1.0,
        label="design as built",
    )
    ax.plot(
        *style.interrupted(years, style.temperature(learned.fit.fitted, units), _LONGEST_GAP),
        color=style.BLUE,
        linewidth=1.4,
        label="fit",
    )
    ax.set_xlabel("Time of operation [years]")
    ax.set_ylabel(f"Entering fluid temperature [{style.LABEL[style.TEMPERATURE[units]]}]")
    style.finish(ax)
    return ax


def _residuals(learned: Learned, units: style.Units, ax: Axes) -> Axes:
    scale, unit = (1.8, "°F") if units == "IP" else (1.0, "K")
    left = learned.seen.measured - learned.fit.fitted
    ax.plot(learned.seen.middle / HOURS_PER_YEAR, scale * left, color=style.BLUE, **_DOTS)
    ax.axhline(0.0, color=style.tone(ax, 0.4), linewidth=0.8)
    ax.set_xlabel("Time of operation [years]")
    ax.set_ylabel(f"Log minus fit [{unit}]")
    style.finish(ax)
    return ax


def draw_forecast(forecast: Forecast, units: style.Units, ax: Axes | None) -> Axes:
    """Draw log, fit, and forecast with its band, beside the design's own and the limits.

    Parameters
    ----------
    forecast : Forecast
        The forecast.
    units : {"SI", "IP"}
        Units of the chart.
    ax : matplotlib.axes.Axes or None
        Where to draw.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    from matplotlib.ticker import MaxNLocator

    style.require_units(units, owner="Forecast")
    ax = style.new_axes(ax)
    table, learned = forecast.table, forecast.learned
    unit = style.LABEL[style.TEMPERATURE[units]]
    years = table.index.to_numpy(dtype=float) - 0.5
    _log(ax, learned, units)
    ax.plot(
        *style.interrupted(
            learned.seen.middle / HOURS_PER_YEAR,
            style.temperature(learned.fit.fitted, units),
            _LONGEST_GAP,
        ),
        color=style.tone(ax, 0.45),
        linewidth=0.9,
        label="fit",
    )
    for which, word, color, line, marker in (
        ("min", "lowest of the year", style.BLUE, "-.", "v"),
        ("max", "highest of the year", style.VERMILION, "--", "^"),
    ):
        low, middle, high, own = (
            style.temperature(table[f"entering_fluid_{which}_{label}_degC"].to_numpy(), units)
            for label in ("from", "median", "to", "design")
        )
        ax.fill_between(years, low, high, color=color, alpha=0.22, linewidth=0.0)
        ax.plot(years, middle, color=color, linestyle=line, marker=marker, markersize=3.0, label=word)
        ax.plot(years, own, color=style.tone(ax, 0.0), linestyle=":", linewidth=1.3)
    ax.plot([], [], color=style.tone(ax, 0.0), linestyle=":", linewidth=1.3, label="design as built")
    ax.fill_between([], [], [], color=style.tone(ax, 0.75), label="95 % of samples")
    limits = learned.first.limits
    low, high = ax.get_ylim()
    room = 0.4 * (high - low)
    for limit, word, color in (
        (limits.entering_fluid_min, "lower limit", style.BLUE),
        (limits.entering_fluid_max, "upper limit", style.VERMILION),
    ):
        if limit is None:
            continue
        at = float(style.temperature(limit, units))
        text = f"{word} {at:.1f} {unit}"
        if low - room < at < high + room:
            style.level(ax, at, text, style=(0, (1, 1)), color=color)  # type: ignore[arg-type]
        else:
            style.off_chart(ax, text, above=at > high, color=color)
    style.spread_labels(ax)
    ax.set_xlim(0.0, float(table.index[-1]))
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel("Time of operation [years]")
    ax.set_ylabel(f"Entering fluid temperature [{unit}]")
    style.finish(ax, legend_columns=3)
    return ax


def _log(ax: Axes, learned: Learned, units: style.Units) -> None:
    ax.plot(
        learned.seen.middle / HOURS_PER_YEAR,
        style.temperature(learned.seen.measured, units),
        color=style.tone(ax, 0.6),
        label="log",
        **_DOTS,
    )
