"""The parts of the loop's flow path, each with its pressure drop."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.words import Shown
from loopdrift.parts.bore import Bore, Coaxial, DoubleUTube, Pipe
from loopdrift.parts.hydraulics.channel import Channel, Flow, Liquid


@dataclass(frozen=True)
class Step(Shown):
    """One part of the loop's flow path, with its flow.

    Parameters
    ----------
    name : str
        The part.
    flow : Flow or None
        Flow in its pipe; None for a device, for which only the pressure drop is known.
    pressure_drop : float
        Pressure drop [Pa].
    """

    name: str
    flow: Flow | None
    pressure_drop: float


def through_pipes(pipe: Pipe, liquid: Liquid, flow: float, length: float) -> Step:
    """Return the flow through straight pipes or coils in parallel.

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    liquid : Liquid
        Density and viscosity of the fluid.
    flow : float
        Mass flow through each [kg/s].
    length : float
        Length of each [m].
    """
    inside = Channel.inside(pipe).flow(liquid, flow, length=length, loss_coefficient=0.0)
    return Step("pipes", inside, inside.pressure_drop)


def through_bore(bore: Bore, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Step:
    """Return the flow down and up one bore; in a coaxial bore, that of the gap.

    Parameters
    ----------
    bore : Bore
        The bore.
    liquid : Liquid
        Density and viscosity of the fluid.
    flow : float
        Mass flow through the bore [kg/s].
    bend_loss_coefficient : float
        Loss of the bend at its bottom, in velocity heads [-].

    Raises
    ------
    InvalidInput
        If the bore has a measured resistance, so that its pipes are not known.
    """
    length, pipes = bore.buried_depth + bore.depth, bore.pipes
    if pipes is None:
        allowed = "must be given with piping: a measured resistance doesn't define the pipes"
        raise InvalidInput("Design", "ground_side.bore.pipes", None, "", allowed)
    if isinstance(pipes, Coaxial):
        inside = Channel.inside(pipes.inner).flow(
            liquid, flow, length=length, loss_coefficient=bend_loss_coefficient
        )
        gap = Channel.gap(pipes).flow(liquid, flow, length=length, loss_coefficient=0.0)
        return Step("bores", gap, inside.pressure_drop + gap.pressure_drop)
    each = flow / 2.0 if isinstance(pipes, DoubleUTube) else flow
    legs = Channel.inside(pipes.pipe).flow(
        liquid, each, length=2.0 * length, loss_coefficient=bend_loss_coefficient
    )
    return Step("bores", legs, legs.pressure_drop)
