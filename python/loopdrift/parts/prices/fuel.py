"""Fuels: prices per kWh, or per unit with a heating value."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import require_within
from loopdrift.basics.part import Checked, FacePart, Figure, require_name
from loopdrift.parts.prices.carbon import CarbonFactor, checked


class HeatingValue(NamedTuple):
    """Higher heating value of a fuel, which includes the latent heat of the water vapour in the flue gas."""

    value: float
    unit: str


HEATING_VALUES = {
    "natural gas": HeatingValue(10.6, "kWh/m3"),
    "propane": HeatingValue(7080.0, "kWh/m3"),
    "fuel oil": HeatingValue(10_700.0, "kWh/m3"),
    "wood pellets": HeatingValue(5.2, "kWh/kg"),
    "firewood": HeatingValue(4.4, "kWh/kg"),
}
"""Usual higher heating values, all from memory: pipeline gas at 15 degC and 1 atm, liquid propane, light
heating oil, wood pellets of 8 % and split logs of 20 % water; checked against heats of combustion in
tests/reference/test_second_sources_fuels.py. A supplier's own figure is better."""


@dataclass(frozen=True, kw_only=True)
class Fuel(FacePart):
    """A fuel and its price.

    Parameters
    ----------
    name : str
        Name; ``natural gas``, ``propane``, ``fuel oil``, ``wood pellets`` and ``firewood`` have a default
        heating value (from memory).
    price : float or str
        Price by the higher heating value [currency/kWh], or text such as ``"1.10 currency/therm"``,
        ``"2.90 currency/gallon"`` or ``"300 currency/tonne"``, converted by the heating value if needed.
    heating_value : str, optional
        Higher heating value [kWh/m3] or [kWh/kg], as text with its unit.
    monthly : float or str, default 0
        Fixed charge [currency/month].
    escalation : float or str, default 0
        Yearly rise of price and fixed charge, 0.02 for 2 % [-]; the values given are those of year 1.
    carbon : float or str or sequence of float, default 0
        Carbon dioxide per kWh by the higher heating value [kg/kWh], one value or one per year of the run. No
        values are built in.

    Raises
    ------
    InvalidInput
        If a number is outside its range, or a price by volume or mass has no heating value.

    Examples
    --------
    >>> propane = Fuel(name="propane", price="2.50 currency/gallon", heating_value="91500 Btu/gallon")
    >>> round(propane.price_per_kWh, 4)
    0.0932
    """

    name: str
    price: float | str
    heating_value: str | None = None
    monthly: Figure = Figure("currency/month", least=0.0, most=1e9, default=0.0)
    escalation: Figure = Figure("", least=-0.5, most=0.5, default=0.0)
    carbon: Checked[CarbonFactor] = Checked(partial(checked, hourly=False), 0.0)

    def __post_init__(self) -> None:
        require_name(self.name, owner="Fuel")
        require_within(self.price_per_kWh, "currency/kWh", owner="Fuel", field="price", least=0.0, most=1e6)

    @property
    def price_per_kWh(self) -> float:
        """Price by the higher heating value [currency/kWh]."""
        return _price_per_kwh(self.price, _heating_value(self.name, self.heating_value))


def _heating_value(name: str, given: str | None) -> HeatingValue | None:
    if given is None:
        return HEATING_VALUES.get(name)
    value = None
    for unit in ("kWh/m3", "kWh/kg"):
        try:
            value = HeatingValue(units.to_si(given, unit, owner="Fuel", field="heating_value"), unit)
        except InvalidInput:
            continue
        if isinstance(given, str):
            break
        value = None
    if value is None or not 1e-3 <= value.value <= 1e6:
        allowed = "must be text with a unit like kWh/m3 or kWh/kg, from 0.001 to 1e+06 in it"
        raise InvalidInput("Fuel", "heating_value", repr(given), "", allowed)
    return value


def _price_per_kwh(price: float | str, heating_value: HeatingValue | None) -> float:
    """Return the price per kWh [currency/kWh]."""
    try:
        return units.to_si(price, "currency/kWh", owner="Fuel", field="price")
    except InvalidInput as error:
        for unit in ("m3", "kg"):
            try:
                each = units.to_si(price, f"currency/{unit}", owner="Fuel", field="price")
            except InvalidInput:
                continue
            if heating_value is None or heating_value.unit != f"kWh/{unit}":
                allowed = f"must come with a heating_value in a unit like kWh/{unit}, or be per kWh"
                raise InvalidInput("Fuel", "price", repr(price), "", allowed) from None
            return each / heating_value.value
        raise error


def heat_of(amount: float | str, fuel: str, heating_value: str | None, *, owner: str, field: str) -> float:
    """Return the heat of an amount of fuel by its higher heating value [kWh].

    Parameters
    ----------
    amount : float or str
        Heat [kWh], or text with a unit of heat, volume or mass.
    fuel : str
        What it is, such as ``natural gas``.
    heating_value : str, optional
        Higher heating value [kWh/m3] or [kWh/kg], as text with its unit; else from `HEATING_VALUES`.
    owner, field : str
        What the amount belongs to, for messages.

    Raises
    ------
    InvalidInput
        If it is no amount of zero or more, or a volume or mass of a fuel whose heating value isn't known.
    """
    known = _heating_value(fuel, heating_value)
    try:
        heat = units.to_si(amount, "kWh", owner=owner, field=field)
    except InvalidInput as error:
        for unit in ("m3", "kg"):
            try:
                measured = units.to_si(amount, unit, owner=owner, field=field)
            except InvalidInput:
                continue
            if known is None or known.unit != f"kWh/{unit}":
                allowed = f"must come with a heating_value of {fuel} in a unit like kWh/{unit}, or be in kWh"
                raise InvalidInput(owner, field, repr(amount), "", allowed) from None
            heat = measured * known.value
            break
        else:
            raise error
    require_within(heat, "kWh", owner=owner, field=field, least=0.0, most=1e9)
    return heat
