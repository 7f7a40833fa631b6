"""Charts read as a designer reads them: dates, a visible drift, labels beside lines, plans to scale."""

import logging

import matplotlib
import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots
from loopdrift.charts.plan import nearest_to_edge

matplotlib.use("Agg")
import matplotlib.pyplot as plt

SQUARE = [[-10.0, -10.0], [30.0, -10.0], [30.0, 30.0], [-10.0, 30.0]]
HOUSE = [[0.0, 15.0], [8.0, 15.0], [8.0, 25.0], [0.0, 25.0]]


@pytest.fixture(autouse=True)
def close():
    yield
    plt.close("all")


def yearly(drift: float, high: float = 12.0) -> pd.DataFrame:
    years = np.arange(1, 21)
    way = drift * (1.0 - np.exp(-(years - 1) / 6.0))
    columns = {"min": 2.0 + way, "mean": 7.0 + way, "max": high + way}
    return pd.DataFrame(
        {f"entering_fluid_{which}_degC": values for which, values in columns.items()},
        index=pd.Index(years, name="year"),
    )


def hourly(years: int = 2) -> pd.DataFrame:
    """Coldest in hour 20 of 3 February of the second year, and hottest in that of 1 August."""
    temperature = np.full(8760 * years, 10.0)
    temperature[8760 + 33 * 24 + 20], temperature[8760 + 212 * 24 + 20] = 0.0, 25.0
    heat = np.where(temperature < 20.0, 4e3, -6e3)
    heat[8760 + 210 * 24 : 8760 + 215 * 24] = -6e3
    return pd.DataFrame(
        {
            "entering_fluid_degC": temperature,
            "leaving_fluid_degC": temperature - 2.0,
            "wall_degC": temperature + 1.0,
            "heat_extracted_W": heat,
            "electricity_W": 1.5e3,
            "backup_W": np.where(heat > 0.0, 1e3, 0.0),
        },
        index=pd.MultiIndex.from_product([range(1, years + 1), range(8760)], names=["year", "hour"]),
    )


def test_a_drift_of_two_kelvin_shows_on_the_horizon():
    """It takes at least a tenth of the height, whatever the limits are, and stands in the legend."""
    limits = ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=40.0)
    axes = plots.horizon(yearly(-2.0), limits=limits, freezing_point=-30.0)
    low, high = axes.get_ylim()
    assert 2.0 / (high - low) > 0.1
    assert "mean (\N{MINUS SIGN}1.9 K since year 1)" in axes.get_legend_handles_labels()[1]
    assert [text.get_text() for text in axes.texts] == [
        "upper limit 40.0 °C ↑",
        "lower limit -4.0 °C",
        "freezing point -30.0 °C ↓",
    ]
    assert low < -4.0, "a near limit is drawn to scale"
    in_fahrenheit = plots.horizon(yearly(-2.0), limits=limits, units="IP")
    assert "mean (\N{MINUS SIGN}3.4 °F since year 1)" in in_fahrenheit.get_legend_handles_labels()[1]


@pytest.mark.parametrize(("start_month", "dates"), [(1, ["31 Jan", "6 Feb"]), (7, ["31 Jul", "6 Aug"])])
def test_weeks_have_dates(start_month, dates):
    table = hourly()
    _, lower = plots.worst_week(table, "coldest", start_month=start_month)
    for ax in (plots.week_temperatures(table, start_month=start_month), lower):
        labels = [label.get_text() for label in ax.get_xticklabels()]
        assert [labels[0], labels[-1]] == dates
    assert lower.get_xlabel() == "Day in year 2 of operation"


def test_rejected_heat_rises_in_the_hottest_week():
    """Otherwise the right scale would have electricity below zero."""
    ax = plots.week_heat(hourly(), "hottest", units="IP")
    assert "heat rejected (negative: extracted)" in ax.get_legend_handles_labels()[1]
    ax.figure.draw_without_rendering()
    (right,) = ax.child_axes
    ticks = [label.get_text() for label in right.get_yticklabels()]
    assert not any(tick.startswith(("-", "\N{MINUS SIGN}")) for tick in ticks)
    assert np.max(ax.patches[0].get_data()[0]) > 0.0


def test_backup_heat_stands_on_zero():
    ax = plots.week_heat(hourly(), "coldest")
    backup = next(patch for patch in ax.patches if "back-up" in patch.get_label())
    assert_allclose(np.max(backup.get_data()[0]), 1.0)
    assert backup.get_data().baseline is None


def test_peaks_stand_clear_of_bars():
    axes = plots.loads(ld.Loads(heating=3000.0, cooling=1000.0).monthly())
    (peaks,) = [other for other in axes.figure.axes if other is not axes]
    axes.figure.draw_without_rendering()
    assert peaks.get_window_extent().y0 > axes.get_window_extent().y1


def test_the_label_of_the_drift_stands_off_the_lines():
    """Every line on the right of its year passes above or below it."""
    years = np.arange(1, 101)
    way = 3.0 * np.exp(-years / 15.0)
    for levels in ({"min": -1.0, "mean": 4.0, "max": 10.0}, {"min": 1.0, "mean": 1.5, "max": 2.5}):
        columns = {f"entering_fluid_{which}_degC": at + way for which, at in levels.items()}
        found = ld.HeatBuildUp(20, pd.DataFrame(columns, index=years), levels, 1, 1e-3)
        ax = plots.heat_build_up(found)
        ax.figure.draw_without_rendering()
        (label,) = [text for text in ax.texts if text.get_text().startswith("90 %")]
        box = label.get_window_extent().transformed(ax.transData.inverted())
        for line in ax.lines:
            x, y = (np.asarray(values, dtype=float) for values in line.get_data())
            if len(x) > 2:
                near = (x >= box.x0) & (x <= box.x1)
                assert ((y[near] < box.y0) | (y[near] > box.y1)).all()


def test_ground_maps_have_a_date(run):
    assert run.ground_map(year=1).coords["date"].item() == "31 December, 24:00"
    title = plots.ground_map(run.ground_map(year=2, hour=33 * 24 + 7)).get_title(loc="left")
    assert title == "3 February, 08:00 of year 2, 52 m deep"
    autumn = run.design.replace(start_month=10).run(1)
    assert "30 September, 24:00 of year 1" in plots.ground_section(autumn.ground_section()).get_title("left")


@pytest.fixture
def sited(design):
    site = ld.SitePlan(property_lines=SQUARE, house=HOUSE)
    bore = design.ground_side.bores[0]
    return design.replace(
        ground_side=ld.BoreField.grid(bore, columns=3, rows=2, spacing=6.0), site=site, flow=1.2
    )


def test_a_plan_is_to_scale_with_north_and_distances(sited, caplog):
    run = sited.run(1)
    ax = run.plot("layout")
    texts = [text.get_text() for text in ax.texts]
    assert texts.count("6.00 m") == 2, "once across and once along"
    assert texts[:6] == ["1", "2", "3", "4", "5", "6"] and "N" in texts
    plan = run.plot("site")
    texts = [text.get_text() for text in plan.texts]
    assert "9.00 m" in texts, "6 m of bores below a house that begins at 15 m"
    assert "10.00 m" in texts, "to the property line"
    for axes in (ax, plan):
        with caplog.at_level(logging.WARNING, "matplotlib"):
            axes.figure.draw_without_rendering()
        (x0, y0), (x1, y1) = axes.transData.transform([[0.0, 0.0], [1.0, 1.0]])
        assert_allclose(x1 - x0, y1 - y0, rtol=1e-6)
    assert not caplog.records, "no warnings of matplotlib on the user's terminal"
    (low, high), (below, above) = plan.get_xlim(), plan.get_ylim()
    assert low < -10.0 and high > 30.0 and below < -10.0 and above > 30.0
    with pytest.raises(ld.InvalidInput):
        run.design.replace(site=None).run(1).plot("site")


def test_a_row_of_bores_leaves_no_empty_band():
    bore = ld.Bore(depth=80.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    ax = plots.layout(ld.BoreField.grid(bore, columns=8, rows=1, spacing=6.0))
    ax.figure.draw_without_rendering()
    box, figure = ax.get_window_extent(), ax.figure.bbox
    assert box.height > 0.6 * figure.height and box.width > 0.8 * figure.width


@pytest.mark.parametrize(("columns", "rows"), [(10, 6), (20, 12)])
def test_numbers_of_a_large_field_stand_clear(columns, rows):
    """Each bore has its number within the frame, and distances stand beside the bores."""
    bore = ld.Bore(depth=80.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    field = ld.BoreField.grid(bore, columns=columns, rows=rows, spacing=6.0)
    ax = plots.layout(field, ax=plt.subplots(figsize=(9.0, 4.6), layout="constrained")[1])
    ax.figure.draw_without_rendering()
    frame = ax.get_window_extent()
    boxes = {text.get_text(): text.get_window_extent() for text in ax.texts if text.get_text()}
    assert {str(number) for number in range(1, columns * rows + 1)} <= boxes.keys()
    for text, box in boxes.items():
        assert frame.x0 < box.x0 and box.x1 < frame.x1 and frame.y0 < box.y0 and box.y1 < frame.y1, text
    places = ax.transData.transform(field.positions)
    distances = [text.get_window_extent() for text in ax.texts if text.get_text() == "6.00 m"]
    assert len(distances) == 2
    assert not any(box.contains(*place) for box in distances for place in places)


def test_nearest_to_an_edge():
    start, end = nearest_to_edge(np.array([[0.0, 0.0], [6.0, 6.0]]), tuple(map(tuple, HOUSE)))
    assert_allclose([start, end], [[6.0, 6.0], [6.0, 15.0]])


def test_headings_and_bars_of_a_comparison():
    table = pd.DataFrame(
        {
            "fits": [True, False],
            "entering_fluid_min_degC": [-3.0, -5.0],
            "entering_fluid_max_degC": [15.0, 18.0],
            "seasonal_cop": [3.1, 3.0],
            "first_cost": [1000.0, 2000.0],
            "life_cost": [30000.0, np.nan],
        },
        index=["bores", "trenches"],
    )
    ax = plots.comparison(table, limits=ld.Limits(), years=20, currency="crowns")
    texts = [text.get_text() for text in ax.texts]
    assert {"seasonal\nCOP", "first cost\n[crowns]", "life cost\n[crowns]", "30,000", "-"} <= set(texts)
    low, high = ax.get_xlim()
    assert low < -5.5 and high > 18.5, "bars end before the edges"
    ax.figure.draw_without_rendering()
    right = max(text.get_window_extent().x1 for text in ax.texts)
    assert right <= ax.figure.bbox.x1
