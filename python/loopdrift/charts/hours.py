"""Hourly series of a year as a map of days and hours of the day, which shows clocks, gaps and habits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.model_time import DAYS_PER_YEAR, HOURS_PER_YEAR
from loopdrift.charts import style
from loopdrift.charts.days import months_across

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def hours(
    series: NDArray[np.float64],
    label: str,
    *,
    unit: str = "W",
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw each hour of a year as a spot of a map: days across, hours of the day upward.

    Parameters
    ----------
    series, label
        As for `days`.
    unit : {"W", "degC", "W/m2"}, default "W"
        Unit of the series.
    units, ax
        As for `days`; radiation stays in W/m2.
    """
    style.require_units(units)
    ax = style.new_axes(ax, width=9.0, height=3.4)
    values = series[:HOURS_PER_YEAR]
    shown = "W/m²" if unit == "W/m2" else unit
    if unit == "degC":
        values, shown = style.temperature(values, units), style.LABEL[style.TEMPERATURE[units]]
    elif unit == "W":
        shown, factor = style.POWER[units]
        values = factor * values
    image = ax.imshow(
        values.reshape(-1, 24).T,
        origin="lower",
        aspect="auto",
        extent=(0.0, float(DAYS_PER_YEAR), 0.0, 24.0),
        cmap="cividis",
        interpolation="nearest",
        vmin=0.0 if unit != "degC" and float(values.min()) >= 0.0 else None,
    )
    ax.figure.colorbar(image, ax=ax, label=f"{label.replace('_', ' ').capitalize()} [{shown}]")
    months_across(ax)
    ax.set_yticks(range(0, 25, 6))
    ax.set_ylabel("Hour of the day")
    return ax
