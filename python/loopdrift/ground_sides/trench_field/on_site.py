"""Trenches on a site, with straight pipes or coils: the smallest number that fits, at the least length."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.candidate import Candidate, least, ran, shortest
from loopdrift.ground_sides.trench_field.field import Coil, TrenchField
from loopdrift.parts.bore import USUAL_PIPE
from loopdrift.parts.ground.surface_wave import SurfaceWave

if TYPE_CHECKING:
    from typing import Any

    from loopdrift.ground_sides.site import Excavation, Site
    from loopdrift.model.design import Design
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.ground_side import GroundSide
    from loopdrift.parts.weather.weather import Weather

USUAL_DEPTH = 2.1
"""Depth of a trench, in the middle of the typical 1.8 to 2.4 m [m]; this and the values below: common
practice, no source."""

SHALLOWEST = 1.2
"""Minimum depth of a trench, as frost and summer heat reach shallower pipes [m]."""

SHORTEST = 10.0
"""Minimum length of a trench [m]."""

USUAL_SPACING = 4.0
"""Distance between the centre lines of neighbouring trenches [m]."""

GAP = 0.6
"""Distance between the four straight pipes of a trench, two side by side in each of two rows [m]."""


class Rings(NamedTuple):
    """The rings of a coil."""

    diameter: float
    pitch: float


USUAL_RINGS = Rings(diameter=0.9, pitch=0.45)
"""Rings of coils in trenches [m]."""

MOST = 200
"""Largest number of trenches that is tried."""

Form = Callable[["GroundSide", float], "dict[str, Any]"]
"""Returns the pipes or the coil of a trench with its bottom at a depth [m], modelled on the design's loop."""


def candidate(kind: str, design: Design, site: Site, years: int) -> Candidate:
    """Return the fewest and shortest trenches of a kind on the site's land with which the limits hold.

    They run along the longer side of the land. Pipe, spacing, depth, soil and surface are those of the design
    if it has trenches; otherwise soil and weather are the site's, and the other values are typical.
    """
    if site.excavation is None or site.weather is None:
        return Candidate(kind, ("Excavation is not allowed on this site.",))
    land = site.land
    if land is None:
        return Candidate(kind, ("The site has no free land for trenches.",))
    model = design.ground_side
    rock = np.inf if site.excavation.rock_depth is None else site.excavation.rock_depth
    if rock < SHALLOWEST:
        reason = (
            f"Rock at {both(rock, 'm', '.1f')} is too shallow: the minimum trench depth is "
            f"{both(SHALLOWEST, 'm', 'g')}."
        )
        return Candidate(kind, (reason,))
    depth = min(rock, model.bottom if isinstance(model, TrenchField) else USUAL_DEPTH)
    spacing = _spacing(model)
    soil, surface = _soil(design, site.excavation, site.weather)
    one = TrenchField(
        pipe=model.pipe if isinstance(model, TrenchField) else USUAL_PIPE,
        length=land.longer,
        spacing=spacing,
        surface=surface,
        **FORMS[kind](model, depth),
    )
    if land.longer < SHORTEST or land.width < one.width:
        reason = (
            f"The land, {both(land.longer, 'm')} by {both(land.width, 'm')}, is too small for a trench, "
            f"which is at least {both(SHORTEST, 'm', 'g')} long and {both(one.width, 'm', '.1f')} wide."
        )
        return Candidate(kind, (reason,))
    most = min(MOST, 1 + int((land.width - one.width) / spacing))
    base = design.replace(ground=soil, ground_side=one)

    def of_place(place: int) -> Design:
        return base.replace(ground_side=one.replace(trenches=place + 1))

    found = least(of_place, most, years)
    if found.holds and land.longer > SHORTEST + 1.0:
        found = shortest(found, "length", (SHORTEST, land.longer), years)
    return ran(kind, found, years)


def _spacing(model: GroundSide) -> float:
    own = model.spacing if isinstance(model, TrenchField) else None
    return USUAL_SPACING if own is None else own


def _soil(design: Design, excavation: Excavation, weather: Weather) -> tuple[Ground, SurfaceWave]:
    """Return soil and surface temperature wave: those of a design with trenches, else those of the site."""
    if isinstance(design.ground_side, TrenchField):
        return design.ground, design.ground_side.surface
    return excavation.soil, SurfaceWave.from_weather(weather)


def _straight(model: GroundSide, depth: float) -> dict[str, Any]:
    if isinstance(model, TrenchField) and model.pipes is not None:
        return {"pipes": model.pipes + np.array([0.0, depth - model.depth])}
    half = 0.5 * GAP
    return {"pipes": [[x, z] for z in (depth, depth - GAP) for x in (-half, half)]}


def _coil(model: GroundSide, depth: float, *, upright: bool) -> dict[str, Any]:
    own = model.coil if isinstance(model, TrenchField) else None
    rings = USUAL_RINGS
    if own is not None and own.upright == upright:
        rings = Rings(own.diameter, own.pitch)
    centre = depth - 0.5 * rings.diameter if upright else depth
    return {"coil": Coil(diameter=rings.diameter, pitch=rings.pitch, depth=centre, upright=upright)}


FORMS: dict[str, Form] = {
    "straight trench pipes": _straight,
    "flat trench coils": lambda model, depth: _coil(model, depth, upright=False),
    "upright trench coils": lambda model, depth: _coil(model, depth, upright=True),
}

LAYOUTS = {kind: functools.partial(candidate, kind) for kind in FORMS}
"""Layout of each form on a site."""
