"""What a well is built of."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from loopdrift.ground_sides.quantities import Amount, Built, PlaceColumn, Places

if TYPE_CHECKING:
    from loopdrift.ground_sides.well.well import Well


def built(well: Well, flow: float) -> Built:
    """Return wells and flow.

    Parameters
    ----------
    well : Well
        The well.
    flow : float
        Flow of the design, used if the well has none of its own [kg/s].
    """
    depth = math.nan if well.depth is None else well.depth
    columns = (
        PlaceColumn("Diameter at the screen", "mm"),
        PlaceColumn("Depth", "m", 1),
        PlaceColumn("Distance from well 1", "m", 1),
    )
    places = [0.0] if well.return_distance is None else [0.0, well.return_distance]
    amounts = [
        Amount("Wells", well.wells),
        Amount("Flow while pumping", flow if well.flow is None else well.flow, "kg/s", 2),
        Amount("Sustained yield required", well.sustained_yield, "kg/s", 2),
        Amount("Lift from the static water level, with friction", well.lift, "m", 1),
    ]
    if well.available_drawdown is not None:
        amounts.append(Amount("Drawdown available", well.available_drawdown, "m", 1))
    return Built(
        places=Places(
            "well",
            columns,
            tuple((1e3 * well.diameter, depth, place) for place in places),
            is_drilled=True,
        ),
        amounts=tuple(amounts),
        notes=(
            "Well 2 is the return well." if len(places) > 1 else "The water is discharged to a surface body.",
            "Casing, screen, well pump and riser follow from the drilling log and the pumping test.",
        ),
    )
