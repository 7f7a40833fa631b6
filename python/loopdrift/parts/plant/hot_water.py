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
"""Shares of the day's hot water in each of its hours: an invented household."""


@dataclass(frozen=True, kw_only=True)
class HotWater(Part):
    """Hot water drawn from a tank, warmed by the compressor's superheat and by a heater.

    While the heat pump runs for the rooms, its desuperheater warms the tank up to `desuperheater_limit`: in
    cooling that heat is spared the loop, in heating the heat pump delivers it besides. Where the tank would
    fall below `set_point`, the heater brings it back within the hour. The tank has one temperature; draws are
    mixed with cold water. The heat of the desuperheater is a share of what the heat pump does for the rooms,
    so that it doesn't depend on the loop; legionella is not considered: what temperature a tank must reach
    is for local rules and licensed practice to say.

    Parameters
    ----------
    daily_volume : float or str
        Water drawn in a day, mixed to `use_temperature` [m3].
    volume : float or str
        Volume of the tank [m3].
    draws : sequence of float, optional
        Shares of the day's water in each of its 24 hours; an invented household unless given.
    use_temperature, cold_temperature : float or str, default 42 and 10
        Temperatures of the water drawn and of the cold water [degC].
    set_point, desuperheater_limit : float or str, default 50 and 60
        Temperature that the heater keeps the tank at, and up to which the desuperheater warms it [degC].
    loss_coefficient : float or str, default 2
        Heat lost by the tank for each kelvin above its surroundings [W/K].
    ambient_temperature : float or str, default 18
        Temperature around the tank [degC].
    desuperheater_heating_share, desuperheater_cooling_share : float or str, default 0
        Heat that the desuperheater can take, as a share of what the heat pump delivers to the rooms and of
        what it takes from them; 0.10 to 0.15 where there is an exchanger for it (common practice, no source).
    heater : {"heat pump", "element"}, default "heat pump"
        What makes the rest.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, temperatures aren't in order, or draws aren't
        24 shares with the sum 1.

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
            allowed = "must be 24 shares of 0 or more with the sum 1"
            raise InvalidInput("HotWater", "draws", repr(self.draws), "", allowed) from None
        if self.heater not in get_args(Heater):
            raise InvalidInput("HotWater", "heater", repr(self.heater), "", "must be heat pump or element")
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        values = super().for_engine()
        heater = values.pop("heater")
        return {**values, "by_heat_pump": heater == "heat pump"}
