"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.errors import InvalidFile, InvalidInput, LoopdriftError
from loopdrift.ground import Ground

__all__ = ["Ground", "InvalidFile", "InvalidInput", "LoopdriftError"]
