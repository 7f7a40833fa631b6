"""Charts of designs, runs and studies, by name."""

from loopdrift.analysis.build_up_charts import drift, heat_build_up, recovery
from loopdrift.analysis.study.charts import (
    limits_contour,
    probability,
    sensitivity,
    temperature_band,
    uncertainty,
)
from loopdrift.charts.comparison import comparison
from loopdrift.charts.cost import cost
from loopdrift.charts.days import days
from loopdrift.charts.energy import energy
from loopdrift.charts.horizon import horizon
from loopdrift.charts.hours import hours
from loopdrift.charts.loads import loads
from loopdrift.charts.plan import site_plan
from loopdrift.charts.pressure_drop import pressure_drop
from loopdrift.charts.week import Which, week_heat, week_temperatures, worst_week
from loopdrift.ground_sides.bore_field.around.charts import ground_frames, ground_map, ground_section
from loopdrift.ground_sides.bore_field.charts import layout
from loopdrift.ground_sides.pond.charts import pond_profile
from loopdrift.ground_sides.trench_field.charts import trench_layout, trench_section
from loopdrift.ground_sides.well.charts import well_streamlines
from loopdrift.parts.plant.heat_pump_chart import heat_pump

__all__ = [
    "Which",
    "comparison",
    "cost",
    "days",
    "drift",
    "energy",
    "ground_frames",
    "ground_map",
    "ground_section",
    "heat_build_up",
    "heat_pump",
    "horizon",
    "hours",
    "layout",
    "limits_contour",
    "loads",
    "pond_profile",
    "pressure_drop",
    "probability",
    "recovery",
    "sensitivity",
    "site_plan",
    "temperature_band",
    "trench_layout",
    "trench_section",
    "uncertainty",
    "week_heat",
    "week_temperatures",
    "well_streamlines",
    "worst_week",
]
