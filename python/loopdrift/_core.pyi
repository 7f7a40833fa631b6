"""The compiled engine; private, reached through the modules of `loopdrift`."""

from typing import Any, Final

import numpy as np
import numpy.typing as npt

VERSION: Final[str]

def quantities(owner: str) -> list[tuple[str, str, float, float]]: ...
def validate(owner: str, values: dict[str, Any]) -> None: ...
def check_loads(
    heating: npt.NDArray[np.float64], cooling: npt.NDArray[np.float64], hot_water: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]: ...
def read_loads(
    path: str,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]: ...
def balance_point_loads(
    balance_point: dict[str, float], outdoor: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], npt.NDArray[np.float64]]: ...
def fit_performance_table(
    path: str, *, flow: float | None, heating_load_side: float | None, cooling_load_side: float | None
) -> tuple[dict[str, Any], dict[str, Any]]: ...
