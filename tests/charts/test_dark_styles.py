"""Charts keep their contrast on a dark background, and leave paper as it was."""

import matplotlib
import numpy as np
import pytest
from matplotlib.colors import to_rgb, to_rgba

import loopdrift as ld
from loopdrift import plots

matplotlib.use("Agg")
import matplotlib.pyplot as plt


def brightness(colour):
    """Relative luminance, from 0 to 1 (W3C, Web Content Accessibility Guidelines 2.1, from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


def contrast(one, other):
    """Contrast of two colours, 1 to 21, from the same guidelines, which require 3 for charts."""
    low, high = sorted([brightness(one), brightness(other)])
    return (high + 0.05) / (low + 0.05)


def inks(ax):
    """Yield the colours of lines and texts of a chart."""
    for line in ax.lines:
        if line.get_linestyle() != "None" and line.get_linewidth() > 0.0:
            yield "line", line.get_color()
    for text in [*ax.texts, ax.title, ax.xaxis.label, ax.yaxis.label, *ax.get_xticklabels()]:
        if text.get_text():
            yield text.get_text(), text.get_color()
    for patch in ax.patches:
        if to_rgba(patch.get_edgecolor())[3] > 0.0:
            yield "edge", patch.get_edgecolor()


@pytest.fixture(scope="module")
def charts(design, run):
    yearly, hourly = run.yearly, run.hourly
    recovery = run.recovery(2)
    return {
        "horizon": lambda: plots.horizon(yearly, limits=design.limits, freezing_point=-10.0),
        "energy": lambda: plots.energy(yearly),
        "temperatures of a week": lambda: plots.week_temperatures(hourly),
        "heat of a week": lambda: plots.week_heat(hourly),
        "loads": lambda: design.loads.plot(),
        "days": lambda: design.loads.plot("days"),
        "layout": lambda: plots.layout(design.ground_side),
        "heat pump": lambda: design.heat_pump.plot(),
        "drift": lambda: plots.drift({"one": yearly, "two": yearly}),
        "recovery": lambda: plots.recovery(recovery),
    }


@pytest.mark.parametrize("style", ["default", "dark_background", "Solarize_Light2"])
def test_lines_and_texts_stand_out(charts, style):
    for name, draw in charts.items():
        with plt.style.context(style):
            ax = draw()
            paper = ax.get_facecolor()
            for what, colour in inks(ax):
                least = 2.0 if colour in ("#E69F00", "#56B4E9") else 2.9
                assert contrast(colour, paper) > least, (name, what, colour)
        plt.close("all")


def test_greys_are_measured_from_the_paper(design):
    with plt.style.context("dark_background"):
        dark = plots.layout(design.ground_side)
    bright = plots.layout(design.ground_side)
    edge = [to_rgb(ax.collections[0].get_edgecolor()[0]) for ax in (dark, bright)]
    assert edge == [(1.0, 1.0, 1.0), (0.0, 0.0, 0.0)]
    plt.close("all")


def test_charts_are_reached_from_the_package():
    assert ld.plots is plots
