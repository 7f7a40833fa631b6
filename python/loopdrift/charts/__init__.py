"""Charts of a design and a run: each takes tables and Axes, returns Axes, and leaves global style alone."""

from loopdrift.charts.build_up import drift, heat_build_up, recovery
from loopdrift.charts.comparison import comparison
from loopdrift.charts.cost import cost
from loopdrift.charts.energy import energy
from loopdrift.charts.heat_pump import heat_pump
from loopdrift.charts.horizon import horizon
from loopdrift.charts.loads import loads
from loopdrift.charts.pressure_drop import pressure_drop
from loopdrift.charts.study import limits_contour, probability, sensitivity, temperature_band, uncertainty
from loopdrift.charts.week import Which, week_heat, week_temperatures, worst_week

__all__ = [
    "Which",
    "comparison",
    "cost",
    "drift",
    "energy",
    "heat_build_up",
    "heat_pump",
    "horizon",
    "limits_contour",
    "loads",
    "pressure_drop",
    "probability",
    "recovery",
    "sensitivity",
    "temperature_band",
    "uncertainty",
    "week_heat",
    "week_temperatures",
    "worst_week",
]
