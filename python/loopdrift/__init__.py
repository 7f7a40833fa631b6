"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.errors import InvalidFile, InvalidInput, LoopdriftError
from loopdrift.ground import Ground
from loopdrift.heat_pump import HeatPump
from loopdrift.loads import Loads
from loopdrift.weather import Weather

__all__ = ["Ground", "HeatPump", "InvalidFile", "InvalidInput", "Loads", "LoopdriftError", "Weather"]
