"""How heat and cold get from the heat pump into the rooms."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, Part, require
from loopdrift.parts.weather.weather import Weather

AIR = {"heating_air": "heating_side", "cooling_air": "cooling_side", "fan_share": "power_share"}
WATER = {
    "weather": "weather",
    "return_water": "heating_side",
    "mild_return_water": "mild_heating_side",
    "cold_day": "cold_day",
    "mild_day": "mild_day",
    "cooling_water": "cooling_side",
    "pump_share": "power_share",
}
"""What `Distribution.air` and `Distribution.water` call its fields."""


@dataclass(frozen=True, kw_only=True)
class Distribution(Part):
    """Ducts, or warm floors and radiators; made by `air` or `water`.

    It sets what enters the heat pump from the building, and so COP and capacity where the heat pump knows its
    load side. Electricity of its fans or pumps ends as heat in what they move: it carries its share of the
    heating, and adds to the cooling.

    Parameters
    ----------
    heating_side, cooling_side : float or str
        What enters the heat pump in heating (on the coldest day) and in cooling [degC].
    mild_heating_side : float or str
        What enters it in heating on a mild day [degC].
    cold_day, mild_day : float or str
        Outdoor temperatures of these days [degC]; between them the temperature changes straight.
    power_share : float or str, default 0
        Electricity for each watt of heat or cold that the heat pump delivers.
    weather : Weather or None
        Its dry-bulb temperature tells the day; None where the temperature doesn't follow the weather.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, or the days aren't in order.
    """

    heating_side: Number = Number()
    cooling_side: Number = Number()
    mild_heating_side: Number = Number()
    cold_day: Number = Number()
    mild_day: Number = Number()
    power_share: Number = Number(default=0.0)
    weather: Weather | None = None

    @classmethod
    def air(
        cls,
        *,
        heating_air: float | str = 20.0,
        cooling_air: float | str = 26.0,
        fan_share: float | str = 0.0,
    ) -> Self:
        """Return ducts, through which the rooms' air goes to the heat pump.

        Parameters
        ----------
        heating_air, cooling_air : float or str
            Air that enters the heat pump in heating and in cooling [degC].
        fan_share : float or str, default 0
            Electricity of the fans, as a share of the heat or cold that the heat pump delivers.
        """
        given = {"heating_air": heating_air, "cooling_air": cooling_air, "fan_share": fan_share}
        return cls._made(AIR, given, mild_heating_side=heating_air, cold_day=-60.0, mild_day=40.0)

    @classmethod
    def water(
        cls,
        weather: Weather,
        *,
        return_water: float | str,
        mild_return_water: float | str,
        cold_day: float | str,
        mild_day: float | str = 15.0,
        cooling_water: float | str = 18.0,
        pump_share: float | str = 0.0,
    ) -> Self:
        """Return warm floors or radiators, their water by outdoor reset.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature tells the day.
        return_water, mild_return_water : float or str
            Water that comes back to the heat pump on the coldest and on a mild day [degC].
        cold_day, mild_day : float or str
            Outdoor temperatures of these days [degC].
        cooling_water : float or str, default 18
            Water that comes back to the heat pump in cooling [degC].
        pump_share : float or str, default 0
            Electricity of the pumps, as a share of the heat or cold that the heat pump delivers.
        """
        require(weather, Weather, owner="Distribution", field="weather")
        given = {
            "weather": weather,
            "return_water": return_water,
            "mild_return_water": mild_return_water,
            "cold_day": cold_day,
            "mild_day": mild_day,
            "cooling_water": cooling_water,
            "pump_share": pump_share,
        }
        return cls._made(WATER, given)

    @classmethod
    def _made(cls, words: Mapping[str, str], given: Mapping[str, Any], **fields: Any) -> Self:
        """Return what is `given` by its maker's words; what is wrong is named by them too."""
        try:
            return cls(**{words[word]: value for word, value in given.items()}, **fields)
        except InvalidInput as error:
            said = {field: word for word, field in words.items()}
            allowed = re.sub(r"\w+", lambda name: said.get(name[0], name[0]), error.allowed)
            field = said.get(error.field, error.field)
            raise InvalidInput(error.owner, field, error.value, error.unit, allowed) from None

    def __post_init__(self) -> None:
        if self.weather is not None:
            require(self.weather, Weather, owner="Distribution", field="weather")
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        values = super().for_engine()
        weather = values.pop("weather")
        return {**values, "outdoor": None if weather is None else weather.dry_bulb.tolist()}
