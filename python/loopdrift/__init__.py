"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.bore import Bore, BoreResistance, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.bore_field import BoreField
from loopdrift.design import Design
from loopdrift.errors import InvalidDesignFile, InvalidFile, InvalidInput, LoopdriftError, StudyStopped
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.heat_pump import HeatPump, LoadSide
from loopdrift.limits import Limits
from loopdrift.loads import Loads
from loopdrift.run import Run, RunError
from loopdrift.sizing import Sizing
from loopdrift.study import Samples, Study
from loopdrift.weather import Weather

__all__ = [
    "Bore",
    "BoreField",
    "BoreResistance",
    "Coaxial",
    "Design",
    "DoubleUTube",
    "Fluid",
    "Ground",
    "HeatPump",
    "InvalidDesignFile",
    "InvalidFile",
    "InvalidInput",
    "Limits",
    "LoadSide",
    "Loads",
    "LoopdriftError",
    "Pipe",
    "Run",
    "RunError",
    "Samples",
    "Sizing",
    "Study",
    "StudyStopped",
    "UTube",
    "Weather",
]
