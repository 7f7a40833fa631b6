"""Charts: labels carry units, Axes come back, and nothing global is touched."""

from itertools import pairwise

import matplotlib
import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

from loopdrift import plots
from loopdrift.basics.errors import InvalidInput
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.parts.bore import Bore
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Loads

matplotlib.use("Agg")
import matplotlib.pyplot as plt

LIMITS = Limits(entering_fluid_min=-2.0, entering_fluid_max=32.0)


@pytest.fixture(autouse=True)
def figures():
    before = matplotlib.rcParams.copy()
    yield
    assert matplotlib.rcParams == before
    plt.close("all")


def yearly(years=20):
    year = np.arange(1, years + 1)
    drift = -1.2 * np.log1p(year)
    return pd.DataFrame(
        {
            "entering_fluid_min_degC": 3.0 + drift,
            "entering_fluid_mean_degC": 9.5 + drift,
            "entering_fluid_max_degC": 24.0 + drift,
            "heat_extracted_kWh": 62e3 + 200.0 * drift,
            "heat_rejected_kWh": 21e3 + 0.0 * drift,
            "electricity_kWh": 21e3 - 100.0 * drift,
            "backup_kWh": 900.0 - 100.0 * drift,
        },
        index=pd.Index(year, name="year"),
    )


def field(*depths):
    """Return bores of some depths in a row, 6 m apart."""
    bores = [Bore(depth=depth, buried_depth=2.0, diameter=0.15, resistance=0.1) for depth in depths]
    return BoreField(bores, positions=[(6.0 * place, 0.0) for place in range(len(depths))])


def hourly(years=2):
    hour = np.arange(8760 * years)
    season = np.cos(2 * np.pi * (hour % 8760 - 400) / 8760)
    day = np.cos(2 * np.pi * (hour % 24 - 5) / 24)
    heat = 14e3 * season + 6e3 * day
    wall = 9.0 - 5.0 * season - 1e-5 * hour
    return pd.DataFrame(
        {
            "entering_fluid_degC": wall - heat / 6000.0,
            "leaving_fluid_degC": wall - heat / 6000.0 - heat / 9000.0,
            "wall_degC": wall,
            "heat_extracted_W": heat,
            "electricity_W": 0.3 * np.abs(heat) + 200.0,
            "backup_W": np.clip(heat - 18e3, 0.0, None),
        },
        index=pd.MultiIndex.from_product([range(1, years + 1), range(8760)], names=["year", "hour"]),
    )


@pytest.mark.parametrize(("units", "unit", "first"), [("SI", "°C", 1.0), ("IP", "°F", 33.8)])
def test_horizon(units, unit, first):
    table = yearly()
    table["entering_fluid_min_degC"] = 1.0
    axes = plots.horizon(table, limits=LIMITS, freezing_point=-7.2, units=units)
    assert axes.get_ylabel() == f"Entering fluid temperature [{unit}]"
    lowest = next(line for line in axes.lines if line.get_label().startswith("lowest"))
    assert_allclose(lowest.get_ydata(), first)
    texts = [text.get_text() for text in axes.texts]
    assert [text.rsplit(" ", 2)[0] for text in texts] == ["upper limit", "lower limit", "freezing point"]
    assert all(text.endswith(unit) for text in texts)


def test_labels_of_close_levels_stand_apart():
    axes = plots.horizon(yearly(), limits=LIMITS, freezing_point=-2.1)
    axes.figure.draw_without_rendering()
    boxes = sorted((text.get_window_extent() for text in axes.texts), key=lambda box: box.y0)
    assert all(below.y1 <= above.y0 for below, above in pairwise(boxes))


@pytest.mark.parametrize(("units", "temperature", "power"), [("SI", "°C", "kW"), ("IP", "°F", "kBtu/h")])
@pytest.mark.parametrize("which", ["coldest", "hottest"])
def test_worst_week(units, temperature, power, which):
    table = hourly()
    upper, lower = plots.worst_week(table, which, units=units)
    assert upper.get_ylabel() == f"Temperature [{temperature}]"
    assert lower.get_ylabel() == f"Power [{power}]"
    drawn = next(line for line in upper.lines if line.get_label() == "entering fluid").get_ydata()
    every = table["entering_fluid_degC"] * (1.8 if units == "IP" else 1.0) + (32.0 if units == "IP" else 0.0)
    assert len(drawn) == 168
    extreme = np.min if which == "coldest" else np.max
    assert_allclose(extreme(drawn), extreme(every))


@pytest.mark.parametrize(
    "draw",
    [
        lambda: plots.horizon(yearly(), units="metric"),
        lambda: plots.energy(yearly(), units="metric"),
        lambda: plots.loads(Loads(heating=1.0).monthly(), units="metric"),
        lambda: plots.layout(field(80.0), units="metric"),
        lambda: plots.week_temperatures(hourly(), units="metric"),
        lambda: plots.week_heat(hourly(), units="metric"),
        lambda: plots.worst_week(hourly(), "coldest", units="metric"),
    ],
)
def test_unknown_units_are_refused_before_a_figure_is_made(draw):
    figures = plt.get_fignums()
    with pytest.raises(InvalidInput, match=r"plots\.units = 'metric': must be SI or IP"):
        draw()
    assert plt.get_fignums() == figures


@pytest.mark.parametrize(("units", "unit"), [("SI", "MWh"), ("IP", "million Btu")])
def test_energy(units, unit):
    axes = plots.energy(yearly(), units=units)
    assert axes.get_ylabel() == f"Energy [{unit}]"
    assert axes.get_xlabel() == "Year of operation"
    assert axes.get_legend().get_window_extent().y0 >= axes.get_window_extent().y1 - 1.0


def test_backup_heat_stands_on_other_electricity():
    table = yearly(2).assign(electricity_kWh=[5000.0, 4000.0], backup_kWh=[1000.0, 0.0])
    axes = plots.energy(table)
    shapes = {each.get_label(): each.get_data() for each in axes.patches}
    tops, _, _ = shapes["electricity without back-up heat"]
    assert_allclose(tops[::2], [4.0, 4.0])
    tops, _, bottoms = shapes["back-up heat, electric"]
    assert_allclose([bottoms[::2], tops[::2]], [[4.0, 4.0], [5.0, 4.0]])


@pytest.mark.parametrize(
    ("units", "units_of_axes", "january", "largest"),
    [
        ("SI", ("MWh", "kW"), 0.744 * 1.5, 2.0),
        ("IP", ("million Btu", "kBtu/h"), 0.744 * 1.5 * 3.41214163, 2.0 * 3.41214163),
    ],
)
def test_loads(units, units_of_axes, january, largest):
    """For two years, the mean load and the highest peak; a series without load is omitted."""
    axes = plots.loads(Loads(heating=np.repeat([1000.0, 2000.0], 8760)).monthly(), units=units)
    peaks = next(other for other in axes.figure.axes if other is not axes)
    assert axes.get_ylabel() == f"Load [{units_of_axes[0]}]"
    assert peaks.get_ylabel() == f"Peak hour [{units_of_axes[1]}]"
    (bars,) = axes.patches
    heights, edges, bottoms = bars.get_data()
    assert_allclose([heights[0], edges[1] - edges[0], bottoms[0]], [january, 0.8, 0.0], rtol=1e-8)
    assert_allclose(edges[::2] + 0.4, range(12), atol=1e-9)
    assert_allclose(peaks.lines[0].get_ydata(), [largest] * 12, rtol=1e-8)


@pytest.mark.parametrize(("units", "unit", "far"), [("SI", "m", 6.0), ("IP", "ft", 19.685039)])
def test_layout(units, unit, far):
    axes = plots.layout(field(80.0, 100.0), units=units)
    assert (axes.get_xlabel(), axes.get_ylabel()) == (f"x (east) [{unit}]", f"y (north) [{unit}]")
    assert axes.get_aspect() == 1.0
    assert_allclose(axes.collections[0].get_offsets()[1], [far, 0.0], rtol=1e-6)
    texts = [text.get_text() for text in axes.texts if text.get_text()]
    apart = f"{far:.2f} m" if unit == "m" else f"{far:.1f} ft"
    assert texts == [f"1: {80 * far / 6:.0f} {unit}", f"2: {100 * far / 6:.0f} {unit}", apart, "N"]


def test_they_draw_where_they_are_told():
    _, (first, second) = plt.subplots(1, 2)
    assert plots.horizon(yearly(), ax=first) is first
    assert plots.layout(field(100.0), ax=second) is second


def test_electricity_has_a_scale_of_its_own_beside_heat_in_btu(design):
    run = design.run(1)

    def drawn(units):
        return [plots.energy(run.yearly, units=units), plots.week_heat(run.hourly, units=units)]

    assert not any(ax.child_axes for ax in drawn("SI"))
    for ax, unit in zip(drawn("IP"), ("MWh", "kW"), strict=True):
        ax.figure.canvas.draw()
        (beside,) = ax.child_axes
        assert beside.get_ylabel() == f"Electricity [{unit}]"
        assert_allclose(ax.get_ylim(), 3.412141633 * np.array(beside.get_ylim()), rtol=1e-9)
