"""A building as one zone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy.typing as npt

from loopdrift import _core
from loopdrift.basics.bounds import MOST_WINDOWS, require_count
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, OptionalNumber, Part, Several, require
from loopdrift.basics.series import Series
from loopdrift.parts.building import text
from loopdrift.parts.building.envelope import Opaque, Window
from loopdrift.parts.building.sun import irradiance
from loopdrift.parts.building.week import Weekly
from loopdrift.parts.constructors import Constructor, register
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    import pandas as pd

Mass = Literal["very light", "light", "medium", "heavy", "very heavy"]


@dataclass(frozen=True, kw_only=True)
class Building(Part):
    """A building as one zone: envelope, ventilation, internal gains and schedules.

    Heating and cooling needs follow from the weather by the simple hourly method of ISO 13790:2008 (annex C,
    five resistances and one capacity; since replaced by ISO 52016-1:2017): outdoor air and sun act on air,
    surfaces and mass, and each hour gets the heat that keeps the air at its set point. Solar gains of walls
    and roof and their radiation to the sky are neglected; heat recovery has no summer bypass.

    Parameters
    ----------
    floor_area : float or str
        Heated floor area [m2].
    walls, roof, floor : Opaque or sequence of Opaque, optional
        Opaque parts of the envelope.
    windows : Window or sequence of Window, optional
        Windows by orientation.
    infiltration : float or str
        Air change rate of infiltration and opened windows [1/h].
    ventilation : float or str, default 0
        Air change rate of mechanical ventilation [1/h].
    heat_recovery : float or str, default 0
        Temperature efficiency of the heat recovery of mechanical ventilation [-].
    height : float or str, default 2.5
        Mean height of the rooms [m].
    mass : {"very light", "light", "medium", "heavy", "very heavy"}, default "medium"
        Class of thermal mass: timber frame is light, hollow blocks medium, brick heavy, stone very heavy.
    heat_capacity : float or str, optional
        Heat capacity per floor area [J/(m2 K)], instead of the value of the class.
    occupants : float or str, default 0
        Number of people when all are present; each gives off 70 W.
    occupancy : float or str or Week, default 1
        Share of them that is present, by hour [-]; a mapping is read as a `Week`.
    equipment : float or str, default 0
        Heat of lights and appliances when all are on [W].
    equipment_use : float or str or Week, default 1
        Share of it that is on, by hour [-].
    heating_set_point : float or str or Week or None, default 20
        Air temperature to which the rooms are heated, by hour [degC]; None leaves them unheated.
    cooling_set_point : float or str or Week or None, optional
        Air temperature to which they are cooled [degC]; no cooling unless given.
    heating_power, cooling_power : float or str, optional
        Largest heating and cooling power [W]; unlimited unless given, so that the hour after a set-back takes
        as much as it needs. If the power is insufficient, the air temperature drifts from its set point.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, a heating set point is above that of cooling,
        or the envelope loses no heat.

    Examples
    --------
    >>> house = Building(
    ...     floor_area=140.0,
    ...     walls=Opaque(area=150.0, u_value=0.25),
    ...     roof=Opaque(area=90.0, u_value=0.18),
    ...     floor=Opaque(area=80.0, u_value=0.3, exposure=0.6),
    ...     windows=[Window(area=14.0, u_value=1.1, g_value=0.55, azimuth=180.0)],
    ...     infiltration=0.15,
    ...     ventilation=0.4,
    ...     heat_recovery=0.8,
    ...     occupants=4,
    ...     occupancy={0: 1.0, 8: 0.3, 16: 0.8},
    ...     heating_set_point={6: 21.0, 22: 18.0},
    ... )
    >>> loads = house.loads(Weather.sample("mild maritime"), hot_water="200 W")
    >>> print(f"{loads.peak['heating'] / 1000:.0f} kW")
    5 kW
    """

    floor_area: Number = Number()
    walls: Several[Opaque] = Several(Opaque)
    roof: Several[Opaque] = Several(Opaque)
    floor: Several[Opaque] = Several(Opaque)
    windows: Several[Window] = Several(Window)
    infiltration: Number = Number()
    ventilation: Number = Number(default=0.0)
    heat_recovery: Number = Number(default=0.0)
    height: Number = Number(default=2.5)
    mass: Mass = "medium"
    heat_capacity: OptionalNumber = OptionalNumber()
    occupants: Number = Number(default=0.0)
    occupancy: Weekly = Weekly("", default=1.0)
    equipment: Number = Number(default=0.0)
    equipment_use: Weekly = Weekly("", default=1.0)
    heating_set_point: Weekly = Weekly("degC", default=20.0)
    cooling_set_point: Weekly = Weekly("degC")
    heating_power: OptionalNumber = OptionalNumber()
    cooling_power: OptionalNumber = OptionalNumber()

    def __post_init__(self) -> None:
        if self.mass not in get_args(Mass):
            raise InvalidInput(
                "Building", "mass", repr(self.mass), "", f"must be one of {', '.join(get_args(Mass))}"
            )
        require_count(len(self.windows), MOST_WINDOWS, owner="Building", field="windows")
        Weekly.check_all(self)
        super().__post_init__()

    def loads(
        self: Building, weather: Weather, *, hot_water: npt.ArrayLike | float | str | None = None
    ) -> Loads:
        """Return the building loads.

        Parameters
        ----------
        weather : Weather
            Dry-bulb temperature; and radiation, place and UTC offset if there are windows.
        hot_water : array_like or float or str, optional
            Heat for domestic hot water [W].

        Returns
        -------
        Loads
            Hourly heating, cooling and hot water of a repeating year, with the building's properties as their
            origin.

        Raises
        ------
        InvalidInput
            If the weather lacks what the building needs.
        """
        year = self._year(weather, free_running=False)
        heating, cooling = year["heating_W"], year["cooling_W"]
        origin = text.facts(self, weather, heating=heating, cooling=cooling)
        return Loads(heating=heating, cooling=cooling, hot_water=hot_water, origin=origin)

    def hourly(self, weather: Weather, *, free_running: bool = False) -> pd.DataFrame:
        """Return needs, gains and temperatures of each hour of a repeating year.

        Parameters
        ----------
        weather : Weather
            As for `loads`.
        free_running : bool, default False
            Whether heating and cooling stay off, so that temperatures float.

        Returns
        -------
        pandas.DataFrame
            One row per hour: ``heating_W``, ``cooling_W``, ``internal_gains_W``, ``solar_gains_W``; hourly
            means ``air_degC``, ``surface_degC`` and ``operative_degC``, the operative temperature;
            ``mass_degC`` at the end of the hour.

        Raises
        ------
        InvalidInput
            If the weather lacks what the building needs.
        """
        import pandas as pd

        year = self._year(weather, free_running=free_running)
        return pd.DataFrame(year).rename_axis(index="hour")

    @property
    def loss_coefficient(self) -> float:
        """Heat loss coefficient of envelope and air change, per kelvin between rooms and outdoors [W/K]."""
        return _core.building_loss(self.for_engine())

    def for_engine(self) -> dict[str, Any]:
        """Return the building as the engine reads it."""
        opaque = [*self.walls, *self.roof, *self.floor]
        values = super().for_engine()
        for name in ("walls", "roof", "floor"):
            del values[name]
        for name, weekly in Weekly.of(self).items():
            values[name] = weekly.hours(self)
        return {
            **values,
            "opaque": [part.for_engine() for part in opaque],
            "windows": [window.for_engine() for window in self.windows],
        }

    def pieces(self) -> Iterator[dict[str, Any]]:
        """Yield forms for the engine with one week each that may be out of range."""
        form = self.for_engine()
        harmless = {name: week.default_hours() for name, week in Weekly.of(self).items()}
        for name in harmless:
            yield form | harmless | {name: form[name]}

    def _year(self, weather: Weather, *, free_running: bool) -> dict[str, Series]:
        require(weather, Weather, owner="Building", field="weather")
        require(free_running, bool, owner="Building", field="free_running")
        on_windows = irradiance(weather, self.windows)
        return _core.building_year(self.for_engine(), weather.dry_bulb, on_windows, free_running)


register(Loads, {"building": Constructor(Building.loads, {"building": "self"})})
