"""The kinds of ground side that a design can have."""

from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well

GroundSide = BoreField | TrenchField | Pond | Well
