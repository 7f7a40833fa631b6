"""Bores on a site: the smallest number that fits on the land, at the least depth."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.bore_field.field import USUAL_SPACING, BoreField
from loopdrift.ground_sides.candidate import Candidate, least, ran, shortest
from loopdrift.parts.bore import USUAL_PIPE, Bore, UTube

if TYPE_CHECKING:
    from loopdrift.ground_sides.site import Drilling, Land, Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground_side import GroundSide

KIND = "bores"

SHALLOWEST = 20.0
"""Active depth below which bores are not drilled [m]; common practice, no source."""

MOST = 1000
"""Largest number of bores that is tried."""

RESOLUTION = 0.2
"""Smallest range of depths for the search [m]."""


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the fewest bores on the site's land with which the limits hold, at the least depth."""
    if site.drilling is None:
        return Candidate(KIND, ("Drilling is not allowed on this site.",))
    if site.land is None:
        return Candidate(KIND, ("The site has no free land for bores.",))
    bore, spacing = usual_bore(design.ground_side)
    deepest = site.drilling.max_depth - bore.buried_depth
    if deepest < SHALLOWEST + RESOLUTION:
        reason = (
            f"The maximum bore depth of {both(site.drilling.max_depth, 'm', '.1f')} leaves an active depth "
            f"of {both(deepest, 'm', '.1f')}; the minimum is {both(SHALLOWEST, 'm', 'g')}."
        )
        return Candidate(KIND, (reason,))
    base = _in_ground(design, site.drilling)
    layouts = _layouts(site.land, spacing)

    def of_place(place: int) -> Design:
        return base.replace(ground_side=_grid(bore.replace(depth=deepest), layouts[place], spacing))

    found = least(of_place, len(layouts), years)
    if found.holds:
        found = shortest(found, "depth", (SHALLOWEST, deepest), years)
    return ran(KIND, found, years)


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


def _in_ground(design: Design, drilling: Drilling) -> Design:
    return design if drilling.ground is None else design.replace(ground=drilling.ground)


def _layouts(land: Land, spacing: float) -> list[tuple[int, int]]:
    """Return columns and rows of the rectangles that fit, in ascending order of bores.

    For equal numbers of bores, the rectangle closest to a square comes first, then the single row, in which
    bores interact least.
    """
    most_columns, most_rows = (1 + int(side / spacing) for side in (land.longer, land.width))
    chosen: dict[int, tuple[int, int]] = {}
    for rows in range(1, most_rows + 1):
        for columns in range(rows, min(most_columns, MOST // rows) + 1):
            chosen[rows * columns] = columns, rows
    single = {(count, 1) for count in range(1, min(most_columns, MOST) + 1)}
    return sorted(single.union(chosen.values()), key=lambda layout: (math.prod(layout), layout[0]))


def _grid(bore: Bore, layout: tuple[int, int], spacing: float) -> BoreField:
    columns, rows = layout
    return BoreField.grid(bore, columns=columns, rows=rows, spacing=spacing)
