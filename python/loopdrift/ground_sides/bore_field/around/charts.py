"""Charts of the ground temperature around a bore field: plan, section, and frames by year."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.output import write_whole
from loopdrift.charts import style
from loopdrift.ground_sides.bore_field.around.temperature import plan
from loopdrift.ground_sides.bore_field.field import BoreField

if TYPE_CHECKING:
    from collections.abc import Sequence

    import xarray as xr
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

    from loopdrift.model.run import Run

_LEVELS = 12


def ground_map(
    temperature: xr.DataArray,
    *,
    field: BoreField | None = None,
    levels: ArrayLike | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the temperature of the ground at one depth.

    Parameters
    ----------
    temperature : xarray.DataArray
        The result of `Run.ground_map`.
    field : BoreField, optional
        Bores, drawn as dots.
    levels : array_like, optional
        Contour levels, in the chart's unit, for a common scale of several maps.
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
        If `units` is unknown, or `temperature` has other dimensions than y and x.
    """
    style.require_units(units)
    _require_dimensions(temperature, ("y", "x"), owner="ground_map")
    ax = style.new_axes(ax, width=7.5, height=6.0)
    unit, scale = style.LENGTH[units]
    _fill(ax, temperature, levels, units)
    if field is not None:
        places = scale * field.positions
        ax.plot(places[:, 0], places[:, 1], "o", color="white", markeredgecolor="black", markersize=3.5)
    ax.set_xlim(*_span(temperature["x"], scale))
    ax.set_ylim(*_span(temperature["y"], scale))
    ax.set_aspect("equal")
    ax.set_ylabel(f"y [{unit}]")
    ax.set_title(_title(temperature, f"{scale * float(temperature['depth']):.0f} {unit} deep"), loc="left")
    return ax


def ground_section(
    temperature: xr.DataArray,
    *,
    field: BoreField | None = None,
    levels: ArrayLike | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw the temperature of the ground in a vertical plane.

    Parameters
    ----------
    temperature : xarray.DataArray
        The result of `Run.ground_section`.
    field : BoreField, optional
        Bores; those in the plane are drawn.
    levels : array_like, optional
        Contour levels, in the chart's unit, for a common scale of several sections.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart, with the surface at the top.

    Raises
    ------
    InvalidInput
        If `units` is unknown, or `temperature` has other dimensions than depth and x.
    """
    style.require_units(units)
    _require_dimensions(temperature, ("depth", "x"), owner="ground_section")
    ax = style.new_axes(ax, width=7.5, height=5.5)
    unit, scale = style.LENGTH[units]
    _fill(ax, temperature, levels, units)
    plane = float(temperature["y"])
    if field is not None:
        bores = [field.bores[at % len(field.bores)] for at in range(field.count)]
        for bore, (x, y) in zip(bores, field.positions, strict=True):
            if abs(y - plane) < bore.diameter:
                ends = scale * np.array([bore.buried_depth, bore.buried_depth + bore.depth])
                ax.plot([scale * x, scale * x], ends, color="black", linewidth=0.9)
    ax.set_xlim(*_span(temperature["x"], scale))
    ax.set_ylim(*_span(temperature["depth"], scale)[::-1])
    ax.set_ylabel(f"Depth [{unit}]")
    ax.set_title(_title(temperature, f"y = {scale * plane:.1f} {unit}"), loc="left")
    return ax


def ground_frames(
    run: Run,
    folder: str | os.PathLike[str],
    *,
    years: Sequence[int] | None = None,
    depth: float | str | None = None,
    units: style.Units = "SI",
) -> list[Path]:
    """Write one map of the ground per year as PNG files with a common colour scale: frames of an animation.

    Parameters
    ----------
    run : Run
        The run.
    folder : str or path-like
        Folder for the files ``ground-year-001.png`` and so on; created if it doesn't exist.
    years : sequence of int, optional
        Years of operation, from 1; by default all.
    depth : float or str, optional
        Depth below the surface [m]; by default halfway down the bores.
    units : {"SI", "IP"}, default "SI"
        Units of the maps.

    Returns
    -------
    list of pathlib.Path
        The files, in the order of the years.

    Raises
    ------
    InvalidInput
        If `units` is unknown, the depth is above the surface, or a year is outside the run.
    OSError
        If a file can't be written.
    """
    style.require_units(units)
    from matplotlib.figure import Figure

    chosen = range(1, run.years + 1) if years is None else years
    maps = [plan(run, year, depth, None, None, HOURS_PER_YEAR - 1) for year in chosen]
    if not maps:
        raise InvalidInput("ground_frames", "years", "none", "", "must have at least one year")
    field = run.design.ground_side if isinstance(run.design.ground_side, BoreField) else None
    every = np.concatenate([one.to_numpy().ravel() for one in maps])
    levels = _levels(style.temperature(every, units))
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for one in maps:
        figure = Figure(figsize=(7.5, 6.0), layout="constrained")
        ground_map(one, field=field, levels=levels, units=units, ax=figure.subplots())
        files.append(folder / f"ground-year-{int(one['year']):03}.png")
        picture = io.BytesIO()
        figure.savefig(picture, dpi=120)
        write_whole({files[-1]: picture.getvalue()})
    return files


def _require_dimensions(temperature: xr.DataArray, dimensions: tuple[str, str], *, owner: str) -> None:
    if temperature.dims != dimensions or min(temperature.shape) < 2:
        found = ", ".join(f"{name}: {size}" for name, size in temperature.sizes.items())
        allowed = f"must have dimensions {' and '.join(dimensions)}, with two or more values each"
        raise InvalidInput(owner, "temperature", found, "", allowed)


def _fill(ax: Axes, temperature: xr.DataArray, levels: ArrayLike | None, units: style.Units) -> None:
    """Fill the Axes with a contour plot, lighter for warmer ground, and add a colour bar."""
    unit, scale = style.LENGTH[units]
    values = style.temperature(temperature.to_numpy(), units)
    between = _levels(values) if levels is None else np.asarray(levels, dtype=float)
    down, across = (scale * temperature[name].to_numpy() for name in temperature.dims)
    drawn = ax.contourf(across, down, values, levels=between, cmap="cividis", extend="both")
    ax.contour(across, down, values, levels=between, colors="0.2", linewidths=0.4, linestyles="-")
    label = f"Ground temperature [{style.LABEL[style.TEMPERATURE[units]]}]"
    ax.figure.colorbar(drawn, ax=ax, label=label)
    ax.set_xlabel(f"x [{unit}]")


def _levels(values: Any) -> Any:
    """Return round contour levels over the range of temperatures, without the extremes at bore walls."""
    from matplotlib.ticker import MaxNLocator

    low, high = np.quantile(values, [0.002, 0.998])
    return MaxNLocator(_LEVELS).tick_values(low, max(high, low + 0.01))


def _span(axis: xr.DataArray, scale: float) -> tuple[float, float]:
    return scale * float(axis.min()), scale * float(axis.max())


def _title(temperature: xr.DataArray, where: str) -> str:
    return f"{temperature['date'].item()} of year {int(temperature['year'])}, {where}"
