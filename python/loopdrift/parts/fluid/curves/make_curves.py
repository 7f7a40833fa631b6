"""Make ``curves.json``: the properties of water and of its mixtures with antifreeze as Chebyshev series.

Run ``python python/loopdrift/parts/fluid/curves/make_curves.py`` with CoolProp installed. Importing it takes
seconds; its equations for mixtures are polynomials of temperature and mass fraction, which a few numbers hold
to the last digits, and a few more hold liquid water to 1e-10. A test sets the series against CoolProp.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from CoolProp.constants import PT_INPUTS, iT_freeze
from CoolProp.CoolProp import AbstractState
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from loopdrift.parts.fluid.fluid import by_name

FILE = Path(__file__).with_name("curves.json")
MIXTURES = {"propylene glycol": "MPG", "ethylene glycol": "MEG", "methanol": "MMA", "ethanol": "MEA"}
BY_VOLUME = {"propylene glycol": "APG", "ethylene glycol": "AEG"}
PRESSURE = 3e5  # Pa, common in a loop; the properties of a liquid hardly know it
ZERO = 273.15  # K
COLDEST = -80.0  # degC, colder than any of the mixtures freezes
FRACTION_DEGREE, TEMPERATURE_DEGREE = 5, 3  # of the equations by Melinder
WATER_DEGREE, VOLUME_DEGREE = 14, 18


def main() -> None:
    """Write the file."""
    curves = {"water": water()} | {name: mixture(name) for name in MIXTURES}
    FILE.write_text(json.dumps(curves, indent=1) + "\n", encoding="utf-8")


def water() -> dict[str, Any]:
    """Return the series of water over temperature; the fraction is none."""
    temperatures = (0.0, by_name("water").warmest)
    state = AbstractState("HEOS", "Water")
    at = nodes(temperatures, WATER_DEGREE)
    rows = np.array([properties(state, temperature) for temperature in at])
    found = chebyshev.chebfit(scaled(at, temperatures), rows, WATER_DEGREE)
    return series((0.0, 1.0), temperatures, [column[np.newaxis] for column in found.T])


def mixture(name: str) -> dict[str, Any]:
    """Return the series of a mixture over mass fraction and temperature, and those of its freezing point."""
    source = by_name(name)
    fractions, temperatures = (0.0, source.most), (COLDEST, source.warmest)
    state = AbstractState("INCOMP", MIXTURES[name])
    places, rows, frozen = [], [], []
    for fraction in nodes(fractions, 2 * FRACTION_DEGREE):
        state.set_mass_fractions([fraction])
        frozen.append((fraction, state.keyed_output(iT_freeze) - ZERO))
        for at in nodes((frozen[-1][1] + 0.001, source.warmest), 4 * TEMPERATURE_DEGREE):
            places.append((fraction, at))
            rows.append(properties(state, at))
    at_fraction, at_temperature = np.array(places).T
    terms = chebyshev.chebvander2d(
        scaled(at_fraction, fractions),
        scaled(at_temperature, temperatures),
        [FRACTION_DEGREE, TEMPERATURE_DEGREE],
    )
    found, *_ = np.linalg.lstsq(terms, np.array(rows), rcond=None)
    shape = FRACTION_DEGREE + 1, TEMPERATURE_DEGREE + 1
    curves = series(fractions, temperatures, [column.reshape(shape) for column in found.T])
    at, points = np.array(frozen).T
    curves["freezing_point"] = chebyshev.chebfit(scaled(at, fractions), points, FRACTION_DEGREE).tolist()
    if source.freezing is not None:
        volumes = source.freezing.least, source.freezing.most
        curves["freezing_point_by_volume"] = by_volume(BY_VOLUME[name], volumes).tolist()
    return curves


def by_volume(fluid: str, volumes: tuple[float, float]) -> NDArray[np.float64]:
    """Return the series of a freezing point over the volume fraction."""
    state = AbstractState("INCOMP", fluid)
    at, points = nodes(volumes, VOLUME_DEGREE), []
    for volume in at:
        state.set_volu_fractions([volume])
        points.append(state.keyed_output(iT_freeze) - ZERO)
    return chebyshev.chebfit(scaled(at, volumes), np.array(points), VOLUME_DEGREE)


def properties(state: Any, temperature: float) -> tuple[float, float, float, float]:
    """Return density, heat capacity, conductivity and the logarithm of the viscosity, SI."""
    state.update(PT_INPUTS, PRESSURE, temperature + ZERO)
    return state.rhomass(), state.cpmass(), state.conductivity(), float(np.log(state.viscosity()))


def series(
    fractions: tuple[float, float], temperatures: tuple[float, float], found: list[NDArray[np.float64]]
) -> dict[str, Any]:
    """Return what the file holds of the properties: coefficients by fraction, then by temperature."""
    names = ("density", "heat_capacity", "conductivity", "log_viscosity")
    coefficients = {name: each.tolist() for name, each in zip(names, found, strict=True)}
    return {"fractions": fractions, "temperatures": temperatures, **coefficients}


def nodes(between: tuple[float, float], degree: int) -> NDArray[np.float64]:
    """Return the Chebyshev nodes of a degree between two ends."""
    least, most = between
    return 0.5 * (least + most) + 0.5 * (most - least) * chebyshev.chebpts1(degree + 1)


def scaled(values: NDArray[np.float64], between: tuple[float, float]) -> NDArray[np.float64]:
    """Return values between two ends on the scale from -1 to 1."""
    least, most = between
    return (2.0 * values - least - most) / (most - least)


if __name__ == "__main__":
    main()
