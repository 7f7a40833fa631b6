"""Response tests: files of loggers, gaps, what goes into designs, and input that is refused.

What they find is checked against finite volumes in reference/test_response_of_volumes.py.
"""

from importlib.resources import files

import matplotlib
import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from scipy import stats

import loopdrift as ld

matplotlib.use("Agg")
import matplotlib.pyplot as plt

SAMPLE = files("loopdrift") / "demo" / "response-test.csv"
BORE = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=10.0)
HOURS = np.arange(0.0, 60.01, 0.5)
START = 2.25  # between two rows, as loggers see it
FLOW = 0.4
WATER = ld.Fluid("water").heat_capacity_at(18.0)


def frame():
    """Return rows of a bore that stores no heat, in ground without noise."""
    heat = np.where(HOURS > START, 5000.0, 0.0)
    since = 3600.0 * np.maximum(HOURS - START, 1e-9)
    reach = GROUND.line_source(np.maximum(since, 1.0), distance=0.075, depth=100.0, buried_depth=2.0)
    rise = 50.0 * (reach / (2 * np.pi * 2.0) + 0.1)
    mean = 10.0 + np.where(heat > 0.0, rise, 0.0) + 1e-4 * np.sin(7.0 * HOURS)
    half = heat / (2 * FLOW * WATER)
    stamps = pd.date_range("2027-03-20T10:00", periods=HOURS.size, freq="30min")
    columns = {"time": stamps, "supply_degC": mean + half, "return_degC": mean - half, "heat_kW": heat / 1e3}
    return pd.DataFrame(columns)


FACTS = "# depth: 100 m\n# buried depth: 2 m\n# diameter: 0.15\n# volumetric heat capacity: 2.2 MJ/(m3 K)\n"


def written(path, table, facts=FACTS):
    path.write_text(facts + table.to_csv(index=False), encoding="utf-8")
    return path


def test_a_file_describes_its_bore_and_finds_its_ground(tmp_path):
    test = ld.ResponseTest.read(written(tmp_path / "t.csv", frame()))
    assert (test.bore.depth, test.bore.diameter, test.volumetric_heat_capacity) == (100.0, 0.15, 2.2e6)
    # The slope of a line source 5 r^2 / a after its start is still 5 % below that of the logarithm.
    for found, within in ((test.line, 0.03), (test.fit, 0.01)):
        assert_allclose(found.conductivity, 2.0, rtol=within)
        assert_allclose(found.resistance, 0.1, rtol=1.5 * within)
        assert_allclose(found.temperature, 10.0, atol=1e-3)
    assert "agree" in test.findings[0].text
    assert_allclose(test.table["heat_W"].max(), 5000.0)
    assert test.table.attrs["units"]["heat_W"] == "W"


def test_other_headings_units_and_clocks_say_the_same(tmp_path):
    plain = frame()
    expected = ld.ResponseTest.read(written(tmp_path / "t.csv", plain)).fit
    other = pd.DataFrame(
        {
            "Elapsed [min]": 60.0 * HOURS,
            "Supply [°F]": 32.0 + 1.8 * plain["supply_degC"],
            "Return [°F]": 32.0 + 1.8 * plain["return_degC"],
            "Flow [l/min]": np.full(HOURS.size, FLOW / ld.Fluid("water").density_at(18.0) * 6e4),
        }
    )
    found = ld.ResponseTest.read(written(tmp_path / "u.csv", other)).fit
    assert_allclose(found.conductivity, expected.conductivity, rtol=0.01)
    assert_allclose(found.resistance, expected.resistance, rtol=0.01)
    named = plain.rename(columns={"supply_degC": "T1 [degC]", "return_degC": "T2 [degC]"})
    columns = {"time": "time", "supply": "T1 [degC]", "return": "T2 [degC]", "heat": "heat_kW"}
    again = ld.ResponseTest.read(written(tmp_path / "v.csv", named), columns=columns).fit
    assert_allclose(again.conductivity, expected.conductivity, rtol=1e-12)


def test_heat_that_is_extracted_finds_the_same_ground(tmp_path):
    plain = frame()
    cold = plain.assign(supply_degC=20.0 - plain["supply_degC"], return_degC=20.0 - plain["return_degC"])
    warm = ld.ResponseTest.read(written(tmp_path / "t.csv", plain)).fit
    found = ld.ResponseTest.read(written(tmp_path / "u.csv", cold)).fit
    assert_allclose(found.heat, -warm.heat)
    assert_allclose([found.conductivity, found.resistance], [warm.conductivity, warm.resistance], rtol=1e-4)


def test_a_gap_is_open_until_someone_says_what_the_heater_did(tmp_path):
    path = written(tmp_path / "t.csv", frame().drop(range(60, 70)))
    with pytest.raises(ld.InvalidInput, match=r"in_gaps = 1 gaps, the first from 29\.50 to 35\.00 h"):
        ld.ResponseTest.read(path)
    on, off = (ld.ResponseTest.read(path, in_gaps=state) for state in ("on", "off"))
    assert_allclose(on.fit.conductivity, 2.0, rtol=0.02)
    assert on.record.heat_between(30 * 3600.0, 34 * 3600.0) == pytest.approx(5000.0)
    assert off.record.heat_between(30.5 * 3600.0, 34 * 3600.0) == pytest.approx(0.0, abs=1.0)
    assert any("wasn't steady" in each.text for each in off.findings)


def test_empty_cells_are_rows_without_temperature(tmp_path):
    table = frame()
    table.loc[50:52, "supply_degC"] = np.nan
    found = ld.ResponseTest.read(written(tmp_path / "t.csv", table)).fit
    assert_allclose(found.conductivity, 2.0, rtol=0.02)


def test_what_was_found_goes_into_a_design(tmp_path, design):
    test = ld.ResponseTest.read(written(tmp_path / "t.csv", frame()), gradient=0.02)
    ground = test.ground()
    assert_allclose(ground.conductivity, test.fit.conductivity)
    assert_allclose(ground.temperature + 0.02 * 52.0, test.fit.temperature)
    bore = test.measured_bore(depth=90.0)
    assert (bore.depth, bore.resistance) == (90.0, test.fit.resistance)
    found = design.replace(ground=ground, ground_side=design.ground_side.replace(bore=bore))
    samples = test.samples(32, heat_error="3 percent")
    dataset = ld.Study(found, samples=samples).run(1)
    assert dataset.sizes["case"] == 32


def test_samples_have_the_errors_and_correlation_of_the_fit():
    test = ld.ResponseTest.read(SAMPLE)
    fit = test.fit
    table = test.samples(4096).table()
    names = ["ground.conductivity", "ground_side.bore.resistance", "ground.temperature"]
    assert list(table) == names
    assert_allclose(table.mean(), [fit.conductivity, fit.resistance, fit.temperature], rtol=2e-3)
    assert_allclose(table.std(), fit.errors, rtol=0.05)
    expected = fit.covariance / np.outer(fit.errors, fit.errors)
    assert_allclose(table.corr(), expected, atol=0.03)
    wider = test.samples(4096, heat_error=0.03, resistance=False).table()
    assert list(wider) == [names[0], names[2]]
    share = np.hypot(0.03, fit.errors[0] / fit.conductivity)
    assert_allclose(wider[names[0]].std() / fit.conductivity, share, rtol=0.05)


@pytest.mark.parametrize(
    ("correlation", "message"),
    [
        ([[1.0, 0.5]], "shape"),
        ([[1.0, 0.5], [0.4, 1.0]], "symmetric"),
        ([[2.0, 0.5], [0.5, 1.0]], "diagonal"),
        ([[1.0, 1.0], [1.0, 1.0]], "positive definite"),
        ("strong", "numbers"),
    ],
)
def test_wrong_correlations_are_refused(correlation, message):
    unknown = {"ground.conductivity": stats.norm(2, 0.1), "ground.temperature": stats.norm(10, 0.1)}
    with pytest.raises(ld.InvalidInput, match=message):
        ld.Samples(unknown, count=8, correlation=correlation)
    with pytest.raises(ld.InvalidInput, match="independent"):
        ld.Samples(unknown, count=8, method="sensitivity", correlation=np.eye(2))


@pytest.mark.parametrize(
    ("change", "facts", "message"),
    [
        (lambda table: table.drop(columns="return_degC"), FACTS, "must have a column return_degC"),
        (lambda table: table.drop(columns="heat_kW"), FACTS, "must have heat"),
        (lambda table: table.drop(columns="time"), FACTS, "must have a column time"),
        (lambda table: table.iloc[:20], FACTS, "at least 30 rows"),
        (lambda table: table.iloc[::-1], FACTS, "must come after the row before"),
        (lambda table: table.assign(supply_degC=400.0), FACTS, "from -30 to 95 degC"),
        (lambda table: table.assign(heat_kW=0.0), FACTS, "must be other than 0"),
        (lambda table: table, "", "depth.*must be given, or stated in the file"),
        (lambda table: table, FACTS.replace("0.15", "wide"), "diameter"),
        (lambda table: table.iloc[10:], FACTS, "undisturbed_temperature"),
    ],
)
def test_files_that_can_not_be_used(tmp_path, change, facts, message):
    path = written(tmp_path / "t.csv", change(frame()), facts)
    with pytest.raises((ld.InvalidFile, ld.InvalidInput), match=message):
        _ = ld.ResponseTest.read(path).fit


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"in_gaps": "maybe"}, "must be on or off"),
        ({"volumetric_heat_capacity": 2.2}, "volumetric_heat_capacity"),
        ({"bore": "deep"}, "must be a Bore"),
        ({"undisturbed_temperature": "10 m"}, "undisturbed_temperature"),
        ({"flow": -1.0}, "flow"),
    ],
)
def test_wrong_values_are_refused(given, message):
    with pytest.raises(ld.InvalidInput, match=message):
        ld.ResponseTest.read(SAMPLE, **given)


def test_windows_outside_the_heat_are_refused():
    test = ld.ResponseTest.read(SAMPLE)
    with pytest.raises(ld.InvalidInput, match="end"):
        test.line_in(20.0, 200.0)
    with pytest.raises(ld.InvalidInput, match="at least 10 rows"):
        test.line_in(20.0, 20.5)


@pytest.mark.parametrize("units", ["SI", "IP"])
def test_charts_have_units(units):
    test = ld.ResponseTest.read(SAMPLE)
    for kind in ("temperatures", "line", "windows", "residuals"):
        ax = test.plot(kind, units=units)
        assert "[" in ax.get_ylabel() and "[h]" in ax.get_xlabel()
    with pytest.raises(ld.InvalidInput, match="must be one of temperatures"):
        test.plot("pie")
    plt.close("all")


def test_the_sample_is_what_its_script_makes():
    import make_response_test

    assert SAMPLE.read_text(encoding="utf-8") == make_response_test.text()


def test_the_command_writes_table_charts_and_page(command, tmp_path):
    out = tmp_path / "out"
    code, said, error = command("response-test", SAMPLE, "--out", out, "--units", "IP")
    assert code == 0, error
    assert "fitted bore" in said and "straight line" in said
    names = {path.name for path in out.iterdir()}
    assert {"found.csv", "windows.csv", "record.csv", "line.png", "response-test.html"} <= names
    page = (out / "response-test.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 4
    assert "Invented response test" not in page or "nothing in it was measured" in page
    assert "can hurt people" in page and "http" not in page.replace("http://www.w3.org", "")
    found = pd.read_csv(out / "found.csv", index_col=0)
    assert 1.8 < found.loc["conductivity [W/(m K)]", "fitted bore"] < 2.2


def test_the_command_takes_the_bore_of_a_design(command):
    demo = files("loopdrift") / "demo"
    code, said, error = command("response-test", SAMPLE, "--design", demo / "design.toml")
    assert code == 0, error
    assert "fitted bore, 0.0 to" in said
    code, _, error = command("response-test", SAMPLE, "--design", demo / "pond.toml")
    assert code != 0 and "no bore" in error
