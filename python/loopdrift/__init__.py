"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.errors import InvalidDesignFile, InvalidFile, InvalidInput, LoopdriftError
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.limits import Limits

__all__ = ["Fluid", "Ground", "InvalidDesignFile", "InvalidFile", "InvalidInput", "Limits", "LoopdriftError"]
