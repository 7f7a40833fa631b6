"""Makes the invented log that the package ships: python tests/reference/make_plant_log.py.

Eight years of the farmhouse in the demo, in other ground than its design has, by `invented_plant`; the
weather of each year and the noise are drawn. Nothing in the file was measured.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

import loopdrift as ld
from invented_plant import YEAR, InventedPlant, lasting

DEMO = Path(ld.__file__).parent / "demo"
PATH = DEMO / "plant-log.csv"
SIDE = 5.4864  # m, 18 ft
PLANT = InventedPlant(
    conductivity=1.9,
    heat_capacity=2.15e6,
    temperature=10.1,
    resistance=0.112,
    depth=85.0,
    buried_depth=1.5,
    radius=0.075,
    positions=((0.0, 0.0), (SIDE, 0.0), (0.0, SIDE), (SIDE, SIDE)),
    flow=1.1,
    heating_cop=(3.3, 0.08),
)
YEARS = 8
OFFSET = 0.1  # K


def text() -> str:
    """Return the file: days with entering fluid temperature and heat, and a gap of five weeks in year 5."""
    rng = np.random.default_rng(2018)
    loads = ld.Design.read(DEMO / "design.toml").loads
    weather = np.exp(0.06 * lasting(rng, YEARS * YEAR, 10 * 24.0))
    heating = 1.04 * weather * np.tile(loads.heating + loads.hot_water, YEARS)
    entering, heat, _ = PLANT.run(heating, np.tile(loads.cooling, YEARS) / weather)
    days = entering.size // 24
    noise = 0.08 * lasting(rng, days, 5.0) + 0.05 * rng.standard_normal(days)
    calendar = pd.date_range("2018-01-01", "2025-12-31")
    calendar = calendar[(calendar.month != 2) | (calendar.day != 29)]
    frame = pd.DataFrame(
        {
            "date": calendar.strftime("%Y-%m-%d"),
            "entering_fluid_degC": (entering.reshape(days, 24).mean(axis=1) + OFFSET + noise).round(2),
            "heat_extracted_kWh": (1.01 * 0.024 * heat.reshape(days, 24).mean(axis=1)).round(1),
        }
    )
    frame = frame.drop(index=range(4 * 365 + 60, 4 * 365 + 95))
    lines = (
        "# Invented log, made by make_plant_log.py; nothing in it was measured.",
        "# plant: farmhouse of the demo",
        "# started: 2018-01",
    )
    return "\n".join(lines) + "\n" + frame.to_csv(index=False, lineterminator="\n")


if __name__ == "__main__":
    PATH.write_text(text(), encoding="utf-8", newline="\n")
