"""A well on a site, with or without a return well, at the least flow that holds."""

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
"""Smallest flow that is tried, as a share of the sustained yield [-]."""

LEAST_FLOW = 1.1e-3
"""Smallest flow that is tried [kg/s]."""

FLOWS = 40
"""Number of flows that are tried up to the yield, in a geometric series with a ratio of about 1.1."""


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
        return Candidate(KIND, ("No groundwater is available on this site.",))
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
    """Return diameter [m], pump and exchanger effectiveness [-] of the design's well, or typical values."""
    if isinstance(model, Well):
        return WellPlant(model.diameter, model.pump_efficiency, model.effectiveness, model.pump_stops)
    # Common practice, no source.
    return WellPlant(diameter=0.3, pump_efficiency=0.45, effectiveness=0.8, pump_stops=True)


def _with_flow(well: Well, share: float) -> Well:
    return well if well.flow is None else well.replace(flow=share * well.sustained_yield)


def _ruled_out(site: Site) -> Iterator[str]:
    """Yield the reasons of distance and water quality that make a well infeasible."""
    water, land = site.groundwater, site.land
    if water is None:
        return
    apart = water.return_distance
    if apart is not None and land is not None and apart > land.diagonal:
        yield (
            f"Two wells {both(apart, 'm')} apart don't fit on the land, which is {both(land.diagonal, 'm')} "
            "from corner to corner."
        )
    if not water.quality:
        yield (
            "No water analysis is given. Iron, manganese, hardness, chloride, oxygen and sand determine the "
            "life of a heat exchanger and a return well."
        )
    beyond = [str(each) for each in water.quality if not each.holds]
    if beyond:
        yield f"The water exceeds its quality limits: {'; '.join(beyond)}."
