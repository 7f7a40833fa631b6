"""The hours around the lowest or the highest entering fluid temperature."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from loopdrift.basics.model_time import (
    DAYS_PER_WEEK,
    HOURS_PER_DAY,
    HOURS_PER_WEEK,
    HOURS_PER_YEAR,
    MONTHS,
    date_of,
)
from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


Which = Literal["coldest", "hottest"]


def worst_week(
    hourly: pd.DataFrame,
    which: Which = "coldest",
    *,
    wall: str = "bore wall",
    start_month: int = 1,
    units: style.Units = "SI",
    axes: tuple[Axes, Axes] | None = None,
) -> tuple[Axes, Axes]:
    """Draw the week around the lowest or highest entering fluid temperature: temperatures above, heat below.

    Parameters
    ----------
    hourly : pandas.DataFrame
        `Run.hourly`.
    which : {"coldest", "hottest"}, default "coldest"
        The hour in the middle of the week.
    wall : str, default "bore wall"
        What the fluid gets its heat through, for the legend.
    start_month : int, default 1
        First month of the run, 1 to 12.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    axes : tuple of two matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    tuple of two matplotlib.axes.Axes
        Temperatures; heat and electricity.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    if axes is None:
        import matplotlib.pyplot as plt

        _, (upper, lower) = plt.subplots(
            2, 1, sharex=True, figsize=(9.0, 6.5), layout="constrained", height_ratios=[3, 2]
        )
        axes = upper, lower
    week_temperatures(hourly, which, wall=wall, start_month=start_month, units=units, ax=axes[0])
    week_heat(hourly, which, start_month=start_month, units=units, ax=axes[1])
    axes[0].set_xlabel("")
    return axes


def week_temperatures(
    hourly: pd.DataFrame,
    which: Which = "coldest",
    *,
    wall: str = "bore wall",
    start_month: int = 1,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the temperatures of entering fluid, leaving fluid and bore wall over the week.

    Parameters
    ----------
    hourly, which, wall, start_month, units
        As for `worst_week`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.
    """
    style.require_units(units)
    ax = style.new_axes(ax)
    unit = style.TEMPERATURE[units]
    week = style.in_units(_week(hourly, which), units)
    hours = np.arange(len(week))
    ax.plot(hours, week[f"wall_{unit}"], color=style.tone(ax, 0.0), linestyle=":", linewidth=1.6, label=wall)
    ax.plot(hours, week[f"entering_fluid_{unit}"], color=style.BLUE, linewidth=1.6, label="entering fluid")
    ax.plot(
        hours, week[f"leaving_fluid_{unit}"], color=style.VERMILION, linestyle="--", label="leaving fluid"
    )
    ax.set_ylabel(f"Temperature [{style.LABEL[unit]}]")
    _days(ax, hourly, which, start_month)
    style.finish(ax)
    return ax


def week_heat(
    hourly: pd.DataFrame,
    which: Which = "coldest",
    *,
    start_month: int = 1,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw heat extracted, or rejected in a week in which that is more, back-up heat and electricity.

    Parameters
    ----------
    hourly, which, start_month, units
        As for `worst_week`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.
    """
    style.require_units(units)
    ax = style.new_axes(ax, height=3.0)
    week = _week(hourly, which)
    unit, scale = style.POWER[units]
    edges = np.arange(len(week) + 1)
    heat = scale * week["heat_extracted_W"].to_numpy()
    label = "heat extracted (negative: rejected)"
    if heat.sum() < 0.0:
        heat, label = -heat, "heat rejected (negative: extracted)"
    ax.stairs(heat, edges, fill=True, color=style.SKY, label=label)
    backup = scale * week["backup_W"].to_numpy()
    if (backup > 0.0).any():
        ax.stairs(
            *(backup, edges),
            baseline=None,
            color=style.VERMILION,
            linestyle="--",
            linewidth=1.2,
            label="back-up heat, included in electricity",
        )
    ax.stairs(
        scale * week["electricity_W"].to_numpy(),
        edges,
        baseline=None,
        color=style.tone(ax, 0.0),
        linewidth=1.2,
        label="electricity",
    )
    ax.axhline(0.0, color=style.tone(ax, 0.4), linewidth=0.8)
    ax.set_ylabel(f"Power [{unit}]")
    _days(ax, hourly, which, start_month)
    style.finish(ax)
    if units == "IP":
        style.electricity_scale(ax, "kW", 1e3 * scale)
    return ax


def _first_hour(hourly: pd.DataFrame, which: Which) -> int:
    """Return the index of the first hour of the week, at the start of a day if possible."""
    entering = hourly["entering_fluid_degC"].to_numpy()
    worst = int(entering.argmin() if which == "coldest" else entering.argmax())
    first = (worst // HOURS_PER_DAY - 3) * HOURS_PER_DAY
    return max(0, min(first, len(hourly) - HOURS_PER_WEEK))


def _week(hourly: pd.DataFrame, which: Which) -> pd.DataFrame:
    first = _first_hour(hourly, which)
    return hourly.iloc[first : first + HOURS_PER_WEEK]


def _days(ax: Axes, hourly: pd.DataFrame, which: Which, start_month: int) -> None:
    first = _first_hour(hourly, which)
    year, hour = first // HOURS_PER_YEAR + 1, first % HOURS_PER_YEAR
    begins = [HOURS_PER_DAY * place for place in range(DAYS_PER_WEEK)]
    dates = [date_of((hour + begin) % HOURS_PER_YEAR, start_month) for begin in begins]
    ax.set_xlim(0, HOURS_PER_WEEK)
    ax.set_xticks(begins, [f"{day} {MONTHS[month - 1][:3]}" for month, day, _ in dates], ha="left")
    ax.grid(axis="x", color=style.tone(ax, 0.88), linewidth=0.8)
    ax.set_xlabel(f"Day in year {year} of operation")
