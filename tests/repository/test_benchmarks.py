"""The benchmarks run, and the exact ways of remembering past heat agree."""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
from pathlib import Path

from numpy.testing import assert_allclose

BENCHMARKS = Path(__file__).parents[2] / "python" / "benchmarks"
COMPARE = BENCHMARKS / "compare.py"


def test_comparison_runs() -> None:
    done = subprocess.run(
        [sys.executable, "-W", "error", COMPARE, "--years", "1"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    rows = [[cell.strip() for cell in line.split("|")[1:-1]] for line in done.stdout.splitlines()[2:]]
    errors = {name: float(error.removesuffix(" K")) for name, _, _, error in rows[1:]}
    assert rows[0][3] == "reference"
    for name, error in errors.items():
        if "doubling" in name:
            # What five cells a level lose is tenths of a kelvin; here it need only be a loss.
            assert_allclose(error, 0.2, atol=0.19)
        else:
            # The exponentials are to be within 1e-5 K of exact superposition.
            assert_allclose(error, 0.0, atol=1e-9 if "exact" in name else 1e-5, err_msg=name)
    assert len([name for name in errors if "NumPy" in name]) >= 2
    assert any("loopdrift" in name for name in errors)


def test_growth_is_drawn(tmp_path: Path) -> None:
    picture = tmp_path / "growth.png"
    done = subprocess.run(
        [sys.executable, "-W", "error", BENCHMARKS / "growth.py", "--bores", "100", "--out", picture],
        env={**os.environ, "MPLBACKEND": "Agg"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert done.stdout.count(" ms") == 4


def test_the_whole_job_has_its_parts(tmp_path: Path) -> None:
    round_of_parts = runpy.run_path(str(BENCHMARKS / "whole_job.py"))["round_of_parts"]
    took = round_of_parts(1, tmp_path)
    assert {"hours of all years", "figures", "page"} < set(took)
    assert (tmp_path / "report.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_memory_is_told_by_step() -> None:
    done = subprocess.run(
        [sys.executable, "-W", "error", BENCHMARKS / "memory.py", "--years", "1"],
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("MiB above the import") == 4


def test_more_instructions_than_allowed_are_seen() -> None:
    benchmark = runpy.run_path(str(BENCHMARKS / "instructions.py"))
    too_slow = benchmark["too_slow"]
    recorded = dict.fromkeys(benchmark["KERNELS"], 2_000_000)
    assert too_slow(recorded, recorded) == []
    assert too_slow({**recorded, "field": 2_220_000}, recorded) == ["field"]
