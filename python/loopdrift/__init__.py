"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift.bore import Bore, BoreResistance, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.bore_field import BoreField
from loopdrift.building import Building, Opaque, Week, Window
from loopdrift.comparison import Comparison
from loopdrift.design import Design
from loopdrift.distribution import Distribution
from loopdrift.errors import (
    DamagedPortion,
    InvalidDesignFile,
    InvalidFile,
    InvalidInput,
    LoopdriftError,
    StudyStopped,
    Unsettled,
)
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.heat_build_up import HeatBuildUp, Recovery
from loopdrift.heat_pump import HeatPump, LoadSide, Maker
from loopdrift.hot_water import HotWater
from loopdrift.hydraulics import Apparatus, PipeRun, Piping, Pump, antifreeze_for
from loopdrift.judgement import Criterion, Judgement
from loopdrift.limits import Limits
from loopdrift.loads import Loads
from loopdrift.pond import Pond
from loopdrift.prices import Alternative, Cost, Fuel, Installation, Period, Prices, Tariff, Tier
from loopdrift.recharge import Recharge
from loopdrift.run import Run
from loopdrift.run_error import RunError
from loopdrift.site import Digging, Drilling, Groundwater, Land, OpenWater, Site
from loopdrift.sizing import Sizing
from loopdrift.study import Samples, Study
from loopdrift.surface_wave import SurfaceWave
from loopdrift.trench_field import Coil, TrenchField
from loopdrift.weather import Weather
from loopdrift.well import Aquifer, WaterLimit, Well

__all__ = [
    "Alternative",
    "Apparatus",
    "Aquifer",
    "Bore",
    "BoreField",
    "BoreResistance",
    "Building",
    "Coaxial",
    "Coil",
    "Comparison",
    "Cost",
    "Criterion",
    "DamagedPortion",
    "Design",
    "Digging",
    "Distribution",
    "DoubleUTube",
    "Drilling",
    "Fluid",
    "Fuel",
    "Ground",
    "Groundwater",
    "HeatBuildUp",
    "HeatPump",
    "HotWater",
    "Installation",
    "InvalidDesignFile",
    "InvalidFile",
    "InvalidInput",
    "Judgement",
    "Land",
    "Limits",
    "LoadSide",
    "Loads",
    "LoopdriftError",
    "Maker",
    "Opaque",
    "OpenWater",
    "Period",
    "Pipe",
    "PipeRun",
    "Piping",
    "Pond",
    "Prices",
    "Pump",
    "Recharge",
    "Recovery",
    "Run",
    "RunError",
    "Samples",
    "Site",
    "Sizing",
    "Study",
    "StudyStopped",
    "SurfaceWave",
    "Tariff",
    "Tier",
    "TrenchField",
    "UTube",
    "Unsettled",
    "WaterLimit",
    "Weather",
    "Week",
    "Well",
    "Window",
    "antifreeze_for",
]
