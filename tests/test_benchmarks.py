"""The comparison with other ways of remembering past heat runs, and its exact ways agree."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from numpy.testing import assert_allclose

COMPARE = Path(__file__).parent.parent / "python" / "benchmarks" / "compare.py"


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
            assert_allclose(error, 0.0, atol=1e-9 if "exact" in name else 2e-6, err_msg=name)
    assert len([name for name in errors if "NumPy" in name]) >= 2
    assert any("loopdrift" in name for name in errors)
