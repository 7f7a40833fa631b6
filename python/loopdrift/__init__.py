"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

from loopdrift import _core
from loopdrift.analysis.comparison import Comparison
from loopdrift.analysis.cost import Cost
from loopdrift.analysis.heat_build_up import HeatBuildUp, Recovery
from loopdrift.analysis.hydraulics import Antifreeze
from loopdrift.analysis.quantities import Duty, PartDrop, Purge, Quantities
from loopdrift.analysis.recharge import Recharge
from loopdrift.analysis.sizing import Sizing
from loopdrift.analysis.split import Split
from loopdrift.analysis.study import Samples, Study
from loopdrift.api.design import Design
from loopdrift.api.run import Run
from loopdrift.api.site import Site
from loopdrift.basics.errors import (
    DamagedStoreFile,
    FluidFreezes,
    InvalidDesignFile,
    InvalidFile,
    InvalidInput,
    LoopdriftError,
    NotConverged,
    StudyStopped,
    UnknownKey,
    UnknownName,
)
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.candidate import Candidate
from loopdrift.ground_sides.finding import Finding
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.proposal import Proposal
from loopdrift.ground_sides.quantities import Amount, Built, PipeLength, PlaceColumn, Places
from loopdrift.ground_sides.site import Drilling, Excavation, Groundwater, Land, OpenWater
from loopdrift.ground_sides.trench_field.field import Coil, TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.model.judgement import Criterion, Judgement
from loopdrift.model.run_error import RunError
from loopdrift.parts.aquifer import Aquifer, WaterLimit
from loopdrift.parts.bore import Bore, BoreResistance, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.parts.building import Building, Opaque, Week, Window
from loopdrift.parts.fluid.concentrate import Dose
from loopdrift.parts.fluid.fluid import ConstantFluid, Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.surface_wave import SurfaceWave
from loopdrift.parts.ground_side import Measure
from loopdrift.parts.hydraulics import Apparatus, OperatingPoint, PipeRun, Piping, Pump
from loopdrift.parts.hydraulics.channel import Flow
from loopdrift.parts.hydraulics.steps import Step
from loopdrift.parts.hydraulics.turbulence import BoreFlow
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Bill, Loads
from loopdrift.parts.plant.curves import EnteringLoadCorrection, Mode
from loopdrift.parts.plant.distribution import AirDistribution, WaterDistribution
from loopdrift.parts.plant.fit_quality import FitQuality, ModeQuality, Residual
from loopdrift.parts.plant.heat_pump import HeatPump, ManufacturerRatings
from loopdrift.parts.plant.hot_water import HotWater
from loopdrift.parts.plant.performance_table.points import RatingPoint
from loopdrift.parts.plant.performance_table.reduction import Correction
from loopdrift.parts.plant.performance_table.table import PerformanceTable
from loopdrift.parts.prices import Alternative, Fuel, Installation, Period, Prices, Tariff, Tier
from loopdrift.parts.project import Project
from loopdrift.parts.site_plan import SitePlan
from loopdrift.parts.weather.weather import Weather

__all__ = [
    "AirDistribution",
    "Alternative",
    "Amount",
    "Antifreeze",
    "Apparatus",
    "Aquifer",
    "Bill",
    "Bore",
    "BoreField",
    "BoreFlow",
    "BoreResistance",
    "Building",
    "Built",
    "Candidate",
    "Coaxial",
    "Coil",
    "Comparison",
    "ConstantFluid",
    "Correction",
    "Cost",
    "Criterion",
    "DamagedStoreFile",
    "Design",
    "Dose",
    "DoubleUTube",
    "Drilling",
    "Duty",
    "EnteringLoadCorrection",
    "Excavation",
    "Finding",
    "FitQuality",
    "Flow",
    "Fluid",
    "FluidFreezes",
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
    "Loads",
    "LoopdriftError",
    "ManufacturerRatings",
    "Measure",
    "Mode",
    "ModeQuality",
    "NotConverged",
    "Opaque",
    "OpenWater",
    "OperatingPoint",
    "PartDrop",
    "PerformanceTable",
    "Period",
    "Pipe",
    "PipeLength",
    "PipeRun",
    "Piping",
    "PlaceColumn",
    "Places",
    "Pond",
    "Prices",
    "Project",
    "Proposal",
    "Pump",
    "Purge",
    "Quantities",
    "RatingPoint",
    "Recharge",
    "Recovery",
    "Residual",
    "Run",
    "RunError",
    "Samples",
    "Site",
    "SitePlan",
    "Sizing",
    "Split",
    "Step",
    "Study",
    "StudyStopped",
    "SurfaceWave",
    "Tariff",
    "Tier",
    "TrenchField",
    "UTube",
    "UnknownKey",
    "UnknownName",
    "WaterDistribution",
    "WaterLimit",
    "Weather",
    "Week",
    "Well",
    "Window",
]

__version__ = _core.VERSION
