"""The compiled engine; private, reached through the modules of `loopdrift`."""

from collections.abc import Callable
from typing import Any, Final, TypeAlias, TypedDict, final

import numpy as np
from numpy.typing import NDArray

_Series: TypeAlias = NDArray[np.float64]

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
    hours_broken: tuple[int, ...]

class _Judgement(TypedDict):
    holds: bool
    deciding: int | None
    criteria: list[_Criterion]

__all__ = [
    "VERSION",
    "GroundHistory",
    "bore_first_hours",
    "bore_resistances",
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
    "outside_film",
    "pipe_resistance",
    "quantities",
    "read_loads",
    "returned_share",
    "run",
    "run_cases",
    "size_among",
    "size_measure",
    "surface_wave",
    "trench_response",
    "trench_source",
    "undisturbed",
    "validate",
    "well_drawdown",
    "well_function",
]

VERSION: Final[str]

@final
class GroundHistory:
    def __new__(
        cls,
        ground_side: dict[str, Any],
        ground: dict[str, Any],
        fluid: dict[str, Any],
        flow: float,
        heat_extracted: _Series,
    ) -> GroundHistory: ...
    def points(self, points: NDArray[np.float64], hours: list[int]) -> NDArray[np.float64]: ...
    def section(self, places: NDArray[np.float64], depths: _Series, hour: int) -> NDArray[np.float64]: ...
    def plan(self, x: _Series, y: _Series, depth: float, hour: int) -> NDArray[np.float64]: ...
    def heat_sources(self, hours: list[int]) -> dict[str, _Series]: ...

def bore_first_hours(
    bore: dict[str, Any],
    ground: dict[str, Any],
    fluid: dict[str, Any],
    *,
    flow: float,
    temperature: float,
    p: NDArray[np.float64],
    ground_response: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]: ...
def bore_resistances(
    bore: dict[str, Any], ground: dict[str, Any], fluid: dict[str, Any], *, flow: float, temperature: float
) -> dict[str, Any]: ...
def quantities(owner: str) -> list[tuple[str, str, float, float]]: ...
def validate(owner: str, values: dict[str, Any]) -> None: ...
def g_function(
    ground: dict[str, Any],
    sources: NDArray[np.float64],
    positions: NDArray[np.float64],
    leans: NDArray[np.float64],
    times: NDArray[np.float64],
    uniform_heat_flux: bool,
) -> NDArray[np.float64]: ...
def closest(positions: NDArray[np.float64]) -> float: ...
def undisturbed(ground_side: dict[str, Any], ground: dict[str, Any]) -> float: ...
def line_source(
    ground: dict[str, Any], times: NDArray[np.float64], distance: float, depth: float, top: float
) -> NDArray[np.float64]: ...
def check_loads(loads: dict[str, _Series]) -> dict[str, _Series]: ...
def read_loads(path: str, years: int | None) -> dict[str, _Series]: ...
def heat_loss_loads(heat_loss: dict[str, float], outdoor: _Series) -> dict[str, _Series]: ...
def building_loss(building: dict[str, Any]) -> float: ...
def building_year(
    building: dict[str, Any], outdoor: _Series, irradiance: NDArray[np.float64], free_running: bool
) -> dict[str, _Series]: ...
def fit_performance_table(
    path: str, *, flow: float | None, heating_load_side: float | None, cooling_load_side: float | None
) -> tuple[dict[str, Any], dict[str, Any]]: ...
def meet(
    plant: dict[str, Any], heat_pump: dict[str, Any], loads: dict[str, _Series]
) -> tuple[dict[str, _Series], _Series, dict[str, _Series] | None]: ...
def check(design: dict[str, Any], loads: dict[str, _Series]) -> None: ...
def run(
    design: dict[str, Any],
    loads: dict[str, _Series],
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[dict[str, NDArray[np.float64]], dict[str, NDArray[Any]], dict[str, float], _Judgement]: ...
def run_cases(
    base: dict[str, Any],
    parts: dict[str, list[Any]],
    cases: dict[str, list[int]],
    count: int,
    loads: dict[str, _Series],
    years: int,
    kept: str | None,
    progress: Callable[[int], object] | None,
) -> tuple[dict[str, NDArray[np.float64]], dict[str, Any], list[str | None]]: ...
def size_measure(
    design: dict[str, Any],
    measure: str,
    between: tuple[float, float],
    resolution: float,
    loads: dict[str, _Series],
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[float, _Judgement, int, str | None]: ...
def size_among(
    designs: list[dict[str, Any]],
    loads: dict[str, _Series],
    years: int,
    progress: Callable[[int], object] | None,
) -> tuple[int, _Judgement, int, str | None]: ...
def surface_wave(
    wave: dict[str, Any], ground: dict[str, Any], depth: float, times: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def trench_response(
    field: dict[str, Any], ground: dict[str, Any], resistance: float, times: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def trench_source(
    field: dict[str, Any], ground: dict[str, Any], times: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def pipe_resistance(
    pipe: dict[str, Any], fluid: dict[str, Any], flow: float, temperature: float
) -> dict[str, Any]: ...
def well_function(u: NDArray[np.float64]) -> NDArray[np.float64]: ...
def well_drawdown(
    aquifer: dict[str, Any], distance: float, times: NDArray[np.float64]
) -> NDArray[np.float64]: ...
def breakthrough(flow: float, distance: float, thickness: float, heat_capacity: float) -> float: ...
def returned_share(times: NDArray[np.float64]) -> NDArray[np.float64]: ...
def outside_film(
    diameter: float, water: dict[str, Any], water_temperature: float, pipe_temperature: float
) -> float: ...
