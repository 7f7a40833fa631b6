"""A study that stays on disk: planning, peak memory, time and disk by number of cases, scaled to a million.

Each study runs in a process of its own, over conductivity, ground temperature, depth and spacing of a field
of 6 x 6 bores, and leaves its results in a folder. Memory is the peak above that after importing what a
study uses; time is that of all processors.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile

MILLION = 1_000_000

DESIGN = """
import numpy as np, scipy.stats
import loopdrift as ld

season = np.cos(2 * np.pi * np.arange(8760) / 8760)
bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, grout_conductivity=1.5,
               pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07))
design = ld.Design(
    ground=ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5),
    ground_side=ld.BoreField.grid(bore, columns=6, rows=6, spacing=6.0),
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.2), flow=7.2,
    heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0, 0.08], cooling_cop=[7.0, -0.09]),
    loads=ld.Loads(heating=6e4 * np.clip(season, 0, None), cooling=3e4 * np.clip(-season, 0, None)),
)
spread = scipy.stats.uniform
unknown = {"ground.conductivity": spread(1.8, 0.8), "ground.temperature": spread(9.5, 2.0),
           "depth": spread(90.0, 40.0), "spacing": spread(5.0, 3.0)}
"""
STUDY = """
import json, resource, sys, time
from pathlib import Path
import pandas, pyarrow.parquet, xarray
from loopdrift.analysis.study.planning.plan import Plan

cases, years, folder = int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3])
ld.Study(design, samples=ld.Samples(unknown, count=16)).run(years, store=folder / "first", load=False)

def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0

before, start = peak(), time.process_time()
study = ld.Study(design, samples=ld.Samples(unknown, count=cases))
Plan(design, study._axes, study._which, years)
planned, planning = time.process_time(), peak()
study.run(years, store=folder / "all", load=False)
disk = sum(path.stat().st_size for path in (folder / "all").iterdir())
print(json.dumps({
    "planning_s": planned - start, "planning_MiB": planning - before, "study_MiB": peak() - before,
    "run_s": time.process_time() - planned, "disk_MB": disk / 1e6,
}))
"""


def main() -> None:
    """Print a row for each number of cases, and the last one scaled to a million."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, nargs="+", default=[1000, 10_000])
    parser.add_argument("--years", type=int, default=20)
    given = parser.parse_args()
    for cases in given.cases:
        with tempfile.TemporaryDirectory() as folder:
            program = [sys.executable, "-c", DESIGN + STUDY, str(cases), str(given.years), folder]
            found = json.loads(subprocess.run(program, check=True, capture_output=True, text=True).stdout)
        print(f"{cases:9,} cases: " + ", ".join(f"{name} {value:.4g}" for name, value in found.items()))
    scale = MILLION / cases
    hours, disk = found["run_s"] * scale / 3600.0, found["disk_MB"] * scale / 1000.0
    print(f"{MILLION:9,} cases: {hours:.3g} h on one core, {disk:.3g} GB on disk")


if __name__ == "__main__":
    main()
