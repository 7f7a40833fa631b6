"""Tariffs, fuels and investment costs."""

from loopdrift.parts.prices.fuel import HEATING_VALUES, Fuel
from loopdrift.parts.prices.plants import Alternative, Installation
from loopdrift.parts.prices.prices import Prices
from loopdrift.parts.prices.tariff import Period, Tariff, Tier

__all__ = ["HEATING_VALUES", "Alternative", "Fuel", "Installation", "Period", "Prices", "Tariff", "Tier"]
