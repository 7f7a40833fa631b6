"""Key figures for all kinds of loop: demand on the heat pump, and its capacity."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift import _core
from loopdrift.basics.both_units import both_flows, kilowatts

if TYPE_CHECKING:
    from loopdrift.model.design import Design


def peaks(design: Design) -> tuple[float, float]:
    """Return the peak demand on the heat pump: heating with hot water, and cooling [W]."""
    demand = design.demand
    return float((demand["heating"] + demand["hot_water"]).max()), float(demand["cooling"].max())


def is_for_cooling(design: Design) -> bool:
    """Return whether the peak cooling demand exceeds the peak heating demand."""
    heating, cooling = peaks(design)
    return cooling > heating


def full_load_hours(design: Design) -> float:
    """Return the demand of a mean year over the peak demand [h]; 0 without demand.

    The demand is cooling if the design `is_for_cooling`, else heating with hot water.
    """
    demand = design.demand
    most = demand["cooling"] if is_for_cooling(design) else demand["heating"] + demand["hot_water"]
    return float(most.sum() / design.loads.years / most.max()) if most.any() else 0.0


def undisturbed(design: Design) -> float:
    """Return the undisturbed temperature at the loop without warming, mean of the year [degC]."""
    return _core.undisturbed(design.ground_side.for_engine(), design.ground.for_engine())


def warmed_by(design: Design, hour: int) -> float:
    """Return the warming of the undisturbed ground at the end of an hour of a run, counted from 0 [K]."""
    warming = design.ground.warming
    return 0.0 if warming is None else float(warming.at(hour + 1))


def capacity(design: Design) -> tuple[float, str]:
    """Return the capacity that a loop is related to [W], and its name.

    The cooling capacity if the design `is_for_cooling`, else the heating capacity; the peak load if the heat
    pump has no capacity at the undisturbed temperature.
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
    """Return a share of the design flow, as mass flow and as volume flow at the undisturbed temperature."""
    return both_flows(share * design.flow, design.fluid.density_at(undisturbed(design)))
