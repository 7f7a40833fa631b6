"""What a well says, draws and takes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.model_time import SECONDS_PER_YEAR
from loopdrift.ground_sides.finding import Finding, broken
from loopdrift.ground_sides.kind import Chart, Kind, Layout
from loopdrift.ground_sides.well import charts, on_site, rules
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.ground_sides.rule import RuleOfThumb
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.model.run_error import RunError
    from loopdrift.parts.ground_side import GroundSide


class Wells(Kind):
    """A well, alone or with one that takes the water back."""

    name = "well"
    part = Well
    conducts = False

    def facts(self, design: Design) -> Iterator[tuple[str, str]]:
        """Yield the well and what it gives."""
        well = _well(design)
        yield "well", f"{well}, of {both(well.sustained_yield, 'kg/s', '.2f')} that it gives for good"

    def assumptions(self, design: Design) -> str:
        """Return what is assumed of the aquifer."""
        return (
            "an even, confined aquifer without flow of its own (flow carries what is returned toward the "
            "well or away from it; half the transmissivity doubles the drawdown); a well without losses in "
            "its screen; no other wells nearby"
        )

    def error_in_words(self, error: RunError, side: GroundSide) -> str:
        """Return what intervals of pumping cost, where water is returned."""
        if cast(Well, side).return_distance is None:
            return (
                "The well's water has the aquifer's temperature, and the level is the sum of all pumping: "
                "nothing of that is approximate but the model itself."
            )
        return (
            f"That the well's water keeps one temperature for an interval of pumping costs up to about "
            f"{both(error.steps, 'K', '.1g')}; what the model leaves out counts for more."
        )

    def findings(self, run: Run) -> list[Finding | None]:
        """Return what the level, the pump, the discharge and the water say."""
        well, hourly, yearly = _well(run.design), run.hourly, run.yearly
        found: list[Finding | None] = [
            broken(
                run,
                "lowest_discharge",
                f"the discharge is below the lowest allowed, {both_degrees(well.lowest_discharge)}",
            )
        ]
        frozen = run.judgement["discharge_freezing"]
        if frozen is not None:
            text = (
                f"the discharge is below 0 degC (32 degF), at the lowest {both_degrees(frozen.actual)}: "
                "groundwater freezes in the exchanger, which can burst it"
            )
            found.append(broken(run, "discharge_freezing", text))
        pump, whole = yearly["electricity_well_kWh"], yearly["electricity_kWh"]
        delivered = (yearly["seasonal_cop"] * whole).sum()
        if pump.sum() > 0.0:
            cop, without = (delivered / electricity.sum() for electricity in (whole, whole - pump))
            text = f"The well's pump takes {pump.mean():,.0f} kWh of the electricity of a year"
            found.append(
                Finding(True, f"{text}: the seasonal COP is {cop:.2f} with it, {without:.2f} without.")
            )
        text = f"The level in the well falls by up to {both(float(hourly['drawdown_m'].max()), 'm', '.2f')}"
        level = run.judgement["available_drawdown"]
        if level is None:
            found.append(Finding(True, f"{text}; no limit was given."))
        else:
            available = level.in_words(level.required)
            found.append(Finding(level.holds, f"{text}; {available} are available.", decides=True))
        if well.return_distance is not None:
            found.append(_returned(run, well))
        found.append(_quality(well))
        return found

    def rules(self, design: Design, run: Run | None) -> Iterator[RuleOfThumb]:
        """Yield the flow per ton."""
        return rules.rules(design, _well(design), run)

    def charts(self, side: GroundSide) -> Mapping[str, Chart]:
        """Return the ways of the water between two wells."""
        well = cast(Well, side)
        if well.return_distance is None:
            return {}
        return {"layout": Chart(lambda units, ax: charts.well_streamlines(well, units=units, ax=ax))}

    @property
    def layouts(self) -> Mapping[str, Layout]:
        """How a well is laid out on a site."""
        return {on_site.KIND: on_site.candidate}


def _well(design: Design) -> Well:
    return cast(Well, design.ground_side)


def _returned(run: Run, well: Well) -> Finding:
    """Return when and how far what was returned changes the well's water."""
    mean_flow = float(run.hourly["well_flow_kg_per_s"].mean())
    if mean_flow == 0.0:
        return Finding(True, "Nothing is returned, as nothing is pumped.")
    years = well.breakthrough_time(run.design.ground, mean_flow) / SECONDS_PER_YEAR
    moved = run.hourly["wall_degC"] - well.aquifer.temperature
    text = f"With the mean flow what is returned arrives after {years:.1f} years; up to year {run.years} it "
    if not moved.any():
        return Finding(True, f"{text}leaves the well's water as it is.")
    least, most = (both(value, "K", "+.2f") for value in (moved.min(), moved.max()))
    return Finding(False, f"{text}moves the well's water by {least} to {most}.")


def _quality(well: Well) -> Finding:
    """Return what the analysis of the water says."""
    if not well.quality:
        text = "No analysis of the water was given: hardness, iron, manganese, chloride, pH, oxygen and sand "
        return Finding(False, f"{text}decide whether an exchanger and a return well last.")
    beyond = [str(each) for each in well.quality if not each.holds]
    if beyond:
        return Finding(False, f"The water has more than allowed: {'; '.join(beyond)}.")
    return Finding(True, f"The water is within the limits given: {'; '.join(map(str, well.quality))}.")
