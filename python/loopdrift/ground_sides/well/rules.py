"""The rule of thumb for wells."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import TON_OF_COOLING, both, both_degrees
from loopdrift.ground_sides.rule import RuleOfThumb, Usual, explained
from loopdrift.model import key_figures

if TYPE_CHECKING:
    from loopdrift.ground_sides.well.well import Well
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

FLOWS = Usual(0.095, 0.19, "kg/s", "1.5 to 3 gal/min")
"""Groundwater flow per ton of heating, or of cooling if that is larger."""


def rules(design: Design, well: Well, run: Run | None) -> Iterator[RuleOfThumb]:
    """Yield the rule for the flow per ton, if there is a capacity."""
    capacity, what = key_figures.capacity(design)
    if capacity <= 0.0:
        return
    per_ton = (design.flow if well.flow is None else well.flow) / (capacity / TON_OF_COOLING)
    end = FLOWS.end(per_ton)
    rule = RuleOfThumb(f"Groundwater per ton (3.517 kW) of {what}", per_ton, FLOWS)
    yield explained(rule, _of_flow(well, run, scale=per_ton / end, usual=end))


def _of_flow(well: Well, run: Run | None, *, scale: float, usual: float) -> str:
    """Return the temperature change of the water at the flow.

    Parameters
    ----------
    well : Well
        The well.
    run : Run or None
        Its run.
    scale : float
        Ratio of its flow to that at the nearer end of the typical range [-].
    usual : float
        Flow at that end [kg/s per ton].
    """
    if run is None:
        above = well.aquifer.temperature - well.lowest_discharge
        return f"The water can be cooled by {both(above, 'K', '.1f')} to the minimum discharge temperature."
    hourly = run.hourly
    change = hourly["wall_degC"] - hourly["discharge_degC"]
    most, coldest = float(change.abs().max()), float(hourly["discharge_degC"].min())
    return (
        f"The loop changes the water's temperature by up to {both(most, 'K', '.1f')}; with "
        f"{both(usual, 'kg/s', 'g')} per ton, it would be {both(most * scale, 'K', '.1f')}. The lowest "
        f"discharge temperature is {both_degrees(coldest)}; the minimum is "
        f"{both_degrees(well.lowest_discharge)}."
    )
