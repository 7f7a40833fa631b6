"""What a study found as an xarray Dataset that labels itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.plan import Axis, Found, Plan

if TYPE_CHECKING:
    import xarray as xr

YEARLY = {
    "entering_fluid_min_degC": ("degC", "lowest entering fluid temperature"),
    "entering_fluid_mean_degC": ("degC", "mean entering fluid temperature"),
    "entering_fluid_max_degC": ("degC", "highest entering fluid temperature"),
    "leaving_fluid_min_degC": ("degC", "lowest leaving fluid temperature"),
    "heat_extracted_kWh": ("kWh", "heat extracted from the ground"),
    "heat_rejected_kWh": ("kWh", "heat rejected to the ground"),
    "heating_kWh": ("kWh", "heat delivered by the heat pump, with that recovered in cooling"),
    "cooling_kWh": ("kWh", "cold delivered by the heat pump"),
    "electricity_kWh": (
        "kWh",
        "electricity of the plant: heat pump, pumps, back-up heat, hot-water element, distribution",
    ),
    "backup_kWh": ("kWh", "back-up heat"),
    "unmet_cooling_kWh": ("kWh", "unmet cooling"),
    "seasonal_cop": (
        "1",
        "seasonal COP: heat and cold delivered over all electricity of the plant, NaN without electricity",
    ),
    "hours_running": ("h", "hours with demand"),
    "hours_outside_limits": ("h", "hours with demand outside the limits"),
    "hours_outside_table": ("h", "hours with demand outside the heat pump's table"),
    "hours_near_freezing": ("h", "hours with demand closer to freezing than the margin"),
    "hours_fluid_too_warm": ("h", "hours with fluid beyond its table of properties, or boiling"),
    "hours_short_of_capacity": ("h", "hours in which the heat pump's capacity falls short"),
    "limits_broken": ("1", "number of criteria that decide and are broken in the year"),
}
"""Unit and meaning of each variable with one value a case and year."""

OF_KINDS = {
    "soil_at_pipes_min_degC": ("degC", "lowest temperature of the soil at the pipes"),
    "hours_soil_frozen": ("h", "hours in which the soil at the pipes is below 0 degC"),
    "water_at_coils_min_degC": ("degC", "lowest temperature of the water at the coils"),
    "water_at_coils_max_degC": ("degC", "highest temperature of the water at the coils"),
    "coil_surface_min_degC": ("degC", "lowest temperature of the coils' outside"),
    "ice_max_m": ("m", "greatest thickness of ice"),
    "hours_with_ice": ("h", "hours with ice on the pond"),
    "hours_coil_frozen": ("h", "hours in which the coils' outside is below 0 degC"),
    "electricity_well_kWh": ("kWh", "electricity of the well's pump, part of all electricity"),
    "water_pumped_m3": ("m3", "water that the well gives"),
    "drawdown_max_m": ("m", "greatest drawdown in the well"),
    "well_water_min_degC": ("degC", "lowest temperature of the well's water"),
    "well_water_max_degC": ("degC", "highest temperature of the well's water"),
    "discharge_min_degC": ("degC", "lowest temperature of the discharge"),
    "discharge_max_degC": ("degC", "highest temperature of the discharge"),
    "hours_discharge_too_cold": ("h", "hours with a discharge below the lowest allowed"),
    "hours_after_breakthrough": ("h", "hours in which the well gives returned water"),
}
"""The same of variables that only some kinds of ground side have; NaN in cases of other kinds."""

BY_CASE = {
    "margin_K": (
        "K",
        "distance to the limit that decides, negative beyond it; 0.1 m, 1 % or 10 h count like 1 K",
    ),
    "deciding_limit": ("", "limit that is closest, or broken most"),
    "deciding_year": ("1", "year in which that limit is closest, or broken most"),
    "deciding_hour": ("h", "hour of that year, NaN for what is measured by year"),
    "failure": ("", "why the case could not be run"),
}
"""Unit and meaning of each variable with one value a case."""

NOT_RUN = "not run: the study was stopped"


def dataset(plan: Plan, dimensions: list[str], found: Iterable[Found]) -> xr.Dataset:
    """Return what was found for the cases of a plan.

    Parameters
    ----------
    plan : Plan
        The study.
    dimensions : list of str
        Names of the dimensions that the cases fill: all axes, or one that counts cases.
    found : iterable of Found
        What was found; cases that are in none of them were not run.
    """
    import xarray as xr

    shape = [len(axis.labels) for axis in plan.axes] if len(dimensions) > 1 else [plan.count]
    if dimensions == [axis.name for axis in plan.axes]:
        coordinates = {axis.name: _coordinate(axis, axis.labels, [axis.name]) for axis in plan.axes}
    else:
        coordinates = {"case": ("case", np.arange(plan.count), {"long_name": "case"})}
        for place, axis in enumerate(plan.axes):
            coordinates[axis.name] = _coordinate(axis, axis.labels[plan.which[:, place]], ["case"])
    coordinates["year"] = ("year", np.arange(1, plan.years + 1), {"long_name": "year of operation"})

    found = list(found)
    known = YEARLY | {
        name: meaning for name, meaning in OF_KINDS.items() if any(name in part.yearly for part in found)
    }
    yearly = {name: np.full((plan.count, plan.years), np.nan) for name in known}
    by_case: dict[str, NDArray[Any]] = {
        name: np.full(plan.count, np.nan) if unit else np.full(plan.count, "", dtype=object)
        for name, (unit, _) in BY_CASE.items()
    }
    by_case["failure"][:] = NOT_RUN
    for part in found:
        for name, column in part.yearly.items():
            yearly[name][part.cases] = column
        for name in BY_CASE:
            by_case[name][part.cases] = part.by_case[name]

    variables = {
        name: ([*dimensions, "year"], values.reshape(*shape, plan.years), _attributes(*known[name]))
        for name, values in yearly.items()
    } | {
        name: (dimensions, values.reshape(shape), _attributes(*BY_CASE[name]))
        for name, values in by_case.items()
    }
    return xr.Dataset(variables, coordinates, {"loopdrift": _core.VERSION})


def _coordinate(axis: Axis, labels: NDArray[Any], dimensions: list[str]) -> Any:
    return dimensions, labels, _attributes(axis.variable.unit, axis.variable.label)


def _attributes(unit: str, meaning: str) -> dict[str, str]:
    return {"units": unit, "long_name": meaning}
