"""One invented design for all methods for the thermal history: its loads, step response and heat pump."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

import loopdrift as ld

Array = NDArray[np.float64]

HOUR = 3600.0
RESISTANCE, FLOW, HEAT_CAPACITY, UNDISTURBED = 0.10, 2.4, 3900.0, 10.5
HEATING_COP, COOLING_COP = (3.6, 0.08, -0.0004), (7.0, -0.09, 0.0002)


def invented_design() -> ld.Design:
    """Return twelve bores of measured resistance under a building that needs more heating than cooling."""
    hours = np.arange(8760)
    season, day = np.cos(2 * np.pi * hours / 8760), np.cos(2 * np.pi * hours / 24)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=RESISTANCE)
    return ld.Design(
        ground=ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=UNDISTURBED),
        ground_side=ld.BoreField.grid(bore, columns=4, rows=3, spacing=6.0),
        fluid=ld.Fluid.constant(
            density=1020.0,
            heat_capacity=HEAT_CAPACITY,
            conductivity=0.45,
            viscosity=0.004,
            freezing_point=-20.0,
        ),
        flow=FLOW,
        heat_pump=ld.HeatPump.from_curves(heating_cop=HEATING_COP, cooling_cop=COOLING_COP),
        loads=ld.Loads(
            heating=np.clip(28e3 * season + 6e3 * day + 4e3, 0, None),
            cooling=np.clip(-22e3 * season - 5e3 * day - 6e3, 0, None),
        ),
    )


@dataclass(frozen=True)
class Case:
    """Inputs of every stepping method.

    Parameters
    ----------
    heating, cooling : numpy.ndarray
        Demand of each hour [W].
    response : numpy.ndarray
        Drop of the wall temperature 1 h, 2 h, ... after a step of one watt for the whole field [K/W].
    to_entering : float
        Drop from the wall to the entering fluid temperature per watt [K/W].
    """

    heating: Array
    cooling: Array
    response: Array
    to_entering: float


def case_of(design: ld.Design, years: int) -> Case:
    """Return the hourly loads and response of a design over `years` years."""
    count, metres = years * 8760, design.ground_side.total_depth
    # A spline through 200 points per e-fold smooths the last digits of the Laplace inversion.
    hours = np.geomspace(1.0, count, int(200 * np.log(count)))
    spline = CubicSpline(np.log(hours), design.ground_side.g_function(design.ground, HOUR * hours))
    g = spline(np.log(np.arange(1, count + 1)))
    return Case(
        heating=np.tile(design.loads.heating, years),
        cooling=np.tile(design.loads.cooling, years),
        response=g / (2 * np.pi * design.ground.conductivity * metres),
        to_entering=RESISTANCE / metres - 0.5 / (FLOW * HEAT_CAPACITY),
    )


def heat_pump(compiled: Callable[[Any], Any]) -> Callable[[float, float, float, float, float], Any]:
    """Return the solver of one hour, compiled by `compiled` or, with the identity, plain Python."""

    def solve(
        open_circuit: float, resistance: float, heating: float, cooling: float, entering: float
    ) -> tuple[float, float]:
        """Return entering fluid temperature [degC] and heat extracted [W] by fixed-point iteration."""
        h0, h1, h2 = HEATING_COP
        c0, c1, c2 = COOLING_COP
        extracted = 0.0
        for _ in range(50):
            heating_cop = h0 + entering * (h1 + entering * h2)
            cooling_cop = c0 + entering * (c1 + entering * c2)
            extracted = heating * (1.0 - 1.0 / heating_cop) - cooling * (1.0 + 1.0 / cooling_cop)
            before, entering = entering, open_circuit - resistance * extracted
            if abs(entering - before) < 1e-11:
                break
        return entering, extracted

    return compiled(solve)
