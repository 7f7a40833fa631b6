"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.bore import Bore, BoreResistance, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.bore_field import BoreField
from loopdrift.design import Design
from loopdrift.errors import InvalidDesignFile, InvalidFile, InvalidInput, LoopdriftError, StudyStopped
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.heat_pump import HeatPump
from loopdrift.limits import Limits
from loopdrift.loads import Loads
from loopdrift.pond import Pond
from loopdrift.run import Run, RunError
from loopdrift.sizing import Sizing
from loopdrift.study import Samples, Study
from loopdrift.surface_wave import SurfaceWave
from loopdrift.trench_field import Coil, TrenchField
from loopdrift.weather import Weather
from loopdrift.well import Aquifer, WaterLimit, Well

__all__ = [
    "Aquifer",
    "Bore",
    "BoreField",
    "BoreResistance",
    "Coaxial",
    "Coil",
    "Design",
    "DoubleUTube",
    "Fluid",
    "Ground",
    "HeatPump",
    "InvalidDesignFile",
    "InvalidFile",
    "InvalidInput",
    "Limits",
    "Loads",
    "LoopdriftError",
    "Pipe",
    "Pond",
    "Run",
    "RunError",
    "Samples",
    "Sizing",
    "Study",
    "StudyStopped",
    "SurfaceWave",
    "TrenchField",
    "UTube",
    "WaterLimit",
    "Weather",
    "Well",
]
