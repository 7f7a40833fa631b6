"""Ground sides, the heat sources of a heat pump: one folder per kind, and their common protocol."""

from loopdrift.ground_sides.bore_field.kind import Bores
from loopdrift.ground_sides.kind import register
from loopdrift.ground_sides.pond.kind import Ponds
from loopdrift.ground_sides.trench_field.kind import Trenches
from loopdrift.ground_sides.well.kind import Wells

for _kind in (Bores(), Trenches(), Ponds(), Wells()):
    register(_kind)
