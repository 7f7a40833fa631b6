"""Trenches on a site, with straight pipes or coils: the smallest number that fits, at the least length."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple, cast

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.candidate import Candidate, ran
from loopdrift.ground_sides.judged import Judged, least, shortest
from loopdrift.ground_sides.placement import in_words, rectangle
from loopdrift.ground_sides.remedies import larger, relaxed
from loopdrift.ground_sides.site import Land
from loopdrift.ground_sides.trench_field.field import USUAL_SPACING, Coil, TrenchField
from loopdrift.parts.bore import USUAL_PIPE
from loopdrift.parts.ground.surface_wave import SurfaceWave

if TYPE_CHECKING:
    from typing import Any

    from loopdrift.ground_sides.site import Site
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

SMALLEST_LAND = 100.0
"""Area above which land is tried for trenches if a site has none [m2]."""

GROWTH, STEPS = 1.5, 16
"""Ratio of areas of land that are tried where that of a site is too small, and their number."""

DEPTHS = (SHALLOWEST, 1.5, 1.8, USUAL_DEPTH)
"""Depths of rock that are tried where it is shallower [m]."""

NO_EXCAVATION = "Excavation is not allowed on this site."
NO_LAND = "The site has no free land for trenches."

Form = Callable[["GroundSide", float], "dict[str, Any]"]
"""Returns the pipes or the coil of a trench with its bottom at a depth [m], modelled on the design's loop."""


def candidate(kind: str, design: Design, site: Site, years: int) -> Candidate:
    """Return the fewest and shortest trenches of a kind on the site's land with which the limits hold.

    They run along the longer side of the land. Pipe, spacing, depth, soil and surface are those of the design
    if it has trenches; otherwise soil and weather are the site's, and the other values are typical.
    """
    if site.excavation is None or site.weather is None:
        return Candidate(kind, (NO_EXCAVATION,))
    surface = _surface(design.ground_side, site.weather)
    fewest = functools.partial(
        _fewest, kind, design.replace(ground=ground(design, site)), surface, years=years
    )
    land, rock = site.land, np.inf if site.excavation.rock_depth is None else site.excavation.rock_depth
    on_more_land = (fewest(each, max(rock, SHALLOWEST)) for each in _more_land(land))
    if land is None:
        return Candidate(kind, (NO_LAND,), None, relaxed(on_more_land, site))
    if rock < SHALLOWEST:
        reason = (
            f"Rock at {both(rock, 'm', '.1f')} is too shallow: the minimum trench depth is "
            f"{both(SHALLOWEST, 'm', 'g')}."
        )
        deeper = (fewest(land, depth) for depth in DEPTHS)
        return Candidate(kind, (reason,), None, relaxed(deeper, site))
    found = fewest(land, rock)
    if found is None:
        reason = (
            f"The land, {both(land.longer, 'm')} by {both(land.width, 'm')}, is too small for a trench, "
            f"which is at least {both(SHORTEST, 'm', 'g')} long."
        )
        return Candidate(kind, (reason,), None, relaxed(on_more_land, site))

    def remedies() -> tuple[str, ...]:
        return relaxed(on_more_land, site) or larger(found.design, site, years)

    return ran(kind, found, site, years, remedies=remedies)


def _fewest(
    kind: str, design: Design, surface: SurfaceWave, land: Land, rock: float, *, years: int
) -> Judged | None:
    """Return the fewest and shortest trenches on some land above rock [m], or the nearest, if any fit."""
    model = design.ground_side
    depth = min(rock, model.bottom if isinstance(model, TrenchField) else USUAL_DEPTH)
    one = TrenchField(
        pipe=model.pipe if isinstance(model, TrenchField) else USUAL_PIPE,
        length=land.longer,
        spacing=_spacing(model),
        surface=surface,
        **FORMS[kind](model, depth),
    )
    if land.longer < SHORTEST or land.width < one.width:
        return None
    most = min(MOST, 1 + int((land.width - one.width) / _spacing(model)))

    def of_place(place: int) -> Design:
        return design.replace(ground_side=one.replace(trenches=place + 1))

    found = least(of_place, most, years)
    if found.holds and land.longer > SHORTEST + 1.0:
        found = shortest(found.design, "length", (SHORTEST, land.longer), years)
    return found


def _more_land(land: Land | None) -> Iterator[Land]:
    """Yield land of the same shape and growing area; a square if there is no land."""
    for step in range(1, STEPS):
        if land is None:
            yield Land(area=SMALLEST_LAND * GROWTH**step)
        else:
            yield Land(area=land.area * GROWTH**step, length=land.longer * GROWTH ** (0.5 * step))


def ground(design: Design, site: Site) -> Ground:
    """Return the soil: that of a design with trenches, else that of the site if it states one."""
    if isinstance(design.ground_side, TrenchField) or site.excavation is None:
        return design.ground
    return site.excavation.soil


def objections(design: Design, site: Site) -> Iterator[str]:
    """Yield what the trenches of a design need and the site doesn't offer."""
    field = cast(TrenchField, design.ground_side)
    if site.excavation is None:
        yield NO_EXCAVATION
    elif site.excavation.rock_depth is not None and field.bottom > site.excavation.rock_depth * (
        1.0 + ROUNDING
    ):
        yield (
            f"It needs trenches down to {both(field.bottom, 'm', '.2f')}; the site has rock at "
            f"{both(site.excavation.rock_depth, 'm', '.2f')}."
        )
    if site.land is None:
        yield NO_LAND
    elif field.placed_on(rectangle(site.land.longer, site.land.width)) is None:
        needed, offered = in_words(field.length, field.across), in_words(site.land.longer, site.land.width)
        yield f"It needs land of {needed}; the site has {offered}."


ROUNDING = 1e-9
"""Relative tolerance of the depth of rock."""


def _spacing(model: GroundSide) -> float:
    own = model.spacing if isinstance(model, TrenchField) else None
    return USUAL_SPACING if own is None else own


def _surface(model: GroundSide, weather: Weather) -> SurfaceWave:
    """Return the surface temperature wave of a design with trenches, else that of the site."""
    return model.surface if isinstance(model, TrenchField) else SurfaceWave.from_weather(weather)


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
