"""Flow of water between two wells."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.ground_sides.well.well import Well

_SHARES = 10
_POINTS = 300


def well_streamlines(well: Well, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the streamlines from a return well to the production well, with equal flow per line.

    Parameters
    ----------
    well : Well
        The well.
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
        If there is no return well, or `units` is unknown.
    """
    style.require_units(units)
    if well.return_distance is None:
        raise InvalidInput("Well", "return_distance", "nothing", "m", "must be given: no water is returned")
    ax = style.new_axes(ax, width=6.0, height=5.5)
    unit, scale = style.LENGTH[units]
    distance = scale * well.return_distance
    for leaving in np.pi * (np.arange(_SHARES) + 0.5) / _SHARES:
        radius = distance / (2.0 * np.sin(leaving))
        turn = np.pi / 2.0 + np.linspace(leaving, -leaving, _POINTS)
        x = distance / 2.0 + radius * np.cos(turn)
        y = radius * (np.sin(turn) - np.cos(leaving))
        for side in (y, -y):
            ax.plot(x, side, color=style.BLUE, linewidth=1.0)
    ax.plot(0.0, 0.0, "s", color=style.tone(ax, 0.2), label="return well")
    ax.plot(distance, 0.0, "o", color=style.tone(ax, 0.2), label="well")
    ax.set_xlim(-distance, 2.0 * distance)
    ax.set_ylim(-1.4 * distance, 1.4 * distance)
    ax.set_aspect("equal")
    ax.set_title("Streamlines between the wells, with equal flow per line", loc="left", fontsize="medium")
    ax.set_xlabel(f"Distance along the line of the wells [{unit}]")
    ax.set_ylabel(f"Distance across it [{unit}]")
    ax.legend(loc="upper right", framealpha=1.0)
    style.quiet_grid(ax)
    return ax
