"""Charts of studies: what is drawn where, with units, and nothing global touched."""

from __future__ import annotations

import matplotlib
import numpy as np
import pandas as pd
import pytest
import xarray as xr
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis.study import broken_probability

matplotlib.use("Agg")
import matplotlib.pyplot as plt

LIMITS = ld.Limits(entering_fluid_min=-2.0, entering_fluid_max=32.0)


@pytest.fixture(autouse=True)
def figures():
    before = matplotlib.rcParams.copy()
    yield
    assert matplotlib.rcParams == before
    plt.close("all")


@pytest.fixture
def grid() -> xr.Dataset:
    """The lowest fluid is spacing + depth / 10 - 17 degC, the highest 20 degC in the last year."""
    spacing, depth = np.linspace(4.0, 8.0, 5), np.linspace(80.0, 120.0, 6)
    lowest = spacing[:, None] + depth / 10.0 - 17.0
    dimensions = ("spacing", "depth", "year")
    return xr.Dataset(
        {
            "entering_fluid_min_degC": (dimensions, np.stack([lowest + 1.0, lowest], axis=-1)),
            "entering_fluid_max_degC": (dimensions, np.full((5, 6, 2), 20.0)),
            "margin_K": (dimensions[:2], lowest + 2.0),
            "failure": (dimensions[:2], np.full((5, 6), "", dtype=object)),
        },
        {
            "spacing": ("spacing", spacing, {"units": "m", "long_name": "spacing"}),
            "depth": ("depth", depth, {"units": "m", "long_name": "bore depth"}),
            "year": [1, 2],
        },
    )


@pytest.fixture(scope="module")
def samples() -> xr.Dataset:
    """200 samples of five years, of which another tenth of a kelvin is lost each year."""
    case, year = np.arange(200), np.arange(1, 6)
    lowest = -1.5 + (case[:, None] - 99.5) / 100.0 - year / 10.0
    return xr.Dataset(
        {
            "entering_fluid_min_degC": (("case", "year"), lowest),
            "entering_fluid_max_degC": (("case", "year"), lowest + 20.0),
            "limits_broken": (("case", "year"), (lowest < -2.0) * 1.0),
            "failure": ("case", np.full(200, "", dtype=object)),
        },
        {"year": year},
    )


def line(axes, color):
    """Return the vertices of the thick line of a colour."""
    for drawn in axes.collections:
        if drawn.get_linewidth()[0] > 2.0 and matplotlib.colors.same_color(drawn.get_edgecolor(), color):
            return np.concatenate([path.vertices for path in drawn.get_paths()])
    raise AssertionError("no such line")


@pytest.mark.parametrize(("units", "unit", "scale"), [("SI", "m", 1.0), ("IP", "ft", 1.0 / 0.3048)])
def test_the_limit_is_drawn_where_it_is(grid, units, unit, scale):
    axes = plots.limits_contour(grid, "spacing", "depth", limits=LIMITS, units=units)
    assert (axes.get_xlabel(), axes.get_ylabel()) == (f"Spacing [{unit}]", f"Bore depth [{unit}]")
    spacing, depth = line(axes, "#0072B2").T / scale
    assert len(spacing) > 4
    assert_allclose(spacing + depth / 10.0, 15.0, atol=1e-9)
    texts = [text.get_text() for text in axes.get_legend().get_texts()]
    degrees = {"SI": ("-2.0 °C", "32.0 °C"), "IP": ("28.4 °F", "89.6 °F")}[units]
    assert f"lower limit {degrees[0]}" in texts
    assert f"upper limit {degrees[1]} (not reached)" in texts


def test_no_label_of_a_contour_is_cut(grid):
    for x, y in (("spacing", "depth"), ("depth", "spacing")):
        axes = plots.limits_contour(grid, x, y, limits=LIMITS)
        axes.figure.canvas.draw()
        inside = axes.get_window_extent()
        assert axes.texts
        for label in axes.texts:
            box = label.get_window_extent()
            assert inside.x0 <= box.x0 and box.x1 <= inside.x1
            assert inside.y0 <= box.y0 and box.y1 <= inside.y1


def test_axes_may_be_swapped(grid):
    axes = plots.limits_contour(grid, "depth", "spacing", limits=LIMITS)
    depth, spacing = line(axes, "#0072B2").T
    assert_allclose(spacing + depth / 10.0, 15.0, atol=1e-9)


def test_what_cannot_be_run_counts_as_broken(grid):
    grid["failure"][0, 0] = "no such ground"
    grid["margin_K"][:] = np.where(grid["failure"] == "", 1.0, np.nan)
    axes = plots.limits_contour(grid, "spacing", "depth", limits=ld.Limits(entering_fluid_min=30.0))
    texts = [text.get_text() for text in axes.get_legend().get_texts()]
    assert "lower limit 30.0 °C (broken everywhere)" in texts
    hatched = next(drawn for drawn in axes.collections if getattr(drawn, "hatches", None) == ["///"])
    corner = np.concatenate([path.vertices for path in hatched.get_paths()])
    assert_allclose(corner.max(axis=0), [4.5, 84.0])


def test_no_hole_is_unexplained(grid):
    """Cases without results are marked, and the legend says how many, why and since when."""
    grid["failure"][0, 0], grid["failure"][4, 5], grid["failure"][2, 2] = (
        "froze",
        "not run: the study was stopped",
        "-",
    )
    grid["failure_year"] = (("spacing", "depth"), np.full((5, 6), np.nan))
    grid["failure_year"][0, 0] = 2.0
    for name in ("margin_K", "entering_fluid_min_degC", "entering_fluid_max_degC"):
        grid[name] = grid[name].where(grid["failure"] == "")
    axes = plots.limits_contour(grid, "spacing", "depth", limits=LIMITS)
    (crosses,) = [drawn for drawn in axes.lines if drawn.get_marker() == "x"]
    assert sorted(map(tuple, crosses.get_xydata().tolist())) == [(4.0, 80.0), (6.0, 96.0), (8.0, 120.0)]
    texts = [text.get_text() for text in axes.get_legend().get_texts()]
    assert (
        texts[-1].replace("\n", " ")
        == "3 of 30 cases incomplete: 1 can't be run, 1 freezes, in year 2, 1 not run"
    )


def test_the_probability_shows_what_is_missing(samples):
    failed = samples.copy(deep=True)
    failed["failure"][:20] = "froze"
    failed["failure_year"] = ("case", np.where(failed["failure"] == "froze", 3.0, np.nan))
    axes = plots.probability(failed)
    heights = [[bar.get_height() for bar in bars] for bars in axes.containers]
    assert_allclose(heights[1], [0.0, 0.0, 0.1, 0.1, 0.1])
    assert all(np.array(heights[0]) >= heights[1])
    assert [text.get_text() for text in axes.get_legend().get_texts()] == ["without results, taken as broken"]


def test_other_dimensions_are_refused(grid):
    with pytest.raises(ld.InvalidInput, match="must be the two dimensions of spacing, depth"):
        plots.limits_contour(grid, "spacing", "conductivity", limits=LIMITS)
    with pytest.raises(ld.InvalidInput, match="must have at least two numbers"):
        plots.limits_contour(grid.isel(depth=[0]), "spacing", "depth", limits=LIMITS)


@pytest.mark.parametrize(("units", "unit"), [("SI", "°C"), ("IP", "°F")])
def test_bands_and_probability(samples, units, unit):
    upper, lower = plots.uncertainty(samples, limits=LIMITS, units=units)
    assert upper.get_ylabel() == f"Entering fluid temperature [{unit}]"
    assert lower.get_xlabel() == "Year of operation"
    assert "[%]" in lower.get_ylabel()
    median = next(drawn for drawn in upper.lines if drawn.get_label().startswith("lowest"))
    expected = -1.5 - np.arange(1, 6) / 10.0
    assert_allclose(median.get_ydata(), 1.8 * expected + 32.0 if units == "IP" else expected, atol=1e-12)
    heights = [bar.get_height() for bar in lower.patches]
    assert_allclose(heights, broken_probability(samples))
    assert_allclose(heights, [0.3, 0.35, 0.4, 0.45, 0.5])
    assert [text.get_text().split(" limit")[0] for text in upper.texts] == ["upper", "lower"]


def test_the_band_says_what_it_leaves_out(samples):
    failed = samples.copy(deep=True)
    failed["failure"][:3] = "froze"
    axes = plots.temperature_band(failed)
    said = "3 of 200 samples incomplete: 3 can't be run; not in the bands"
    assert axes.get_legend().get_texts()[-1].get_text() == said


def test_what_matters_most_stands_on_top():
    indices = pd.DataFrame(
        {
            "first_order": [0.1, 0.7],
            "first_order_confidence": [0.02, 0.03],
            "total": [0.2, 0.8],
            "total_confidence": [0.02, 0.03],
        },
        index=["ground.temperature", "ground.conductivity"],
    )
    axes = plots.sensitivity(indices)
    assert [tick.get_text() for tick in axes.get_yticklabels()] == [
        "ground, temperature",
        "ground, conductivity",
    ]
    assert sorted(bar.get_width() for bar in axes.patches) == [0.1, 0.2, 0.7, 0.8]
    assert axes.get_xlabel() == "Share of the variance [-]"


def test_they_draw_where_they_are_told(grid, samples):
    _, (first, second) = plt.subplots(1, 2)
    assert plots.limits_contour(grid, "spacing", "depth", limits=LIMITS, ax=first) is first
    assert plots.probability(samples, ax=second) is second
    assert plots.uncertainty(samples, axes=(first, second)) == (first, second)


def test_unknown_units_are_refused_before_a_figure_is_made(grid, samples):
    for draw in (
        lambda: plots.limits_contour(grid, "spacing", "depth", limits=LIMITS, units="metric"),
        lambda: plots.temperature_band(samples, units="metric"),
        lambda: plots.uncertainty(samples, units="metric"),
    ):
        with pytest.raises(ld.InvalidInput, match="units = 'metric': must be SI or IP"):
            draw()
    assert plt.get_fignums() == []
