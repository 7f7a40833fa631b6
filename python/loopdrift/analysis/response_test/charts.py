"""Charts of a response test."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.both_units import factor
from loopdrift.charts import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.analysis.response_test.response_test import ResponseTest

Numbers = NDArray[np.float64]
Kind = Literal["temperatures", "line", "windows", "residuals"]

_HOUR = 3600.0


def draw(test: ResponseTest, kind: Kind, units: style.Units, ax: Axes | None) -> Axes:
    """Draw one chart of a test; see `ResponseTest.plot`.

    Parameters
    ----------
    test : ResponseTest
        The test.
    kind : str
        Which chart.
    units : {"SI", "IP"}
        Units of the chart.
    ax : matplotlib.axes.Axes or None
        Where to draw.

    Raises
    ------
    InvalidInput
        If `kind` or `units` is unknown.
    """
    style.require_kind(kind, get_args(Kind), owner="ResponseTest")
    style.require_units(units, owner="ResponseTest")
    return _DRAWN[kind](test, units, style.new_axes(ax))


def _temperatures(test: ResponseTest, units: style.Units, ax: Axes) -> Axes:
    record, fit = test.record, test.fit
    hours = record.times / _HOUR
    dots: dict[str, Any] = {"linestyle": "none", "marker": ".", "markersize": 3.0}
    ax.plot(hours, style.temperature(record.supply, units), color=style.VERMILION, label="supply", **dots)
    ax.plot(hours, style.temperature(record.returned, units), color=style.BLUE, label="return", **dots)
    hours_of_fit, fitted = _interrupted(fit.hours, fit.fitted)
    ax.plot(
        hours_of_fit,
        style.temperature(fitted, units),
        color=style.tone(ax, 0.0),
        linewidth=1.4,
        label="mean, fitted bore",
    )
    _hours(ax, test)
    ax.set_ylabel(f"Temperature [{style.LABEL[style.TEMPERATURE[units]]}]")
    unit, scale = style.POWER[units]
    right = ax.twinx()
    right.plot(hours, scale * record.heat, color=style.tone(ax, 0.55), linewidth=0.9, linestyle="--")
    top = scale * float(np.abs(record.heat).max())
    right.set_ylim(*((0.0, 3.0 * top) if record.level > 0.0 else (-3.0 * top, 0.0)))
    right.set_ylabel(f"Heat [{unit}], dashed")
    style.finish(ax)
    return ax


def _line(test: ResponseTest, units: style.Units, ax: Axes) -> Axes:
    record, line = test.record, test.line
    since = (record.times - record.start) / _HOUR
    after = since > 0.05
    ax.plot(
        since[after],
        style.temperature(record.mean[after], units),
        color=style.SKY,
        linestyle="none",
        marker=".",
        markersize=3.0,
        label="mean fluid",
    )
    offset = record.start / _HOUR
    ax.plot(
        line.hours - offset,
        style.temperature(line.fitted, units),
        color=style.tone(ax, 0.0),
        linewidth=1.8,
        label=f"straight line, {line.conductivity:.2f} W/(m K)",
    )
    for at in (line.begin - offset, line.end - offset):
        ax.axvline(at, color=style.tone(ax, 0.4), linestyle=":", linewidth=1.0)
    ax.set_xscale("log")
    ax.xaxis.set_major_formatter("{x:g}")
    ax.set_xlabel("Time since the heat began [h]")
    ax.set_ylabel(f"Mean fluid temperature [{style.LABEL[style.TEMPERATURE[units]]}]")
    style.finish(ax)
    return ax


def _windows(test: ResponseTest, units: style.Units, ax: Axes) -> Axes:
    scale = factor("W/(m K)", "Btu/(h ft degF)") if units == "IP" else 1.0
    looks = {
        "end": ("end_h", "end of the window moves", {"color": style.BLUE, "marker": "v", "linestyle": "-."}),
        "begin": (
            "begin_h",
            "start of the window moves",
            {"color": style.VERMILION, "marker": "^", "linestyle": "--"},
        ),
    }
    for moved, (column, label, look) in looks.items():
        rows = test.windows.loc[moved]
        ax.errorbar(
            rows[column],
            scale * rows["conductivity"],
            2.0 * scale * rows["conductivity_error"],
            label=label,
            capsize=2.5,
            **look,  # type: ignore[arg-type]
        )
    fit, error = scale * test.fit.conductivity, 2.0 * scale * test.fit.errors[0]
    ax.axhspan(fit - error, fit + error, color=style.tone(ax, 0.88), label="fitted bore, ± 2 standard errors")
    ax.axhline(fit, color=style.tone(ax, 0.0), linewidth=1.2)
    ax.set_xlabel("End or start of the window [h]")
    ax.set_ylabel(f"Conductivity [{'Btu/(h ft °F)' if units == 'IP' else 'W/(m K)'}]")
    style.finish(ax, legend_columns=3)
    return ax


def _residuals(test: ResponseTest, units: style.Units, ax: Axes) -> Axes:
    scale, unit = (1.8, "°F") if units == "IP" else (1.0, "K")
    looks: tuple[dict[str, Any], ...] = (
        {"color": style.VERMILION, "linestyle": "--", "linewidth": 1.0},
        {"color": style.BLUE, "linewidth": 1.2},
    )
    for found, look in zip((test.line, test.fit), looks, strict=True):
        hours, residuals = _interrupted(found.hours, found.residuals)
        ax.plot(hours, scale * residuals, label=found.method, **look)
    ax.axhline(0.0, color=style.tone(ax, 0.4), linewidth=0.8)
    _hours(ax, test)
    ax.set_ylabel(f"Measured minus fitted [{unit}]")
    style.finish(ax)
    return ax


def _interrupted(hours: Numbers, values: Numbers) -> tuple[Numbers, Numbers]:
    """Return a curve that is interrupted where intervals are missing."""
    return style.interrupted(hours, values, 2.5 * float(np.median(np.diff(hours))))


def _hours(ax: Axes, test: ResponseTest) -> None:
    ax.set_xlim(0.0, test.record.duration / _HOUR)
    ax.set_xlabel("Time since the first row [h]")


_DRAWN = {"temperatures": _temperatures, "line": _line, "windows": _windows, "residuals": _residuals}
