"""COP of a heat pump, by its curves and by the table they were fitted to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.parts.plant.heat_pump import HeatPump

_LOOKS: dict[str, dict[str, Any]] = {
    "heating": {"color": style.VERMILION, "linestyle": "-", "marker": "o"},
    "heating_low": {"color": style.ORANGE, "linestyle": "--", "marker": "s"},
    "cooling": {"color": style.BLUE, "linestyle": "-", "marker": "^"},
    "cooling_low": {"color": style.SKY, "linestyle": "--", "marker": "v"},
}
_LABELS = {
    "heating": "heating",
    "heating_low": "heating, lowest stage",
    "cooling": "cooling",
    "cooling_low": "cooling, lowest stage",
}


def heat_pump(unit: HeatPump, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the COP at full load over the entering fluid temperature: curves as lines, table as markers.

    Rating points at other flows or entering load temperatures than those of the curves lie off the lines.

    Parameters
    ----------
    unit : HeatPump
        The heat pump.
    units : {"SI", "IP"}, default "SI"
        Units of the temperature.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure unless given.

    Returns
    -------
    matplotlib.axes.Axes
        The chart.
    """
    style.require_units(units)
    ax = style.new_axes(ax)
    for name, look in _LOOKS.items():
        mode = getattr(unit, name)
        if mode is None:
            continue
        low, high = mode.entering_fluid_range or (-10.0, 40.0)
        temperatures = np.linspace(low, high, 100)
        cop = np.polynomial.polynomial.polyval(temperatures, mode.cop)
        drawn = style.temperature(temperatures, units)
        ax.plot(drawn, cop, color=look["color"], linestyle=look["linestyle"], label=_LABELS[name])
        quality = None if unit.fit is None else getattr(unit.fit, name)
        if quality is not None:
            entering, capacity, power = np.transpose(quality.points)
            ax.plot(
                style.temperature(entering, units),
                capacity / power,
                color=look["color"],
                marker=look["marker"],
                linestyle="none",
                label=f"{_LABELS[name]}, table",
            )
    ax.set_ylim(bottom=0.0)
    ax.set_xlabel(f"Entering fluid temperature [{style.LABEL[style.TEMPERATURE[units]]}]")
    ax.set_ylabel("COP at full load [-]")
    style.finish(ax)
    return ax
