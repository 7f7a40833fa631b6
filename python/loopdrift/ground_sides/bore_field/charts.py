"""Plan of a bore field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

_MOST_LABELS = 60


def layout(
    positions: ArrayLike,
    depths: ArrayLike,
    *,
    feet: ArrayLike | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw a plan of a bore field to scale, with active depths.

    Parameters
    ----------
    positions : array_like, shape (n, 2)
        Positions of the bores [m].
    depths : array_like, shape (n,) or ()
        Active depths [m]; one number if all are equal.
    feet : array_like, shape (n, 2), optional
        Positions of the lower ends of inclined bores [m].
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; bores are labelled with their depths if these differ and there is room, else the title
        gives the depths.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = style.new_axes(ax, width=7.0, height=6.0)
    unit, scale = style.LENGTH[units]
    places = scale * np.asarray(positions, dtype=float).reshape(-1, 2)
    ends = places if feet is None else scale * np.asarray(feet, dtype=float).reshape(-1, 2)
    leaning = (places != ends).any(axis=1)
    ax.plot(*np.stack([places[leaning], ends[leaning]]).transpose(2, 0, 1), color=style.BLUE, linewidth=2.0)
    deep = scale * np.broadcast_to(np.asarray(depths, dtype=float), len(places))
    ax.scatter(
        places[:, 0], places[:, 1], s=36, facecolor=style.SKY, edgecolor=style.BLACK, linewidth=1.0, zorder=3
    )
    shallowest, deepest = float(deep.min()), float(deep.max())
    alike = f"{shallowest:.0f}" == f"{deepest:.0f}"
    span = f"{deepest:.0f} {unit}" if alike else f"{shallowest:.0f} to {deepest:.0f} {unit}"
    count = "1 bore" if len(places) == 1 else f"{len(places)} bores"
    ax.set_title(f"{count}, {span} {'long' if leaning.any() else 'deep'}", loc="left", fontsize="medium")
    if not alike and len(places) <= _MOST_LABELS:
        for place, depth in zip(places, deep, strict=True):
            ax.annotate(
                *(f"{depth:.0f} {unit}", place),
                xytext=(0, 7),
                textcoords="offset points",
                ha="center",
                fontsize="small",
            )
    drawn = np.concatenate([places, ends])
    margin = 0.08 * max(float(np.ptp(drawn, axis=0).max()), 10.0 * scale)
    low, high = drawn.min(axis=0) - margin, drawn.max(axis=0) + margin
    ax.set_xlim(low[0], high[0])
    ax.set_ylim(low[1], high[1])
    ax.set_aspect("equal")
    ax.set_xlabel(f"x [{unit}]")
    ax.set_ylabel(f"y [{unit}]")
    style.quiet_grid(ax)
    return ax
