"""Ponds: texts, charts and layout on a site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import HOURS_PER_DAY
from loopdrift.basics.words import percent
from loopdrift.ground_sides.finding import Finding, broken
from loopdrift.ground_sides.interest import pipe_resistances
from loopdrift.ground_sides.kind import Chart, Kind, Layout
from loopdrift.ground_sides.pond import charts, on_site, quantities, rules
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.quantities import Built
from loopdrift.model.key_figures import undisturbed

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.model.run_error import RunError
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.ground_side import GroundSide

INFLOW_LOSS = 0.5
"""Temperature drop of the demo's pond in year 5 with 5 kg/s of groundwater at 8 degC [K]."""


class Ponds(Kind):
    """Coils in a pond."""

    name = "pond"
    part = Pond
    conducts = False

    sources = (
        "Water: Brutsaert 1975, Crawford & Duchon 1999, McJannet, Webster & Cook 2012, Bowen 1926, "
        "Henderson-Sellers 1985, Kell 1975; ice: Stefan; coils: Churchill & Chu 1975.",
    )

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield the pond, its coils and its mean water temperature."""
        warmth = (
            f"yearly mean water temperature, assumed equal to the air's: {both_degrees(undisturbed(design))}"
        )
        yield "pond", f"{_pond(design)}; {warmth}"

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield flow regime and resistance of the coils."""
        return pipe_resistances(design, _pond(design).pipe, "water")

    def assumptions(self, design: Design) -> str:
        """Return the assumptions about water and flow."""
        loss = both(INFLOW_LOSS, "K", "g")
        return (
            "horizontally uniform water temperature; no groundwater apart from the inflow given (5 kg/s at "
            f"{both_degrees(8.0)} make the demo's pond about {loss} colder); no snow on the ice, which would "
            "keep it thinner; equal flow in every coil"
        )

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return the errors of the hourly time step and of the film at the coils."""
        return (
            f"Numerical error: up to about {both(error.steps, 'K', '.1g')} in the pond's water from the "
            f"hourly time step, and up to about {both(error.film, 'K', '.1g')} in the fluid from the film at "
            "the coils. The simplifications of the model matter more."
        )

    def findings(self, run: Run) -> list[Finding | None]:
        """Return the findings about water and ice."""
        found: list[Finding | None] = []
        ice = run.hourly["ice_m"]
        if ice.max() > 0.0:
            text = (
                f"Ice covers the pond for {(ice > 0.0).sum() / HOURS_PER_DAY / run.years:.3g} days in a mean "
                f"year and reaches {both(ice.max(), 'm', '.2f')}"
            )
            found.append(
                Finding(
                    False,
                    f"{text}. Snow, which keeps ice thinner, is not modelled, and the safety of the ice is "
                    "not assessed.",
                )
            )
        near, most = run.judgement["water_at_coils_min"], run.judgement["ice_max"]
        if near is not None:
            text = f"the water at the coils is below {both_degrees(near.required)}"
            found.append(broken(run, "water_at_coils_min", text))
        text = "the coil surface is below 0 degC (32 degF); ice can form there, which is not modelled"
        found.append(broken(run, "coil_surface_min", text))
        if most is not None:
            share = most.required / _pond(run.design).depth
            text = (
                f"ice takes more than {percent(share)} of the depth and reaches the coils; the model is not "
                "valid"
            )
            found.append(broken(run, "ice_max", text))
        return found

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield area and depth."""
        return rules.rules(_pond(design), run)

    def charts(self, design: Design) -> Mapping[str, Chart]:
        """Return the profile of the pond."""
        pond = _pond(design)
        return {"layout": Chart(lambda units, ax: charts.pond_profile(pond, units=units, ax=ax))}

    def ground(self, design: Design, site: Site) -> Ground:
        """Return the design's ground if it has a pond, else the soil of the site."""
        return on_site.ground(design, site)

    def objections(self, design: Design, site: Site) -> Iterator[str]:
        """Yield missing water, area and depth."""
        return on_site.objections(design, site)

    def built(self, design: Design) -> Built:
        """Return coils and pipe."""
        return quantities.built(_pond(design))

    @property
    def constructors(self) -> Mapping[str, Callable[..., GroundSide]]:
        """Constructors of the part, by the ``kind`` of its table in design files."""
        return {**super().constructors, "pond basin": Pond.basin}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """Layout of coils in a site's open water."""
        return {on_site.KIND: on_site.candidate}


def _pond(design: Design) -> Pond:
    return cast(Pond, design.ground_side)
