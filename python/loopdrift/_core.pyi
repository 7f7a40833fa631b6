"""The compiled engine; private, reached through the modules of `loopdrift`."""

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

VERSION: Final[str]

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
    times: NDArray[np.float64],
    uniform_heat_flux: bool,
) -> NDArray[np.float64]: ...
def line_source(
    ground: dict[str, Any], times: NDArray[np.float64], distance: float, depth: float, top: float
) -> NDArray[np.float64]: ...
