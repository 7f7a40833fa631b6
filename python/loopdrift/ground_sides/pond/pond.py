"""A pond with coils on its bottom."""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Self

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics import units
from loopdrift.basics.both_units import both, significant
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import Number, OptionalNumber, require
from loopdrift.basics.words import counted
from loopdrift.parts.bore import Pipe
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground_side import GroundSide, Measure, largest_number
from loopdrift.parts.hydraulics.steps import Step, through_pipes
from loopdrift.parts.hydraulics.turbulence import BoreFlow, pipe_flow
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.hydraulics.channel import Liquid
    from loopdrift.parts.site_plan import SitePlan

_ROWS_OF_BASIN = 13
_AREA, _DEPTH, _SLOPE = Range("m2", above=0.0), Range("m", above=0.0), Range(least=0.0)
_NEEDED = {"relative_humidity": "%", "ghi": "W/m2", "wind_speed": "m/s", "latitude": "deg"}


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Pond(GroundSide):
    """A body of fresh water open to the sky, with equal coils in parallel on its bottom.

    Parameters
    ----------
    bathymetry : array_like
        Depth below the surface [m] and area of the water there [m2], shape (n, 2), numbers or text with
        units; the first depth is 0, and areas don't increase with depth. Interpolation is linear.
    pipe : Pipe
        The pipe of the coils.
    circuits : int
        Number of coils; each has an equal share of the flow.
    length : float or str
        Length of the pipe of each coil [m].
    weather : Weather
        Air temperature, humidity, global radiation and wind, with the latitude; wind measured 10 m above
        ground.
    extinction_depth : float or str, default 1.0
        Depth at which light is attenuated to 1/e [m]; about half the depth at which a white disc is last seen
        (common practice, no source).
    inflow : float or str, default 0
        Water that flows in and out at the surface [kg/s].
    inflow_temperature : float or str, optional
        Its temperature [degC]; required with an inflow.

    Raises
    ------
    InvalidInput
        If the bathymetry is invalid, the weather lacks a series, or a value is outside its range.

    Notes
    -----
    The water has six layers of equal thickness. They exchange heat by solar radiation (Beer's law), longwave
    radiation of the sky (Brutsaert 1975; clouds from daily radiation, Crawford & Duchon 1999), convection and
    evaporation (McJannet, Webster & Cook 2012; Bowen 1926), conduction to the ground below, wind mixing
    (Henderson-Sellers 1985), and overturning if an upper layer is denser (Kell 1975). Bare ice grows and
    melts by conduction through it (Stefan). Pipes lie in the lowest layer, with natural convection around
    them (Churchill & Chu 1975). The time step is one hour, implicit; the years before the run have the same
    weather and no loads.

    No history is compressed: the water and four cells of ground below carry it. The run's error includes the
    effects of the hourly time step, and of the film around the coils, which doesn't quite match the heat of
    the hour; the effect of six layers instead of more is not known.

    Neglected: snow, shading and sheltering by the banks, seepage of groundwater, waves, ice on the pipes and
    mud over them. The level is constant: evaporation is replaced by water at the surface temperature.

    Examples
    --------
    >>> pond = Pond.basin(
    ...     area="1.25 acre",
    ...     depth="12 ft",
    ...     bank_slope=3.0,
    ...     pipe=Pipe.sdr(11, outer_diameter=0.032),
    ...     circuits=8,
    ...     length=90.0,
    ...     weather=Weather.sample("cold continental"),
    ... )
    >>> round(pond.area), round(pond.volume), pond.total_length
    (5059, 13906, 720.0)
    """

    bathymetry: NDArray[np.float64]
    pipe: Pipe
    circuits: int
    length: Number = Number()
    weather: Weather
    extinction_depth: Number = Number(default=1.0)
    inflow: Number = Number(default=0.0)
    inflow_temperature: OptionalNumber = OptionalNumber()

    def __post_init__(self) -> None:
        require(self.pipe, Pipe, owner="Pond", field="pipe")
        require(self.circuits, int, owner="Pond", field="circuits")
        require(self.weather, Weather, owner="Pond", field="weather")
        object.__setattr__(self, "bathymetry", _table(self.bathymetry))
        super().__post_init__()

    def _key(self) -> tuple[Any, ...]:
        numbers = (self.circuits, self.length, self.extinction_depth, self.inflow, self.inflow_temperature)
        return (self.bathymetry.tobytes(), self.pipe, *numbers)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Pond):
            return NotImplemented
        return self._key() == other._key() and self.weather == other.weather

    def __hash__(self) -> int:
        return hash(self._key())

    @classmethod
    def basin(
        cls,
        *,
        area: Annotated[float | str, _AREA],
        depth: Annotated[float | str, _DEPTH],
        bank_slope: Annotated[float | str, _SLOPE],
        pipe: Pipe,
        circuits: int,
        length: float | str,
        weather: Weather,
        extinction_depth: float | str = 1.0,
        inflow: float | str = 0.0,
        inflow_temperature: float | str | None = None,
    ) -> Self:
        """Return a round pond with a flat bottom and banks of constant slope.

        Parameters
        ----------
        area : float or str
            Surface area [m2].
        depth : float or str
            Greatest depth [m].
        bank_slope : float or str
            Slope of the banks, horizontal over vertical [-]; 0 for vertical banks.
        pipe : Pipe
            The pipe of the coils.
        circuits : int
            Number of coils.
        length : float or str
            Length of the pipe of each coil [m].
        weather : Weather
            The weather.
        extinction_depth : float or str, default 1.0
            Depth at which light is attenuated to 1/e [m].
        inflow : float or str, default 0
            Water that flows in and out at the surface [kg/s].
        inflow_temperature : float or str, optional
            Its temperature [degC].

        Returns
        -------
        Pond
            The pond.

        Raises
        ------
        InvalidInput
            If the banks meet above the bottom, or as for the constructor.
        """
        surface = _AREA.of(area, owner="Pond", field="area")
        deepest = _DEPTH.of(depth, owner="Pond", field="depth")
        slope = _SLOPE.of(bank_slope, owner="Pond", field="bank_slope")
        radius = math.sqrt(surface / math.pi)
        if slope >= radius / deepest:
            allowed = f"must be from 0 to below {radius / deepest:.4g}, where the banks meet above the bottom"
            raise InvalidInput("Pond", "bank_slope", slope, "", allowed)
        depths = np.linspace(0.0, deepest, _ROWS_OF_BASIN)
        return cls(
            bathymetry=np.column_stack([depths, math.pi * (radius - slope * depths) ** 2]),
            pipe=pipe,
            circuits=circuits,
            length=length,
            weather=weather,
            extinction_depth=extinction_depth,
            inflow=inflow,
            inflow_temperature=inflow_temperature,
        )

    branch = "coil"
    wall = "water at the coils"

    @property
    def sizes(self) -> Mapping[str, Measure | None]:
        """Length of each coil, and number of coils."""
        return {"length": Measure("m", (10.0, 1000.0), 0.1), "coils": None}

    def size_of(self, what: str) -> float:
        """Return the length of each coil [m], or the number of coils."""
        return {"length": self.length, "coils": float(self.circuits)}[what]

    def family(self, plan: SitePlan | None = None) -> list[Self]:
        """Return the pond with 1 to twice as many coils, at least up to 12; a plot doesn't matter."""
        most = largest_number(self.circuits)
        return [self.replace(circuits=number) for number in range(1, most + 1)]

    @property
    def count(self) -> int:
        """Number of coils in parallel."""
        return self.circuits

    @property
    def total_length(self) -> float:
        """Total length of all coils [m]."""
        return self.circuits * self.length

    @property
    def area(self) -> float:
        """Surface area [m2]."""
        return float(self.bathymetry[0, 1])

    @property
    def depth(self) -> float:
        """Greatest depth [m]."""
        return float(self.bathymetry[-1, 0])

    @property
    def volume(self) -> float:
        """Volume of the water [m3]."""
        return float(np.trapezoid(self.bathymetry[:, 1], self.bathymetry[:, 0]))

    def __str__(self) -> str:
        return (
            f"a pond of {both(self.area, 'm2')}, {both(self.depth, 'm', '.1f')} deep, "
            f"{both(significant(self.volume, 3), 'm3')}, with {counted(self.circuits, 'coil')} of "
            f"{both(self.length, 'm', '.1f')}, {both(self.total_length, 'm')} of pipe"
        )

    @property
    def exchange_length(self) -> float:
        """Total length of all coils [m]."""
        return self.total_length

    @property
    def priced(self) -> dict[str, float | None]:
        """Metres of coil."""
        return {"pond_coil": self.total_length}

    @property
    def takes(self) -> dict[str, float]:
        """Water and pipe."""
        return {"water_m2": self.area, "pipe_m": self.total_length}

    def flow_in_pipes(self, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
        """Return the flow in each coil."""
        return pipe_flow(self.pipe, fluid=fluid, flow=flow / self.count, temperature=temperature)

    @property
    def has_known_pipes(self) -> bool:
        """Always true."""
        return True

    def flow_path(self, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Iterator[Step]:
        """Yield the flow path through one of the coils."""
        yield through_pipes(self.pipe, liquid, flow / self.count, self.total_length / self.count)

    @functools.cached_property
    def _weather(self) -> dict[str, Any]:
        """The weather as the engine reads it."""
        for name, unit in _NEEDED.items():
            if getattr(self.weather, name) is None:
                raise InvalidInput("Weather", name, "nothing", unit, "must be given for a pond")
        series = ("dry_bulb", "relative_humidity", "ghi", "wind_speed")
        place = {"latitude": self.weather.latitude, "altitude": self.weather.altitude or 0.0}
        return {**{name: getattr(self.weather, name).tolist() for name in series}, **place}

    def for_engine(self) -> dict[str, Any]:
        """Return the pond as the engine reads it."""
        return {
            "kind": "pond",
            "bathymetry": self.bathymetry.tolist(),
            "extinction_depth": self.extinction_depth,
            "inflow": self.inflow,
            "inflow_temperature": self.inflow_temperature,
            "pipe": self.pipe.for_engine(),
            "circuits": self.circuits,
            "length": self.length,
            "weather": self._weather,
            "water": Fluid("water").for_engine(),
        }


def _table(rows: Any) -> NDArray[np.float64]:
    """Return depths and areas as a read-only array of shape (n, 2)."""
    try:
        table = [
            [
                units.to_si(value, unit, owner="Pond", field="bathymetry")
                for value, unit in zip(row, ("m", "m2"), strict=True)
            ]
            for row in rows
        ]
    except InvalidInput:
        raise
    except (TypeError, ValueError):
        table = []
    found = np.array(table, dtype=np.float64)
    if found.ndim != 2:
        raise InvalidInput("Pond", "bathymetry", repr(rows), "", "must have rows of a depth and an area")
    found.setflags(write=False)
    return found
