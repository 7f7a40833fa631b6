"""What a field of trenches says, draws and takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.interest import pipe_resistances
from loopdrift.ground_sides.kind import Chart, Kind, Layout
from loopdrift.ground_sides.trench_field import charts, on_site, rules
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.model.key_figures import undisturbed

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.ground_side import GroundSide

SOIL_LOSS = 0.5
"""Colder that the demo's trenches are in year 5 with a fifth less conductivity [K]."""


class Trenches(Kind):
    """Trenches with straight pipes or coils."""

    name = "trench field"
    part = TrenchField
    frost = (
        "the soil at the pipes",
        "that freezing moisture gives off heat, conducts better and heaves the ground is not modelled, and "
        "the heat it gives would keep the fluid warmer than shown",
    )

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield pipes, soil and surface."""
        field, ground = _field(design), design.ground
        yield (
            "trenches",
            f"{field}, in ground of {both(ground.conductivity, 'W/(m K)', 'g')} at "
            f"{both_degrees(undisturbed(design))} in the mean of the year, below a surface that swings by "
            f"{both(field.surface.amplitude, 'K', '.1f')}",
        )

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield regime and resistance of the pipes."""
        return pipe_resistances(design, _field(design).pipe, "soil")

    def assumptions(self, design: Design) -> str:
        """Return what is assumed of soil and flow."""
        loss = both(SOIL_LOSS, "K", "g")
        return (
            "no groundwater and no rain that carries heat (both bring the soil nearer to undisturbed); even "
            "soil whose moisture neither moves, dries nor freezes (a fifth less conductivity is about "
            f"{loss} colder in the demo's trenches); the same flow in every pipe"
        )

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield length per ton, depth and the temperatures of the ground."""
        return rules.rules(design, _field(design), run)

    def charts(self, side: GroundSide) -> Mapping[str, Chart]:
        """Return the trenches from above and in section."""
        field = cast(TrenchField, side)
        return {
            "layout": Chart(lambda units, ax: charts.trench_layout(field, units=units, ax=ax)),
            "section": Chart(lambda units, ax: charts.trench_section(field, units=units, ax=ax)),
        }

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """How straight pipes and coils are laid on a site."""
        return on_site.LAYOUTS


def _field(design: Design) -> TrenchField:
    return cast(TrenchField, design.ground_side)
