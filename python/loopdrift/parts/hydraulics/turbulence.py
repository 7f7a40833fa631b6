"""Flow in bores or in pipes of trenches, compared with the flow at which it becomes turbulent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from loopdrift import _core
from loopdrift.basics.both_units import both, both_degrees, both_flows
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.words import Shown, percent
from loopdrift.parts.bore import Bore, Coaxial, DoubleUTube, Pipe
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.hydraulics.channel import Channel, Liquid
from loopdrift.parts.hydraulics.friction import START_OF_TURBULENT, Regime, regime


@dataclass(frozen=True, kw_only=True)
class BoreFlow(Shown):
    """Flow in one bore, and the bore's resistance at this flow and at the onset of turbulence.

    Parameters
    ----------
    temperature : float
        Mean fluid temperature [degC].
    flow : float
        Mass flow through the bore [kg/s].
    density : float
        Density of the fluid at that temperature [kg/m3].
    reynolds : float
        Reynolds number in each leg, or in the gap of a coaxial bore [-].
    regime : {"laminar", "transitional", "turbulent"}
        Regime of that flow.
    resistance : float
        Effective resistance of the bore [m K/W].
    turbulent_flow : float
        Mass flow through the bore at which its flow becomes turbulent at that temperature [kg/s].
    turbulent_resistance : float
        Effective resistance of the bore at that flow [m K/W].
    where : {"bore", "pipe"}, default "bore"
        Where the flow is; for a pipe in a trench the resistance is that of film and wall.
    """

    temperature: float
    flow: float
    density: float
    reynolds: float
    regime: Regime
    resistance: float
    turbulent_flow: float
    turbulent_resistance: float
    where: Literal["bore", "pipe"] = "bore"

    def __str__(self) -> str:
        text = (
            f"flow in each {self.where} is {self.regime} at {both_degrees(self.temperature)}, Reynolds "
            f"number {self.reynolds:,.0f} with {both_flows(self.flow, self.density)}; {self.where} "
            f"resistance {both(self.resistance, 'm K/W', '.4f')}"
        )
        needed = both_flows(self.turbulent_flow, self.density)
        if self.regime == "turbulent":
            return f"{text}; turbulent down to {needed}"
        return (
            f"{text}; turbulent flow needs {needed}, Reynolds number {START_OF_TURBULENT:,.0f}, which gives "
            f"{both(self.turbulent_resistance, 'm K/W', '.4f')}, "
            f"{percent(1.0 - self.turbulent_resistance / self.resistance)} less"
        )


def bore_flow(bore: Bore, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
    """Return the flow in one bore, and the bore's resistance with turbulent flow.

    Parameters
    ----------
    bore : Bore
        The bore, defined by its pipes.
    ground : Ground
        The ground around it.
    fluid : Fluid
        The fluid in the loop.
    flow : float
        Mass flow through this one bore [kg/s].
    temperature : float
        Mean fluid temperature [degC].

    Raises
    ------
    InvalidInput
        If the bore has a measured resistance, the flow isn't above 0 kg/s, or the temperature is outside the
        fluid's table.
    """
    liquid = Liquid.at(fluid, temperature)
    flow_per_reynolds = _flow_per_reynolds(bore, liquid)
    reynolds, turbulent_flow = flow / flow_per_reynolds, START_OF_TURBULENT * flow_per_reynolds

    def resistance(flow: float) -> float:
        return bore.resistance_at(ground=ground, fluid=fluid, flow=flow, temperature=temperature).effective

    return BoreFlow(
        temperature=temperature,
        flow=flow,
        density=liquid.density,
        reynolds=reynolds,
        regime=regime(reynolds),
        resistance=resistance(flow),
        turbulent_flow=turbulent_flow,
        turbulent_resistance=resistance(turbulent_flow),
    )


def pipe_flow(pipe: Pipe, *, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
    """Return the flow in one buried pipe, and the pipe's resistance with turbulent flow.

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    fluid : Fluid
        The fluid in the loop.
    flow : float
        Mass flow through this one pipe [kg/s].
    temperature : float
        Mean fluid temperature [degC].

    Raises
    ------
    InvalidInput
        If the flow isn't above 0 kg/s, or the temperature is outside the fluid's table.
    """
    channel, liquid = Channel.inside(pipe), Liquid.at(fluid, temperature)
    flow_per_reynolds = liquid.viscosity * channel.area / channel.hydraulic_diameter
    reynolds, turbulent_flow = flow / flow_per_reynolds, START_OF_TURBULENT * flow_per_reynolds

    def resistance(flow: float) -> float:
        found = _core.pipe_resistance(pipe.for_engine(), fluid.for_engine(), flow, temperature)
        return float(found["local"])

    return BoreFlow(
        temperature=temperature,
        flow=flow,
        density=liquid.density,
        reynolds=reynolds,
        regime=regime(reynolds),
        resistance=resistance(flow),
        turbulent_flow=turbulent_flow,
        turbulent_resistance=resistance(turbulent_flow),
        where="pipe",
    )


def _flow_per_reynolds(bore: Bore, liquid: Liquid) -> float:
    """Return the mass flow through a bore at Reynolds number 1 [kg/s]."""
    pipes = bore.pipes
    if pipes is None:
        allowed = "must be given: a measured resistance doesn't define the pipes"
        raise InvalidInput("Design", "ground_side.bore.pipes", None, "", allowed)
    if isinstance(pipes, Coaxial):
        channel, ways = Channel.gap(pipes), 1
    else:
        channel, ways = Channel.inside(pipes.pipe), 2 if isinstance(pipes, DoubleUTube) else 1
    return ways * liquid.viscosity * channel.area / channel.hydraulic_diameter
