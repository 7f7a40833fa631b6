"""Plan of a bore field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.part import require
from loopdrift.charts import plan, style
from loopdrift.ground_sides.bore_field.field import BoreField

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_MOST_LABELS = 250
_FEW_LABELS = 60
_LEAST_SIDE = 10.0  # of a plan [m]


def layout(
    field: BoreField,
    *,
    site: plan.Outlines | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw a plan of a bore field to scale, with north arrow, distances, house and property lines.

    Parameters
    ----------
    field : BoreField
        The field; x points east and y north.
    site : SitePlan, optional
        House and property lines, where they lie within the plan of the field; `site_plan` draws them whole.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart. Up to 250 bores are labelled with their numbers, up to 60 with their depths if these
        differ; the title gives number and depths.

    Raises
    ------
    InvalidInput
        If `units` is unknown, or `field` isn't a BoreField.
    """
    style.require_units(units)
    require(field, BoreField, owner="plots", field="field")
    unit, scale = style.LENGTH[units]
    places, ends = scale * field.positions, scale * field.feet
    ax = style.new_axes(ax, width=7.0, height=_height(np.concatenate([places, ends])))
    plan.outlines(ax, site, units)
    leaning = (places != ends).any(axis=1)
    ax.plot(*np.stack([places[leaning], ends[leaning]]).transpose(2, 0, 1), color=style.BLUE, linewidth=2.0)
    deep = scale * field.depths
    ax.scatter(
        places[:, 0],
        places[:, 1],
        s=36,
        facecolor=style.SKY,
        edgecolor=style.tone(ax, 0.0),
        linewidth=1.0,
        zorder=3,
    )
    shallowest, deepest = float(deep.min()), float(deep.max())
    alike = f"{shallowest:.0f}" == f"{deepest:.0f}"
    span = f"{deepest:.0f} {unit}" if alike else f"{shallowest:.0f} to {deepest:.0f} {unit}"
    count = "1 bore" if len(places) == 1 else f"{len(places)} bores"
    ax.set_title(f"{count}, {span} {'long' if leaning.any() else 'deep'}", loc="left", fontsize="medium")
    if len(places) <= (_MOST_LABELS if alike else _FEW_LABELS):
        size, gap = ("small", (5, 6)) if len(places) <= _FEW_LABELS else ("xx-small", (3, 4))
        for number, (place, depth) in enumerate(zip(places, deep, strict=True), start=1):
            ax.annotate(
                *(str(number) if alike else f"{number}: {depth:.0f} {unit}", place),
                xytext=gap,
                textcoords="offset points",
                fontsize=size,
                zorder=5,
            )
    plan.dimensions(ax, field.positions, units, across=plan.extent(field.positions))
    plan.to_scale(ax, np.concatenate([places, ends]), least=_LEAST_SIDE * scale)
    plan.north_arrow(ax)
    ax.set_xlabel(f"x (east) [{unit}]")
    ax.set_ylabel(f"y (north) [{unit}]")
    style.quiet_grid(ax)
    return ax


def _height(places: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> float:
    """Return the height of a figure [in] in which a field leaves no empty band."""
    width, height = np.ptp(places, axis=0)
    return float(np.clip(7.0 * height / max(width, 1e-9), 3.0, 6.0))
