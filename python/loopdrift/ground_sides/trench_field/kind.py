"""Trench fields: texts, charts and layout on a site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.interest import pipe_resistances
from loopdrift.ground_sides.kind import Chart, Kind, Layout, site_charts
from loopdrift.ground_sides.quantities import Built
from loopdrift.ground_sides.trench_field import charts, on_site, quantities, rules
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.ground.warming import assumed

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.ground_side import GroundSide

SOIL_LOSS = 0.5
"""Temperature drop of the demo's trenches in year 5 with 20 % less conductivity [K]."""


class Trenches(Kind):
    """Trenches with straight pipes or coils."""

    name = "trench field"
    part = TrenchField
    frost = (
        "the soil at the pipes",
        "freezing moisture releases latent heat, raises the conductivity and heaves the ground; none of this "
        "is modelled, and the latent heat would keep the fluid warmer than shown",
    )

    sources = (
        "Step response: finite lines (Claesson & Dunand 1983; Fontaine et al. 2011; Lamarche 2019) and rings "
        "(Li et al. 2012; Xiong, Spitler & Fisher 2015) with mirror images.",
    )

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield pipes, soil and surface."""
        field, ground = _field(design), design.ground
        yield (
            "trenches",
            f"{field}; ground conductivity {both(ground.conductivity, 'W/(m K)', 'g')}, yearly mean "
            f"temperature {both_degrees(undisturbed(design))}, yearly amplitude at the surface "
            f"{both(field.surface.amplitude, 'K', '.1f')}",
        )

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield flow regime and resistance of the pipes."""
        return pipe_resistances(design, _field(design).pipe, "soil")

    def assumptions(self, design: Design) -> str:
        """Return the assumptions about soil and flow."""
        loss = both(SOIL_LOSS, "K", "g")
        return (
            "no heat transport by groundwater or rain (both bring the soil closer to undisturbed); uniform "
            "soil whose moisture doesn't migrate, dry out or freeze (20 % less conductivity makes the demo's "
            f"trenches about {loss} colder); {assumed(design.ground.warming)}; equal flow in every pipe"
        )

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield length per ton, depth and the temperatures of the ground."""
        return rules.rules(design, _field(design), run)

    def charts(self, design: Design) -> Mapping[str, Chart]:
        """Return plan and cross-section of the trenches."""
        field = _field(design)
        return {
            "layout": Chart(
                lambda units, ax: charts.trench_layout(field, site=design.site, units=units, ax=ax)
            ),
            "section": Chart(lambda units, ax: charts.trench_section(field, units=units, ax=ax)),
            **site_charts(design.ground_side.paths, design.site),
        }

    def ground(self, design: Design, site: Site) -> Ground:
        """Return the design's ground if it has trenches, else the soil of the site."""
        return on_site.ground(design, site)

    def objections(self, design: Design, site: Site) -> Iterator[str]:
        """Yield missing permission or land, and trenches that reach rock."""
        return on_site.objections(design, site)

    def built(self, design: Design) -> Built:
        """Return trenches and pipes."""
        return quantities.built(_field(design))

    @property
    def constructors(self) -> Mapping[str, Callable[..., GroundSide]]:
        """Constructors of the part, by the ``kind`` of its table in design files."""
        return {**super().constructors, "trench rows": TrenchField.rows}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """Layout of straight pipes and coils on a site."""
        return on_site.LAYOUTS


def _field(design: Design) -> TrenchField:
    return cast(TrenchField, design.ground_side)
