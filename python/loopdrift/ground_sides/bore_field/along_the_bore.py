"""Effects that a run neglects along a bore: varying wall temperature, and the transit time of the fluid.

A run assumes a uniform wall temperature of all bores, and neglects the transit time. The errors follow from
the bore's resistances and flow; `tests/reference/test_fluid_along_the_bore.py` compares both with fluid and
ground coupled along the bore.
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
"""Time constant [s]: the ratio of the transit time to it is the share of the fluid's temperature change that
is missing in the first hour after a start; from the coupled reference, for transit times up to two hours."""


@dataclass(frozen=True)
class AlongTheBore:
    """Effects that a run neglects along a bore, as resistances.

    Parameters
    ----------
    one_wall : float
        Resistance added by the uniform wall temperature, long after a step [m K/W]. If positive, the run's
        fluid is too far from the ground temperature; if negative, too close.
    first_hour : float
        Maximum resistance that is missing in the first hour after a start [m K/W]: the run's fluid is too
        close to the ground temperature.
    minutes : float
        Transit time of the fluid, down and up [min].
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
    """Return the effects that a run neglects along a bore; None for a measured resistance.

    With local resistance R, internal resistance A, length H and heat capacity rate m c, the resistance from
    fluid to a uniform wall temperature is R eta coth eta, eta = H / (m c sqrt(R A)) [1]_. If the ground at
    each depth has its own resistance G and the wall temperature varies, R + G replaces R in the equation. In
    a coaxial bore, A includes the path through the wall, 1 / A = 1 / D + 1 / (4 R), which then becomes
    1 / D + 1 / (4 (R + G)).

    Parameters
    ----------
    bore : Bore
        The bore.
    ground : Ground
        The ground around it.
    fluid : Fluid
        The fluid in it.
    flow : float
        Flow through this bore [kg/s].
    temperature : float
        Fluid temperature [degC].
    wall_to_ground : float, optional
        G [m K/W]; by default that of a single bore at steady state, ln(H / (2 r)) / (2 pi k) [2]_.

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
    """Total flow area, down and up [m2]."""
    if isinstance(pipes, Coaxial):
        gap = 0.25 * pi * (_inner(pipes.outer) ** 2 - pipes.inner.outer_diameter**2)
        return gap + 0.25 * pi * _inner(pipes.inner) ** 2
    legs = 4 if isinstance(pipes, DoubleUTube) else 2
    return legs * 0.25 * pi * _inner(pipes.pipe) ** 2


def _inner(pipe: Pipe) -> float:
    return pipe.outer_diameter - 2.0 * pipe.wall_thickness
