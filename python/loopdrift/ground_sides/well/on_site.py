"""A well on a site, alone or with one that takes the water back: the least flow that holds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.candidate import Candidate, judged, ran
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground_side import GroundSide

KIND = "well"

LEAST_SHARE = 0.02
"""Least flow that is tried, of the sustained yield [-]."""

LEAST_FLOW = 1.1e-3
"""Least flow of all [kg/s]."""

FLOWS = 40
"""Flows that are tried up to the yield, in even ratios: each is a tenth above the last."""


class WellPlant(NamedTuple):
    """What goes into and beside a well."""

    diameter: float
    pump_efficiency: float
    effectiveness: float | None
    pump_stops: bool


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the least flow of a well with which the limits hold."""
    water = site.groundwater
    if water is None:
        return Candidate(KIND, ("No groundwater is known on this site.",))
    plant = _plant(design.ground_side)
    largest = Well(
        aquifer=water.aquifer,
        diameter=plant.diameter,
        sustained_yield=water.sustained_yield,
        lift=water.lift,
        pump_efficiency=plant.pump_efficiency,
        flow=None if plant.effectiveness is None else water.sustained_yield,
        effectiveness=plant.effectiveness,
        return_distance=water.return_distance,
        lowest_discharge=water.lowest_discharge,
        available_drawdown=water.available_drawdown,
        pump_stops=plant.pump_stops,
        depth=water.depth,
        quality=water.quality,
    )
    base = design.replace(ground_side=largest)
    least = min(max(LEAST_SHARE, LEAST_FLOW / water.sustained_yield), 1.0)
    shares = [1.0] if plant.effectiveness is None else np.geomspace(least, 1.0, FLOWS)
    designs = [base.replace(ground_side=_with_flow(largest, float(share))) for share in shares]
    found = judged(designs, years)
    fitted = ran(KIND, found, years)
    reasons = (*fitted.reasons, *_ruled_out(site))
    return Candidate(KIND, reasons, fitted.run)


def _plant(model: GroundSide) -> WellPlant:
    """Return the well's diameter [m], its pump and its exchanger's effectiveness [-]."""
    if isinstance(model, Well):
        return WellPlant(model.diameter, model.pump_efficiency, model.effectiveness, model.pump_stops)
    # Common practice, no source.
    return WellPlant(diameter=0.3, pump_efficiency=0.45, effectiveness=0.8, pump_stops=True)


def _with_flow(well: Well, share: float) -> Well:
    return well if well.flow is None else well.replace(flow=share * well.sustained_yield)


def _ruled_out(site: Site) -> Iterator[str]:
    """Yield what distance and water say against it."""
    water, land = site.groundwater, site.land
    if water is None:
        return
    apart = water.return_distance
    if apart is not None and land is not None and apart > land.diagonal:
        yield (
            f"Two wells {both(apart, 'm')} apart don't stand on the land, of which the farthest corners are "
            f"{both(land.diagonal, 'm')} apart."
        )
    if not water.quality:
        yield (
            "The quality of the water is not stated: iron, manganese, hardness, chloride, oxygen and sand "
            "decide whether an exchanger and a return well last."
        )
    beyond = [str(each) for each in water.quality if not each.holds]
    if beyond:
        yield f"The water has more than allowed: {'; '.join(beyond)}."
