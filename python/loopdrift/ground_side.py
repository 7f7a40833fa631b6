"""The kinds of ground side that a design can have."""

from loopdrift.bore_field import BoreField
from loopdrift.pond import Pond
from loopdrift.trench_field import TrenchField
from loopdrift.well import Well

GroundSide = BoreField | TrenchField | Pond | Well
