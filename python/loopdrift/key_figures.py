"""Figures by which loops of all kinds are measured: what is asked of the heat pump, and what it can do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift import _core
from loopdrift.both_units import both_flows, kilowatts

if TYPE_CHECKING:
    from loopdrift.design import Design


def peaks(design: Design) -> tuple[float, float]:
    """Return the most that the heat pump is asked for: heat with that for water, and cold [W]."""
    asked = design.demand
    return float((asked["heating"] + asked["hot_water"]).max()), float(asked["cooling"].max())


def full_load_hours(design: Design) -> float:
    """Return the heat of a mean year, with that for water, over the most of any hour [h]; 0 without heat."""
    asked = design.demand
    heat = asked["heating"] + asked["hot_water"]
    return float(heat.sum() / design.loads.years / heat.max()) if heat.any() else 0.0


def undisturbed(design: Design) -> float:
    """Return the undisturbed temperature at the loop, in the mean of the year [degC]."""
    return _core.undisturbed(design.ground_side.for_engine(), design.ground.for_engine())


def heating_capacity(design: Design) -> tuple[float, str]:
    """Return the heating capacity [W] and what it is; the peak load where the heat pump has none there."""
    at = design.heat_pump.performance([undisturbed(design)])
    if "heating_capacity_W" in at and not at["heating_capacity_W"].isna().any():
        capacity = float(at["heating_capacity_W"].iloc[0])
        return capacity, f"heating capacity, {kilowatts(capacity)} at the undisturbed temperature"
    heating, _ = peaks(design)
    return heating, f"heating load, {kilowatts(heating)}"


def flow_in_words(design: Design, share: float = 1.0) -> str:
    """Return a share of the design's flow, in kg/s and by its volume at the undisturbed temperature."""
    return both_flows(share * design.flow, design.fluid.density_at(undisturbed(design)))
