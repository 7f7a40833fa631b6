"""What a bore field is built of."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.charts.outlines import nearest_edge
from loopdrift.ground_sides.quantities import Amount, Built, PipeLength, PlaceColumn, Places, inside_area
from loopdrift.model.clearance import along
from loopdrift.parts.bore import Bore, Coaxial, DoubleUTube

if TYPE_CHECKING:
    from loopdrift.ground_sides.bore_field.field import BoreField
    from loopdrift.parts.site_plan import SitePlan


def built(field: BoreField, site: SitePlan | None, bend_loss_coefficient: float) -> Built:
    """Return places, drilled length, pipes and grout of a bore field.

    Parameters
    ----------
    field : BoreField
        The field.
    site : SitePlan or None
        House and property lines.
    bend_loss_coefficient : float
        Sum of the loss coefficients at the bottom of a bore [-].
    """
    bores = [field.bores[at % len(field.bores)] for at in range(field.count)]
    drilled = math.fsum(bore.buried_depth + bore.depth for bore in bores)
    amounts = [
        Amount("Bores", field.count),
        Amount("Drilled length in total, from the surface", drilled, "m"),
        Amount("Diameter of the bores", 1e3 * bores[0].diameter, "mm"),
    ]
    notes = [
        "The drilled length of a bore is measured along it from the surface; grout fills its active length, "
        "and the length above as local code requires.",
    ]
    if bores[0].pipes is None:
        notes.append("The bores are given by a measured resistance, so their pipes and grout are unknown.")
        return Built(places=_places(field, bores, site), amounts=tuple(amounts), notes=tuple(notes))
    if not isinstance(bores[0].pipes, Coaxial):
        loops = 2 if isinstance(bores[0].pipes, DoubleUTube) else 1
        amounts.append(Amount("Bends at the bottom of the bores", loops * field.count))
        spacing = 1e3 * bores[0].pipes.shank_spacing
        amounts.append(Amount("Distance between the centres of the pipes of a loop", spacing, "mm", 1))
    return Built(
        places=_places(field, bores, site),
        amounts=tuple(amounts),
        pipes=tuple(_pipes(bores, bend_loss_coefficient)),
        grout=math.fsum(grout(bore) for bore in bores),
        notes=tuple(notes),
    )


def grout(bore: Bore) -> float:
    """Return the net volume of grout over the active length of a bore with known pipes [m3].

    Parameters
    ----------
    bore : Bore
        The bore.
    """
    pipes = bore.pipes
    outside = pipes.outer if isinstance(pipes, Coaxial) else pipes.pipe  # type: ignore[union-attr]
    count = 1.0 if isinstance(pipes, Coaxial) else bore.pipe_count
    return math.pi / 4.0 * (bore.diameter**2 - count * outside.outer_diameter**2) * bore.depth


def _pipes(bores: list[Bore], bend_loss_coefficient: float) -> list[PipeLength]:
    """Return the pipes in the bores, those of equal length together."""
    found, share = [], 1.0 / len(bores)
    for length, count in sorted(Counter(bore.buried_depth + bore.depth for bore in bores).items()):
        pipes = bores[0].pipes
        if isinstance(pipes, Coaxial):
            inner, outer = pipes.inner, pipes.outer
            gap = inside_area(outer) - math.pi / 4.0 * inner.outer_diameter**2
            for part, pipe, area in (
                ("bores, inner pipe", inner, inside_area(inner)),
                ("bores, outer pipe", outer, gap),
            ):
                found.append(
                    PipeLength(part=part, pipe=pipe, pieces=count, length=length, area=area, flow_share=share)
                )
            continue
        assert pipes is not None
        loops = 2 if isinstance(pipes, DoubleUTube) else 1
        found.append(
            PipeLength(
                part="bores, loops",
                pipe=pipes.pipe,
                pieces=loops * count,
                length=2.0 * length,
                area=inside_area(pipes.pipe),
                flow_share=share / loops,
                loss_coefficient=bend_loss_coefficient,
            )
        )
    return found


def _places(field: BoreField, bores: list[Bore], site: SitePlan | None) -> Places:
    columns = [
        PlaceColumn("x, east", "m", 2),
        PlaceColumn("y, north", "m", 2),
        PlaceColumn("Drilled length", "m", 1),
        PlaceColumn("Active from", "m", 1),
    ]
    cells = [
        [*field.positions[at].tolist(), bore.buried_depth + bore.depth, bore.buried_depth]
        for at, bore in enumerate(bores)
    ]
    if field.leans:
        columns += [PlaceColumn("Inclination", "deg", 0), PlaceColumn("Azimuth", "deg", 0)]
        for row, inclination, direction in zip(cells, field.inclination, field.direction, strict=True):
            row += [float(inclination), float(direction)]
    outlines = {} if site is None else {"To house": site.house, "To property line": site.property_lines}
    ends = np.stack([field.positions, field.feet], axis=1)
    for heading, corners in outlines.items():
        if corners is not None:
            columns.append(PlaceColumn(heading, "m", 1))
            for row, path in zip(cells, ends, strict=True):
                row.append(float(nearest_edge(along(path), corners).distances.min()))
    return Places("bore", tuple(columns), tuple(map(tuple, cells)), is_drilled=True)
