"""Pipes and pump in plain text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from loopdrift.analysis.hydraulics.flow import coldest_flow, design_flow
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import percent
from loopdrift.ground_sides.finding import Finding
from loopdrift.model.key_figures import flow_in_words

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.hydraulics.piping import Piping


def lines(design: Design, piping: Piping) -> Iterator[tuple[str, str]]:
    """Yield the results of a design's piping: labels and sentences.

    Parameters
    ----------
    design : Design
        The design.
    piping : Piping
        Its piping.
    """
    temperature = piping.design_temperature(design.limits)
    lost = design.pressure_drop()["pressure_drop_Pa"]
    shares = ", ".join(f"{name} {both(value / 1000.0, 'kPa', '.1f')}" for name, value in lost.items())
    yield (
        "pressure drop",
        f"{both(lost.sum() / 1000.0, 'kPa', '.1f')} at {both_degrees(temperature)} and "
        f"{flow_in_words(design)}: {shares}",
    )
    source = "computed from the piping" if design.pump_power_follows else "as given"
    yield "pump", f"{float(f'{design.pump_power:.3g}'):,.0f} W, {source}; {_operating(design, piping)[1]}"
    yield "turbulence", str(design_flow(design, temperature))


def flow_findings(run: Run, piping: Piping) -> list[Finding]:
    """Return the findings about flow: the regime in the coldest hour, and the pump's capacity.

    Parameters
    ----------
    run : Run
        The run.
    piping : Piping
        Its design's piping.
    """
    flow = coldest_flow(run)
    found = [Finding(flow.regime == "turbulent", f"In the coldest hour, {flow}.")]
    if piping.pump.has_curve:
        enough, text = _operating(run.design, piping)
        found.append(Finding(enough, f"{text[0].upper()}{text[1:]}."))
    return found


def _operating(design: Design, piping: Piping) -> tuple[bool, str]:
    """Return whether the pump delivers the design flow, and a sentence about it."""
    if not piping.pump.has_curve:
        return True, f"efficiency {piping.pump.efficiency:g} at the design flow"
    temperature = piping.design_temperature(design.limits)
    moved, *_ = piping.operating_point(
        ground_side=design.ground_side, fluid=design.fluid, flow=design.flow, temperature=temperature
    )
    text = (
        f"the pump's operating point is {flow_in_words(design, moved / design.flow)} with fluid at "
        f"{both_degrees(temperature)}, {percent(moved / design.flow)} of the design flow"
    )
    return moved >= design.flow, text
