"""The profile of a pond."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.words import counted
from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.ground_sides.pond.pond import Pond

_MOST_COILS = 60


def pond_profile(pond: Pond, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the cross-section of a pond as a round basin of the same areas, with its coils on the bottom.

    Parameters
    ----------
    pond : Pond
        The pond.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; depth and width have different scales.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = style.new_axes(ax, width=7.0, height=3.5)
    unit, scale = style.LENGTH[units]
    depths = scale * pond.bathymetry[:, 0]
    radii = scale * np.sqrt(pond.bathymetry[:, 1] / np.pi)
    ax.fill_betweenx(depths, -radii, radii, color=style.BLUE, alpha=0.25, linewidth=0.0)
    ax.plot(
        np.append(-radii, radii[::-1]),
        np.append(depths, depths[::-1]),
        color=style.tone(ax, 0.3),
        linewidth=1.2,
    )
    across = max(radii[-1], 0.05 * radii[0])
    coils = np.linspace(-across, across, min(pond.circuits, _MOST_COILS) + 2)[1:-1]
    ax.plot(coils, np.full(coils.size, depths[-1]), "o", color=style.BLUE, markersize=4.0)
    title = f"{counted(pond.circuits, 'coil')} of {scale * pond.length:,.0f} {unit} in a pond"
    ax.set_title(title, loc="left", fontsize="medium")
    ax.set_xlabel(f"Distance from the centre of a round pond of equal areas [{unit}]")
    ax.set_ylabel(f"Depth [{unit}]")
    ax.invert_yaxis()
    style.quiet_grid(ax)
    return ax
