"""The columns of the tables of runs and studies: name, unit and meaning of each, once.

Names end with their unit, which `Column.unit_in` turns into that of inch-pound tables. A test holds the
names against those of the engine, for every kind of ground side, and the documentation of `Run` against them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple

from loopdrift.basics.units import inch_pound_unit

if TYPE_CHECKING:
    import pandas as pd


class Column(NamedTuple):
    """One column.

    Parameters
    ----------
    unit : str
        Its SI unit; "1" for pure numbers, empty for text.
    meaning : str
        Its meaning.
    only : str, default ""
        Condition for the column: a kind of ground side by its name in design files, a part of the design, or
        "" for all runs.
    heading : str, default ""
        Short heading in printed tables.
    decimals : int, default 0
        Decimals in printed tables.
    """

    unit: str
    meaning: str
    only: str = ""
    heading: str = ""
    decimals: int = 0

    def unit_in(self, units: Literal["SI", "IP"], name: str) -> str:
        """Return the unit of the column in a system of units; empty for pure numbers and text.

        Parameters
        ----------
        units : {"SI", "IP"}
            The system.
        name : str
            The column's SI name.
        """
        unit = "" if self.unit == "1" else self.unit
        return inch_pound_unit(name, unit) if units == "IP" else unit


HOURLY = {
    "entering_fluid_degC": Column("degC", "fluid entering the heat pump"),
    "leaving_fluid_degC": Column("degC", "fluid leaving the heat pump"),
    "wall_degC": Column(
        "degC", "bore wall, mean outer surface of pipes in trenches, water at a pond's coils, or well water"
    ),
    "heat_extracted_W": Column("W", "heat extracted from the ground, negative when heat is rejected"),
    "electricity_W": Column(
        "W",
        "electricity of the plant: heat pump, pumps, back-up heat, hot-water element, distribution",
    ),
    "backup_W": Column("W", "heating beyond the heat pump's capacity, included in electricity"),
    "unmet_cooling_W": Column("W", "cooling beyond the heat pump's capacity"),
    "distribution_W": Column(
        "W", "fans or pumps of the distribution, included in electricity", "distribution"
    ),
    "hot_water_element_W": Column(
        "W", "electric element for hot water, included in electricity", "hot_water"
    ),
    "tank_degC": Column("degC", "water in the hot-water tank", "hot_water"),
    "ice_m": Column("m", "thickness of ice", "pond"),
    "water_surface_degC": Column("degC", "surface of the water, or of the ice if there is any", "pond"),
    "coil_surface_degC": Column("degC", "outer surface of the coils", "pond"),
    "heat_from_above_W": Column("W", "heat through the surface into water and ice", "pond"),
    "heat_from_ground_W": Column("W", "heat from the ground into water and ice", "pond"),
    "heat_from_inflow_W": Column("W", "heat from the inflow into water and ice", "pond"),
    "stored_kWh": Column("kWh", "heat stored in water and ice, relative to water at 0 degC", "pond"),
    "discharge_degC": Column("degC", "discharge of the well, while it pumps", "well"),
    "drawdown_m": Column("m", "drawdown in the well, while it pumps", "well"),
    "electricity_well_W": Column("W", "electricity of the well pump, included in electricity", "well"),
    "well_flow_kg_per_s": Column("kg/s", "flow of the well, mean of the hour", "well"),
}
"""Columns with one value per hour; temperatures at the end of the hour, other values means over it."""

YEARLY = {
    "entering_fluid_min_degC": Column(
        "degC", "lowest entering fluid temperature", heading="lowest EFT", decimals=2
    ),
    "entering_fluid_mean_degC": Column(
        "degC", "mean entering fluid temperature", heading="mean EFT", decimals=2
    ),
    "entering_fluid_max_degC": Column(
        "degC", "highest entering fluid temperature", heading="highest EFT", decimals=2
    ),
    "leaving_fluid_min_degC": Column("degC", "lowest leaving fluid temperature"),
    "heat_extracted_kWh": Column("kWh", "heat extracted from the ground", heading="heat extracted"),
    "heat_rejected_kWh": Column("kWh", "heat rejected to the ground", heading="heat rejected"),
    "heating_kWh": Column("kWh", "heating delivered by the heat pump, with heat recovered in cooling"),
    "cooling_kWh": Column("kWh", "cooling delivered by the heat pump"),
    "electricity_kWh": Column(
        "kWh",
        "electricity of the plant: heat pump, pumps, back-up heat, hot-water element, distribution",
        heading="electricity",
    ),
    "backup_kWh": Column("kWh", "back-up heat, included in electricity", heading="back-up heat"),
    "unmet_cooling_kWh": Column("kWh", "unmet cooling"),
    "seasonal_cop": Column(
        "1",
        "seasonal COP: heating and cooling delivered over all electricity of the plant, NaN without any",
        heading="seasonal COP",
        decimals=2,
    ),
    "hours_running": Column("h", "hours with demand"),
    "hours_outside_limits": Column("h", "hours with demand outside the limits"),
    "hours_outside_table": Column("h", "hours with demand outside the heat pump's table"),
    "hours_near_freezing": Column("h", "hours with demand closer to freezing than the margin"),
    "hours_fluid_too_warm": Column("h", "hours with fluid beyond its property data, or boiling"),
    "hours_short_of_capacity": Column("h", "hours in which the heat pump's capacity is below the load"),
    "limits_broken": Column("1", "number of deciding criteria that are broken in the year"),
    "soil_at_pipes_min_degC": Column("degC", "lowest temperature of the soil at the pipes", "trench field"),
    "hours_soil_frozen": Column("h", "hours in which the soil at the pipes is below 0 degC", "trench field"),
    "water_at_coils_min_degC": Column("degC", "lowest temperature of the water at the coils", "pond"),
    "water_at_coils_max_degC": Column("degC", "highest temperature of the water at the coils", "pond"),
    "coil_surface_min_degC": Column("degC", "lowest surface temperature of the coils", "pond"),
    "ice_max_m": Column("m", "greatest ice thickness", "pond"),
    "hours_with_ice": Column("h", "hours with ice on the pond", "pond"),
    "hours_coil_frozen": Column("h", "hours in which the coil surface is below 0 degC", "pond"),
    "electricity_well_kWh": Column(
        "kWh", "electricity of the well pump, included in electricity", "well", "well pump"
    ),
    "water_pumped_m3": Column("m3", "water pumped from the well", "well"),
    "drawdown_max_m": Column("m", "greatest drawdown in the well", "well"),
    "well_water_min_degC": Column("degC", "lowest temperature of the well's water", "well"),
    "well_water_max_degC": Column("degC", "highest temperature of the well's water", "well"),
    "discharge_min_degC": Column("degC", "lowest temperature of the discharge", "well"),
    "discharge_max_degC": Column("degC", "highest temperature of the discharge", "well"),
    "hours_discharge_too_cold": Column("h", "hours with a discharge below its minimum", "well"),
    "hours_after_breakthrough": Column("h", "hours with returned water in the well's flow", "well"),
}
"""Columns with one value per year, from the engine; also in studies."""

OF_RUNS = {
    "drift_min_K": Column("K", "change of the lowest entering fluid temperature from the year before"),
    "drift_mean_K": Column(
        "K",
        "change of the mean entering fluid temperature from the year before",
        heading="mean drift",
        decimals=3,
    ),
    "drift_max_K": Column("K", "change of the highest entering fluid temperature from the year before"),
    "distribution_kWh": Column(
        "kWh", "fans or pumps of the distribution, included in electricity", "distribution", "distribution"
    ),
    "hot_water_element_kWh": Column(
        "kWh", "electric element for hot water, included in electricity", "hot_water", "hot-water element"
    ),
}
"""Further columns with one value per year, in the yearly table of a run."""

BY_CASE = {
    "margin_K": Column(
        "K",
        "margin to the deciding limit, negative beyond it; 0.1 m, 1 % and 10 h count as 1 K",
    ),
    "deciding_limit": Column("", "limit with the smallest margin"),
    "deciding_year": Column("1", "year in which the margin is smallest"),
    "deciding_hour": Column("h", "hour of that year, NaN for yearly quantities"),
    "failure": Column("", "why the case can't be run, or not to its end"),
    "failure_year": Column("1", "year in which the case fails, NaN if it doesn't or can't be run at all"),
    "failure_hour": Column("h", "hour of that year"),
}
"""Variables of a study with one value per case."""


OF_YEARS = YEARLY | OF_RUNS
"""Columns of the yearly table of a run."""


def with_units(table: pd.DataFrame) -> pd.DataFrame:
    """Put the unit of each column into ``attrs["units"]`` of a run's table, and return it."""
    table.attrs["units"] = {name: attributes(name)["units"] for name in table if attributes(name)}
    return table


def attributes(name: object) -> dict[str, str]:
    """Return unit and meaning of a column of a run's tables, as xarray has them; nothing if it is unknown."""
    column = HOURLY.get(str(name)) or OF_YEARS.get(str(name))
    return {} if column is None else {"units": column.unit, "long_name": column.meaning}
