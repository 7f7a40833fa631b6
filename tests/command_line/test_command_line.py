"""The command `loopdrift` as a user meets it."""

import signal
import subprocess
import sys
import time

import matplotlib.image
import numpy as np
import pandas as pd
import pyarrow.csv
import pytest
from numpy.testing import assert_allclose
from pandas.testing import assert_frame_equal

import loopdrift as ld
from loopdrift import _core
from loopdrift.basics.both_units import both
from loopdrift.basics.output import MARKER
from loopdrift.model.cautions import HAZARDS, STANDING

CHARTS = {f"{kind}.png" for kind in ("horizon", "coldest-week", "hottest-week", "energy", "loads", "layout")}
TABLES = {f"{name}.{kind}" for name in ("yearly", "hourly", "monthly-loads") for kind in ("csv", "parquet")}
FILES = CHARTS | TABLES | {"summary.txt", "design.toml", "design-loads.csv", "report.html", MARKER}
FILES_OF_PRICES = {"cost.png", "cost.csv", "cost.parquet"}


@pytest.fixture(scope="module")
def results(design, command, tmp_path_factory):
    """A folder with a design, and what `run` left of it: in SI twice, in inch-pound units once."""
    folder = tmp_path_factory.mktemp("results")
    design.write(folder / "house.toml")

    def arguments(name, units):
        return "run", folder / "house.toml", "--years", "2", "--units", units, "--out", folder / name

    for name, units in (("first", "SI"), ("feet", "IP")):
        code, out, err = command(*arguments(name, units))
        assert (code, err) == (0, "")
        (folder / f"{name}.txt").write_text(out)
    script = "from loopdrift.command_line import main; main()"
    subprocess.run(
        [sys.executable, "-c", script, *arguments("second", "SI")], check=True, capture_output=True
    )
    return folder


def words(text):
    """Return text without its line breaks."""
    return " ".join(text.split())


def test_a_run_leaves_its_files(results):
    assert {path.name for path in (results / "first").iterdir()} == FILES
    said = (results / "first.txt").read_text()
    for name in FILES - {MARKER}:
        assert f"wrote {results / 'first' / name}\n" in said


@pytest.mark.parametrize("name", ["yearly", "hourly"])
@pytest.mark.parametrize("folder", ["first", "feet"])
def test_both_kinds_of_table_hold_the_same(results, folder, name):
    csv = pyarrow.csv.read_csv(results / folder / f"{name}.csv").to_pandas()
    parquet = pd.read_parquet(results / folder / f"{name}.parquet")
    assert_frame_equal(csv, parquet, check_exact=True, check_dtype=False)
    assert len(csv) == (2 if name == "yearly" else 2 * 8760)


def test_inch_pound_units_turn_the_columns(results):
    si, feet = (pd.read_csv(results / folder / "yearly.csv") for folder in ("first", "feet"))
    assert not [name for name in feet.columns if name.endswith(("_degC", "_K", "_m"))]
    assert_allclose(feet["entering_fluid_min_degF"], 1.8 * si["entering_fluid_min_degC"] + 32.0, rtol=1e-12)
    assert_allclose(feet["drift_mean_delta_degF"], 1.8 * si["drift_mean_K"], rtol=1e-12)
    assert_allclose(feet["electricity_kWh"], si["electricity_kWh"], rtol=0)
    assert "[degF]" in (results / "feet.txt").read_text()


def test_charts_are_drawn(results):
    for name in CHARTS:
        image = matplotlib.image.imread(results / "first" / name)[..., :3]
        assert image.shape[1] == 1200
        inked = np.mean(image.min(axis=2) < 0.5)
        assert 0.002 < inked < 0.6, name


def test_the_same_run_writes_the_same_bytes(results):
    for name in ("yearly.csv", "hourly.csv", "summary.txt", "design.toml", "design-loads.csv"):
        assert (results / "first" / name).read_bytes() == (results / "second" / name).read_bytes()


def test_the_design_left_behind_runs_again_to_the_bit(results):
    again = ld.Design.read(results / "first" / "design.toml").run(2)
    written = pd.read_parquet(results / "first" / "yearly.parquet").set_index("year")
    assert_frame_equal(again.yearly, written, check_exact=True, check_dtype=False)


def test_what_is_said_is_what_is_written(results):
    said = (results / "first.txt").read_text()
    summary = (results / "first" / "summary.txt").read_text()
    assert said.startswith(summary + "\nwrote ")
    assert max(map(len, summary.splitlines())) <= 100
    long_run = ld.Design.read(results / "house.toml").run(2).heat_build_up()
    for part in (
        "2 years of 2 bores of 100.0 m (328 ft), 200 m (656 ft) in total, 6.00 m (19.7 ft) apart",
        "holds: Lowest entering fluid temperature is",
        "holds: Highest entering fluid temperature is",
        "holds: Lowest leaving fluid temperature is",
        "From year 1 to year 2, the lowest entering fluid temperature fell",
        words(str(long_run)),
        "Numerical error of the temperatures: about",
        HAZARDS,
        STANDING,
    ):
        assert part in words(summary)


def test_a_run_says_where_the_long_run_ends_in_ice(command, design, tmp_path):
    coldest = design.run(2).yearly["leaving_fluid_min_degC"].min()
    fluid = ld.Fluid.constant(
        density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=coldest - 0.05
    )
    design.replace(fluid=fluid).write(tmp_path / "cold.toml")
    code, said, err = command("run", tmp_path / "cold.toml", "--years", "2")
    assert (code, err) == (0, "")
    assert "Long-term behaviour can't be computed: Fluid.freezing_point = " in words(said)


def test_check_says_what_follows(command, design_path):
    code, out, err = command("check", design_path)
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 100
    for part in (
        "2 bores of 100 m (328 ft), 200 m (656 ft) in total; ground conductivity 2 W/(m K)",
        "0.5 kg/s (0.5 L/s, 7.93 gal/min) in total, 0.25 kg/s (0.25 L/s, 3.96 gal/min) per bore",
        "freezes at -10.0 degC (14.0 degF), 8.0 K (14.4 degF) below the minimum entering fluid temperature",
        "measured effective resistance 0.1 m K/W",
        "peak heating and hot water 6.0 kW (1.7 tons), 30.0 W/m (31.2 Btu/(h ft)) of bore; peak cooling",
        # 8000 + 200 x 10 degC = 10 kW; 200 m / (10 / 3.517) tons
        "Bore per ton (3.517 kW) of heating capacity, 10.0 kW (2.8 tons) at the undisturbed temperature",
        ": 70 m (231 ft). ",
        "Typical range (common practice, no source): 45 to 90 m (150 to 300 ft)",
        HAZARDS,
        STANDING,
    ):
        assert part in words(out)


def test_check_says_how_the_fluid_flows(command, design, tmp_path):
    pipes = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, pipes=pipes, grout_conductivity=1.5)
    built = design.replace(ground_side=design.ground_side.replace(bore=bore))
    built.write(tmp_path / "built.toml")
    _, out, _ = command("check", tmp_path / "built.toml")
    found = bore.resistance_at(ground=built.ground, fluid=built.fluid, flow=0.25, temperature=10.0)
    # 4 x mass flow / (pi x inner diameter x viscosity)
    reynolds = 4 * 0.25 / (np.pi * (0.032 - 2 * 0.032 / 11) * 1e-3)
    assert f"at 10.0 degC (50.0 degF) turbulent flow, Reynolds number {reynolds:,.0f}" in words(out)
    assert f"bore resistance {both(found.local, 'm K/W', '.4f')} local" in words(out)
    assert f"{both(found.effective, 'm K/W', '.4f')} effective" in words(out)
    assert "at -2.0 degC (28.4 degF) turbulent flow" in words(out)


def test_the_demo_leaves_inputs_to_change(command, tmp_path):
    code, out, err = command("demo", "--years", "1", "--out", tmp_path / "demo")
    assert (code, err) == (0, "")
    assert out.startswith(
        "An invented building in an invented climate, with an invented heat pump.\n\n1 year of "
    )
    assert {path.name for path in (tmp_path / "demo").iterdir()} == FILES | FILES_OF_PRICES | {"inputs"}
    code, out, _ = command("check", tmp_path / "demo" / "inputs" / "design.toml")
    assert code == 0
    assert "the curves deviate in capacity by" in words(out)


def test_a_report_is_one_file(results, command):
    file = results / "page.html"
    arguments = ("report", results / "house.toml", "--years", "2", "--title", "Two years", "--out", file)
    assert command(*arguments) == (0, f"wrote {file}\n", "")
    assert "<h1>Two years</h1>" in file.read_text(encoding="utf-8")
    code, _, err = command("report", results / "house.toml", "--out", results / "house.toml" / "page.html")
    assert code == 2
    assert "house.toml" in err


def test_a_report_without_title_is_refused_before_its_run(tmp_path, command):
    """Before the design is even read, let alone run."""
    code, _, err = command("report", tmp_path / "none.toml", "--title", "  ", "--out", tmp_path / "page.html")
    assert code == 2
    assert "Report.title = ' ': must be text" in words(err)


@pytest.mark.parametrize("verb", ["", "check", "compare", "demo", "report", "run"])
def test_help_names_the_cautions(command, verb):
    code, out, err = command(*filter(None, [verb]), "--help")
    assert (code, err) == (0, "")
    assert f"{HAZARDS} {STANDING}" in words(out)
    assert words(command()[1]) == words(command("--help")[1])


def test_version(command):
    assert command("--version") == (0, f"loopdrift, version {_core.VERSION}\n", "")


def test_interrupt_ends_a_long_run(design, tmp_path):
    """Runs of 100 years, one after the other, so that the signal meets the engine at work."""
    design.write(tmp_path / "house.toml")
    script = (
        "import signal, loopdrift.command_line as line, loopdrift.api.design as design\n"
        # Whoever starts the tests in the background has it ignored.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "once = design.Design.run\n"
        "def run(self, years, progress=None):\n"
        "    print('running', flush=True)\n"
        "    while True:\n"
        "        once(self, years)\n"
        "design.Design.run = run\n"
        "line.main()\n"
    )
    command = [sys.executable, "-c", script, "run", str(tmp_path / "house.toml"), "--years", "100"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "running\n"
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        sent = time.monotonic()
        _, err = process.communicate(timeout=30)
    assert time.monotonic() - sent < 5.0
    assert process.returncode == 130
    assert err.strip() == "stopped"
