"""Flow in the pipes of a design or a run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.parts.hydraulics.turbulence import BoreFlow

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


def coldest_flow(run: Run) -> BoreFlow:
    """Return the flow in the deepest bore in the hour of a run with the lowest mean fluid temperature.

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
    """Return the flow in the deepest bore, or each pipe, of a design at a mean fluid temperature.

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
    return design.ground_side.flow_in_pipes(
        ground=design.ground, fluid=design.fluid, flow=design.flow, temperature=temperature
    )
