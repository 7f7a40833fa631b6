"""Charts of a design and a run: each takes tables and Axes, returns Axes, and leaves global style alone."""

from loopdrift.plots.build_up import drift, heat_build_up, recovery
from loopdrift.plots.comparison import comparison
from loopdrift.plots.cost import cost
from loopdrift.plots.energy import energy
from loopdrift.plots.ground import ground_frames, ground_map, ground_section
from loopdrift.plots.heat_pump import heat_pump
from loopdrift.plots.horizon import horizon
from loopdrift.plots.layout import layout
from loopdrift.plots.loads import loads
from loopdrift.plots.pressure_drop import pressure_drop
from loopdrift.plots.study import limits_contour, probability, sensitivity, temperature_band, uncertainty
from loopdrift.plots.trench import trench_layout, trench_section
from loopdrift.plots.water import pond_profile, well_streamlines
from loopdrift.plots.week import Which, week_heat, week_temperatures, worst_week

__all__ = [
    "Which",
    "comparison",
    "cost",
    "drift",
    "energy",
    "ground_frames",
    "ground_map",
    "ground_section",
    "heat_build_up",
    "heat_pump",
    "horizon",
    "layout",
    "limits_contour",
    "loads",
    "pond_profile",
    "pressure_drop",
    "probability",
    "recovery",
    "sensitivity",
    "temperature_band",
    "trench_layout",
    "trench_section",
    "uncertainty",
    "week_heat",
    "week_temperatures",
    "well_streamlines",
    "worst_week",
]
