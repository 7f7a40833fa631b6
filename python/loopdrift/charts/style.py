"""What the charts share: colours that the colour-blind tell apart, units of labels, legends off the data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, Protocol, get_args

from loopdrift.basics import units as unit_conversion
from loopdrift.basics.both_units import factor, fahrenheit
from loopdrift.basics.errors import InvalidInput

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

Units = Literal["SI", "IP"]


class FluidLimits(Protocol):
    """What a chart needs to know of the limits of the entering fluid [degC]."""

    @property
    def entering_fluid_min(self) -> float | None:
        """The lower limit."""

    @property
    def entering_fluid_max(self) -> float | None:
        """The upper limit."""


# Okabe & Ito (2008), "Color universal design"; their greys differ too.
BLUE = "#0072B2"
SKY = "#56B4E9"
ORANGE = "#E69F00"
VERMILION = "#D55E00"
BLACK = "#000000"
GREY = "#666666"

TEMPERATURE = {"SI": "degC", "IP": "degF"}
LABEL = {"degC": "°C", "degF": "°F"}

# Unit of heat and electricity, and how many of it make a kWh; the same of power and W.
ENERGY = {"SI": ("MWh", 1e-3), "IP": ("million Btu", factor("kWh", "million Btu"))}
POWER = {"SI": ("kW", 1e-3), "IP": ("kBtu/h", 1e-3 * factor("kW", "kBtu/h"))}

# Unit of lengths, and how many of it make a metre.
LENGTH = {"SI": ("m", 1.0), "IP": ("ft", factor("m", "ft"))}


def plain(text: str) -> str:
    """Return a text that matplotlib draws as it is, dollar signs included, and not as mathematics."""
    return text.replace("$", r"\$")


def require_units(units: str, *, owner: str = "plots") -> None:
    """Refuse units that no chart knows.

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
    """Return the table in the units asked for."""
    return unit_conversion.to_inch_pound(table) if units == "IP" else table


def temperature(value: Any, units: Units) -> Any:
    """Return one temperature or several [degC] in the units asked for."""
    return fahrenheit(value) if units == "IP" else value


def quiet_grid(ax: Axes) -> None:
    """Draw a quiet grid both ways, behind the data."""
    ax.grid(color="0.88", linewidth=0.8)
    ax.set_axisbelow(True)


def finish(ax: Axes, *, legend_columns: int = 4) -> None:
    """Draw a quiet grid and put the legend above the data."""
    ax.grid(axis="y", color="0.88", linewidth=0.8)
    ax.set_axisbelow(True)
    ax.spines[["top", "right"]].set_visible(False)
    handles, labels = ax.get_legend_handles_labels()
    if handles:
        ax.legend(
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
    """Show at the right what the left scale is in a unit of electricity, which is `scale` of the left's."""

    def to_right(values: Any) -> Any:
        return values / scale

    def to_left(values: Any) -> Any:
        return values * scale

    ax.secondary_yaxis("right", functions=(to_right, to_left)).set_ylabel(f"Electricity [{unit}]")


def level(ax: Axes, value: float, text: str, *, style: str, color: str) -> None:
    """Draw a level across the Axes and write what it is beyond its right end."""
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


def spread_labels(ax: Axes, gap: float = 0.06) -> None:
    """Move the labels of levels that are closer than `gap` of the height, so that none hides another."""
    low, high = ax.get_ylim()
    ax.set_ylim(low, high)
    lowest = -float("inf")
    for label in sorted(ax.texts, key=lambda label: label.get_position()[1]):
        x, y = label.get_position()
        label.set_position((x, max(y, lowest)))
        lowest = label.get_position()[1] + gap * (high - low)
