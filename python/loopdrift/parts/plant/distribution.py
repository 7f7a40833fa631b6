"""Distribution of heating and cooling from the heat pump to the rooms."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass
from typing import Any

from loopdrift.basics.part import Number, Part, require
from loopdrift.parts.constructors import register
from loopdrift.parts.weather.weather import Weather


@dataclass(frozen=True, kw_only=True)
class AirDistribution(Part):
    """Air ducts between heat pump and rooms.

    The air temperature affects COP and capacity if the heat pump's performance includes its load side.
    Electricity of the fans becomes heat in the air: it covers part of the heating, and adds to the cooling.

    Parameters
    ----------
    heating_air, cooling_air : float or str, default 20 and 26
        Air temperature entering the heat pump in heating and in cooling [degC].
    fan_share : float or str, default 0
        Electricity of the fans, as a share of the heating or cooling that the heat pump delivers [-].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.
    """

    heating_air: Number = Number(default=20.0)
    cooling_air: Number = Number(default=26.0)
    fan_share: Number = Number(default=0.0)

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        return {"kind": "air", **super().for_engine()}


@dataclass(frozen=True)
class WaterDistribution(Part):
    """Floor heating or radiators, with outdoor reset of the water temperature.

    The water temperature affects COP and capacity of the heat pump. Electricity of the pumps becomes heat in
    the water: it covers part of the heating, and adds to the cooling.

    Parameters
    ----------
    weather : Weather
        Its dry-bulb temperature is the outdoor temperature.
    return_water, mild_return_water : float or str
        Return water temperature in heating, on the coldest and on a mild day [degC].
    cold_day, mild_day : float or str, mild_day 15 by default
        Outdoor temperatures of these days [degC]; in between, the water temperature changes linearly.
    cooling_water : float or str, default 18
        Return water temperature in cooling [degC].
    pump_share : float or str, default 0
        Electricity of the pumps, as a share of the heating or cooling that the heat pump delivers [-].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, or the cold day isn't colder than the mild
        one.
    """

    weather: Weather
    _: KW_ONLY
    return_water: Number = Number()
    mild_return_water: Number = Number()
    cold_day: Number = Number()
    mild_day: Number = Number(default=15.0)
    cooling_water: Number = Number(default=18.0)
    pump_share: Number = Number(default=0.0)

    def __post_init__(self) -> None:
        require(self.weather, Weather, owner="WaterDistribution", field="weather")
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        values = super().for_engine()
        weather: Weather = values.pop("weather")
        return {"kind": "water", **values, "outdoor": weather.dry_bulb.tolist()}


Distribution = AirDistribution | WaterDistribution
"""The kinds of distribution that a design can have."""


register(AirDistribution, {"air": AirDistribution})
register(WaterDistribution, {"water": WaterDistribution})
