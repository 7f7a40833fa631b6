"""Bore fields: texts, charts and layout on a site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import HOURS_PER_YEAR, SECONDS_PER_HOUR
from loopdrift.basics.words import counted, percent, span
from loopdrift.ground_sides.bore_field import charts, on_site, quantities, rules
from loopdrift.ground_sides.bore_field.along_the_bore import along_the_bore
from loopdrift.ground_sides.bore_field.around.layers import departure
from loopdrift.ground_sides.bore_field.assumptions import assumptions
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.interest import temperatures_of_interest
from loopdrift.ground_sides.kind import Chart, Kind, Layout, site_charts
from loopdrift.ground_sides.quantities import Built
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.hydraulics.piping import CLOSE_BEND

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.bore import Bore, BoreResistance
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.ground_side import GroundSide


SETTLED = 0.95
"""Share of the change of the bore walls after which the field counts as settled [-]."""


class Bores(Kind):
    """Bores."""

    name = "bore field"
    part = BoreField
    frost = (
        "the bore wall",
        "frost can damage grout, open a path for water along the bore and heave the ground; the latent heat "
        "of freezing, which would keep the fluid warmer than shown, is not modelled",
    )

    sources = (
        "Step response: finite line sources with mirror images (Eskilson 1987; Lamarche & Beauchamp 2007; "
        "Claesson & Javed 2011), one wall temperature for all bores (Cimmino & Bernier 2014).",
        "Bore resistance: multipoles (Bennet, Claesson & Hellstrom 1987; Claesson & Hellstrom 2011), heat "
        "exchange between the legs (Hellstrom 1991), heat capacity inside (Xu & Spitler 2006).",
        "Groundwater: moving finite line sources (Carslaw & Jaeger 1959; Molina-Giraldo et al. 2011).",
    )

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield number, depth and ground of the bores."""
        field = _field(design)
        shallowest, deepest = field.depths.min(), field.depths.max()
        depths = both(deepest, "m", "g")
        if shallowest != deepest:
            depths = f"{both(shallowest, 'm', 'g')} to {depths}"
        leaning = f", inclined by {span(field.inclination)} deg" if field.leans else ""
        yield (
            "bores",
            f"{counted(field.count, 'bore')} of {depths}, {both(field.total_depth, 'm')} in total{leaning}; "
            f"ground conductivity {both(design.ground.conductivity, 'W/(m K)', 'g')}, undisturbed mean along "
            f"the bores {both_degrees(undisturbed(design))}",
        )
        if design.ground.darcy_flux > 0.0:
            yield "groundwater", _groundwater(field, design.ground)

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield flow regime and resistance of the deepest bore, or its measured resistance."""
        bore = max(_field(design).bores, key=lambda bore: bore.depth)
        if bore.resistance is not None:
            yield "bore", f"measured effective resistance {both(bore.resistance, 'm K/W', '.4g')}"
            return
        for temperature in temperatures_of_interest(design):
            yield "resistance", f"at {both_degrees(temperature)} {_resistance(design, bore, temperature)}"

    def assumptions(self, design: Design) -> str:
        """Return the assumptions about ground and flow."""
        field, ground = _field(design), design.ground
        deepest, flow = max(field.bores, key=lambda bore: bore.depth), design.flow / field.count
        at: dict[str, Any] = {
            "ground": ground,
            "fluid": design.fluid,
            "flow": flow,
            "temperature": undisturbed(design),
        }
        layers = None
        if ground.layers:
            layers = departure(field, ground.layers, resistance=deepest.resistance_at(**at).effective)
        return assumptions(field, ground, along_the_bore(deepest, **at), layers)

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield length per ton and the temperature of the ground."""
        return rules.rules(design, _field(design), run)

    def charts(self, design: Design) -> Mapping[str, Chart]:
        """Return the plan of the field."""
        field, site = _field(design), design.site
        return {
            "layout": Chart(
                lambda units, ax: charts.layout(field, site=site, units=units, ax=ax),
                has_short_labels=True,
            ),
            **site_charts(design.ground_side.paths, site),
        }

    def ground(self, design: Design, site: Site) -> Ground:
        """Return the design's ground if it has bores, else that of the site."""
        return on_site.ground(design, site)

    def objections(self, design: Design, site: Site) -> Iterator[str]:
        """Yield missing permission or land, and depth beyond what is allowed."""
        return on_site.objections(design, site)

    def built(self, design: Design) -> Built:
        """Return bores, pipes and grout."""
        bend = CLOSE_BEND if design.piping is None else design.piping.bend_loss_coefficient
        return quantities.built(_field(design), design.site, bend)

    @property
    def constructors(self) -> Mapping[str, Callable[..., GroundSide]]:
        """Constructors of the part, by the ``kind`` of its table in design files."""
        return {**super().constructors, "bore grid": BoreField.grid}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """Layout of bores on a site."""
        return {on_site.KIND: on_site.candidate}


def _field(design: Design) -> BoreField:
    return cast(BoreField, design.ground_side)


def _groundwater(field: BoreField, ground: Ground) -> str:
    """Return flux and direction of the groundwater, and when the field reaches its steady state."""
    by_year = both(ground.darcy_flux * HOURS_PER_YEAR * SECONDS_PER_HOUR, "m", "g")
    years = np.geomspace(0.1, 100.0, 61)
    response = field.g_function(ground, years * HOURS_PER_YEAR * SECONDS_PER_HOUR)
    reached = years[np.argmax(response >= SETTLED * response[-1])]
    return (
        f"Darcy flux {ground.darcy_flux:.2g} m/s ({by_year} a year) towards {ground.flow_direction:g} deg "
        f"from north; with constant heat, the bore walls reach {percent(SETTLED)} of their change in 100 "
        f"years after {reached:.2g} years"
    )


def _resistance(design: Design, bore: Bore, temperature: float) -> str:
    found = bore.resistance_at(
        ground=design.ground,
        fluid=design.fluid,
        flow=design.flow / design.ground_side.count,
        temperature=temperature,
    )
    return (
        f"{_regime(found)}; bore resistance {both(found.local, 'm K/W', '.4f')} local, "
        f"{both(found.effective, 'm K/W', '.4f')} effective"
    )


def _regime(found: BoreResistance) -> str:
    text = f"{found.regime} flow, Reynolds number {found.reynolds:,.0f}"
    if found.inner_reynolds is None:
        return text
    return f"in the annulus {text}; in the inner pipe {found.inner_regime}, {found.inner_reynolds:,.0f}"
