"""Entering fluid temperature by year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.charts.style import FluidLimits


def horizon(
    yearly: pd.DataFrame,
    *,
    limits: FluidLimits | None = None,
    freezing_point: float | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw lowest, mean and highest entering fluid temperature of each year.

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
    ax.fill_between(years, lowest, highest, color="0.93", linewidth=0.0)
    ax.plot(years, highest, color=style.VERMILION, linestyle="--", marker="^", label="highest", **markers)
    ax.plot(years, mean, color=style.BLACK, linestyle="-", label="mean")
    ax.plot(years, lowest, color=style.BLUE, linestyle="-.", marker="v", label="lowest", **markers)
    levels = []
    if limits is not None and limits.entering_fluid_max is not None:
        levels.append((limits.entering_fluid_max, "upper limit", style.VERMILION, ":"))
    if limits is not None and limits.entering_fluid_min is not None:
        levels.append((limits.entering_fluid_min, "lower limit", style.BLUE, ":"))
    if freezing_point is not None:
        levels.append((freezing_point, "freezing point", style.GREY, "-"))
    for value, name, color, line in levels:
        at = style.temperature(value, units)
        style.level(ax, at, f"{name} {at:.1f} {style.LABEL[unit]}", style=line, color=color)
    style.spread_labels(ax)
    ax.set_xlim(years[0] - 0.4, years[-1] + 0.4)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel("Year of operation")
    ax.set_ylabel(f"Entering fluid temperature [{style.LABEL[unit]}]")
    style.finish(ax)
    return ax
