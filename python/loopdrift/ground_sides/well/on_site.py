"""A well on a site, with or without a return well, at the least flow that holds."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.candidate import Candidate, ran
from loopdrift.ground_sides.judged import Judged, judged, shortest
from loopdrift.ground_sides.remedies import larger
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import Groundwater, Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground_side import GroundSide, Range

KIND = "well"

GREATEST_YIELD = 20.0
"""Greatest yield that is tried where that of the site is too small, as a multiple of it [-]."""

ROUNDING = 1e-9
"""Relative tolerance of the sustained yield."""

NO_GROUNDWATER = "No groundwater is available on this site."


class WellPlant(NamedTuple):
    """Diameter, pump and heat exchanger of a well."""

    diameter: float
    pump_efficiency: float
    effectiveness: float | None
    pump_stops: bool


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the least flow of a well with which the limits hold."""
    water = site.groundwater
    if water is None:
        return Candidate(KIND, (NO_GROUNDWATER,))
    largest = design.replace(ground_side=_well(design.ground_side, water))
    found = _least_flow(largest, years)
    reasons = list(objections(found.design, site))

    def remedies() -> tuple[str, ...]:
        better = larger(found.design, site, years, sizes=["effectiveness"])
        return *better, *_remedies(largest, years)

    fitted = ran(KIND, found, site, years, reasons=reasons, remedies=remedies)
    closer = _closer(largest, site, years) if found.holds else ()
    return dataclasses.replace(fitted, remedies=(*fitted.remedies, *closer))


def _well(model: GroundSide, water: Groundwater) -> Well:
    """Return a well with the flow of its whole yield: that of a design, within what the site offers."""
    plant = _plant(model)
    own = model if isinstance(model, Well) else None
    stated: dict[str, Any] = {
        "aquifer": water.aquifer if own is None else own.aquifer,
        "lift": water.lift if own is None else own.lift,
        "return_distance": water.return_distance if own is None else own.return_distance,
        "depth": water.depth if own is None or own.depth is None else own.depth,
        "quality": water.quality if own is None or not own.quality else own.quality,
    }
    sustained, lowest, drawdown = water.sustained_yield, water.lowest_discharge, water.available_drawdown
    if own is not None:
        sustained, lowest = min(sustained, own.sustained_yield), max(lowest, own.lowest_discharge)
        drawdowns = [each for each in (drawdown, own.available_drawdown) if each is not None]
        drawdown = min(drawdowns, default=None)
    return Well(
        diameter=plant.diameter,
        sustained_yield=sustained,
        pump_efficiency=plant.pump_efficiency,
        flow=None if plant.effectiveness is None else sustained,
        effectiveness=plant.effectiveness,
        lowest_discharge=lowest,
        available_drawdown=drawdown,
        pump_stops=plant.pump_stops,
        **stated,
    )


def _least_flow(design: Design, years: int, between: Range | None = None) -> Judged:
    """Return a design with the least flow of its well that holds, or the nearest [kg/s]."""
    flow = design.ground_side.sizes.get("flow")
    return (
        judged([design], years) if flow is None else shortest(design, "flow", between or flow.between, years)
    )


def objections(design: Design, site: Site) -> Iterator[str]:
    """Yield what the well of a design needs and the site doesn't offer, and what is wrong with its water."""
    well, water, land = cast(Well, design.ground_side), site.groundwater, site.land
    if water is None:
        yield NO_GROUNDWATER
        return
    flow = design.flow if well.flow is None else well.flow
    if flow > water.sustained_yield * (1.0 + ROUNDING):
        yield _needed(flow, water.sustained_yield)
    apart = well.return_distance
    if apart is not None and land is not None and apart > land.diagonal:
        yield (
            f"Two wells {both(apart, 'm')} apart don't fit on the land, which is {both(land.diagonal, 'm')} "
            "from corner to corner."
        )
    quality = well.quality or water.quality
    if not quality:
        yield (
            "No water analysis is given. Iron, manganese, hardness, chloride, oxygen and sand determine the "
            "life of a heat exchanger and a return well."
        )
    beyond = [str(each) for each in quality if not each.holds]
    if beyond:
        yield f"The water exceeds its quality limits: {'; '.join(beyond)}."


def _remedies(design: Design, years: int) -> tuple[str, ...]:
    """Return with what yield or fall of the level a well would hold that doesn't with its whole yield."""
    well = cast(Well, design.ground_side)
    if well.flow is None:
        return ()
    sentences = []
    most = GREATEST_YIELD * well.sustained_yield
    rich = design.replace(ground_side=well.replace(sustained_yield=most))
    more = _least_flow(rich, years, (well.sustained_yield, most))
    if more.holds:
        flow = more.design.ground_side.size_of("flow")
        sentences.append(f"It would hold with {_flow(more.design)}. {_needed(flow, well.sustained_yield)}")
    if well.available_drawdown is not None:
        deep = _least_flow(design.replace(ground_side=well.replace(available_drawdown=None)), years)
        if deep.holds:
            falls = float(deep.design.run(years).hourly["drawdown_m"].max())
            available = both(well.available_drawdown, "m", ".2f")
            sentences.append(
                f"It would hold with {_flow(deep.design)} if the level could fall by "
                f"{both(falls, 'm', '.2f')}; {available} is available."
            )
    return tuple(sentences)


def _closer(design: Design, site: Site, years: int) -> tuple[str, ...]:
    """Return with what flow a well would hold whose return well is as far away as the land allows."""
    well, land = cast(Well, design.ground_side), site.land
    if land is None or well.return_distance is None or well.return_distance <= land.diagonal:
        return ()
    found = _least_flow(design.replace(ground_side=well.replace(return_distance=land.diagonal)), years)
    if not found.holds:
        return ()
    apart = both(land.diagonal, "m", ".1f")
    return (
        f"It would hold with {_flow(found.design)} and a return well {apart} away, which fits on the land.",
    )


def _needed(flow: float, offered: float) -> str:
    return (
        f"It needs a sustained yield of {both(flow, 'kg/s', '.2f')}; the site has "
        f"{both(offered, 'kg/s', '.2f')}."
    )


def _flow(design: Design) -> str:
    flow = cast(Well, design.ground_side).flow
    return "the design flow" if flow is None else f"a flow of {both(flow, 'kg/s', '.2f')}"


def _plant(model: GroundSide) -> WellPlant:
    """Return diameter [m], pump and exchanger effectiveness [-] of the design's well, or typical values."""
    if isinstance(model, Well):
        return WellPlant(model.diameter, model.pump_efficiency, model.effectiveness, model.pump_stops)
    # Common practice, no source.
    return WellPlant(diameter=0.3, pump_efficiency=0.45, effectiveness=0.8, pump_stops=True)
