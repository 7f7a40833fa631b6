"""Plan and cross-section of a trench field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.words import counted
from loopdrift.charts import plan, style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.ground_sides.trench_field.field import TrenchField

_MOST_LABELS = 30
_FEW_TRENCHES = 4
_LEAST_SIDE = 5.0  # of a plan [m]


def trench_layout(
    field: TrenchField,
    *,
    site: plan.Outlines | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw a plan of a trench field to scale, each pipe or coil as a line, with house and property lines.

    Without a site, x leads across the trenches, and y along them, unless the field has a place of its own.

    Parameters
    ----------
    field : TrenchField
        The field.
    site : SitePlan, optional
        House and property lines, where they lie within the plan of the field; their y axis points north.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart, with the distance between trenches, and a north arrow if house or property lines is given.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = style.new_axes(ax, width=7.0, height=6.0)
    unit, scale = style.LENGTH[units]
    plan.outlines(ax, site, units)
    for path in field.paths:
        ax.plot(*(scale * path.T), color=style.BLUE, linewidth=1.4 if field.coil is None else 0.8)
    title = f"{counted(field.trenches, 'trench')} of {scale * field.length:,.0f} {unit}"
    ax.set_title(title, loc="left", fontsize="medium")
    in_place = site is not None or field.direction != 0.0 or field.origin != (0.0, 0.0)
    ax.set_xlabel(f"x (east) [{unit}]" if in_place else f"Distance across the trenches [{unit}]")
    ax.set_ylabel(f"y (north) [{unit}]" if in_place else f"Distance along the trenches [{unit}]")
    middles, half = field.middles, field.width / 2.0
    sides = (middles[0] - half, middles[-1] + half)
    ends = field.in_plan(np.array([[x, y] for x in sides for y in (0.0, field.length)]))
    begins, tips = (field.in_plan(np.column_stack([middles, middles * 0.0 + y])) for y in (0.0, field.length))
    if len(middles) <= _MOST_LABELS:
        for number, tip in enumerate(tips, start=1):
            ax.annotate(
                str(number),
                scale * tip,
                xytext=(0, 4),
                textcoords="offset points",
                ha="center",
                fontsize="small",
            )
    plan.dimensions(ax, begins, units, across=plan.extent(ends))
    plan.to_scale(ax, scale * ends, least=_LEAST_SIDE * scale)
    if in_place:
        plan.north_arrow(ax)
    style.quiet_grid(ax)
    return ax


def trench_section(field: TrenchField, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw a cross-section of the first trenches of a field to scale.

    At most four trenches are shown.

    Parameters
    ----------
    field : TrenchField
        The field.
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
    from matplotlib.patches import Circle

    style.require_units(units)
    ax = style.new_axes(ax, width=8.0, height=4.0)
    unit, scale = style.LENGTH[units]
    shown = field.middles[:_FEW_TRENCHES].tolist()
    radius = scale * field.pipe.outer_diameter / 2.0
    for middle in shown:
        for x, depth in _cuts(field):
            place = (scale * (middle + x), scale * depth)
            ax.add_patch(Circle(place, radius, facecolor=style.SKY, edgecolor=style.tone(ax, 0.0), zorder=3))
            ax.plot(*place, marker="o", markersize=4.0, color=style.BLUE, zorder=2)
    half = field.width / 2.0 + 0.5
    lowest = max(depth for _, depth in _cuts(field))
    ax.axhline(0.0, color=style.tone(ax, 0.0), linewidth=1.6)
    ax.set_xlim(scale * (shown[0] - half), scale * (shown[-1] + half))
    ax.set_ylim(scale * (lowest + 0.5), scale * -0.3)
    ax.set_aspect("equal")
    of = f" (first {len(shown)} of {field.trenches} trenches)" if len(shown) < field.trenches else ""
    ax.set_title(f"Cross-section{of}", loc="left", fontsize="medium")
    ax.set_xlabel(f"Distance across the trenches [{unit}]")
    ax.set_ylabel(f"Depth [{unit}]")
    style.quiet_grid(ax)
    return ax


def _cuts(field: TrenchField) -> list[tuple[float, float]]:
    """Return the pipes in a cross-section of a trench: position across and depth [m]."""
    if field.pipes is not None:
        return [(float(x), float(depth)) for x, depth in field.pipes]
    if field.coil is None:
        return []
    half = field.coil.diameter / 2.0
    if field.coil.upright:
        return [(0.0, field.coil.depth - half), (0.0, field.coil.depth + half)]
    return [(-half, field.coil.depth), (half, field.coil.depth)]
