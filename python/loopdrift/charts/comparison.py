"""Comparison of kinds of loop."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loopdrift.basics.words import counted
from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.charts.style import FluidLimits

_HEIGHT = 0.5


def comparison(
    table: pd.DataFrame,
    *,
    limits: FluidLimits,
    years: int,
    currency: str = "",
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the range of the entering fluid temperature over the horizon, with COP and costs, for each kind.

    Infeasible kinds are hatched; those that can't be run have no bar.

    Parameters
    ----------
    table : pandas.DataFrame
        ``Comparison.table``.
    limits : Limits
        The limits of the entering fluid.
    years : int
        Horizon.
    currency : str, optional
        Name of the currency.
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
    style.require_units(units)
    ax = style.new_axes(ax)
    low, high = (
        style.temperature(table[f"entering_fluid_{which}_degC"].to_numpy(), units) for which in ("min", "max")
    )
    seen: set[str] = set()
    for place, fits in enumerate(table["fits"]):
        if not math.isnan(low[place]):
            label = "feasible" if fits else "infeasible, nearest size"
            ax.barh(
                place,
                high[place] - low[place],
                left=low[place],
                height=_HEIGHT,
                color=style.BLUE if fits else "white",
                edgecolor=style.BLUE if fits else style.GREY,
                hatch=None if fits else "////",
                label=None if label in seen else label,
            )
            seen.add(label)
        _beside(ax, place, table.iloc[place])
    lines = {"lower limit": limits.entering_fluid_min, "upper limit": limits.entering_fluid_max}
    for (name, limit), dashes in zip(lines.items(), ("--", ":"), strict=True):
        if limit is not None:
            at = style.temperature(limit, units)
            ax.axvline(at, color=style.BLACK, linestyle=dashes, linewidth=1.2, label=name)
    ax.set_yticks(range(len(table)), [str(kind) for kind in table.index])
    ax.set_ylim(len(table) - 0.4, -0.6)
    unit = style.LABEL[style.TEMPERATURE[units]]
    ax.set_xlabel(f"Entering fluid temperature over {counted(years, 'year')} [{unit}]")
    amounts = f"first cost / life cost [{currency}]" if currency and table["life_cost"].notna().any() else ""
    heading = f"seasonal COP,\n{amounts}" if amounts else "seasonal COP"
    ax.annotate(
        heading,
        xy=(1.02, -0.02),
        xycoords="axes fraction",
        va="top",
        fontsize="small",
        annotation_clip=False,
    )
    style.finish(ax)
    ax.grid(axis="y", visible=False)
    ax.grid(axis="x", color="0.88", linewidth=0.8)
    return ax


def _beside(ax: Axes, place: int, row: pd.Series[float]) -> None:
    """Write COP and costs of a kind to the right of the chart."""
    if math.isnan(row["entering_fluid_min_degC"]):
        text = "infeasible"
    else:
        text = f"COP {row['seasonal_cop']:.2f}"
        if not math.isnan(row["life_cost"]):
            text += f"\n{row['first_cost']:,.0f} / {row['life_cost']:,.0f}"
    ax.annotate(
        text,
        xy=(1.02, place),
        xycoords=("axes fraction", "data"),
        va="center",
        fontsize="small",
        annotation_clip=False,
    )
