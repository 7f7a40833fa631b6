"""Every notebook runs from top to bottom."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "python" / "notebooks").glob("*.py"))


@pytest.mark.parametrize("notebook", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs(notebook: Path, tmp_path: Path) -> None:
    environment = {**os.environ, "MPLBACKEND": "Agg", "YEARS": "2"}
    done = subprocess.run(
        [sys.executable, "-W", "error", notebook],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip(), "a notebook says what it found"


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS
