"""Comparison of kinds of loop."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING, Any, Literal

from loopdrift.basics.words import counted
from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.charts.style import FluidLimits

_HEIGHT = 0.5
_COLUMNS = (55.0, 120.0, 185.0)
"""Right edges of the columns beside the chart [points]."""


def comparison(
    table: pd.DataFrame,
    *,
    limits: FluidLimits,
    years: int,
    proposed: Collection[str] = (),
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
    proposed : collection of str, optional
        Names of the rows that are the designer's own candidates.
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
    costs = bool(currency) and bool(table["life_cost"].notna().any())
    seen: set[str] = set()
    for place, fits in enumerate(table["fits"]):
        if not math.isnan(low[place]):
            shown_as = "as proposed" if table.index[place] in proposed else "nearest size"
            label = "feasible" if fits else f"infeasible, {shown_as}"
            ax.barh(
                place,
                high[place] - low[place],
                left=low[place],
                height=_HEIGHT,
                color=style.BLUE if fits else style.tone(ax, 1.0),
                edgecolor=style.BLUE if fits else style.tone(ax, 0.4),
                hatch=None if fits else "////",
                label=None if label in seen else label,
            )
            seen.add(label)
        _beside(ax, place, table.iloc[place], costs=costs)
    lines = {"lower limit": limits.entering_fluid_min, "upper limit": limits.entering_fluid_max}
    for (name, limit), dashes in zip(lines.items(), ("--", ":"), strict=True):
        if limit is not None:
            at = style.temperature(limit, units)
            ax.axvline(at, color=style.tone(ax, 0.0), linestyle=dashes, linewidth=1.2, label=name)
    ax.set_yticks(range(len(table)), [str(kind) for kind in table.index])
    ax.set_ylim(len(table) - 0.4, -0.6)
    unit = style.LABEL[style.TEMPERATURE[units]]
    ax.set_xlabel(f"Entering fluid temperature over {counted(years, 'year')} [{unit}]")
    ax.use_sticky_edges = False
    ax.margins(x=0.06)
    headings = ["seasonal\nCOP"]
    if costs:
        headings += [f"{which} cost\n[{style.plain(currency)}]" for which in ("first", "life")]
    for heading, at in zip(headings, _COLUMNS, strict=False):
        _column(ax, heading, 1.01, at, "axes fraction", va="bottom")
    style.finish(ax, legend_columns=2)
    ax.grid(axis="y", visible=False)
    ax.grid(axis="x", color=style.tone(ax, 0.88), linewidth=0.8)
    return ax


def _beside(ax: Axes, place: int, row: pd.Series[float], *, costs: bool) -> None:
    """Write COP and costs of a kind to the right of the chart."""
    if math.isnan(row["entering_fluid_min_degC"]):
        ax.annotate(
            "infeasible", (1.02, place), xycoords=("axes fraction", "data"), va="center", fontsize="small"
        )
        return
    texts = [f"{row['seasonal_cop']:.2f}"]
    if costs:
        amounts = (row["first_cost"], row["life_cost"])
        texts += ["-" if math.isnan(amount) else f"{amount:,.0f}" for amount in amounts]
    for text, at in zip(texts, _COLUMNS, strict=False):
        _column(ax, text, place, at, ("axes fraction", "data"), va="center")


def _column(
    ax: Axes,
    text: str,
    y: float,
    right: float,
    where: str | tuple[str, str],
    *,
    va: Literal["bottom", "center"],
) -> None:
    """Write a cell of the table beside the chart, aligned at its right edge [points from the chart]."""
    look: dict[str, Any] = {"textcoords": "offset points", "fontsize": "small", "annotation_clip": False}
    ax.annotate(text, (1.0, y), (right, 0.0), xycoords=where, ha="right", va=va, **look)
