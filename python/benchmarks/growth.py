"""Time of a g-function over the number of bores, as a chart.

    python python/benchmarks/growth.py                   # 10 to 100,000 bores; field-response-growth.png
    python python/benchmarks/growth.py --bores 1000 --out growth.png

The fields are invented, with random positions, one bore in each square of 7 m. The g-functions run from one
hour to a hundred years, for equal bores and, up to a tenth as many, for bores with individual depths and
buried depths. Best of three.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
from numpy.typing import NDArray

import loopdrift as ld

REPEATS = 3
COUNTS = (10, 30, 100, 300, 1000, 3000, 10_000, 30_000, 100_000)
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
TIMES = 3600 * np.geomspace(1, 100 * 8760, 50)
Array = NDArray[np.float64]


def scattered(count: int, random: np.random.Generator) -> Array:
    """Return positions [m], one in each square of 7 m and at least 1 m apart."""
    side = int(np.ceil(np.sqrt(count)))
    corners = 7.0 * np.array([[i % side, i // side] for i in range(count)])
    return corners + random.uniform(0.0, 6.0, (count, 2))


def field(count: int, unequal: bool) -> ld.BoreField:
    """Return an invented field."""
    random = np.random.default_rng(1)
    positions = scattered(count, random)

    def bore(depth: float, buried_depth: float) -> ld.Bore:
        return ld.Bore(depth=depth, buried_depth=buried_depth, diameter=0.15, resistance=0.1)

    if not unequal:
        return ld.BoreField(bore(100.0, 4.0), positions=positions)
    depths, tops = random.uniform(60.0, 150.0, count), np.maximum(random.uniform(0.0, 6.0, count), 0.1)
    return ld.BoreField([bore(*both) for both in zip(depths, tops, strict=True)], positions=positions)


def seconds(field: ld.BoreField) -> float:
    """Return the shortest of `REPEATS` computing times of the g-function of a field [s]."""
    taken = []
    for _ in range(REPEATS):
        begin = time.perf_counter()
        field.g_function(GROUND, TIMES)
        taken.append(time.perf_counter() - begin)
    return min(taken)


def plot(most: int) -> plt.Figure:
    """Time fields of up to `most` bores and return the chart."""
    fig, ax = plt.subplots(figsize=(6, 4))
    seconds(field(10, unequal=False))
    for name, unequal, limit, style in [
        ("equal bores", False, most, "o-"),
        ("a different depth for each bore", True, most // 10, "s--"),
    ]:
        counts = [count for count in COUNTS if count <= limit]
        if not counts:
            continue
        times = [seconds(field(count, unequal)) for count in counts]
        ax.loglog(counts, times, style, label=name)
        for count, taken in zip(counts, times, strict=True):
            print(f"{count:7,} {name}: {1e3 * taken:8.1f} ms")
        if not unequal:
            proportional = times[-1] * np.array(counts) / counts[-1]
            ax.loglog(counts, proportional, ":", color="grey", label="proportional to the number of bores")
    ax.set(xlabel="Number of bores [-]", ylabel="Computing time of a g-function [s]")
    ax.legend()
    ax.grid(alpha=0.3)
    return fig


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--bores", type=int, default=COUNTS[-1], help="largest number of bores")
    parser.add_argument("--out", type=Path, default=Path("field-response-growth.png"))
    arguments = parser.parse_args()
    plot(arguments.bores).savefig(arguments.out, dpi=120, bbox_inches="tight")
