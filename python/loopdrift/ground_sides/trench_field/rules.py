"""Rules of thumb for trenches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.ground_sides.departures import GROUND_DEPTH, GROUND_TEMPERATURES, Laid, per_ton
from loopdrift.ground_sides.rule import RuleOfThumb, Usual, explained

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from loopdrift.ground_sides.trench_field.field import TrenchField
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

USUAL_DEPTHS = (1.8, 2.4)
DEPTHS = Usual(*USUAL_DEPTHS, "m", "6 to 8 ft")
"""Typical depth of trenches."""


def rules(design: Design, field: TrenchField, run: Run | None) -> Iterator[RuleOfThumb]:
    """Yield the rules for length per ton, depth and the temperatures of the ground at that depth."""
    depths = [field.depth] if field.pipes is None else field.pipes[:, 1]
    at_pipes = [_year(design, field, float(depth)) for depth in depths]

    def season(hour: int) -> float:
        return float(np.mean([year[hour] for year in at_pipes]))

    yield from per_ton(design, run, Laid(field.trenches * field.length, "trench", "soil", season))
    yield explained(RuleOfThumb("Depth of the trenches", field.bottom, DEPTHS), _swings(design, field))
    year = _year(design, field, GROUND_DEPTH)
    for which, value in (("Coldest", float(year.min())), ("Warmest", float(year.max()))):
        what = f"{which} ground at {both(GROUND_DEPTH, 'm', 'g')}"
        yield explained(RuleOfThumb(what, value, GROUND_TEMPERATURES), _of_surface(design, field))


def _swings(design: Design, field: TrenchField) -> str:
    """Return the yearly amplitude at the depth of the trenches, and at typical depths."""
    depths = (field.bottom, *USUAL_DEPTHS)
    swing, low, high = (float(np.ptp(_year(design, field, depth))) / 2.0 for depth in depths)
    return (
        f"The yearly amplitude of the soil temperature is {both(swing, 'K', '.1f')} at their depth, "
        f"{both(low, 'K', '.1f')} at {both(USUAL_DEPTHS[0], 'm', 'g')} and {both(high, 'K', '.1f')} at "
        f"{both(USUAL_DEPTHS[1], 'm', 'g')}."
    )


def _of_surface(design: Design, field: TrenchField) -> str:
    """Return the reasons for the temperature of the ground."""
    ground = design.ground
    swing = float(np.ptp(_year(design, field, GROUND_DEPTH))) / 2.0
    diffusivity = ground.conductivity / ground.volumetric_heat_capacity
    return (
        f"The yearly mean is {both_degrees(ground.temperature)}; of the amplitude of "
        f"{both(field.surface.amplitude, 'K', '.1f')} at the surface, {both(swing, 'K', '.1f')} remains at "
        f"{both(GROUND_DEPTH, 'm', 'g')} in soil with a diffusivity of "
        f"{both(1e6 * diffusivity, 'mm2/s', '.2f')}."
    )


def _year(design: Design, field: TrenchField, depth: float) -> NDArray[np.float64]:
    """Return the undisturbed soil temperature at a depth for each hour of the year [degC]."""
    return field.surface.temperature(design.ground, depth=depth, hours=np.arange(HOURS_PER_YEAR))
