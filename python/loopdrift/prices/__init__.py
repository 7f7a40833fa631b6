"""Tariffs, fuels, first costs, and what a run costs beside its alternatives."""

from loopdrift.prices.cost import Cost, of, require_priced
from loopdrift.prices.fuel import HEATING_VALUES, Fuel
from loopdrift.prices.plants import Alternative, Installation
from loopdrift.prices.prices import Prices
from loopdrift.prices.tariff import Period, Tariff, Tier

__all__ = [
    "HEATING_VALUES",
    "Alternative",
    "Cost",
    "Fuel",
    "Installation",
    "Period",
    "Prices",
    "Tariff",
    "Tier",
    "of",
    "require_priced",
]
