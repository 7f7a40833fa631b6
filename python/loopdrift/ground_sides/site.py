"""A site: what is available for a ground loop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import require_within
from loopdrift.basics.part import Checked, FacePart, Figure, OptionalFigure, Several, require
from loopdrift.ground_sides.proposal import Proposal
from loopdrift.parts.aquifer import Aquifer, WaterLimit, mass_flow_of_water
from loopdrift.parts.constructors import Constructor, register
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, kw_only=True)
class Land(FacePart):
    """Free land for bores and trenches, treated as a rectangle.

    Parameters
    ----------
    area : float or str
        Area [m2].
    length : float or str, optional
        Longer side [m]; by default the side of a square.

    Raises
    ------
    InvalidInput
        If a value is outside its range, or the length is shorter than the side of a square.

    Examples
    --------
    >>> round(Land(area="1 acre", length="120 m").width, 1)
    33.7
    """

    area: Figure = Figure("m2", least=1.0, most=1e8)
    length: OptionalFigure = OptionalFigure("m", least=1.0, most=1e5)

    def __post_init__(self) -> None:
        side = math.sqrt(self.area)
        if self.length is not None and self.length < side * (1.0 - 1e-9):
            allowed = f"must be at least {side:.1f} m, the side of a square of {self.area:,.0f} m2"
            raise InvalidInput("Land", "length", self.length, "m", allowed)

    @property
    def longer(self) -> float:
        """Longer side [m]."""
        return math.sqrt(self.area) if self.length is None else self.length

    @property
    def width(self) -> float:
        """Shorter side [m]."""
        return self.area / self.longer

    @property
    def diagonal(self) -> float:
        """Diagonal [m]."""
        return math.hypot(self.longer, self.width)

    def __str__(self) -> str:
        return f"{both(self.area, 'm2')} of land, {both(self.longer, 'm')} by {both(self.width, 'm')}"


@dataclass(frozen=True, kw_only=True)
class Drilling(FacePart):
    """Drilling conditions on the site.

    Parameters
    ----------
    max_depth : float or str
        Maximum depth of a bore, as limited by the permit or the rig [m].
    ground : Ground, optional
        The ground along the bores; by default that of the design.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or the depth is outside its range.
    """

    max_depth: Figure = Figure("m", least=1.0, most=1000.0)
    ground: Ground | None = None

    def __post_init__(self) -> None:
        if self.ground is not None:
            require(self.ground, Ground, owner="Drilling", field="ground")


@dataclass(frozen=True, kw_only=True)
class Excavation(FacePart):
    """Excavation conditions on the site.

    Parameters
    ----------
    soil : Ground
        The soil; its temperature is the yearly mean at the surface.
    rock_depth : float or str, optional
        Depth to rock [m], 0 at an outcrop; omitted if no trench reaches rock.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or the depth is outside its range.
    """

    soil: Ground
    rock_depth: OptionalFigure = OptionalFigure("m", least=0.0, most=1000.0)

    def __post_init__(self) -> None:
        require(self.soil, Ground, owner="Excavation", field="soil")


@dataclass(frozen=True, kw_only=True)
class OpenWater(FacePart):
    """A pond that can take coils on its bottom.

    Parameters
    ----------
    area : float or str
        Surface area at the lowest level of the year [m2].
    depth : float or str
        Greatest depth at that level [m].
    bank_slope : float or str, default 3
        Slope of the banks, horizontal over vertical [-].
    extinction_depth : float or str, default 1
        Depth at which light is attenuated to 1/e [m].

    Raises
    ------
    InvalidInput
        If a value is outside its range.
    """

    area: Figure = Figure("m2", least=1.0, most=1e8)
    depth: Figure = Figure("m", least=0.1, most=100.0)
    bank_slope: Figure = Figure("", least=0.0, most=100.0, default=3.0)
    extinction_depth: Figure = Figure("m", least=0.05, most=50.0, default=1.0)

    def __str__(self) -> str:
        return f"{both(self.area, 'm2')} of open water, {both(self.depth, 'm', '.1f')} deep"


def _yield(value: float | str, *, owner: str, field: str) -> float:
    """Return the sustained yield of a well [kg/s]."""
    found = mass_flow_of_water(value, owner=owner, field=field)
    require_within(found, "kg/s", owner=owner, field=field, least=1e-3, most=1e4)
    return found


@dataclass(frozen=True, kw_only=True)
class Groundwater(FacePart):
    """Groundwater that is available to a well.

    Parameters
    ----------
    aquifer : Aquifer
        The aquifer.
    sustained_yield : float or str
        Sustained yield of a well, from a pumping test [kg/s], or a volume flow as text.
    lift : float or str
        Height from the static water level to the point of discharge, plus friction losses [m].
    lowest_discharge : float or str
        Minimum discharge temperature [degC].
    return_distance : float or str, optional
        Possible distance of a return well [m]; without it, the water is discharged to a surface body.
    available_drawdown : float or str, optional
        Maximum drawdown in the well [m].
    depth : float or str, optional
        Depth of a well [m]; affects only its price.
    quality : WaterLimit or sequence of WaterLimit, optional
        Results of a water analysis. Without them, a well counts as infeasible.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a value is outside its range.
    """

    aquifer: Aquifer
    sustained_yield: Checked[float] = Checked(_yield)
    lift: Figure = Figure("m", least=0.0, most=1000.0)
    lowest_discharge: Figure = Figure("degC", least=0.0, most=50.0)
    return_distance: OptionalFigure = OptionalFigure("m", least=1.0, most=1e5)
    available_drawdown: OptionalFigure = OptionalFigure("m", least=0.01, most=1000.0)
    depth: OptionalFigure = OptionalFigure("m", least=1.0, most=1000.0)
    quality: Several[WaterLimit] = Several(WaterLimit)

    def __post_init__(self) -> None:
        require(self.aquifer, Aquifer, owner="Groundwater", field="aquifer")


@dataclass(frozen=True, kw_only=True)
class Site(FacePart):
    """A site; whatever is omitted is not available.

    Parameters
    ----------
    land : Land, optional
        Free land for bores and trenches.
    drilling : Drilling, optional
        Drilling conditions, if drilling is allowed.
    excavation : Excavation, optional
        Excavation conditions, if excavation is allowed.
    water : OpenWater, optional
        Open water on the site.
    groundwater : Groundwater, optional
        Groundwater below the site.
    weather : Weather, optional
        Weather of one year, which drives the surface above trenches and ponds; required with `excavation` or
        `water`.
    candidates : sequence of Proposal, optional
        Loops that the designer proposes, compared beside those that are found.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or the weather is missing.

    Examples
    --------
    >>> site = Site(land=Land(area="2 acre"), drilling=Drilling(max_depth="400 ft"))
    >>> print(site)
    8,094 m2 (87,120 ft2) of land, 90 m (295 ft) by 90 m (295 ft); bores down to 121.9 m (400 ft)
    """

    land: Land | None = None
    drilling: Drilling | None = None
    excavation: Excavation | None = None
    water: OpenWater | None = None
    groundwater: Groundwater | None = None
    weather: Weather | None = None
    candidates: Several[Proposal] = Several(Proposal)

    def __post_init__(self) -> None:
        names = [each.name for each in self.candidates]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise InvalidInput("Site", "candidates", repr(twice), "", "must each have a name of their own")
        kinds: Mapping[str, type] = {
            "land": Land,
            "drilling": Drilling,
            "excavation": Excavation,
            "water": OpenWater,
            "groundwater": Groundwater,
            "weather": Weather,
        }
        for name, kind in kinds.items():
            if getattr(self, name) is not None:
                require(getattr(self, name), kind, owner="Site", field=name)
        needs = next((name for name in ("excavation", "water") if getattr(self, name) is not None), None)
        if needs is not None and self.weather is None:
            allowed = f"must be given with {needs}: it drives the surface temperature"
            raise InvalidInput("Site", "weather", None, "", allowed)

    def __str__(self) -> str:
        offers = [str(part) for part in (self.land, self.water) if part is not None]
        if self.drilling is not None:
            offers.append(f"bores down to {both(self.drilling.max_depth, 'm', '.1f')}")
        if self.excavation is not None:
            rock = self.excavation.rock_depth
            offers.append("trenches" if rock is None else f"trenches above rock at {both(rock, 'm', '.1f')}")
        if self.groundwater is not None:
            offers.append(f"groundwater of {both(self.groundwater.sustained_yield, 'kg/s', '.2f')}")
        return "; ".join(offers) if offers else "nothing"


register(Site, {"": Constructor(Site, {"candidate": "candidates"})})
