"""Figures by which loops of all kinds are measured: what is asked of the heat pump, and what it can do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift import _core
from loopdrift.basics.both_units import both_flows, kilowatts

if TYPE_CHECKING:
    from loopdrift.model.design import Design


def peaks(design: Design) -> tuple[float, float]:
    """Return the most that the heat pump is asked for: heat with that for water, and cold [W]."""
    asked = design.demand
    return float((asked["heating"] + asked["hot_water"]).max()), float(asked["cooling"].max())


def is_for_cooling(design: Design) -> bool:
    """Return whether the most cold that the heat pump is asked for is more than the most heat."""
    heating, cooling = peaks(design)
    return cooling > heating


def full_load_hours(design: Design) -> float:
    """Return what is asked in a mean year over the most of any hour [h]; 0 where nothing is.

    That is cold where the design `is_for_cooling`, else heat with that for water.
    """
    asked = design.demand
    most = asked["cooling"] if is_for_cooling(design) else asked["heating"] + asked["hot_water"]
    return float(most.sum() / design.loads.years / most.max()) if most.any() else 0.0


def undisturbed(design: Design) -> float:
    """Return the undisturbed temperature at the loop, in the mean of the year [degC]."""
    return _core.undisturbed(design.ground_side.for_engine(), design.ground.for_engine())


def capacity(design: Design) -> tuple[float, str]:
    """Return the capacity that a loop is measured by [W], and what it is.

    That of cooling where the design `is_for_cooling`, else that of heating; the peak load where the heat pump
    has no capacity at the undisturbed temperature.
    """
    mode = "cooling" if is_for_cooling(design) else "heating"
    column = f"{mode}_capacity_W"
    at = design.heat_pump.performance([undisturbed(design)])
    if column in at and not at[column].isna().any():
        found = float(at[column].iloc[0])
        return found, f"{mode} capacity, {kilowatts(found)} at the undisturbed temperature"
    most = max(peaks(design))
    return most, f"{mode} load, {kilowatts(most)}"


def flow_in_words(design: Design, share: float = 1.0) -> str:
    """Return a share of the design's flow, in kg/s and by its volume at the undisturbed temperature."""
    return both_flows(share * design.flow, design.fluid.density_at(undisturbed(design)))
