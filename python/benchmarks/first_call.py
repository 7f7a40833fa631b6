"""Time of the first g-function in a process, 1 hour to 100 years, compared with later calls.

Each sample is a new interpreter. After its import, NumPy's thread pool busy-waits for some hundredths of a
second; it is limited to one thread to leave the processors to the timed code.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys

CALLS = """
import time
import numpy as np
import loopdrift as ld
ground = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
bore = ld.Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.1)
field = ld.BoreField.grid(bore, columns={side}, rows={side}, spacing=6.0)
times = np.geomspace(3600.0, 100 * 8760 * 3600.0, 70)
for _ in range(6):
    begin = time.perf_counter()
    field.g_function(ground, times)
    print(time.perf_counter() - begin)
"""


def main() -> None:
    """Print the median and the range of first calls, and the median of the last calls."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--processes", type=int, default=15)
    processes = parser.parse_args().processes
    for side in (10, 32):
        program = [sys.executable, "-c", CALLS.format(side=side)]
        environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
        runs = [
            subprocess.run(
                program, check=True, capture_output=True, text=True, env=environment
            ).stdout.split()
            for _ in range(processes)
        ]
        first, last = ([1e3 * float(run[call]) for run in runs] for call in (0, -1))
        print(
            f"{side} x {side} bores: first call {statistics.median(first):.1f} ms"
            f" ({min(first):.1f} to {max(first):.1f}), sixth {statistics.median(last):.1f} ms"
        )


if __name__ == "__main__":
    main()
