"""What a run leaves out along a bore: walls of unequal temperature, and the fluid's way down and up.

A run gives all bores one wall temperature and the fluid of a bore one temperature. What that costs follows
from the bore's own resistances and flow; `tests/reference/test_fluid_along_the_bore.py` compares both
figures with fluid and ground coupled along the bore.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, pi, sqrt, tanh
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.parts.bore import Coaxial, DoubleUTube

if TYPE_CHECKING:
    from loopdrift.parts.bore import Bore, Pipe, UTube
    from loopdrift.parts.fluid.fluid import Fluid
    from loopdrift.parts.ground.ground import Ground

FIRST_HOUR = 5.0 * 3600.0
"""Time [s] by which the fluid's time in the bore is divided to give the share of the fluid's fall that the
first hour after a start lacks; found by the coupled reference, for fluid that takes up to two hours."""


@dataclass(frozen=True)
class AlongTheBore:
    """What a run leaves out along a bore, as a resistance: K for each W/m.

    Parameters
    ----------
    one_wall : float
        Resistance that one wall temperature adds, long after a step [m K/W]. Above zero the run's fluid is
        too far from the temperature of the ground, below zero it is too near.
    first_hour : float
        Resistance that the first hour after a start lacks, at most [m K/W]: the run's fluid is too near.
    minutes : float
        Time that the fluid takes down and up.
    """

    one_wall: float
    first_hour: float
    minutes: float


def along_the_bore(
    bore: Bore,
    *,
    ground: Ground,
    fluid: Fluid,
    flow: float,
    temperature: float,
    wall_to_ground: float | None = None,
) -> AlongTheBore | None:
    """Return what a run leaves out along a bore; None where its resistance was measured.

    With local resistance R, internal resistance A, length H and flow x heat capacity m c, the fluid has
    R eta coth eta above one wall temperature, eta = H / (m c sqrt(R A)) [1]_. With the ground's resistance
    G of each depth by itself, and no common wall, the same equation has R + G for R. In a coaxial bore A
    contains the way through the wall, 1 / A = 1 / D + 1 / (4 R), which then is 1 / D + 1 / (4 (R + G)).

    Parameters
    ----------
    bore : Bore
        The bore.
    ground : Ground
        Around it.
    fluid : Fluid
        In it.
    flow : float
        Through this bore [kg/s].
    temperature : float
        Of the fluid [degC].
    wall_to_ground : float, optional
        G [m K/W]; that of one bore in its steady state, ln(H / (2 r)) / (2 pi k) [2]_, unless given.

    References
    ----------
    .. [1] G. Hellstrom (1991), Ground heat storage, thesis, Lund, chapter 8.
    .. [2] P. Eskilson (1987), Thermal analysis of heat extraction boreholes, thesis, Lund; from memory.
    """
    found = bore.resistance_at(ground=ground, fluid=fluid, flow=flow, temperature=temperature)
    if bore.pipes is None or found.internal is None:
        return None
    table = fluid.for_engine()
    rows = table["first_temperature"] + table["temperature_step"] * np.arange(len(table["density"]))
    density, heat_capacity = (
        float(np.interp(temperature, rows, table[name])) for name in ("density", "heat_capacity")
    )
    fall = bore.depth / (flow * heat_capacity)
    if wall_to_ground is None:
        wall_to_ground = log(bore.depth / bore.diameter) / (2.0 * pi * ground.conductivity)
    local = found.local + wall_to_ground
    internal = found.internal
    if isinstance(bore.pipes, Coaxial):
        internal = 1.0 / (1.0 / internal - 0.25 / found.local + 0.25 / local)
    coupled = _effective(local, internal, fall) - wall_to_ground
    seconds = _opening(bore.pipes) * bore.depth * density / flow
    return AlongTheBore(
        one_wall=_effective(found.local, found.internal, fall) - coupled,
        first_hour=fall * seconds / FIRST_HOUR,
        minutes=seconds / 60.0,
    )


def _effective(local: float, internal: float, fall: float) -> float:
    """R eta coth eta [m K/W]; ``fall`` is length over flow and heat capacity [m K/W]."""
    eta = fall / sqrt(local * internal)
    return local * eta / tanh(eta)


def _opening(pipes: UTube | DoubleUTube | Coaxial) -> float:
    """Area through which the fluid goes down and up [m2]."""
    if isinstance(pipes, Coaxial):
        gap = 0.25 * pi * (_inner(pipes.outer) ** 2 - pipes.inner.outer_diameter**2)
        return gap + 0.25 * pi * _inner(pipes.inner) ** 2
    legs = 4 if isinstance(pipes, DoubleUTube) else 2
    return legs * 0.25 * pi * _inner(pipes.pipe) ** 2


def _inner(pipe: Pipe) -> float:
    return pipe.outer_diameter - 2.0 * pipe.wall_thickness
