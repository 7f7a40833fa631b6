"""Domestic hot water from a tank."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, get_args

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, Part

Heater = Literal["heat pump", "element"]

INVENTED_DAY = (
    *(0.0, 0.0, 0.0, 0.0, 0.01, 0.04, 0.12, 0.14, 0.08, 0.05, 0.04, 0.04),
    *(0.05, 0.03, 0.02, 0.03, 0.04, 0.06, 0.07, 0.07, 0.06, 0.03, 0.015, 0.005),
)
"""Share of a day's hot water in each of its hours [-]: an invented household."""


@dataclass(frozen=True, kw_only=True)
class HotWater(Part):
    """Hot water from a tank, heated by a desuperheater and by a heater.

    While the heat pump runs for the rooms, the desuperheater heats the tank up to `desuperheater_limit`: in
    cooling this heat isn't rejected to the loop; in heating the heat pump delivers it in addition. If the
    tank would fall below `set_point`, the heater brings it back within the hour. The tank is fully mixed;
    draws are mixed with cold water. The heat available from the desuperheater is a share of the heating or
    cooling of the rooms, so it doesn't depend on the loop. Legionella is not considered: local rules and
    licensed practice decide what temperature a tank must reach.

    Parameters
    ----------
    daily_volume : float or str
        Water drawn per day, mixed to `use_temperature` [m3].
    volume : float or str
        Volume of the tank [m3].
    draws : sequence of float, optional
        Share of the day's water in each of its 24 hours [-]; an invented household unless given.
    use_temperature, cold_temperature : float or str, default 42 and 10
        Temperatures of the water drawn and of the cold water [degC].
    set_point, desuperheater_limit : float or str, default 50 and 60
        Temperature at which the heater keeps the tank, and to which the desuperheater heats it [degC].
    loss_coefficient : float or str, default 2
        Heat loss of the tank per kelvin above its surroundings [W/K].
    ambient_temperature : float or str, default 18
        Temperature around the tank [degC].
    desuperheater_heating_share, desuperheater_cooling_share : float or str, default 0
        Desuperheater heat as a share of the heat delivered to the rooms and of the heat removed from them
        [-]; 0.10 to 0.15 with a desuperheater (common practice, no source).
    heater : {"heat pump", "element"}, default "heat pump"
        Source of the remaining heat.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, temperatures aren't in order, or draws aren't
        24 shares that add up to 1.

    Examples
    --------
    >>> HotWater(daily_volume=0.16, volume="300 L", desuperheater_cooling_share=0.12).set_point
    50.0
    """

    daily_volume: Number = Number()
    volume: Number = Number()
    draws: tuple[float, ...] = INVENTED_DAY
    use_temperature: Number = Number(default=42.0)
    cold_temperature: Number = Number(default=10.0)
    set_point: Number = Number(default=50.0)
    desuperheater_limit: Number = Number(default=60.0)
    loss_coefficient: Number = Number(default=2.0)
    ambient_temperature: Number = Number(default=18.0)
    desuperheater_heating_share: Number = Number(default=0.0)
    desuperheater_cooling_share: Number = Number(default=0.0)
    heater: Heater = "heat pump"

    def __post_init__(self) -> None:
        try:
            object.__setattr__(self, "draws", tuple(float(share) for share in self.draws))
        except (TypeError, ValueError):
            allowed = "must be 24 shares of 0 or more that add up to 1"
            raise InvalidInput("HotWater", "draws", repr(self.draws), "", allowed) from None
        if self.heater not in get_args(Heater):
            raise InvalidInput("HotWater", "heater", repr(self.heater), "", "must be heat pump or element")
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        values = super().for_engine()
        heater = values.pop("heater")
        return {**values, "by_heat_pump": heater == "heat pump"}
