"""Makes the invented response test that the package ships: python tests/reference/make_response_test.py.

The bore is that of `finite_volume_bore`, the noise is drawn; nothing in the file was measured.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from finite_volume_bore import HOUR, FiniteVolumeBore, heat_with_cut, noise, rise

PATH = Path(__file__).parents[2] / "python" / "loopdrift" / "demo" / "response-test.csv"
BORE = FiniteVolumeBore(conductivity=2.05, resistance=0.115)
STEP = 1 / 6  # h
FLOW = 0.45  # kg/s
WATER = 4190.0  # J/(kg K)


def text() -> str:
    """Return the file: 76 h in steps of 10 min, with a power cut of two hours in the second night."""
    rng = np.random.default_rng(2027)
    hours = STEP * np.arange(1, round(76 / STEP) + 1)
    cut = (27.0, 29.0)
    swing = 1.0 + 0.01 * np.sin(2 * np.pi * (hours - 3.0) / 24)  # of the grid's voltage
    heat = swing * heat_with_cut(hours, 52.0 * BORE.depth, start=2.0, cut=cut)
    mean = 10.6 + rise(BORE.step_response(hours * HOUR), heat / BORE.depth)
    mean = mean + noise(rng, hours.size, white=0.02, lasting=0.03, hours=2.0, step=STEP)
    flow = np.where((hours > cut[0] + 1e-9) & (hours <= cut[1] + 1e-9), 0.0, FLOW)
    flow = flow * (1.0 + 0.004 * rng.standard_normal(hours.size))
    half = np.divide(heat, 2 * WATER * flow, out=np.zeros_like(heat), where=flow > 0.0)
    stamps = pd.date_range("2027-05-03T08:00", periods=hours.size, freq="10min")
    frame = pd.DataFrame(
        {
            "time": stamps.strftime("%Y-%m-%dT%H:%M"),
            "supply_degC": (mean + half).round(2),
            "return_degC": (mean - half).round(2),
            "flow_l/min": (60.0 * flow / 0.999).round(2),
        }
    )
    lines = (
        "# Invented response test, made by make_response_test.py; nothing in it was measured.",
        f"# depth: {BORE.depth:g} m",
        f"# buried depth: {BORE.buried_depth:g} m",
        f"# diameter: {2000 * BORE.radius:g} mm",
        f"# volumetric heat capacity: {BORE.heat_capacity / 1e6:g} MJ/(m3 K)",
    )
    return "\n".join(lines) + "\n" + frame.to_csv(index=False, lineterminator="\n")


if __name__ == "__main__":
    PATH.write_text(text(), encoding="utf-8", newline="\n")
