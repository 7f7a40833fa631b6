"""What a trench field is built of."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.basics.words import counted
from loopdrift.ground_sides.quantities import Amount, Built, PipeLength, PlaceColumn, Places, inside_area

if TYPE_CHECKING:
    from loopdrift.ground_sides.trench_field.field import TrenchField


def built(field: TrenchField) -> Built:
    """Return places, trench length and pipes of a trench field.

    Parameters
    ----------
    field : TrenchField
        The field.
    """
    columns = (
        PlaceColumn("Begins at x", "m", 2),
        PlaceColumn("Begins at y", "m", 2),
        PlaceColumn("Length", "m", 1),
        PlaceColumn("Lowest pipe", "m", 2),
        PlaceColumn("Width of the pipes", "m", 2),
    )
    rows = tuple(
        (*begin, field.length, field.bottom, field.width)
        for begin in field.in_plan(np.column_stack([field.middles, 0.0 * field.middles])).tolist()
    )
    amounts = [
        Amount("Trenches", field.trenches),
        Amount("Length of trench in total", field.trenches * field.length, "m"),
        Amount("Azimuth of the trenches, clockwise from north", field.direction, "deg"),
        Amount("Pipes in parallel", field.count),
    ]
    if field.pipes is not None:
        depths, counts = np.unique(field.pipes[:, 1], return_counts=True)
        for depth, count in zip(depths.tolist(), counts.tolist(), strict=True):
            amounts.append(Amount(f"Depth of {counted(count, 'pipe')} in each trench", depth, "m", 2))
        apart = np.unique(np.diff(np.unique(field.pipes[:, 0])).round(4))
        if len(apart) == 1:
            label = "Distance between pipes side by side, centre to centre"
            amounts.append(Amount(label, float(apart[0]), "m", 2))
    notes = ["The pipes between the trenches and the header are not included unless piping lists them."]
    if field.coil is not None:
        amounts += [
            Amount("Depth of the rings' centres", field.coil.depth, "m", 2),
            Amount("Rings in each trench", field.rings),
            Amount("Diameter of the rings", field.coil.diameter, "m", 2),
            Amount("Distance between rings", field.coil.pitch, "m", 2),
        ]
        notes.append(f"The return pipe along each coil, {both(field.length, 'm', '.1f')}, is not included.")
    pipes = PipeLength(
        part="trenches",
        pipe=field.pipe,
        pieces=field.count,
        length=field.total_length / field.count,
        area=inside_area(field.pipe),
        flow_share=1.0 / field.count,
    )
    return Built(
        places=Places("trench", columns, rows), amounts=tuple(amounts), pipes=(pipes,), notes=tuple(notes)
    )
