"""Coils in a site's open water, at the least length."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import TON_OF_COOLING, both
from loopdrift.ground_sides.candidate import Candidate, judged, ran, shortest
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.parts.bore import USUAL_PIPE

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design

KIND = "pond coils"

SHALLOWEST = 1.0
"""Depth of the shallowest pond that is modelled in layers [m]; this and the values below: common practice, no
source."""

LONGEST = 300.0
"""Length of the longest coil laid in one piece [m]."""

SHORTEST = 10.0
"""Length of the shortest coil [m]."""

WATTS_PER_COIL = TON_OF_COOLING
"""Heating capacity per coil, one ton [W]."""


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the shortest coils on the bottom of the site's water with which the limits hold."""
    water = site.water
    if water is None or site.weather is None:
        return Candidate(KIND, ("There is no open water on this site.",))
    if water.depth < SHALLOWEST:
        reason = (
            f"Water of {both(water.depth, 'm', '.1f')} is too shallow: at least "
            f"{both(SHALLOWEST, 'm', 'g')} is required."
        )
        return Candidate(KIND, (reason,))
    if water.bank_slope * water.depth >= math.sqrt(water.area / math.pi):
        reason = (
            f"A pond of {both(water.area, 'm2')} is too small: with a bank slope of {water.bank_slope:g} to "
            f"1, the banks meet above a depth of {both(water.depth, 'm', '.1f')}."
        )
        return Candidate(KIND, (reason,))
    own = design.ground_side.length if isinstance(design.ground_side, Pond) else 0.0
    longest = max(LONGEST, own)
    pond = Pond.basin(
        area=water.area,
        depth=water.depth,
        bank_slope=water.bank_slope,
        pipe=design.ground_side.pipe if isinstance(design.ground_side, Pond) else USUAL_PIPE,
        circuits=_circuits(design),
        length=longest,
        weather=site.weather,
        extinction_depth=water.extinction_depth,
    )
    bed = design.ground if site.excavation is None else site.excavation.soil
    found = judged([design.replace(ground=bed, ground_side=pond)], years)
    if found.holds:
        found = shortest(found, "length", (SHORTEST, longest), years)
    return ran(KIND, found, years)


def _circuits(design: Design) -> int:
    """Return the number of coils: the design's, or one for each ton of heating or cooling."""
    if isinstance(design.ground_side, Pond):
        return design.ground_side.circuits
    asked = design.demand
    peak = max(float((asked["heating"] + asked["hot_water"]).max()), float(asked["cooling"].max()))
    return max(1, math.ceil(peak / WATTS_PER_COIL))
