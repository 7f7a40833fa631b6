"""`loopdrift size` and `loopdrift study` as a user meets them."""

from __future__ import annotations

import re

import matplotlib.image
import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_array_equal

import loopdrift as ld
from loopdrift.analysis.study.file import read_study
from loopdrift.basics.output import MARKER
from loopdrift.model.cautions import HAZARDS, STANDING

GRID = """
[study.vary]
ground_side.spacing = [0, 5, "20 ft"]
ground_side.bore.depth = [70, 90]
"""
SAMPLES = """
[study.samples]
method = "sobol"
count = 8
seed = 3

[study.samples.distributions]
ground.conductivity = { name = "norm", loc = 2.0, scale = 0.2 }
ground.temperature = { name = "uniform", loc = 9.5, scale = 1.0 }
"""


def words(text):
    return " ".join(text.split())


@pytest.fixture
def described(design_path):
    """Write a table into the design's file; return its path."""

    def described(table):
        design_path.write_text(design_path.read_text() + table)
        return design_path

    return described


def test_size_says_what_decides_and_writes_the_design(command, design, design_path, tmp_path):
    out = tmp_path / "out"
    code, said, err = command("size", design_path, "--years", "2", "--out", out)
    assert (code, err) == (0, "")
    sizing = design.size(years=2)
    assert str(sizing) in words(said)
    assert "The smallest margin is" in words(said) and "in year 2, " in words(said)
    assert HAZARDS in words(said) and STANDING in words(said)
    assert max(map(len, said.splitlines())) <= 100
    assert ld.Design.read(out / "design.toml") == sizing.design
    assert said.startswith((out / "sizing.txt").read_text())


def test_size_searches_where_it_is_told(command, design, design_path):
    code, said, _ = command("size", design_path, "--find", "spacing", "--between", "1.5", "20 ft")
    assert code == 0
    assert str(design.size("spacing", between=(1.5, "20 ft"))) in words(said)
    code, said, _ = command("size", design_path, "--find", "bores", "--years", "1")
    assert code == 0
    assert str(design.size("bores", years=1)) in words(said)


def test_size_writes_inch_pound_units_first_on_request(command, design, design_path):
    code, said, _ = command("size", design_path, "--years", "1", "--units", "IP")
    assert code == 0
    depth = design.size(years=1).value
    assert f"{depth / 0.3048:.0f} ft ({depth:.1f} m)" in words(said)


def test_size_says_that_nothing_holds(command, design_path):
    code, said, err = command("size", design_path, "--years", "1", "--between", "20", "30")
    assert (code, err) == (1, "")
    assert words(said).startswith("Infeasible for a depth from 20 to 30 m.")


def test_size_finds_the_recharge(command, design, design_path, tmp_path):
    out = tmp_path / "out"
    arguments = ("size", design_path, "--find", "recharge", "--years", "3")
    code, said, err = command(*arguments, "--drift", "0.2", "--out", out)
    assert (code, err) == (0, "")
    found = design.find_recharge(0.2, years=3)
    assert found.holds and found.monthly.any() and str(found) in words(said)
    assert ld.Design.read(out / "design.toml") == found.design
    assert said.startswith((out / "sizing.txt").read_text())
    code, said, _ = command(*arguments, "--drift", "0.001 K")
    assert code == 1 and words(said).startswith("No recharge in the range keeps")


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (("--find", "recharge"), "needs --drift"),
        (("--find", "recharge", "--drift", "1", "--between", "1", "2"), "takes no --between"),
        (("--find", "recharge", "--drift", "warm"), "Recharge.drift = 'warm'"),
        (("--drift", "1"), "--drift applies only to --find recharge"),
    ],
)
def test_size_takes_drift_for_recharge_only(command, design_path, arguments, wrong):
    code, said, err = command("size", design_path, *arguments)
    assert (code, said) == (2, "") and wrong in err


@pytest.mark.parametrize("between", [("90", "80"), ("deep", "deeper")])
def test_size_refuses_what_makes_no_sense(command, design_path, between):
    code, said, err = command("size", design_path, "--between", *between)
    assert (code, said) == (2, "")
    assert err.startswith("error: Sizing.between = ")


def test_a_grid_is_run_written_and_drawn(command, design, described, tmp_path):
    out = tmp_path / "out"
    code, said, err = command("study", described(GRID), "--years", "1", "--out", out)
    assert (code, err) == (0, "")
    assert "6 cases of 1 year: 4 hold, 0 break a limit, 2 can't be run to the end." in said
    assert "2 x BoreField.spacing = 0.0 m: must be at least 0.15 m" in said
    assert {path.name for path in out.iterdir()} == {MARKER, "cases", "cases.csv", "limits.png"}
    found = ld.Study(
        design, vary={"ground_side.spacing": [0, 5, "20 ft"], "ground_side.bore.depth": [70, 90]}
    ).run(1)
    table = pd.read_csv(out / "cases.csv").set_index(["ground_side.spacing", "ground_side.bore.depth"])
    assert_array_equal(table["margin_K"], found["margin_K"].to_numpy().ravel())
    assert_array_equal(table["entering_fluid_min_degC"], found["entering_fluid_min_degC"].to_numpy().ravel())
    image = matplotlib.image.imread(out / "limits.png")[..., :3]
    assert 0.002 < np.mean(image.min(axis=2) < 0.5) < 0.6
    written = (out / "cases" / "cases-00000.parquet").stat().st_mtime_ns
    assert command("study", described(""), "--years", "1", "--out", out)[1] == said
    assert (out / "cases" / "cases-00000.parquet").stat().st_mtime_ns == written
    code, _, err = command("study", described(""), "--years", "2", "--out", out)
    assert code == 2 and "holds another study" in err


def test_samples_are_run_written_and_drawn(command, design, described, tmp_path):
    out = tmp_path / "out"
    code, said, err = command("study", described(SAMPLES), "--years", "2", "--units", "IP", "--out", out)
    assert (code, err) == (0, "")
    assert said.startswith("8 cases of 2 years: ")
    assert {path.name for path in out.iterdir()} == {MARKER, "cases", "cases.csv", "uncertainty.png"}
    study = read_study(described(""), ld.Design)
    table = pd.read_csv(out / "cases.csv")
    assert_array_equal(table["ground.conductivity"], study.run(1)["ground.conductivity"])
    assert table["ground.temperature"].between(9.5, 10.5).all()


def test_grids_and_loads_vary_in_a_file(design, described):
    table = "[study.vary]\nground_side.columns = [1, 2]\nloads.heating_scale = [0.6, '80 percent']\n"
    found = read_study(described(table), ld.Design).run(1)
    alone = ld.BoreField.grid(design.ground_side.bores[0], columns=1, rows=1, spacing=6.0)
    loads = ld.Loads(heating=0.8 * design.loads.heating, cooling=design.loads.cooling)
    run = design.replace(ground_side=alone, loads=loads).run(1)
    chosen = found.sel({"ground_side.columns": 1, "loads.heating_scale": 0.8})
    assert_array_equal(chosen["entering_fluid_min_degC"], run.yearly["entering_fluid_min_degC"])


def test_a_design_with_a_study_is_still_a_design(design, described):
    path = described(GRID)
    assert ld.Design.read(path) == design


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("", "study = nothing: must be a table with either vary or samples"),
        ("[study]\nvary = 3\n", "study.vary = 3: must be a table"),
        ("[study.vary]\n", "must vary at least one thing"),
        ("[study.vary]\nground.deep = [1]\n", "unknown parameter"),
        (GRID + SAMPLES, "must be a table with either vary or samples"),
        ("[study.samples]\ncount = 4\n", "must map names to distributions"),
        (SAMPLES.replace("count", "number"), "must have count and distributions"),
        (SAMPLES.replace('"norm"', '"normal"'), "must name a continuous distribution of scipy.stats"),
        (SAMPLES.replace("scale = 0.2", "width = 0.2"), "must have the parameters of norm"),
        (SAMPLES.replace("scale = 0.2", "scale = -0.2"), "must have parameters that norm allows"),
        (SAMPLES.replace("count = 8", "count = 7"), "must be a power of two"),
    ],
)
def test_a_study_that_makes_no_sense_is_refused(command, described, tmp_path, table, said):
    code, out, err = command("study", described(table), "--out", tmp_path / "out")
    assert (code, out) == (2, "")
    assert said in err and re.search(r"house\.toml, line \d+: study", err)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("verb", ["size", "study"])
def test_help_names_the_cautions(command, verb):
    code, said, err = command(verb, "--help")
    assert (code, err) == (0, "")
    assert f"{HAZARDS} {STANDING}" in words(said)
