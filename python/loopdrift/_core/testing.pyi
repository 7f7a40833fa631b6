"""Equations that stand alone only in tests against outside references."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

_Series: TypeAlias = NDArray[np.float64]
_Part: TypeAlias = dict[str, Any]

__all__ = ["bore_first_hours", "outside_film", "trench_source", "well_function"]

def bore_first_hours(
    bore: _Part,
    ground: _Part,
    fluid: _Part,
    *,
    flow: float,
    temperature: float,
    p: _Series,
    ground_response: _Series,
) -> tuple[_Series, _Series]: ...
def outside_film(
    diameter: float, water: _Part, water_temperature: float, pipe_temperature: float
) -> float: ...
def trench_source(field: _Part, ground: _Part, times: _Series) -> _Series: ...
def well_function(u: _Series) -> _Series: ...
