"""The names of the package, each with its module; they load when first used."""

from . import plots as plots
from .analysis.comparison import Comparison as Comparison
from .analysis.cost import Cost as Cost
from .analysis.heat_build_up import HeatBuildUp as HeatBuildUp
from .analysis.heat_build_up import Recovery as Recovery
from .analysis.hydraulics import Antifreeze as Antifreeze
from .analysis.learning import Forecast as Forecast
from .analysis.learning import Learned as Learned
from .analysis.learning import PlantLog as PlantLog
from .analysis.learning import learn as learn
from .analysis.neighbourhood import Neighbourhood as Neighbourhood
from .analysis.neighbourhood import NeighbourhoodRun as NeighbourhoodRun
from .analysis.neighbourhood import Plant as Plant
from .analysis.quantities import Duty as Duty
from .analysis.quantities import PartDrop as PartDrop
from .analysis.quantities import Purge as Purge
from .analysis.quantities import Quantities as Quantities
from .analysis.recharge import Recharge as Recharge
from .analysis.response_test import FoundGround as FoundGround
from .analysis.simulation import SimulatedHour as SimulatedHour
from .analysis.simulation import Simulation as Simulation
from .analysis.sizing import Sizing as Sizing
from .analysis.split import Split as Split
from .analysis.study import Samples as Samples
from .analysis.study import Study as Study
from .analysis.study import open_study as open_study
from .api.design import Design as Design
from .api.phases import PhasedRun as PhasedRun
from .api.phases import Phases as Phases
from .api.response_test import ResponseTest as ResponseTest
from .api.run import Run as Run
from .api.site import Site as Site
from .basics.errors import (
    DamagedStoreFile as DamagedStoreFile,
)
from .basics.errors import (
    FluidFreezes as FluidFreezes,
)
from .basics.errors import (
    InvalidDesignFile as InvalidDesignFile,
)
from .basics.errors import (
    InvalidFile as InvalidFile,
)
from .basics.errors import (
    InvalidInput as InvalidInput,
)
from .basics.errors import (
    LoopdriftError as LoopdriftError,
)
from .basics.errors import (
    NotConverged as NotConverged,
)
from .basics.errors import (
    StudyStopped as StudyStopped,
)
from .basics.errors import (
    UnknownKey as UnknownKey,
)
from .basics.errors import (
    UnknownName as UnknownName,
)
from .ground_sides.bore_field.field import BoreField as BoreField
from .ground_sides.candidate import Candidate as Candidate
from .ground_sides.finding import Finding as Finding
from .ground_sides.pond.pond import Pond as Pond
from .ground_sides.proposal import Proposal as Proposal
from .ground_sides.quantities import (
    Amount as Amount,
)
from .ground_sides.quantities import (
    Built as Built,
)
from .ground_sides.quantities import (
    PipeLength as PipeLength,
)
from .ground_sides.quantities import (
    PlaceColumn as PlaceColumn,
)
from .ground_sides.quantities import (
    Places as Places,
)
from .ground_sides.site import (
    Drilling as Drilling,
)
from .ground_sides.site import (
    Excavation as Excavation,
)
from .ground_sides.site import (
    Groundwater as Groundwater,
)
from .ground_sides.site import (
    Land as Land,
)
from .ground_sides.site import (
    OpenWater as OpenWater,
)
from .ground_sides.trench_field.field import Coil as Coil
from .ground_sides.trench_field.field import TrenchField as TrenchField
from .ground_sides.well.well import Well as Well
from .model.judgement import Criterion as Criterion
from .model.judgement import Judgement as Judgement
from .model.phases import Phase as Phase
from .model.run import Span as Span
from .model.run_error import RunError as RunError
from .parts.aquifer import Aquifer as Aquifer
from .parts.aquifer import WaterLimit as WaterLimit
from .parts.bore import (
    Bore as Bore,
)
from .parts.bore import (
    BoreResistance as BoreResistance,
)
from .parts.bore import (
    Coaxial as Coaxial,
)
from .parts.bore import (
    DoubleUTube as DoubleUTube,
)
from .parts.bore import (
    Pipe as Pipe,
)
from .parts.bore import (
    UTube as UTube,
)
from .parts.building import Building as Building
from .parts.building import Opaque as Opaque
from .parts.building import Week as Week
from .parts.building import Window as Window
from .parts.fluid.concentrate import Dose as Dose
from .parts.fluid.fluid import ConstantFluid as ConstantFluid
from .parts.fluid.fluid import Fluid as Fluid
from .parts.ground.ground import Ground as Ground
from .parts.ground.layers import Layer as Layer
from .parts.ground.surface_wave import SurfaceWave as SurfaceWave
from .parts.ground.warming import Warming as Warming
from .parts.ground_side import Measure as Measure
from .parts.hydraulics import (
    Apparatus as Apparatus,
)
from .parts.hydraulics import (
    OperatingPoint as OperatingPoint,
)
from .parts.hydraulics import (
    PipeRun as PipeRun,
)
from .parts.hydraulics import (
    Piping as Piping,
)
from .parts.hydraulics import (
    Pump as Pump,
)
from .parts.hydraulics.channel import Flow as Flow
from .parts.hydraulics.steps import Step as Step
from .parts.hydraulics.turbulence import BoreFlow as BoreFlow
from .parts.limits import Limits as Limits
from .parts.loads import Bill as Bill
from .parts.loads import Loads as Loads
from .parts.plant.curves import EnteringLoadCorrection as EnteringLoadCorrection
from .parts.plant.curves import Mode as Mode
from .parts.plant.distribution import (
    AirDistribution as AirDistribution,
)
from .parts.plant.distribution import (
    WaterDistribution as WaterDistribution,
)
from .parts.plant.fit_quality import (
    FitQuality as FitQuality,
)
from .parts.plant.fit_quality import (
    ModeQuality as ModeQuality,
)
from .parts.plant.fit_quality import (
    Residual as Residual,
)
from .parts.plant.heat_pump import HeatPump as HeatPump
from .parts.plant.heat_pump import ManufacturerRatings as ManufacturerRatings
from .parts.plant.hot_water import HotWater as HotWater
from .parts.plant.performance_table.points import RatingPoint as RatingPoint
from .parts.plant.performance_table.reduction import Correction as Correction
from .parts.plant.performance_table.table import PerformanceTable as PerformanceTable
from .parts.prices import (
    Alternative as Alternative,
)
from .parts.prices import (
    Fuel as Fuel,
)
from .parts.prices import (
    Installation as Installation,
)
from .parts.prices import (
    Period as Period,
)
from .parts.prices import (
    Prices as Prices,
)
from .parts.prices import (
    Tariff as Tariff,
)
from .parts.prices import (
    Tier as Tier,
)
from .parts.project import Project as Project
from .parts.site_plan import SitePlan as SitePlan
from .parts.weather.weather import Weather as Weather
from .reporting.explorer import Explorer as Explorer

__version__: str
