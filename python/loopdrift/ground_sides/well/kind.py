"""Wells: texts, charts and layout on a site."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import SECONDS_PER_YEAR
from loopdrift.ground_sides.finding import Finding, broken
from loopdrift.ground_sides.kind import Chart, Kind, Layout
from loopdrift.ground_sides.quantities import Built
from loopdrift.ground_sides.well import charts, on_site, quantities, rules
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.model.run_error import RunError
    from loopdrift.parts.ground_side import GroundSide


class Wells(Kind):
    """A well, with or without a return well."""

    name = "well"
    part = Well
    conducts = False

    sources = ("Drawdown: Theis 1935; returned water: streamlines of two wells (Gringarten & Sauty 1975).",)

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield the well and its sustained yield."""
        well = _well(design)
        yield "well", f"{well}; sustained yield {both(well.sustained_yield, 'kg/s', '.2f')}"

    def assumptions(self, design: Design) -> str:
        """Return the assumptions about the aquifer."""
        return (
            "a uniform, confined aquifer without regional flow (which would carry returned water toward the "
            "well or away from it; half the transmissivity doubles the drawdown); no well losses; no other "
            "wells nearby"
        )

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return the error of the pumping intervals, if water is returned."""
        if cast(Well, side).return_distance is None:
            return (
                "The well's water is at the aquifer's temperature, and the drawdown superposes all pumping: "
                "the model itself is the only approximation."
            )
        return (
            f"Numerical error: up to about {both(error.steps, 'K', '.1g')}, because the well's water has one "
            "temperature in each pumping interval. The simplifications of the model matter more."
        )

    def findings(self, run: Run) -> list[Finding | None]:
        """Return the findings about drawdown, pump, discharge and water quality."""
        well, hourly, yearly = _well(run.design), run.hourly, run.yearly
        found: list[Finding | None] = [
            broken(
                run,
                "lowest_discharge",
                f"the discharge is below the minimum of {both_degrees(well.lowest_discharge)}",
            )
        ]
        frozen = run.judgement["discharge_freezing"]
        if frozen is not None:
            text = (
                f"the discharge is below 0 degC (32 degF) (lowest: {both_degrees(frozen.actual)}); "
                "groundwater freezes in the heat exchanger, which can burst"
            )
            found.append(broken(run, "discharge_freezing", text))
        pump, whole = yearly["electricity_well_kWh"], yearly["electricity_kWh"]
        delivered = (yearly["seasonal_cop"] * whole).sum()
        if pump.sum() > 0.0:
            cop, without = (delivered / electricity.sum() for electricity in (whole, whole - pump))
            text = f"The well pump uses {pump.mean():,.0f} kWh of electricity a year"
            found.append(
                Finding(True, f"{text}; the seasonal COP is {cop:.2f} with it and {without:.2f} without it.")
            )
        text = f"Drawdown in the well reaches {both(float(hourly['drawdown_m'].max()), 'm', '.2f')}"
        level = run.judgement["available_drawdown"]
        if level is None:
            found.append(Finding(True, f"{text}; no limit is set."))
        else:
            available = level.in_words(level.required)
            found.append(Finding(level.holds, f"{text}; {available} is available.", decides=True))
        if well.return_distance is not None:
            found.append(_returned(run, well))
        found.append(_quality(well))
        return found

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield the flow per ton."""
        return rules.rules(design, _well(design), run)

    def charts(self, design: Design) -> Mapping[str, Chart]:
        """Return the streamlines between two wells."""
        well = _well(design)
        if well.return_distance is None:
            return {}
        return {"layout": Chart(lambda units, ax: charts.well_streamlines(well, units=units, ax=ax))}

    def objections(self, design: Design, site: Site) -> Iterator[str]:
        """Yield missing groundwater, yield, distance and quality of the water."""
        return on_site.objections(design, site)

    def built(self, design: Design) -> Built:
        """Return wells and flow."""
        return quantities.built(_well(design), design.flow)

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """Layout of a well on a site."""
        return {on_site.KIND: on_site.candidate}


def _well(design: Design) -> Well:
    return cast(Well, design.ground_side)


def _returned(run: Run, well: Well) -> Finding:
    """Return when and how much returned water changes the temperature of the well's water."""
    mean_flow = float(run.hourly["well_flow_kg_per_s"].mean())
    if mean_flow == 0.0:
        return Finding(True, "No water is pumped or returned.")
    years = well.breakthrough_time(run.design.ground, mean_flow) / SECONDS_PER_YEAR
    moved = run.hourly["wall_degC"] - well.aquifer.temperature
    text = f"At the mean flow, breakthrough of returned water occurs after {years:.1f} years"
    if not moved.any():
        return Finding(True, f"{text}; it doesn't change the well's water up to year {run.years}.")
    colder, warmer = -float(moved.min()), float(moved.max())
    changes = [
        f"{both(size, 'K', '.1f')} {how}"
        for size, how in ((colder, "colder"), (warmer, "warmer"))
        if size > 0.0
    ]
    text = f"{text}; up to year {run.years}, the well's water becomes up to {' and up to '.join(changes)}."
    return Finding(False, text)


def _quality(well: Well) -> Finding:
    """Return the result of the water analysis."""
    if not well.quality:
        text = "No water analysis is given. Hardness, iron, manganese, chloride, pH, oxygen and sand "
        return Finding(False, f"{text}determine the life of a heat exchanger and a return well.")
    beyond = [str(each) for each in well.quality if not each.holds]
    if beyond:
        return Finding(False, f"The water exceeds its quality limits: {'; '.join(beyond)}.")
    return Finding(True, f"The water is within its quality limits: {'; '.join(map(str, well.quality))}.")
