"""Prices for the cost and carbon dioxide of a run."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import WEEKDAYS
from loopdrift.basics.part import FacePart, Figure, Several, require, require_name
from loopdrift.parts.prices.plants import Alternative, Installation
from loopdrift.parts.prices.tariff import Tariff

GROUND_SOURCE = "ground source"
"""Name of the run's own plant in tables."""


@dataclass(frozen=True, kw_only=True)
class Prices(FacePart):
    """Tariff, investment costs, alternatives and discount rate, all in one currency of your choice.

    Parameters
    ----------
    electricity : Tariff
        Electricity tariff of all plants.
    alternatives : Alternative or sequence of Alternative, optional
        Alternative plants.
    installation : Installation, optional
        Costs of the ground-source plant.
    discount_rate : float or str, default 0
        Yearly discount rate [-]; nominal, like the prices with their escalation.
    first_weekday : str, default "Monday"
        Weekday of the run's first day.
    currency : str, default "currency"
        Name of the currency in text and charts.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, a number is outside its range, or two plants have the same name.

    Examples
    --------
    >>> Prices(electricity=Tariff(price=0.15), discount_rate="4 percent").discount_rate
    0.04
    """

    electricity: Tariff
    alternatives: Several[Alternative] = Several(Alternative)
    installation: Installation = Installation()
    discount_rate: Figure = Figure("", least=0.0, most=0.5, default=0.0)
    first_weekday: str = WEEKDAYS[0]
    currency: str = "currency"

    def __post_init__(self) -> None:
        require(self.electricity, Tariff, owner="Prices", field="electricity")
        require(self.installation, Installation, owner="Prices", field="installation")
        seen = {GROUND_SOURCE}
        for plant in self.alternatives:
            if plant.name in seen:
                raise InvalidInput(
                    "Prices", "alternatives", repr(plant.name), "", "must have different names"
                )
            seen.add(plant.name)
        if self.first_weekday not in WEEKDAYS:
            allowed = f"must be one of {', '.join(WEEKDAYS)}"
            raise InvalidInput("Prices", "first_weekday", repr(self.first_weekday), "", allowed)
        require_name(self.currency, owner="Prices", field="currency")
