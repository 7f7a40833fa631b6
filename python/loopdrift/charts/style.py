"""Common style of the charts: colours for the colour-blind, units of labels, legends outside the data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, Protocol, get_args

import numpy as np

from loopdrift.basics import units as unit_conversion
from loopdrift.basics.both_units import factor, fahrenheit
from loopdrift.basics.errors import InvalidInput, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

Units = Literal["SI", "IP"]


class FluidLimits(Protocol):
    """Limits of the entering fluid temperature, as charts need them [degC]."""

    @property
    def entering_fluid_min(self) -> float | None:
        """The lower limit."""

    @property
    def entering_fluid_max(self) -> float | None:
        """The upper limit."""


# Okabe & Ito (2008), "Color universal design"; distinguishable in greyscale as well.
BLUE = "#0072B2"
SKY = "#56B4E9"
ORANGE = "#E69F00"
VERMILION = "#D55E00"

TEMPERATURE = {"SI": "degC", "IP": "degF"}
LABEL = {"degC": "°C", "degF": "°F"}

# Unit of heat and electricity, and its factor from kWh; likewise for power, from W.
ENERGY = {"SI": ("MWh", 1e-3), "IP": ("million Btu", factor("kWh", "million Btu"))}
POWER = {"SI": ("kW", 1e-3), "IP": ("kBtu/h", 1e-3 * factor("kW", "kBtu/h"))}

# Unit of length, and its factor from metres.
LENGTH = {"SI": ("m", 1.0), "IP": ("ft", factor("m", "ft"))}


def plain(text: str) -> str:
    """Return text in which matplotlib doesn't interpret dollar signs as mathematics."""
    return text.replace("$", r"\$")


def require_kind(kind: str, kinds: Sequence[str], *, owner: str) -> None:
    """Refuse an unknown kind of chart.

    Raises
    ------
    InvalidInput
        If `kind` is not one of `kinds`.
    """
    if kind not in kinds:
        raise InvalidInput(owner, "kind", shown(kind), "", f"must be one of {', '.join(kinds)}")


def interrupted(
    times: NDArray[np.float64], values: NDArray[np.float64], longest: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return a curve that is interrupted at gaps.

    Parameters
    ----------
    times, values : ndarray, shape (n,)
        The curve.
    longest : float
        Longest interval between times that the curve bridges, in their unit.
    """
    places = np.flatnonzero(np.diff(times) > longest) + 1
    return np.insert(times, places, times[places - 1]), np.insert(values, places, np.nan)


def require_units(units: str, *, owner: str = "plots") -> None:
    """Check the units of a chart.

    Raises
    ------
    InvalidInput
        If `units` is neither SI nor IP.
    """
    if units not in get_args(Units):
        raise InvalidInput(owner, "units", repr(units), "", "must be SI or IP")


def new_axes(ax: Axes | None, width: float = 8.0, height: float = 4.5) -> Axes:
    """Return `ax`, or the Axes of a new figure of a size [in]."""
    if ax is not None:
        return ax
    import matplotlib.pyplot as plt

    _, ax = plt.subplots(figsize=(width, height), layout="constrained")
    return ax


def in_units(table: pd.DataFrame, units: Units) -> pd.DataFrame:
    """Return the table in the given units."""
    return unit_conversion.to_inch_pound(table) if units == "IP" else table


def temperature(value: Any, units: Units) -> Any:
    """Return one or several temperatures [degC] in the given units."""
    return fahrenheit(value) if units == "IP" else value


def tone(ax: Axes, level: float | str) -> str:
    """Return a grey between ink (0) and paper (1), for Axes with a light or a dark background.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        Where it is drawn.
    level : float or str
        Brightness on white paper, 0 to 1 [-]; on a dark background, the same contrast the other way round. A
        colour by name is returned as it is.
    """
    if isinstance(level, str):
        return level
    from matplotlib.colors import to_hex, to_rgb, to_rgba

    figure = ax.get_figure(root=True)
    is_clear = to_rgba(ax.get_facecolor())[3] == 0.0
    paper = figure.get_facecolor() if is_clear and figure is not None else ax.get_facecolor()
    red, green, blue = to_rgb(paper)
    is_dark = 0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.5  # weights of brightness in sRGB
    ink = 1.0 if is_dark else 0.0
    return to_hex((ink + level * (red - ink), ink + level * (green - ink), ink + level * (blue - ink)))


def quiet_grid(ax: Axes) -> None:
    """Draw a light grid in both directions, behind the data."""
    ax.grid(color=tone(ax, 0.88), linewidth=0.8)
    ax.set_axisbelow(True)


def bars(
    ax: Axes,
    places: NDArray[np.float64],
    heights: NDArray[np.float64],
    width: float,
    *,
    color: float | str,
    label: str,
    hatch: str | None = None,
    bottom: NDArray[np.float64] | float = 0.0,
) -> None:
    """Draw a series of bars as one shape, in half the time of `Axes.bar`, which draws each bar.

    Parameters
    ----------
    ax : matplotlib.axes.Axes
        Where to draw.
    places, heights : numpy.ndarray
        Shape (n,) [units of the axes]: the middle of each bar in ascending order, and its height.
    width : float
        Width of all bars, less than the distance between two [unit of the axis].
    color : float or str
        Colour of the series; a number is a grey [-], as for `tone`.
    label : str
        Its name.
    hatch : str, optional
        Its pattern.
    bottom : numpy.ndarray or float, default 0.0
        Shape (n,) if it varies: where each bar begins [unit of the axis].
    """
    import numpy as np

    edges = np.column_stack([places - width / 2, places + width / 2]).ravel()
    gaps = np.arange(1, len(places))
    tops = np.insert(bottom + heights, gaps, np.nan)
    base = np.insert(np.broadcast_to(bottom, heights.shape), gaps, 0.0)
    ax.stairs(
        *(tops, edges),
        baseline=base,
        fill=True,
        facecolor=tone(ax, color),
        edgecolor=tone(ax, 0.0),
        linewidth=0.5,
        hatch=hatch,
        label=label,
    )


def finish(ax: Axes, *, legend_columns: int = 4) -> None:
    """Draw a light grid and put the legend above the data."""
    ax.grid(axis="y", color=tone(ax, 0.88), linewidth=0.8)
    ax.set_axisbelow(True)
    ax.spines[["top", "right"]].set_visible(False)
    legend_above(ax, ax, legend_columns=legend_columns)


def legend_above(ax: Axes, panel: Axes, *, legend_columns: int = 4) -> None:
    """Put the legend of some Axes above a panel: these Axes, or others that stand above them."""
    handles, labels = ax.get_legend_handles_labels()
    if handles:
        panel.legend(
            handles,
            labels,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            ncols=legend_columns,
            frameon=False,
            borderaxespad=0.3,
            fontsize="small",
        )


def electricity_scale(ax: Axes, unit: str, scale: float) -> None:
    """Add a right scale in a unit of electricity; `scale` converts that unit to the one on the left."""

    def to_right(values: Any) -> Any:
        return values / scale

    def to_left(values: Any) -> Any:
        return values * scale

    from matplotlib.ticker import FuncFormatter

    right = ax.secondary_yaxis("right", functions=(to_right, to_left))
    right.set_ylabel(f"Electricity [{unit}]")
    # No electricity is negative, where the heat on the left may be.
    right.yaxis.set_major_formatter(FuncFormatter(lambda at, _: "" if at < -1e-9 else f"{at:g}"))


def level(ax: Axes, value: float, text: str, *, style: str, color: str) -> None:
    """Draw a horizontal line across the Axes and write its label at the right end."""
    ax.axhline(value, color=color, linestyle=style, linewidth=1.2)
    ax.annotate(
        text,
        xy=(1.0, value),
        xycoords=("axes fraction", "data"),
        xytext=(1.01, value),
        textcoords=("axes fraction", "data"),
        va="center",
        color=color,
        fontsize="small",
        annotation_clip=False,
    )


def off_chart(ax: Axes, text: str, *, above: bool, color: str) -> None:
    """Name a level that lies above or below the Axes, at the upper or lower right corner."""
    low, high = ax.get_ylim()
    ax.annotate(
        f"{text} {'↑' if above else '↓'}",
        xy=(1.01, high if above else low),
        xycoords=("axes fraction", "data"),
        va="top" if above else "bottom",
        color=color,
        fontsize="small",
        annotation_clip=False,
    )


def spread_labels(ax: Axes, gap: float = 0.06) -> None:
    """Move labels that are closer than `gap`, a share of the height, so that they don't overlap."""
    low, high = ax.get_ylim()
    ax.set_ylim(low, high)
    lowest = -float("inf")
    for label in sorted(ax.texts, key=lambda label: label.get_position()[1]):
        x, y = label.get_position()
        label.set_position((x, max(y, lowest)))
        lowest = label.get_position()[1] + gap * (high - low)
