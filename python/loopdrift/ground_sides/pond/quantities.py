"""What the coils in a pond are built of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.ground_sides.quantities import Amount, Built, PipeLength, PlaceColumn, Places, inside_area

if TYPE_CHECKING:
    from loopdrift.ground_sides.pond.pond import Pond


def built(pond: Pond) -> Built:
    """Return coils and pipe of a pond.

    Parameters
    ----------
    pond : Pond
        The pond.
    """
    columns = (PlaceColumn("Pipe", "m", 1), PlaceColumn("Depth of the water", "m", 1))
    pipes = PipeLength(
        part="coils",
        pipe=pond.pipe,
        pieces=pond.circuits,
        length=pond.length,
        area=inside_area(pond.pipe),
        flow_share=1.0 / pond.circuits,
    )
    return Built(
        places=Places("coil", columns, ((pond.length, pond.depth),) * pond.circuits),
        amounts=(
            Amount("Coils in parallel", pond.circuits),
            Amount("Surface of the pond", pond.area, "m2"),
            Amount("Volume of the water", pond.volume, "m3"),
        ),
        pipes=(pipes,),
        notes=(
            "The coils lie apart from each other at the deepest place, weighted so that they stay down.",
            "The pipes between the coils and the header are not included unless piping lists them.",
        ),
    )
