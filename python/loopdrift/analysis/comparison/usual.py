"""Loops as they are usually built, where a design has none of their kind; common practice, no source."""

from __future__ import annotations

from typing import NamedTuple

from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.kinds import GroundSide
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.parts.bore import Bore, Pipe, UTube

PIPE = Pipe.sdr(11, outer_diameter=0.032)

SPACING_OF_BORES = 6.0
"""Distance between neighbouring bores [m]."""

SHALLOWEST_BORE = 20.0
"""Active depth below which bores are not drilled [m]."""

TRENCH_DEPTH = 2.1
"""Depth of a trench, in the middle of the usual 1.8 to 2.4 m [m]."""

SHALLOWEST_TRENCH = 1.2
"""Depth below which trenches are not dug: the frost and the summer reach their pipes [m]."""

SHORTEST_TRENCH = 10.0
"""Length below which trenches are not dug [m]."""

SPACING_OF_TRENCHES = 4.0
"""Distance between the middles of neighbouring trenches [m]."""

SHALLOWEST_POND = 1.0
"""Depth of the shallowest pond whose water is reckoned in layers [m]."""

LONGEST_COIL = 300.0
"""Length of the longest coil that is laid in one piece in a pond [m]."""

SHORTEST_COIL = 10.0
"""Length of the shortest [m]."""

WATTS_PER_COIL = 3517.0
"""Heating for which a pond has one coil, a ton [W]."""


def bore(model: GroundSide) -> tuple[Bore, float]:
    """Return the bore of a design, or a usual one, and the distance between neighbours [m]."""
    if isinstance(model, BoreField):
        deepest = max(model.bores, key=lambda bore: bore.depth)
        is_grid = model.count > 1 and not model.leans
        return deepest, model.spacing if is_grid else SPACING_OF_BORES
    pipes = UTube(pipe=PIPE, centre_spacing=0.075)
    usual = Bore(depth=100.0, top=1.5, diameter=0.15, grout_conductivity=1.5, pipes=pipes)
    return usual, SPACING_OF_BORES


class Coils(NamedTuple):
    """The rings of a coil."""

    diameter: float
    pitch: float


COILS = Coils(diameter=0.9, pitch=0.45)
"""Rings of coils in trenches [m]."""

GAP = 0.6
"""Distance between the straight pipes of a trench, two beside and two above each other [m]."""


def trench_pipe(model: GroundSide) -> Pipe:
    """Return the pipe in trenches."""
    return model.pipe if isinstance(model, TrenchField) else PIPE


def trench_spacing(model: GroundSide) -> float:
    """Return the distance between the middles of neighbouring trenches [m]."""
    own = model.spacing if isinstance(model, TrenchField) else None
    return SPACING_OF_TRENCHES if own is None else own


def pond_pipe(model: GroundSide) -> Pipe:
    """Return the pipe of coils in a pond."""
    return model.pipe if isinstance(model, Pond) else PIPE


class WellPlant(NamedTuple):
    """What goes into and beside a well."""

    diameter: float
    pump_efficiency: float
    effectiveness: float | None
    pump_stops: bool


def well_plant(model: GroundSide) -> WellPlant:
    """Return the well's diameter [m], its pump and its exchanger's effectiveness [-]."""
    if isinstance(model, Well):
        return WellPlant(model.diameter, model.pump_efficiency, model.effectiveness, model.pump_stops)
    return WellPlant(diameter=0.3, pump_efficiency=0.45, effectiveness=0.8, pump_stops=True)
