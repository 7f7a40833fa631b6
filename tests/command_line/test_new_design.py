"""`loopdrift new` writes a file that `check` and `run` take as it is, and overwrites nothing."""

import pytest
from click.testing import CliRunner

import loopdrift as ld
from loopdrift.analysis.unusual import unusual
from loopdrift.command_line.main import commands


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("building", ["house", "larger"])
@pytest.mark.parametrize("system", ["SI", "IP"])
@pytest.mark.parametrize("weather", ld.Weather.samples())
def test_every_start_is_a_design_without_cautions(folder, command, building, system, weather):
    options = ["--building", building, "--units", system, "--weather", weather, "--yes"]
    code, out, err = command("new", "first.toml", *options)
    assert (code, err) == (0, "")
    assert "wrote first.toml" in out
    design = ld.Design.read(folder / "first.toml")
    assert unusual(design) == []
    text = (folder / "first.toml").read_text(encoding="utf-8")
    assert ('degF"' in text, 'ft"' in text) == (system == "IP", system == "IP")


def test_check_and_run_take_it(folder, command):
    assert command("new", "house.toml", "--yes")[0] == 0
    code, out, _ = command("check", "house.toml")
    assert code == 0 and "bores" in out
    code, out, _ = command("run", "house.toml", "--years", "1")
    assert code == 0 and "The design" in out


def test_questions(folder):
    answers = "\n".join(
        ["house", "IP", "mild maritime", "12 furlong", "24", "24 kBtu/h", "1.1 Btu/(h ft degF)", ""]
    )
    found = CliRunner().invoke(commands, ["new", "mine.toml"], input=answers)
    assert found.exit_code == 0, found.output
    assert "did you mean" in found.stderr or "must be a number with a unit like W" in found.stderr
    assert "must have its unit" in found.stderr
    text = (folder / "mine.toml").read_text(encoding="utf-8")
    assert 'heat_loss = "24 kBtu/h"' in text
    assert 'conductivity = "1.1 Btu/(h ft degF)"' in text
    assert 'weather = { kind = "sample", name = "mild maritime" }' in text
    assert "schema = 1" in text


def test_answers_as_options(folder, command):
    code, _, _ = command(
        "new", "--heat-loss", "7 kW", "--temperature", "54 degF", "--conductivity", "1.7", "--yes"
    )
    assert code == 0
    design = ld.Design.read(folder / "design.toml")
    assert abs(design.ground.temperature - 12.2) < 0.05
    assert design.ground.conductivity == 1.7


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--heat-loss", "7 furlong"], "unknown unit furlong"),
        (["--units", "IP", "--heat-loss", "7"], "must have its unit"),
        (["--weather", "gone.csv"], "must be the path of a weather file, or one of cold continental"),
        (["--building", "shed"], "'shed' is not one of 'house', 'larger'"),
        (["--conductivity", "200"], "must be from 0.1 to 20 W/(m K)"),
    ],
)
def test_bad_answers_write_nothing(folder, command, options, said):
    code, _, err = command("new", *options, "--yes")
    assert code == 2 and said in err
    assert list(folder.iterdir()) == []


def test_a_folder_with_any_name_and_a_large_building(folder, command):
    """Paths are escaped as TOML, and large numbers have no exponent."""
    odd = folder / 'a "quoted" back\\slash'
    odd.mkdir()
    (odd / "weather.csv").write_text(ld.Weather.sample("hot humid").csv())
    options = [
        "--building",
        "larger",
        "--weather",
        odd / "weather.csv",
        "--floor-area",
        "900000 ft2",
        "--units",
        "IP",
    ]
    code, _, err = command("new", "large.toml", *options, "--yes")
    assert (code, err) == (0, "")
    assert ld.Design.read(folder / "large.toml").loads.cooling.max() > 1e6
    assert "e+" not in (folder / "large.toml").read_text(encoding="utf-8")


def test_nothing_is_overwritten(folder, command):
    (folder / "design.toml").write_text("mine")
    code, _, err = command("new", "--yes")
    assert code == 2 and "design.toml exists: choose another name" in err
    assert (folder / "design.toml").read_text() == "mine"
