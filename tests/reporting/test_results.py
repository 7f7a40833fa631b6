"""A run as files, as a page and as charts."""

import numpy as np
import pyarrow.csv
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.reporting import figures
from loopdrift.reporting import run_folder as results
from loopdrift.reporting.summary import summary


@pytest.fixture(scope="module")
def files(run, tmp_path_factory):
    folder = tmp_path_factory.mktemp("results") / "made" / "where" / "missing"
    return {path.name: path for path in results.write(run, folder)}


def test_every_file_named_is_there(run, files):
    assert all(path.stat().st_size > 100 for path in files.values())
    assert {f"{kind}.png" for kind in run.kinds} < set(files)


def test_each_chart_is_made_once_for_folder_and_page(run, tmp_path, monkeypatch):
    made, draw = [], figures.draw

    def counted(run, kind, *how):
        made.append(kind)
        return draw(run, kind, *how)

    monkeypatch.setattr(figures, "draw", counted)
    results.write(run, tmp_path)
    assert made == [kind for kind in run.kinds if "week" not in kind]


def test_a_table_is_the_run_to_the_bit(run, files):
    hourly = pyarrow.csv.read_csv(files["hourly.csv"]).to_pandas()
    assert list(hourly.columns) == ["year", "hour", *run.hourly.columns]
    assert_array_equal(hourly["year"], run.hourly.index.get_level_values("year"))
    for name in run.hourly.columns:
        assert_array_equal(hourly[name], run.hourly[name])


def test_the_text_is_the_summary(run, files):
    assert files["summary.txt"].read_text() == summary(run) == str(run)


def test_the_design_comes_back(run, files):
    assert ld.Design.read(files["design.toml"]) == run.design


def test_written_over_what_is_there(run, files):
    again = results.write(run, files["yearly.csv"].parent)
    assert {path.name for path in again} == set(files)


def table(text):
    """Return the rows of the yearly table of a page, as text."""
    lines = text.splitlines()
    first = next(place for place, line in enumerate(lines) if line.startswith("year "))
    units, *rows = lines[first + 2 : lines.index("", first)]
    return units.split(), [row.replace(",", "").split() for row in rows]


@pytest.mark.parametrize("units", ["SI", "IP"])
def test_the_years_on_the_page(run, units):
    header, rows = table(summary(run, units=units))
    unit = {"SI": "[degC]", "IP": "[degF]"}[units]
    assert header[:3] == [unit] * 3
    lowest = run.yearly["entering_fluid_min_degC"].to_numpy()
    assert_allclose(
        [float(row[1]) for row in rows],
        1.8 * lowest + 32.0 if units == "IP" else lowest,
        rtol=0,
        atol=0.005001,
    )
    assert [row[4] == "-" for row in rows] == [True, False]
    assert_allclose([float(row[-1]) for row in rows], run.yearly["seasonal_cop"], rtol=0, atol=0.005001)


def test_which_years_are_shown(design):
    _, rows = table(summary(design.run(12)))
    assert [int(row[0]) for row in rows] == [1, 2, 3, 4, 5, 10, 12]


def test_a_building_at_rest(design, tmp_path):
    """Nothing asked for: no electricity, so no COP, and a page that says so without fuss."""
    run = design.replace(loads=ld.Loads()).run(1)
    _, rows = table(summary(run))
    assert rows[0][-1] == "-"
    assert_allclose(run.yearly["entering_fluid_mean_degC"], 10.0, rtol=1e-12)
    assert np.isnan(run.yearly["seasonal_cop"]).all()
    assert results.write(run, tmp_path)


def test_one_of_each_is_not_many(design):
    bore = design.ground_side.bores[0]
    one = ld.BoreField(bore, positions=[[0.0, 0.0]])
    small = ld.Loads(heating=500.0)
    assert summary(design.replace(ground_side=one, loads=small).run(1)).startswith(
        "1 year of 1 bore of 100.0 m (328 ft), 100 m (328 ft) in total"
    )
