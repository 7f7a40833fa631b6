"""Measures of a sized loop: land, pipe, temperatures, pumping energy and cost."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from loopdrift.analysis.cost import own
from loopdrift.basics.errors import InvalidInput
from loopdrift.parts.prices.prices import GROUND_SOURCE

if TYPE_CHECKING:
    from loopdrift.model.run import Run

COLUMNS = (
    "fits",
    "loop",
    "land_m2",
    "water_m2",
    "pipe_m",
    "trench_m",
    "bores",
    "bored_m",
    "entering_fluid_min_degC",
    "entering_fluid_max_degC",
    "pump_kWh",
    "seasonal_cop",
    "backup_kWh",
    "first_cost",
    "life_cost",
    "ruled_out",
    "remedies",
)

TEXTS = ("fits", "loop", "ruled_out", "remedies")
"""The columns that hold no numbers."""


def found(run: Run) -> dict[str, Any]:
    """Return the extreme temperatures of a run, and pumping and back-up heat of a mean year."""
    yearly = run.yearly
    electricity = float(yearly["electricity_kWh"].sum())
    delivered = float((yearly["seasonal_cop"] * yearly["electricity_kWh"]).sum())
    return {
        "entering_fluid_min_degC": float(yearly["entering_fluid_min_degC"].min()),
        "entering_fluid_max_degC": float(yearly["entering_fluid_max_degC"].max()),
        "pump_kWh": pump_energy(run),
        "seasonal_cop": delivered / electricity if electricity > 0.0 else math.nan,
        "backup_kWh": float(yearly["backup_kWh"].mean()),
    }


def pump_energy(run: Run) -> float:
    """Return the electricity of the circulation pump and a well's pump in a mean year [kWh].

    The circulation pump's share is the difference from the same run without it. Runs neglect the heat of the
    pump, so nothing else changes.
    """
    design, taken = run.design, 0.0
    if design.pump_power > 0.0:
        without = design.replace(pump_power=0.0).run(run.years).yearly["electricity_kWh"]
        taken = float((run.yearly["electricity_kWh"] - without).mean())
    well = run.yearly.get("electricity_well_kWh")
    return taken if well is None else taken + float(well.mean())


def cost(run: Run) -> tuple[dict[str, float], str]:
    """Return first cost and present value of all costs; and why they are omitted, if they are.

    They are omitted without prices, and if a price that this kind of loop needs is missing.
    """
    prices, side = run.design.prices, run.design.ground_side
    if prices is None:
        return {}, "no prices are given"
    missing = prices.installation.unpriced(side)
    if missing:
        return {}, f"no price is given for {' and '.join(missing)}"
    try:
        summary = run.once(own).summary
        figures = summary[["first_cost", "present_cost"]].loc[[GROUND_SOURCE]].to_numpy()[0]
    except InvalidInput as error:
        return {}, str(error)
    first, life = map(float, figures)
    return {"first_cost": first, "life_cost": life}, ""
