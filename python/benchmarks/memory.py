"""Memory of a run with and without its hourly values, above that of the interpreter with loopdrift imported.

Measured as the peak resident memory of child processes: one only imports, one also makes a design, and two
also run it, as a case of a study and as a run with hourly values. The memory of pandas and xarray, which
present the results, comes on top.
"""

from __future__ import annotations

import argparse
import subprocess
import sys

MIB = 1024.0

IMPORTED = "import loopdrift as ld"
DESIGNED = """
import numpy as np
season = np.cos(2 * np.pi * np.arange(8760) / 8760)
bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, grout_conductivity=1.5,
               pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07))
design = ld.Design(
    ground=ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5),
    ground_side=ld.BoreField.grid(bore, columns=4, rows=3, spacing=6.0),
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.2), flow=2.4,
    heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0, 0.08], cooling_cop=[7.0, -0.09]),
    loads=ld.Loads(heating=2e4 * np.clip(season, 0, None), cooling=1e4 * np.clip(-season, 0, None)),
)
"""
RUN = "found = design.run({years})"
YEARLY = """
from loopdrift.analysis.study.planning.plan import Plan
(portion,) = Plan(design, [], np.zeros((1, 0), dtype=np.intp), {years})
found = portion.run()
assert found.yearly["entering_fluid_min_degC"].shape == (1, {years})
"""
PEAK = "import resource; print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"


def main() -> None:
    """Print the peak memory of each step, and its increase over the step that only imports."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=20)
    years = parser.parse_args().years
    steps = {
        "interpreter and import": [IMPORTED],
        "design": [IMPORTED, DESIGNED],
        "only yearly tables kept": [IMPORTED, DESIGNED, YEARLY.format(years=years)],
        "hourly values kept": [IMPORTED, DESIGNED, RUN.format(years=years)],
    }
    least = 0.0
    for name, script in steps.items():
        program = [sys.executable, "-c", "\n".join([*script, PEAK])]
        peak = float(subprocess.run(program, check=True, capture_output=True, text=True).stdout) / MIB
        least = least or peak
        print(f"{name:30} {peak:7.1f} MiB, {peak - least:6.1f} MiB above the import")


if __name__ == "__main__":
    main()
