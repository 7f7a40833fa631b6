"""What a pond says, draws and takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.finding import Finding, broken
from loopdrift.ground_sides.interest import pipe_resistances
from loopdrift.ground_sides.kind import Chart, Kind, Layout
from loopdrift.ground_sides.pond import charts, on_site, rules
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.model.key_figures import undisturbed

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.model.run_error import RunError
    from loopdrift.parts.ground_side import GroundSide

INFLOW_LOSS = 0.5
"""Colder that the demo's pond is in year 5 with 5 kg/s of groundwater at 8 degC [K]."""


class Ponds(Kind):
    """Coils in a pond."""

    name = "pond"
    part = Pond
    conducts = False

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield the pond, its coils and the mean of its water."""
        warmth = (
            f"water taken to follow the air at {both_degrees(undisturbed(design))} in the mean of the year"
        )
        yield "pond", f"{_pond(design)}; {warmth}"

    def resistances(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield regime and resistance of the coils."""
        return pipe_resistances(design, _pond(design).pipe, "water")

    def assumptions(self, design: Design) -> str:
        """Return what is assumed of water and flow."""
        loss = both(INFLOW_LOSS, "K", "g")
        return (
            "water of one temperature at each depth; no groundwater but the inflow that is "
            f"given (5 kg/s at {both_degrees(8.0)} make the demo's pond about {loss} colder); no snow on the "
            "ice, which would keep it thinner; the same flow in every coil"
        )

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return what steps in time and the film around the coils cost."""
        return (
            f"Steps of an hour cost the pond's water up to about {both(error.steps, 'K', '.1g')}, and the "
            f"film around the coils the fluid up to about {both(error.film, 'K', '.1g')}. What the model "
            "leaves out counts for more."
        )

    def findings(self, run: Run) -> list[Finding | None]:
        """Return what the water and its ice say."""
        found: list[Finding | None] = []
        ice = run.hourly["ice_m"]
        if ice.max() > 0.0:
            text = (
                f"Ice of up to {both(ice.max(), 'm', '.2f')} lies on the pond, in {int((ice > 0.0).sum()):,} "
                "hours"
            )
            found.append(
                Finding(False, f"{text}; snow, which keeps it thinner, and safety on it are not modelled.")
            )
        near, most = run.judgement["water_at_coils_min"], run.judgement["ice_max"]
        if near is not None:
            text = f"the water at the coils is below {both_degrees(near.required)}"
            found.append(broken(run, "water_at_coils_min", text))
        text = "the coils' outside is below 0 degC (32 degF) and ice may grow there, which is not modelled"
        found.append(broken(run, "coil_surface_min", text))
        if most is not None:
            share = most.required / _pond(run.design).depth
            text = (
                f"ice takes more than {share:.0%} of the depth and reaches the coils; the model doesn't hold"
            )
            found.append(broken(run, "ice_max", text))
        return found

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield area and depth."""
        return rules.rules(_pond(design), run)

    def charts(self, side: GroundSide) -> Mapping[str, Chart]:
        """Return the depths of the water."""
        pond = cast(Pond, side)
        return {"layout": Chart(lambda units, ax: charts.pond_profile(pond, units=units, ax=ax))}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """How coils are laid in a site's water."""
        return {on_site.KIND: on_site.candidate}


def _pond(design: Design) -> Pond:
    return cast(Pond, design.ground_side)
