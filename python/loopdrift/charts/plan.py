"""Plans to scale: house and property lines, north arrow, dimensions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

import numpy as np

from loopdrift.charts import style
from loopdrift.charts.outlines import nearest_edge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike, NDArray

    Corners = tuple[tuple[float, float], ...]
    Points = NDArray[np.float64]

_MOST_DIMENSIONS = 12
_MOST_POINTS = 400
_SHORTEST = 1.0  # of a drawn dimension [m]
_SHORT = 0.13
"""Share of the plan below which a distance has no room for its number [-]."""
_BESIDE = 5
"""Between such a distance and its number [points]."""
_ARROW_MARGIN = 0.06
"""Width of the margin for the north arrow, by that of the plan [-]."""
_LEAST_SITE = 10.0  # side of a plan [m]
_MARGIN = 0.14
"""Around what is drawn, which has to hold its numbers, by half the plan [-]."""


class Outlines(Protocol):
    """House and property lines, as plans need them [m]."""

    @property
    def house(self) -> Corners | None:
        """Corners of the house."""

    @property
    def property_lines(self) -> Corners | None:
        """Corners of the property lines."""


def outlines(ax: Axes, site: Outlines | None, units: style.Units) -> Points:
    """Draw house and property lines, and return their corners in the units of the plan, shape (n, 2).

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The plan.
    site : SitePlan or None
        House and property lines.
    units : {"SI", "IP"}
        Units of the plan.
    """
    from matplotlib.patches import Polygon

    _, scale = style.LENGTH[units]
    drawn = [np.empty((0, 2))]
    if site is not None and site.property_lines is not None:
        corners = scale * np.array(site.property_lines)
        look = {"fill": False, "edgecolor": style.tone(ax, 0.4), "linestyle": "--", "linewidth": 1.2}
        ax.add_patch(Polygon(corners, closed=True, label="property line", **look))
        drawn.append(corners)
    if site is not None and site.house is not None:
        corners = scale * np.array(site.house)
        look = {
            "facecolor": style.tone(ax, 0.93),
            "edgecolor": style.tone(ax, 0.0),
            "hatch": "///",
            "linewidth": 1.2,
        }
        ax.add_patch(Polygon(corners, closed=True, label="house", **look))
        drawn.append(corners)
    return np.concatenate(drawn)


def north_arrow(ax: Axes) -> None:
    """Draw a north arrow in the upper right corner, in a margin made for it: the y axis points north."""
    low, high = ax.get_xlim()
    ax.set_xlim(low, high + _ARROW_MARGIN * (high - low))
    ax.set_autoscalex_on(True)  # as in `to_scale`
    ax.annotate(
        "",
        xy=(0.965, 0.90),
        xytext=(0.965, 0.76),
        xycoords="axes fraction",
        textcoords="axes fraction",
        arrowprops={
            "arrowstyle": "-|>",
            "color": style.tone(ax, 0.0),
            "linewidth": 1.4,
            "mutation_scale": 16,
        },
    )
    ax.annotate("N", xy=(0.965, 0.93), xycoords="axes fraction", ha="center", va="center")


def dimension(ax: Axes, start: Points, end: Points, units: style.Units, *, across: float) -> None:
    """Draw the distance between two points [m], with arrows at both ends.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The plan.
    start, end : ndarray, shape (2,)
        The points [m].
    units : {"SI", "IP"}
        Units of the plan.
    across : float
        Width or height of the plan [m], the larger; beside it, a short distance has its number outside.
    """
    unit, scale = style.LENGTH[units]
    (x0, y0), (x1, y1) = (scale * start).tolist(), (scale * end).tolist()
    length = float(np.hypot(*(end - start)))
    is_short = length < _SHORT * across
    is_upright = abs(y1 - y0) > abs(x1 - x0)
    shrink = 0 if is_short else 3
    look = {"arrowstyle": "<->", "color": style.tone(ax, 0.4), "shrinkA": shrink, "shrinkB": shrink}
    ax.annotate("", xy=(x1, y1), xytext=(x0, y0), arrowprops=look)
    offset = (0, 0) if not is_short else (-_BESIDE, 0) if is_upright else (0, -_BESIDE)
    ax.annotate(
        f"{scale * length:.{2 if units == 'SI' else 1}f} {unit}",
        (0.5 * (x0 + x1), 0.5 * (y0 + y1)),
        xytext=offset,
        textcoords="offset points",
        ha="right" if is_short and is_upright else "center",
        va="top" if is_short and not is_upright else "center",
        fontsize="x-small",
        color=style.tone(ax, 0.2),
        bbox={"facecolor": style.tone(ax, 1.0), "edgecolor": "none", "pad": 0.8},
        zorder=4,
    )


def extent(drawn: Points) -> float:
    """Return width or height of a plan of some points, the larger."""
    return float(np.nanmax(np.ptp(drawn, axis=0)))


def dimensions(ax: Axes, points: Points, units: style.Units, *, across: float) -> None:
    """Draw the distances between neighbours.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The plan.
    points : ndarray, shape (n, 2)
        The points [m]; distances along the shortest tree that joins them, each length and direction once.
    units : {"SI", "IP"}
        Units of the plan.
    across : float
        Width or height of the plan [m], the larger.
    """
    seen: set[tuple[float, float]] = set()
    for start, end in _neighbours(points):
        between = end - start
        length = float(np.hypot(*between))
        direction = float(np.round(np.degrees(np.arctan2(between[1], between[0])) % 180.0)) % 180.0
        key = (round(length, 2), direction)
        if length >= _SHORTEST and key not in seen and len(seen) < _MOST_DIMENSIONS:
            seen.add(key)
            dimension(ax, start, end, units, across=across)


def clearances(ax: Axes, points: Points, site: Outlines, units: style.Units) -> None:
    """Draw the least distances from points to house and property line.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The plan.
    points : ndarray, shape (n, 2)
        The points [m].
    site : SitePlan
        House and property lines.
    units : {"SI", "IP"}
        Units of the plan.
    """
    outlined = [np.array(corners) for corners in (site.house, site.property_lines) if corners is not None]
    across = extent(np.concatenate([points, *outlined]))
    for corners in (site.house, site.property_lines):
        if corners is not None:
            start, end = nearest_to_edge(points, corners)
            if np.hypot(*(end - start)) >= _SHORTEST:
                dimension(ax, start, end, units, across=across)


def site_plan(
    paths: Sequence[ArrayLike], site: Outlines, *, units: style.Units = "SI", ax: Axes | None = None
) -> Axes:
    """Draw a plan of house, property lines and loop to scale, with north arrow and least distances.

    Parameters
    ----------
    paths : sequence of array_like, each of shape (n, 2)
        Bores in plan, as one point or as the ends of an inclined one, or pipes in trenches [m].
    site : SitePlan
        House and property lines.
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
    ax = style.new_axes(ax, width=7.0, height=6.0)
    unit, scale = style.LENGTH[units]
    around = outlines(ax, site, units)
    drawn = [np.asarray(path, dtype=float).reshape(-1, 2) for path in paths]
    for path in drawn:
        ends = scale * path
        ax.plot(*ends.T, color=style.BLUE, linewidth=1.4)
        ax.plot(*ends[:1].T, "o", color=style.SKY, markeredgecolor=style.tone(ax, 0.0), markersize=4.0)
    every = np.concatenate(drawn)
    clearances(ax, every[np.isfinite(every).all(axis=1)], site, units)
    to_scale(ax, np.concatenate([scale * every, around]), least=_LEAST_SITE * scale)
    north_arrow(ax)
    ax.set_xlabel(f"x (east) [{unit}]")
    ax.set_ylabel(f"y (north) [{unit}]")
    style.finish(ax)
    style.quiet_grid(ax)
    return ax


def nearest_to_edge(points: Points, corners: Corners) -> tuple[Points, Points]:
    """Return the point that is nearest to an outline, and the nearest place on the outline [m].

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        The points [m].
    corners : tuple of tuple of float
        Corners of the outline in order [m].
    """
    found = nearest_edge(points, corners)
    place = int(found.distances.argmin())
    return points[place], found.feet[place]


def to_scale(ax: Axes, drawn: Points, *, least: float) -> None:
    """Set equal scales and limits that hold all that is drawn and fill the Axes.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The plan.
    drawn : ndarray, shape (n, 2)
        Points that the plan has to hold, in its units.
    least : float
        Least width and height, in its units.
    """
    low, high = np.nanmin(drawn, axis=0), np.nanmax(drawn, axis=0)
    middle, half = (low + high) / 2.0, np.maximum(high - low, least) / 2.0
    half += _MARGIN * half.max()
    ax.set_xlim(middle[0] - half[0], middle[0] + half[0])
    ax.set_ylim(middle[1] - half[1], middle[1] + half[1])
    ax.update_datalim([middle - half, middle + half])  # equal scales may cut all beyond the data
    ax.set_aspect("equal", adjustable="datalim")
    for is_free in (ax.set_autoscalex_on, ax.set_autoscaley_on):
        is_free(True)  # limits that count as fixed would be widened with a warning


def _neighbours(points: Points) -> list[tuple[Points, Points]]:
    """Return the pairs of points that the shortest tree joins; the first pairs of very many points."""
    from scipy.sparse.csgraph import minimum_spanning_tree
    from scipy.spatial.distance import pdist, squareform

    shown = points[:_MOST_POINTS]
    if len(shown) < 2:
        return []
    tree = minimum_spanning_tree(squareform(pdist(shown))).tocoo()
    pairs = sorted(zip(*(np.sort([tree.row, tree.col], axis=0).tolist()), strict=True))
    return [(shown[start], shown[end]) for start, end in pairs]
