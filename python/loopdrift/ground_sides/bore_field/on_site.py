"""Bores on a site: the smallest number that fits on the land, at the least depth."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, cast

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.bore_field.arrangement import on_plot
from loopdrift.ground_sides.bore_field.field import MOST_ON_PLOT, USUAL_SPACING, BoreField
from loopdrift.ground_sides.candidate import Candidate, ran
from loopdrift.ground_sides.judged import Judged, least, shortest
from loopdrift.ground_sides.placement import in_words, placed, rectangle
from loopdrift.ground_sides.remedies import relaxed
from loopdrift.ground_sides.site import Land
from loopdrift.parts.bore import USUAL_PIPE, Bore, UTube

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.ground_side import GroundSide

KIND = "bores"

SHALLOWEST = 20.0
"""Active depth below which bores are not drilled [m]; common practice, no source."""

RESOLUTION = 0.2
"""Smallest range of depths for the search [m]."""

DEPTHS = [SHALLOWEST + 1.01 * RESOLUTION, *(SHALLOWEST * 2.0**step for step in (1, 2, 3))]
"""Active depths that are tried where those that are allowed are too small [m]."""

LANDS = [25.0 * 4.0**step for step in range(6)]
"""Areas of square land that are tried for bores where a site has none [m2]."""

ROUNDING = 1e-9
"""Relative tolerance of the allowed depth."""

NO_DRILLING = "Drilling is not allowed on this site."
NO_LAND = "The site has no free land for bores."


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the fewest bores on the site's land with which the limits hold, at the least depth."""
    if site.drilling is None:
        return Candidate(KIND, (NO_DRILLING,))
    top = usual_bore(design.ground_side)[0].buried_depth
    allowed = site.drilling.max_depth
    if site.land is None:
        lands = (_fewest(design, site, Land(area=area), allowed, years) for area in LANDS)
        return Candidate(KIND, (NO_LAND,), None, relaxed(lands, site))
    if allowed - top < SHALLOWEST + RESOLUTION:
        reason = (
            f"The maximum bore depth of {both(allowed, 'm', '.1f')} leaves an active depth of "
            f"{both(allowed - top, 'm', '.1f')}; the minimum is {both(SHALLOWEST, 'm', 'g')}."
        )
        deeper = (_fewest(design, site, site.land, depth + top, years) for depth in DEPTHS)
        return Candidate(KIND, (reason,), None, relaxed(deeper, site))
    return ran(KIND, _fewest(design, site, site.land, allowed, years), site, years)


def _fewest(design: Design, site: Site, land: Land, allowed: float, years: int) -> Judged:
    """Return the fewest bores on some land, at the least depth down to that allowed [m], or the nearest."""
    bore, spacing = usual_bore(design.ground_side)
    deepest = bore.replace(depth=allowed - bore.buried_depth)
    base = design.replace(ground=ground(design, site))
    layouts = [each.positions for each in on_plot(rectangle(land.longer, land.width), spacing, MOST_ON_PLOT)]

    def of_place(place: int) -> Design:
        return base.replace(ground_side=BoreField(deepest, positions=layouts[place]))

    found = least(of_place, len(layouts), years)
    return shortest(found.design, "depth", (SHALLOWEST, deepest.depth), years) if found.holds else found


def ground(design: Design, site: Site) -> Ground:
    """Return the ground along bores: that of a design with bores, else that of the site if it states one."""
    if isinstance(design.ground_side, BoreField) or site.drilling is None or site.drilling.ground is None:
        return design.ground
    return site.drilling.ground


def objections(design: Design, site: Site) -> Iterator[str]:
    """Yield what the bores of a design need and the site doesn't offer."""
    field = cast(BoreField, design.ground_side)
    if site.drilling is None:
        yield NO_DRILLING
    else:
        tops = np.resize([bore.buried_depth for bore in field.bores], field.count)
        deepest = float(((field.depths + tops) * np.cos(np.radians(field.inclination))).max())
        if deepest > site.drilling.max_depth * (1.0 + ROUNDING):
            yield (
                f"It needs drilling down to {both(deepest, 'm', '.1f')}; the site allows "
                f"{both(site.drilling.max_depth, 'm', '.1f')}."
            )
    if site.land is None:
        yield NO_LAND
        return
    points = np.concatenate([field.positions, field.feet]) if field.leans else field.positions
    if placed(points, rectangle(site.land.longer, site.land.width), USUAL_SPACING) is None:
        needed = in_words(*np.ptp(points, axis=0).tolist())
        yield f"It needs land of {needed}; the site has {in_words(site.land.longer, site.land.width)}."


def usual_bore(model: GroundSide) -> tuple[Bore, float]:
    """Return the bore of a design, or a typical one, and the spacing of bores [m]."""
    if isinstance(model, BoreField):
        deepest = max(model.bores, key=lambda bore: bore.depth)
        is_grid = model.count > 1 and not model.leans
        return deepest, model.spacing if is_grid else USUAL_SPACING
    pipes = UTube(pipe=USUAL_PIPE, shank_spacing=0.075)
    return Bore(
        depth=100.0, buried_depth=1.5, diameter=0.15, grout_conductivity=1.5, pipes=pipes
    ), USUAL_SPACING
