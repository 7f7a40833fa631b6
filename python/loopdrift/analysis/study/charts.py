"""Charts of a study: limits over two parameters, bands over the years, and sensitivity."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.study.dataset import NOT_RUN, ran
from loopdrift.analysis.study.statistics import (
    BAND,
    band,
    broken_probability,
    missing_in_words,
    missing_share,
)
from loopdrift.basics.errors import InvalidInput
from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes

    from loopdrift.parts.limits import Limits

_LINES = 8

_LEGEND = 45
"""Width of a long label in a legend of two columns [characters]."""

_EDGE_ACROSS, _EDGE_UP = 0.06, 0.04
"""Margins, as shares of the chart, within which the centre of a label is too close to the edge."""


def limits_contour(
    dataset: xr.Dataset, x: str, y: str, *, limits: Limits, units: style.Units = "SI", ax: Axes | None = None
) -> Axes:
    """Draw where the limits hold over two parameters, such as spacing and depth.

    Thin lines are the lowest entering fluid temperature of all years; thick coloured lines are its limits.
    The background is hatched where a limit or the freezing margin is broken in any hour with demand, or the
    case can't be run to its end. Crosses mark cases without results, and the legend says how many, why and
    since when.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for a grid; select a value of any other parameter first, for example with
        ``dataset.sel``.
    x, y : str
        The two dimensions.
    limits : Limits
        The limits of the design.
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
        If `units` is unknown, the dataset has other dimensions, or one of the two has fewer than two numbers.
    """
    style.require_units(units)
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch
    from matplotlib.ticker import MaxNLocator

    if set(dataset["margin_K"].dims) != {x, y} or x == y:
        found = ", ".join(map(str, dataset["margin_K"].dims))
        raise InvalidInput(
            "limits_contour", "x, y", f"{x}, {y}", "", f"must be the two dimensions of {found}"
        )
    for name in (x, y):
        if dataset[name].dtype.kind not in "fiu" or dataset.sizes[name] < 2:
            raise InvalidInput(
                "limits_contour", name, f"{dataset.sizes[name]} values", "", "must have at least two numbers"
            )
    ax = style.new_axes(ax, width=7.5, height=5.0)
    across, up = _scaled(dataset[x], units), _scaled(dataset[y], units)
    unit = style.LABEL[style.TEMPERATURE[units]]

    def surface(name: str, how: str) -> Any:
        complete = dataset[name].where(ran(dataset))
        over_years = getattr(complete, how)("year").transpose(y, x).to_numpy()
        return style.temperature(over_years, units)

    lowest, highest = surface("entering_fluid_min_degC", "min"), surface("entering_fluid_max_degC", "max")
    margin = _margin(dataset).transpose(y, x).to_numpy()
    if np.nanmin(margin) < 0.0:
        beyond = [np.nanmin(margin) - 1.0, 0.0]
        shaded = ax.contourf(across, up, margin, levels=beyond, colors=[style.tone(ax, 0.9)], hatches=["///"])
        shaded.set_edgecolor(style.tone(ax, 0.75))
        shaded.set_linewidth(0.0)
        if np.nanmax(margin) > 0.0:
            ax.contour(across, up, margin, levels=[0.0], colors=style.tone(ax, 0.0), linewidths=2.4)
    lower = limits.entering_fluid_min
    named = [] if lower is None else [style.temperature(lower, units)]
    even = MaxNLocator(_LINES).tick_values(np.nanmin(lowest), np.nanmax(lowest))
    between = [value for value in even if value not in named]
    thin = ax.contour(
        across, up, lowest, levels=between, colors=style.tone(ax, 0.35), linewidths=0.8, linestyles="-"
    )
    for label in ax.clabel(thin, fmt=lambda value: f"{value:g} {unit}", fontsize="small", inline=False):
        label.set_bbox({"facecolor": style.tone(ax, 1.0), "edgecolor": "none", "pad": 0.8})
        if not _is_inside(ax, label.get_position()):
            label.remove()
    handles: list[Any] = [
        Line2D([], [], color=style.tone(ax, 0.35), linewidth=0.8, label="lowest entering fluid"),
        Patch(
            facecolor=style.tone(ax, 0.9),
            edgecolor=style.tone(ax, 0.75),
            hatch="///",
            label="limit or freezing margin broken",
        ),
    ]
    levels: list[tuple[float | None, Any, str, str, Any]] = [
        (limits.entering_fluid_min, lowest, "lower limit", style.BLUE, "-"),
        (limits.entering_fluid_max, highest, "upper limit", style.VERMILION, "--"),
    ]
    for limit, values, name, colour, line in levels:
        if limit is None:
            continue
        at = style.temperature(limit, units)
        text = f"{name} {at:.1f} {unit}"
        if np.nanmin(values) < at < np.nanmax(values):
            ax.contour(across, up, values, levels=[at], colors=colour, linestyles=line, linewidths=2.4)
        else:
            text += " (not reached)" if _holds(values, at, name) else " (broken everywhere)"
        handles.append(Line2D([], [], color=colour, linestyle=line, linewidth=2.4, label=text))
    missing = missing_in_words(dataset)
    if missing:
        up_of, across_of = np.nonzero(~ran(dataset).transpose(y, x).to_numpy())
        mark: dict[str, Any] = {"linestyle": "", "marker": "x", "color": style.tone(ax, 0.0), "markersize": 5}
        ax.plot(across[across_of], up[up_of], **mark, zorder=4, clip_on=False)
        handles.append(Line2D([], [], **mark, label=textwrap.fill(missing, _LEGEND)))
    ax.set_xlabel(_axis_label(dataset[x], units))
    ax.set_ylabel(_axis_label(dataset[y], units))
    ax.spines[["top", "right"]].set_visible(False)
    ax.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=2,
        frameon=False,
        borderaxespad=0.3,
        fontsize="small",
    )
    return ax


def uncertainty(
    dataset: xr.Dataset,
    *,
    limits: Limits | None = None,
    units: style.Units = "SI",
    axes: tuple[Axes, Axes] | None = None,
) -> tuple[Axes, Axes]:
    """Draw bands of the entering fluid temperature by year, and the probability that a limit is broken.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.
    limits : Limits, optional
        Limits of the entering fluid temperature, drawn and labelled.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    axes : tuple of two matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    tuple of two matplotlib.axes.Axes
        Temperatures; probability.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    if axes is None:
        import matplotlib.pyplot as plt

        _, (upper, lower) = plt.subplots(
            2, 1, sharex=True, figsize=(8.0, 6.0), layout="constrained", height_ratios=[3, 1]
        )
        axes = upper, lower
    temperature_band(dataset, limits=limits, units=units, ax=axes[0])
    probability(dataset, ax=axes[1])
    axes[0].set_xlabel("")
    return axes


def temperature_band(
    dataset: xr.Dataset,
    *,
    limits: Limits | None = None,
    units: style.Units = "SI",
    ax: Axes | None = None,
) -> Axes:
    """Draw lowest and highest entering fluid temperature by year: medians, and bands of 90 % of the samples.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.
    limits : Limits, optional
        Limits of the entering fluid temperature, drawn and labelled.
    units : {"SI", "IP"}, default "SI"
        Units of the chart.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; its legend says how many samples have no results to the end, why and since when. The bands
        exclude them.

    Raises
    ------
    InvalidInput
        If `units` is unknown.
    """
    style.require_units(units)
    ax = style.new_axes(ax)
    unit = style.LABEL[style.TEMPERATURE[units]]
    for which, colour, line, hatch in (
        ("max", style.VERMILION, "--", "...."),
        ("min", style.BLUE, "-", "////"),
    ):
        table = style.temperature(band(dataset, f"entering_fluid_{which}_degC"), units)
        name = {"min": "lowest", "max": "highest"}[which]
        low, middle, high = (table[quantile].to_numpy() for quantile in BAND)
        years = table.index.to_numpy()
        shaded = ax.fill_between(years, low, high, facecolor=colour, alpha=0.25, linewidth=0.0)
        shaded.set_hatch(hatch)
        ax.plot(years, middle, color=colour, linestyle=line, label=f"{name}, median and 90 % of samples")
    for value, name, colour in (
        (limits.entering_fluid_max if limits else None, "upper limit", style.VERMILION),
        (limits.entering_fluid_min if limits else None, "lower limit", style.BLUE),
    ):
        if value is not None:
            at = style.temperature(value, units)
            style.level(ax, at, f"{name} {at:.1f} {unit}", style=":", color=colour)
    style.spread_labels(ax)
    missing = missing_in_words(dataset, "sample")
    if missing:
        ax.plot([], [], linestyle="", label=f"{missing}; not in the bands")
    _years(ax, dataset)
    ax.set_ylabel(f"Entering fluid temperature [{unit}]")
    style.finish(ax, legend_columns=1)
    return ax


def probability(dataset: xr.Dataset, *, ax: Axes | None = None) -> Axes:
    """Draw the probability that a limit has been broken by the end of each year.

    The share of samples without results is drawn in another hatching: they count as broken, a sample that
    freezes from that year on and one that can't be run from the first.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart.
    """
    from matplotlib.ticker import PercentFormatter

    ax = style.new_axes(ax, height=2.5)
    share = broken_probability(dataset)
    bars: dict[str, Any] = {"width": 0.7, "edgecolor": style.tone(ax, 0.0), "linewidth": 0.5}
    ax.bar(share.index, share, color=style.tone(ax, 0.6), **bars)
    without = missing_share(dataset)
    if without.any():
        ax.bar(
            share.index,
            without,
            color=style.tone(ax, 1.0),
            hatch="////",
            label="without results, taken as broken",
            **bars,
        )
    last = share.index[-1]
    ax.annotate(
        *(f"{100.0 * share[last]:.2g} %", (last, share[last])),
        xytext=(0, 2),
        textcoords="offset points",
        ha="center",
        fontsize="small",
    )
    ax.set_ylim(0.0, max(1.25 * float(share.max()), 0.05))
    ax.yaxis.set_major_formatter(PercentFormatter(1.0, decimals=0, symbol=""))
    ax.set_ylabel("Probability of a\nbroken limit [%]")
    _years(ax, dataset)
    style.finish(ax)
    return ax


def sensitivity(indices: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw the contribution of each unknown to a result's variance, in descending order.

    Parameters
    ----------
    indices : pandas.DataFrame
        Sobol indices, as returned by `Samples.indices`.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart; whiskers are 95 % intervals.
    """
    ax = style.new_axes(ax, height=1.5 + 0.6 * len(indices))
    table = indices.sort_values("total")
    places = np.arange(len(table))
    whiskers: dict[str, Any] = {"error_kw": {"elinewidth": 1.0, "capsize": 3.0}}
    edge: dict[str, Any] = {"edgecolor": style.tone(ax, 0.0), "linewidth": 0.5, "height": 0.38}
    bars: list[tuple[str, float, dict[str, Any], str]] = [
        ("first_order", 0.2, {"color": style.BLUE}, "first order"),
        ("total", -0.2, {"color": style.tone(ax, 1.0), "hatch": "////"}, "total, with interactions"),
    ]
    for name, shift, look, label in bars:
        confidence = table[f"{name}_confidence"]
        ax.barh(places + shift, table[name], xerr=confidence, label=label, **look, **edge, **whiskers)
    ax.set_yticks(places, [str(name).replace("_", " ").replace(".", ", ") for name in table.index])
    ax.axvline(0.0, color=style.tone(ax, 0.0), linewidth=0.8)
    ax.set_xlabel("Share of the variance [-]")
    style.finish(ax)
    ax.grid(visible=False, axis="y")
    ax.grid(axis="x", color=style.tone(ax, 0.88), linewidth=0.8)
    return ax


def _margin(dataset: xr.Dataset) -> xr.DataArray:
    """Return the margin of each case, negative for cases that can't be run, NaN for those that were not."""
    margin = dataset["margin_K"]
    failed = ~ran(dataset) & (dataset["failure"] != NOT_RUN)
    return margin.where(margin.notnull() | ~failed, -1.0)  # noqa: PD004


def _is_inside(ax: Axes, place: tuple[float, float]) -> bool:
    """Return whether a label at a given place fits within the chart."""
    across, up = ax.transAxes.inverted().transform(ax.transData.transform(place))
    return bool(_EDGE_ACROSS < across < 1.0 - _EDGE_ACROSS and _EDGE_UP < up < 1.0 - _EDGE_UP)


def _holds(values: Any, limit: float, name: str) -> bool:
    worst = np.nanmin(values) if name == "lower limit" else -np.nanmax(values)
    return bool(worst >= (limit if name == "lower limit" else -limit))


def _years(ax: Axes, dataset: xr.Dataset) -> None:
    from matplotlib.ticker import MaxNLocator

    years = dataset["year"].to_numpy()
    ax.set_xlim(years[0] - 0.6, years[-1] + 0.6)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.set_xlabel("Year of operation")


def _scaled(coordinate: xr.DataArray, units: style.Units) -> Any:
    scale = style.LENGTH[units][1] if coordinate.attrs["units"] == "m" else 1.0
    return scale * coordinate.to_numpy()


def _axis_label(coordinate: xr.DataArray, units: style.Units) -> str:
    unit = coordinate.attrs["units"] or "-"
    name = coordinate.attrs["long_name"]
    return f"{name[0].upper()}{name[1:]} [{style.LENGTH[units][0] if unit == 'm' else unit}]"
