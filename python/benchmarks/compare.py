"""Time and error of twenty coupled years with several methods for the thermal history.

All methods step the same design hourly, with the same heat pump and the same step response. Errors are the
largest differences of the entering fluid temperature from exact superposition. Rows that need numba are
omitted if it is not installed.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from case import Array, Case, case_of, invented_design
from histories import (
    doubling_cells,
    online_convolution,
    pass_on_by_array,
    pass_on_by_cell,
    plain_superposition,
)

REPEATS = 7


class Row(NamedTuple):
    """One row of the table."""

    name: str
    seconds: float
    error: float


def compare(years: int) -> list[Row]:
    """Return median time [s] and largest error [K] of each method, plain superposition first."""
    design = invented_design()
    case = case_of(design, years)

    def plain(function: Any) -> Any:
        return function

    def engine(_: Case) -> Array:
        run = design.run(years)
        assert len(run.yearly) == years
        return run.hourly["entering_fluid_degC"].to_numpy()

    ways: list[tuple[str, Callable[[Case], Array], int]] = [
        ("plain superposition, NumPy", plain_superposition(plain), 1),
        ("doubling cells, NumPy", doubling_cells(plain, pass_on_by_array), 3),
        ("exact online convolution, NumPy", online_convolution(plain), 3),
    ]
    try:
        import numba
    except ImportError:
        pass
    else:
        ways += [
            ("doubling cells, numba", doubling_cells(numba.njit, pass_on_by_cell), REPEATS),
            ("exact online convolution, numba and NumPy's FFT", online_convolution(numba.njit), REPEATS),
        ]
    ways.append(("loopdrift, with error check and tables", engine, REPEATS))

    short = case_of(design, 1)
    exact: Array | None = None
    rows = []
    for name, way, repeats in ways:
        if repeats > 1:
            way(short)
        times = []
        for _ in range(repeats):
            start = time.perf_counter()
            entering = way(case)
            times.append(time.perf_counter() - start)
        exact = entering if exact is None else exact
        rows.append(Row(name, statistics.median(times), float(np.abs(entering - exact).max())))
    return rows


def table(rows: list[Row]) -> str:
    """Return rows as a Markdown table; ratios are relative to the time of loopdrift."""
    ours = rows[-1].seconds
    lines = ["| history | time | ratio | largest error |", "| --- | ---: | ---: | ---: |"]
    for name, seconds, error in rows:
        shown = f"{seconds:.1f} s" if seconds >= 1.0 else f"{1e3 * seconds:.0f} ms"
        ratio = seconds / ours
        times = f"{ratio:,.0f}" if ratio >= 10.0 else f"{ratio:.2f}"
        lost = f"{error:.0e} K" if error else "reference"
        lines.append(f"| {name} | {shown} | {times} | {lost} |")
    return "\n".join(lines)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=20, help="horizon, default 20")
    print(table(compare(parser.parse_args().years)))
