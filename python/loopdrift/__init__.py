"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.bore import Bore, BoreResistance, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.errors import InvalidFile, InvalidInput, LoopdriftError
from loopdrift.ground import Ground

__all__ = [
    "Bore",
    "BoreResistance",
    "Coaxial",
    "DoubleUTube",
    "Ground",
    "InvalidFile",
    "InvalidInput",
    "LoopdriftError",
    "Pipe",
    "UTube",
]
