"""The compiled engine; private, reached through the modules of `loopdrift`."""

from collections.abc import Callable, Mapping
from typing import Any, Final, Literal, TypeAlias, TypedDict, final

import numpy as np
from numpy.typing import NDArray

from loopdrift._core import testing as testing
from loopdrift.basics.errors import LoopdriftError

_Series: TypeAlias = NDArray[np.float64]
_Table: TypeAlias = NDArray[np.float64]
_Columns: TypeAlias = dict[str, _Series]
"""Named columns: `loopdrift.model.columns` has the names, units and meanings of those of runs and studies."""
_Part: TypeAlias = dict[str, Any]
"""A part of a design, as its `for_engine` gives it; the engine's schema checks it."""

class _Film(TypedDict):
    reynolds: float
    regime: Literal["laminar", "transitional", "turbulent"]
    coefficient: float

class _PipeResistance(TypedDict):
    local: float
    film: _Film

class _BoreResistances(TypedDict):
    local: float
    internal: float | None
    effective: float
    film: _Film | None
    inner_film: _Film | None

class _RunError(TypedDict):
    exponentials: float
    iteration: float
    resistance: float
    inside: float
    tabulation: float
    segments: float
    steps: float
    film: float

class _DecidingColumns(TypedDict):
    margin_K: _Series
    deciding_year: _Series
    deciding_hour: _Series
    deciding_limit: list[str]

class _HeatSources(TypedDict):
    heat_extracted_kWh: _Series
    from_ground_kWh: _Series
    from_surface_kWh: _Series
    from_bores_kWh: _Series

class _Residual(TypedDict):
    rms: float
    largest: float
    line: int

class _ModeQuality(TypedDict):
    rows: int
    terms: list[str]
    entering_fluid_range: list[float]
    capacity: _Residual | None
    power: _Residual | None
    points: list[list[float]]

class _FitQuality(TypedDict):
    heating: _ModeQuality | None
    cooling: _ModeQuality | None
    heating_low: _ModeQuality | None
    cooling_low: _ModeQuality | None

class _Criterion(TypedDict):
    name: str
    decides: bool
    unit: str
    required: float
    actual: float
    margin: float
    rank: float
    year: int
    hour: int | None
    hours_broken: list[int]

class _Judgement(TypedDict):
    holds: bool
    deciding: int | None
    criteria: list[_Criterion]

__all__ = [
    "END_OF_LAMINAR",
    "START_OF_TURBULENT",
    "VERSION",
    "GroundHistory",
    "Simulation",
    "annulus_shape",
    "bore_resistances",
    "bore_response",
    "breakthrough",
    "building_loss",
    "building_year",
    "check",
    "check_loads",
    "closest",
    "fit_performance_table",
    "g_function",
    "heat_loss_loads",
    "line_source",
    "meet",
    "pipe_resistance",
    "quantities",
    "returned_share",
    "run",
    "run_cases",
    "run_epochs",
    "run_neighbours",
    "size_among",
    "size_measure",
    "surface_wave",
    "testing",
    "thermal_velocity",
    "trench_response",
    "undisturbed",
    "validate",
    "warming_at",
    "well_drawdown",
]

VERSION: Final[str]
END_OF_LAMINAR: Final[float]
"""Reynolds number up to which the flow is laminar."""
START_OF_TURBULENT: Final[float]
"""Reynolds number from which the flow is turbulent."""

@final
class GroundHistory:
    def __new__(
        cls,
        ground_side: _Part,
        ground: _Part,
        fluid: _Part,
        flow: float,
        heat_extracted: _Series,
    ) -> GroundHistory: ...
    def points(self, points: _Table, hours: list[int]) -> _Table: ...
    def section(self, places: _Table, depths: _Series, hour: int) -> _Table: ...
    def plan(self, x: _Series, y: _Series, depth: float, hour: int) -> _Table: ...
    def heat_sources(self, hours: list[int]) -> _HeatSources: ...

_Demand: TypeAlias = tuple[float, float, float, float, float, float, float | None, float | None]
"""Heating, cooling, hot water, recharge, heat recovered, other electricity; entering load temperatures."""
_Hour: TypeAlias = tuple[float, float, float, float, float, float, float, float]
"""The fields of `loopdrift.analysis.simulation.SimulatedHour`."""

@final
class Simulation:
    def __new__(cls, design: _Part, loads: _Columns, years: int) -> Simulation: ...
    def step(self, demand: _Demand) -> _Hour: ...
    def outlook(self, demand: _Demand) -> _Hour: ...
    def branch(self) -> Simulation: ...
    @property
    def hour(self) -> int: ...
    @property
    def hours(self) -> int: ...
    def state(self) -> dict[str, list[float]]: ...
    def restore(self, hour: int, state: dict[str, list[float]]) -> None: ...

def annulus_shape(ratio: float) -> float: ...
def bore_resistances(
    bore: _Part, ground: _Part, fluid: _Part, *, flow: float, temperature: float
) -> _BoreResistances: ...
def bore_response(
    bore: _Part, ground: _Part, fluid: _Part, *, flow: float, temperature: float, times: _Series
) -> tuple[_Series, _Series]: ...
def quantities(owner: str) -> list[tuple[str, str, float, float]]: ...
def validate(owner: str, values: _Part) -> None: ...
def g_function(
    ground: _Part,
    sources: _Table,
    positions: _Table,
    leans: _Table,
    times: _Series,
    uniform_heat_flux: bool,
) -> _Series: ...
def closest(positions: _Table) -> float: ...
def thermal_velocity(ground: _Part) -> list[float]: ...
def undisturbed(ground_side: _Part, ground: _Part) -> float: ...
def warming_at(warming: _Part, times: _Series) -> _Series: ...
def line_source(
    ground: _Part, times: _Series, distance: float, depth: float, buried_depth: float
) -> _Series: ...
def check_loads(loads: _Columns) -> _Columns: ...
def heat_loss_loads(heat_loss: dict[str, float], outdoor: _Series) -> _Columns: ...
def building_loss(building: _Part) -> float: ...
def building_year(building: _Part, outdoor: _Series, irradiance: _Table, free_running: bool) -> _Columns: ...
def fit_performance_table(path: str, design: Mapping[str, float | None]) -> tuple[_Part, _FitQuality]: ...
def meet(plant: _Part, heat_pump: _Part, loads: _Columns) -> tuple[_Columns, _Series, _Columns | None]: ...
def check(design: _Part, loads: _Columns) -> None: ...
def run(
    design: _Part,
    loads: _Columns,
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[_Columns, dict[str, NDArray[Any]], _RunError, _Judgement]: ...
def run_epochs(
    epochs: list[tuple[int, _Part, int, int]],
    loads: list[_Columns],
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[_Columns, dict[str, NDArray[Any]], _RunError, _Judgement]: ...
def run_cases(
    base: _Part,
    parts: dict[str, list[Any]],
    cases: dict[str, list[int]],
    loads: list[_Columns],
    demands: list[tuple[int, dict[str, float]]],
    demand_of_case: list[int],
    years: int,
    kept: str | None,
    progress: Callable[[int], object] | None,
) -> tuple[dict[str, _Table], _DecidingColumns, list[LoopdriftError | None]]: ...
def run_neighbours(
    base: _Part,
    parts: dict[str, list[Any]],
    cases: dict[str, list[int]],
    loads: list[_Columns],
    demands: list[tuple[int, dict[str, float]]],
    demand_of_case: list[int],
    years: int,
    heat_interval: int,
    progress: Callable[[int], object] | None,
) -> tuple[tuple[dict[str, _Table], _DecidingColumns, list[LoopdriftError | None]], _Table]: ...
def size_measure(
    design: _Part,
    measure: str,
    between: tuple[float, float],
    resolution: float,
    loads: _Columns,
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[float, _Judgement, int, LoopdriftError | None]: ...
def size_among(
    designs: list[_Part],
    loads: _Columns,
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[int, _Judgement, int, LoopdriftError | None]: ...
def surface_wave(wave: _Part, ground: _Part, depth: float, times: _Series) -> _Series: ...
def trench_response(field: _Part, ground: _Part, resistance: float, times: _Series) -> _Series: ...
def pipe_resistance(pipe: _Part, fluid: _Part, flow: float, temperature: float) -> _PipeResistance: ...
def well_drawdown(aquifer: _Part, distance: float, times: _Series) -> _Series: ...
def breakthrough(flow: float, distance: float, thickness: float, heat_capacity: float) -> float: ...
def returned_share(times: _Series) -> _Series: ...
