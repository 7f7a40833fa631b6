"""Coils in a site's open water, at the least length."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, cast

from loopdrift.basics.both_units import TON_OF_COOLING, both
from loopdrift.ground_sides.candidate import Candidate, ran
from loopdrift.ground_sides.judged import Judged, judged, shortest
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.remedies import larger, relaxed
from loopdrift.parts.bore import USUAL_PIPE

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import OpenWater, Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.weather.weather import Weather

KIND = "pond coils"

SHALLOWEST = 1.0
"""Depth of the shallowest pond that is modelled in layers [m]; this and the values below: common practice, no
source."""

LONGEST = 300.0
"""Length of the longest coil laid in one piece [m]."""

SHORTEST = 10.0
"""Length of the shortest coil [m]."""

DEPTHS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
"""Depths of water that are tried where that of the site is too small [m]."""

STEPS = 8
"""Doublings of the area of water that are tried, and one."""

ROUNDING = 1e-6
"""Relative tolerance of area and depth of the water."""

NO_WATER = "There is no open water on this site."

WATTS_PER_COIL = TON_OF_COOLING
"""Heating capacity per coil, one ton [W]."""


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the shortest coils on the bottom of the site's water with which the limits hold."""
    water = site.water
    if water is None or site.weather is None:
        return Candidate(KIND, (NO_WATER,))
    least_coils = functools.partial(_least_coils, design, site, site.weather, years=years)
    wider = (least_coils(water.replace(area=water.area * 2.0**step)) for step in range(1, STEPS))
    deeper = (least_coils(water.replace(depth=depth)) for depth in DEPTHS if depth > water.depth)
    if water.depth < SHALLOWEST:
        reason = (
            f"Water of {both(water.depth, 'm', '.1f')} is too shallow: at least "
            f"{both(SHALLOWEST, 'm', 'g')} is required."
        )
        return Candidate(KIND, (reason,), None, relaxed(deeper, site))
    found = least_coils(water)
    if found is None:
        reason = (
            f"A pond of {both(water.area, 'm2')} is too small: with a bank slope of {water.bank_slope:g} to "
            f"1, the banks meet above a depth of {both(water.depth, 'm', '.1f')}."
        )
        return Candidate(KIND, (reason,), None, relaxed(wider, site))

    def remedies() -> tuple[str, ...]:
        longer = larger(found.design, site, years)
        return longer or (*relaxed(wider, site), *relaxed(deeper, site))

    return ran(KIND, found, site, years, remedies=remedies)


def ground(design: Design, site: Site) -> Ground:
    """Return the bed below water: that of a design with a pond, else the site's soil if it states one."""
    if isinstance(design.ground_side, Pond) or site.excavation is None:
        return design.ground
    return site.excavation.soil


def objections(design: Design, site: Site) -> Iterator[str]:
    """Yield what the pond of a design needs and the site doesn't offer."""
    pond, water = cast(Pond, design.ground_side), site.water
    if water is None:
        yield NO_WATER
        return
    if pond.area > water.area * (1.0 + ROUNDING):
        yield f"It needs {both(pond.area, 'm2')} of water; the site has {both(water.area, 'm2')}."
    if pond.depth > water.depth * (1.0 + ROUNDING):
        yield (
            f"It needs water {both(pond.depth, 'm', '.1f')} deep; that of the site is "
            f"{both(water.depth, 'm', '.1f')} deep."
        )


def _least_coils(
    design: Design, site: Site, weather: Weather, water: OpenWater, *, years: int
) -> Judged | None:
    """Return the shortest coils on the bottom of some water, or the nearest; None if its banks meet."""
    if water.depth < SHALLOWEST or water.bank_slope * water.depth >= math.sqrt(water.area / math.pi):
        return None
    own = design.ground_side
    longest = max(LONGEST, own.length if isinstance(own, Pond) else 0.0)
    if isinstance(own, Pond) and own.area <= water.area and own.depth <= water.depth:
        pond = own.replace(length=longest)
    else:
        pond = Pond.basin(
            area=water.area,
            depth=water.depth,
            bank_slope=water.bank_slope,
            pipe=own.pipe if isinstance(own, Pond) else USUAL_PIPE,
            circuits=_circuits(design),
            length=longest,
            weather=weather,
            extinction_depth=water.extinction_depth,
        )
    found = judged([design.replace(ground=ground(design, site), ground_side=pond)], years)
    return shortest(found.design, "length", (SHORTEST, longest), years) if found.holds else found


def _circuits(design: Design) -> int:
    """Return the number of coils: the design's, or one for each ton of heating or cooling."""
    if isinstance(design.ground_side, Pond):
        return design.ground_side.circuits
    demand = design.demand
    peak = max(float((demand["heating"] + demand["hot_water"]).max()), float(demand["cooling"].max()))
    return max(1, math.ceil(peak / WATTS_PER_COIL))
