"""`loopdrift learn` and the report's section about a log, on the demo's invented log."""

import shutil
from pathlib import Path

import pytest

import loopdrift as ld

DEMO = Path(ld.__file__).parent / "demo"


@pytest.fixture
def here(tmp_path, monkeypatch):
    for name in ("design.toml", "unit.csv", "plant-log.csv"):
        shutil.copy(DEMO / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_learn_finds_the_ground_the_log_was_made_with(here, command):
    """1.9 W/(m K), as in make_plant_log.py; the design has 2.4."""
    code, out, _ = command("learn", "design.toml", "plant-log.csv", "--years", "9", "--out", "found")
    assert code == 0
    assert "conductivity: 1.8" in out or "conductivity: 1.9" in out
    assert "In year 9 the lowest entering fluid temperature is" in out
    written = {path.name for path in (here / "found").iterdir()}
    assert {"found.csv", "forecast.csv", "forecast.png", "learned.html", "learned.txt"} <= written
    assert "http" not in (here / "found" / "learned.html").read_text().replace("http://www.w3.org", "")


def test_a_report_tells_what_the_log_teaches(here, command):
    code, _, error = command(
        "report", "design.toml", "--log", "plant-log.csv", "--years", "8", "--out", "report.html"
    )
    assert code == 0, error
    assert "Results of the plant's log" in (here / "report.html").read_text().replace("&#39;", "'")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["design.toml", "missing.csv"], "missing.csv"),
        (["design.toml", "unit.csv"], "unit.csv"),
        (["design.toml", "plant-log.csv", "--unknown", "conductivty"], "conductivity"),
        (["design.toml", "plant-log.csv", "--unknown", "temperature", "--unknown", "offset"], "only one"),
        (["design.toml", "plant-log.csv", "--started", "soon"], "started"),
        (["design.toml", "plant-log.csv", "--started", "2030-01"], "started"),
        (["design.toml", "plant-log.csv", "--load-error", "2 K"], "load_error"),
        (["design.toml", "plant-log.csv", "--years", "0"], "years"),
    ],
)
def test_wrong_commands_end_in_a_sentence(here, command, arguments, said):
    code, _, error = command("learn", *arguments)
    assert code != 0 and said in error and "Traceback" not in error
