"""Write the curves of fluids into their files: properties as Chebyshev series, fitted to CoolProp.

    python python/loopdrift/parts/fluid/fluids/make_curves.py               # all fluids
    python python/loopdrift/parts/fluid/fluids/make_curves.py ethanol.toml  # one of them

A new fluid is a file without curves, until this has been run with CoolProp installed. Importing CoolProp
takes seconds; its equations for mixtures are polynomials of temperature and mass fraction, which a few
coefficients reproduce to the last digits; a few more reproduce liquid water to 1e-10. A test compares the
series with CoolProp.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w
from CoolProp.constants import PT_INPUTS, iT_freeze
from CoolProp.CoolProp import AbstractState
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from loopdrift.parts.fluid.sources import FOLDER, FreezingTable, Source, read

PRESSURE = 3e5  # Pa, common in a loop; the properties of a liquid hardly depend on it
ZERO = 273.15  # K
COLDEST = -80.0  # degC, colder than any of the mixtures freezes
FRACTION_DEGREE, TEMPERATURE_DEGREE = 5, 3  # of the equations by Melinder
PURE_DEGREE, VOLUME_DEGREE = 14, 18
HEADING = "\n[curves]\n"


def main() -> None:
    """Write the curves of the files that the command names, or of all."""
    for file in [FOLDER / name for name in sys.argv[1:]] or sorted(FOLDER.glob("*.toml")):
        write(file)


def write(file: Path) -> None:
    """Write the curves of a fluid after the description in its file."""
    source = read(file)
    curves = mixture(source) if source.most else pure(source)
    described, _, _ = file.read_text(encoding="utf-8").partition(HEADING)
    file.write_text(f"{described.rstrip()}\n\n{tomli_w.dumps({'curves': curves})}", encoding="utf-8")


def pure(source: Source) -> dict[str, Any]:
    """Return the series of a fluid without antifreeze over temperature, from 0 degC, where it freezes."""
    temperatures = (0.0, source.warmest)
    state = AbstractState(*source.coolprop.split("::"))
    at = nodes(temperatures, PURE_DEGREE)
    rows = np.array([properties(state, temperature) for temperature in at])
    found = chebyshev.chebfit(scaled(at, temperatures), rows, PURE_DEGREE)
    curves = series((0.0, 1.0), temperatures, [column[np.newaxis] for column in found.T])
    return curves | {"freezing_point": [0.0]}


def mixture(source: Source) -> dict[str, Any]:
    """Return the series of a mixture over mass fraction and temperature, and those of its freezing point."""
    fractions, temperatures = (0.0, source.most), (COLDEST, source.warmest)
    state = AbstractState(*source.coolprop.split("::"))
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
        curves["freezing_point_by_volume"] = by_volume(source.freezing).tolist()
    return curves


def by_volume(table: FreezingTable) -> NDArray[np.float64]:
    """Return the series of a freezing point over the volume fraction."""
    volumes = table.least, table.most
    state = AbstractState(*table.coolprop.split("::"))
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
