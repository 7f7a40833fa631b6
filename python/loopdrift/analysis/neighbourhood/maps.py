"""Maps of a neighbourhood."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.basics.both_units import factor
from loopdrift.charts import style
from loopdrift.charts.plan import north_arrow

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

_SMALLEST, _LARGEST = 8.0, 70.0
"""Areas of the dots of the least and the greatest depth [points^2]."""
_CROWDED = 400
"""Plants from which on dots are smaller."""


def margins(table: xr.Dataset, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the plants, coloured by their margin.

    Crosses mark those whose limits break alone, rings those whose limits break through neighbours only.

    Parameters
    ----------
    table : xarray.Dataset
        ``NeighbourhoodRun.table``.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The map.
    """
    values = _difference(table["margin_K"].to_numpy(), units)
    most = max(float(np.nanquantile(np.abs(values), 0.95)), 0.1)
    label = f"margin to the deciding limit [{_kelvin(units)}]"
    ax = _map(table, values, label=label, colors="RdBu", ends=(-most, most), units=units, ax=ax)
    alone, together = (table[f"first_breach{name}_year"].to_numpy() for name in ("_alone", ""))
    breaks, breaks_alone = np.isfinite(together), np.isfinite(alone)
    east, north = _places(table, units)
    ink = style.tone(ax, 0.0)
    cross: dict[str, Any] = {"marker": "x", "color": ink}
    ring: dict[str, Any] = {"facecolors": "none", "edgecolors": ink}
    for which, form, label in (
        (breaks & breaks_alone, cross, "limit breaks alone"),
        (breaks & ~breaks_alone, ring, "limit breaks through neighbours only"),
    ):
        if which.any():
            sizes = 2.2 * _areas(table)[which]
            ax.scatter(east[which], north[which], s=sizes, linewidths=1.1, zorder=3, label=label, **form)
    if breaks.any():
        style.finish(ax)
    return ax


def drops(table: xr.Dataset, year: int, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
    """Draw the plants, coloured by how far neighbours lower the ground along their bores.

    Parameters
    ----------
    table : xarray.Dataset
        ``NeighbourhoodRun.table``.
    year : int
        Mean of which year.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The map.
    """
    values = _difference(table["drop_by_neighbours_K"].sel(year=year).to_numpy(), units)
    low, high = min(float(values.min()), 0.0), max(float(values.max()), 0.0)
    label = f"ground lowered by neighbours in year {year} [{_kelvin(units)}]"
    colors, ends = ("viridis_r", (low, high)) if low == 0.0 else ("RdBu", (-max(high, -low), max(high, -low)))
    if low == high:
        ends = (0.0, 1.0)
    return _map(table, values, label=label, colors=colors, ends=ends, units=units, ax=ax)


def save(ax: Axes, path: Path) -> None:
    """Write the figure of a map and close it.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        The map.
    path : pathlib.Path
        The file.

    Raises
    ------
    OSError
        If it can't be written.
    """
    import matplotlib.pyplot as plt

    figure = ax.get_figure(root=True)
    assert figure is not None
    figure.savefig(path, dpi=150)
    plt.close(figure)


def _map(
    table: xr.Dataset,
    values: NDArray[np.float64],
    *,
    label: str,
    colors: str,
    ends: tuple[float, float],
    units: style.Units,
    ax: Axes | None,
) -> Axes:
    style.require_units(units)
    ax = style.new_axes(ax, 7.5, 6.0)
    unit, _ = style.LENGTH[units]
    east, north = _places(table, units)
    dots: Any = ax.scatter(
        east,
        north,
        c=values,
        s=_areas(table),
        cmap=colors,
        vmin=ends[0],
        vmax=ends[1],
        edgecolors=style.tone(ax, 0.45),
        linewidths=0.3,
        zorder=2,
    )
    figure = ax.get_figure(root=True)
    assert figure is not None
    extend = {(False, False): "neither", (True, False): "min", (False, True): "max", (True, True): "both"}[
        bool(np.nanmin(values) < ends[0]), bool(np.nanmax(values) > ends[1])
    ]
    figure.colorbar(dots, ax=ax, label=label, extend=extend, shrink=0.85)
    ax.set_aspect("equal", adjustable="datalim")
    ax.margins(0.06)
    ax.set_xlabel(f"east [{unit}]")
    ax.set_ylabel(f"north [{unit}]")
    style.quiet_grid(ax)
    north_arrow(ax)
    return ax


def _places(table: xr.Dataset, units: style.Units) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    _, scale = style.LENGTH[units]
    return scale * table["east_m"].to_numpy(), scale * table["north_m"].to_numpy()


def _areas(table: xr.Dataset) -> NDArray[np.float64]:
    """Return the areas of the dots, by the depth of all bores of each plant [points^2]."""
    depth = table["depth_m"].to_numpy()
    crowd = min(1.0, _CROWDED / len(depth)) ** 0.5
    return np.asarray(np.clip(crowd * _LARGEST * depth / depth.max(), _SMALLEST, _LARGEST))


def _kelvin(units: style.Units) -> str:
    return "K" if units == "SI" else "°F"


def _difference(values: NDArray[np.float64], units: style.Units) -> NDArray[np.float64]:
    return values if units == "SI" else values * factor("K", "degF")
