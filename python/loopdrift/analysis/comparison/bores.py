"""Bores on a site: the fewest that fit on its land, no deeper than they must."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loopdrift.analysis.comparison import usual
from loopdrift.analysis.comparison.candidate import Candidate, Judged, least, ran
from loopdrift.basics.both_units import both
from loopdrift.ground_sides.bore_field.field import BoreField

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.site import Drilling, Land, Site
    from loopdrift.parts.bore import Bore

KIND = "bores"

MOST = 1000
"""Greatest number of bores that is tried."""

RESOLUTION = 0.2
"""Least span of depths in which the depth is sought [m]."""


def candidate(design: Design, site: Site, years: int) -> Candidate:
    """Return the fewest bores on the site's land with which the limits hold, at the least depth."""
    if site.drilling is None:
        return Candidate(KIND, ("No bores may be drilled on this site.",))
    if site.land is None:
        return Candidate(KIND, ("The site has no land that is free for bores.",))
    bore, spacing = usual.bore(design.ground_side)
    deepest = site.drilling.deepest - bore.top
    if deepest < usual.SHALLOWEST_BORE + RESOLUTION:
        reason = (
            f"Bores may go down to {both(site.drilling.deepest, 'm', '.1f')}, {both(deepest, 'm', '.1f')} "
            f"below their buried tops; less than {both(usual.SHALLOWEST_BORE, 'm', 'g')} are not drilled."
        )
        return Candidate(KIND, (reason,))
    base = _in_ground(design, site.drilling)
    layouts = _layouts(site.land, spacing)

    def of_place(place: int) -> Design:
        return base.replace(ground_side=_grid(bore.replace(depth=deepest), layouts[place], spacing))

    found = least(of_place, len(layouts), years)
    if not found.beyond:
        sized = found.design.size("depth", years=years, between=(usual.SHALLOWEST_BORE, deepest))
        found = Judged(sized.design, found.margin, "")
    return ran(KIND, found, years)


def _in_ground(design: Design, drilling: Drilling) -> Design:
    return design if drilling.ground is None else design.replace(ground=drilling.ground)


def _layouts(land: Land, spacing: float) -> list[tuple[int, int]]:
    """Return columns and rows of the rectangles that fit, the fewest bores first.

    Of those with as many bores it is the one that is closest to a square, then the single row, in which bores
    disturb each other least.
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
