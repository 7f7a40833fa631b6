"""Charts of designs and runs: each takes tables and Axes, returns Axes, and doesn't change global style."""

from loopdrift.charts.comparison import comparison
from loopdrift.charts.cost import cost
from loopdrift.charts.days import days
from loopdrift.charts.energy import energy
from loopdrift.charts.horizon import horizon, phases
from loopdrift.charts.hours import hours
from loopdrift.charts.loads import loads
from loopdrift.charts.pressure_drop import pressure_drop
from loopdrift.charts.week import Which, week_heat, week_temperatures, worst_week

__all__ = [
    "Which",
    "comparison",
    "cost",
    "days",
    "energy",
    "horizon",
    "hours",
    "loads",
    "phases",
    "pressure_drop",
    "week_heat",
    "week_temperatures",
    "worst_week",
]
