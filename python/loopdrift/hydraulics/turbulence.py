"""Flow in the bores against the flow that keeps it turbulent, and what falling short costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.bore import Bore, Coaxial, DoubleUTube
from loopdrift.errors import InvalidInput
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.hydraulics.channel import Channel, Liquid
from loopdrift.hydraulics.friction import START_OF_TURBULENT, Regime, regime

if TYPE_CHECKING:
    from loopdrift.design import Design
    from loopdrift.run import Run


@dataclass(frozen=True, kw_only=True)
class BoreFlow:
    """Flow in one bore, and the bore's resistance with it and with turbulent flow.

    Parameters
    ----------
    temperature : float
        Mean fluid temperature [degC].
    flow : float
        Mass flow through the bore [kg/s].
    reynolds : float
        Reynolds number in each leg, or in the gap of a coaxial bore [-].
    regime : {"laminar", "transitional", "turbulent"}
        Regime of that flow.
    resistance : float
        Effective resistance of the bore [m K/W].
    turbulent_flow : float
        Mass flow through the bore from which its flow is turbulent at that temperature [kg/s].
    turbulent_resistance : float
        Effective resistance of the bore at that flow [m K/W].
    """

    temperature: float
    flow: float
    reynolds: float
    regime: Regime
    resistance: float
    turbulent_flow: float
    turbulent_resistance: float

    def __str__(self) -> str:
        text = (
            f"flow in each bore is {self.regime} at {self.temperature:.1f} degC, Reynolds number "
            f"{self.reynolds:,.0f} with {self.flow:.3g} kg/s; bore resistance {self.resistance:.4f} m K/W"
        )
        if self.regime == "turbulent":
            return f"{text}; it stays turbulent down to {self.turbulent_flow:.3g} kg/s"
        return (
            f"{text}; turbulence needs {self.turbulent_flow:.3g} kg/s (Reynolds number "
            f"{START_OF_TURBULENT:,.0f}), where it would be {self.turbulent_resistance:.4f} m K/W, "
            f"{1.0 - self.turbulent_resistance / self.resistance:.0%} less"
        )


def bore_flow(bore: Bore, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
    """Return how one bore flows, and what turbulent flow would do to its resistance.

    Parameters
    ----------
    bore : Bore
        The bore, given by its pipes.
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
        If the bore is given by a measured resistance, the flow isn't above 0, or the temperature is outside
        the fluid's table.
    """
    flow_per_reynolds = _flow_per_reynolds(bore, Liquid.at(fluid, temperature))
    reynolds, turbulent_flow = flow / flow_per_reynolds, START_OF_TURBULENT * flow_per_reynolds

    def resistance(flow: float) -> float:
        return bore.resistance_at(ground=ground, fluid=fluid, flow=flow, temperature=temperature).effective

    return BoreFlow(
        temperature=temperature,
        flow=flow,
        reynolds=reynolds,
        regime=regime(reynolds),
        resistance=resistance(flow),
        turbulent_flow=turbulent_flow,
        turbulent_resistance=resistance(turbulent_flow),
    )


def coldest_flow(run: Run) -> BoreFlow:
    """Return the flow in the deepest bore in the coldest hour of a run: that of the lowest mean fluid.

    Parameters
    ----------
    run : Run
        The run.

    Raises
    ------
    InvalidInput
        If the bores are given by a measured resistance.
    """
    hourly = run.hourly
    mean = (hourly["entering_fluid_degC"] + hourly["leaving_fluid_degC"]) / 2.0
    return design_flow(run.design, float(mean.min()))


def design_flow(design: Design, temperature: float) -> BoreFlow:
    """Return the flow in the deepest bore of a design at a mean fluid temperature.

    Parameters
    ----------
    design : Design
        The design.
    temperature : float
        Mean fluid temperature [degC].

    Raises
    ------
    InvalidInput
        If the bores are given by a measured resistance, or the temperature is outside the fluid's table.
    """
    field = design.ground_side
    return bore_flow(
        max(field.bores, key=lambda bore: bore.depth),
        ground=design.ground,
        fluid=design.fluid,
        flow=design.flow / field.count,
        temperature=temperature,
    )


def _flow_per_reynolds(bore: Bore, liquid: Liquid) -> float:
    """Return the mass flow through a bore for each unit of the Reynolds number [kg/s]."""
    pipes = bore.pipes
    if pipes is None:
        allowed = "must be given: a measured resistance doesn't tell the pipes"
        raise InvalidInput("Design", "ground_side.bore.pipes", None, "", allowed)
    if isinstance(pipes, Coaxial):
        channel, ways = Channel.gap(pipes), 1
    else:
        channel, ways = Channel.inside(pipes.pipe), 2 if isinstance(pipes, DoubleUTube) else 1
    return ways * liquid.viscosity * channel.area / channel.hydraulic_diameter
