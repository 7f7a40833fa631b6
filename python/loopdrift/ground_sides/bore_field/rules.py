"""Rules of thumb for bores."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.departures import (
    GROUND_DEPTH,
    GROUND_TEMPERATURES,
    Laid,
    coldest_allowed,
    per_ton,
)
from loopdrift.ground_sides.rule import RuleOfThumb, explained
from loopdrift.model import key_figures

if TYPE_CHECKING:
    from loopdrift.ground_sides.bore_field.field import BoreField
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


def rules(design: Design, field: BoreField, run: Run | None) -> Iterator[RuleOfThumb]:
    """Yield the rules for the length of the bores per ton and the temperature of the ground."""
    yield from per_ton(design, run, Laid(field.total_depth, "bore", "bore wall"))
    ground = design.ground
    mean = ground.temperature + GROUND_DEPTH * ground.gradient
    what = f"Ground at {both(GROUND_DEPTH, 'm', 'g')}, mean of the year"
    yield explained(RuleOfThumb(what, mean, GROUND_TEMPERATURES), _along_bores(design, field))


def _along_bores(design: Design, field: BoreField) -> str:
    """Return the ground temperature along the bores, for comparison with that near the surface."""
    along, limit = key_figures.undisturbed(design), coldest_allowed(design)
    return (
        f"Along bores of {both(field.depths.max(), 'm')}, the mean is {both_degrees(along)}, "
        f"{both(along - limit, 'K', '.1f')} above the lowest mean fluid temperature that the limits allow."
    )
