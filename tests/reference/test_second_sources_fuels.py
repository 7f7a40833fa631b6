"""Heating values of fuels from heats of combustion and their elements, by the library chemicals."""

from __future__ import annotations

import pytest
from chemicals.combustion import HHV_modified_Dulong, combustion_data
from CoolProp.CoolProp import PropsSI

from book import compare
from loopdrift.parts.prices.fuel import HEATING_VALUES

STANDARD = {"T": 288.15, "P": 101_325.0}
JOULES = 3.6e6  # of a kilowatt-hour


def of_gas(formula: str, heat_of_formation: float) -> float:
    """Heat of one mole burnt to liquid water and carbon dioxide [J/mol]."""
    return -combustion_data(formula=formula, Hf=heat_of_formation).HHV


def stated(fuel: str, unit: str) -> float:
    value = HEATING_VALUES[fuel]
    assert value.unit == unit
    return value.value


def test_natural_gas_is_mostly_methane():
    """92 % methane, 5 % ethane, 1 % propane, 2 % nitrogen, an ideal gas: 1 % apart."""
    from chemicals.reaction import Hfg

    mixture = {"CH4": ("74-82-8", 0.92), "C2H6": ("74-84-0", 0.05), "C3H8": ("74-98-6", 0.01)}
    mole = sum(share * of_gas(formula, Hfg(cas)) for formula, (cas, share) in mixture.items())
    moles = STANDARD["P"] / 8.314462618 / STANDARD["T"]
    compare(stated("natural gas", "kWh/m3"), mole * moles / JOULES, rtol=0.02, unit="kWh/m3")


def test_propane_is_a_liquid_of_its_own_density():
    """As it lies in its tank at 15 degC, by CoolProp: 1 % apart."""
    from chemicals import MW
    from chemicals.reaction import Hfg

    mass = of_gas("C3H8", Hfg("74-98-6")) / MW("74-98-6") * 1000.0
    density = PropsSI("D", "T", STANDARD["T"], "Q", 0, "Propane")
    compare(stated("propane", "kWh/m3"), mass * density / JOULES, rtol=0.02, unit="kWh/m3")


# Shares by mass of carbon, hydrogen and so on: light heating oil of 845 kg/m3 (DIN 51603 has up to 860), and
# dry wood as any (EN ISO 17225-1); from memory.
OIL = {"C": 0.864, "H": 0.134, "S": 0.001, "O": 0.001}
WOOD = {"C": 0.505, "H": 0.062, "O": 0.428, "N": 0.002, "Ash": 0.003}


def dulong(shares: dict[str, float]) -> float:
    """Dulong's formula, as modified by Green & Perry [J/kg], for fuels with little oxygen."""
    return -1000.0 * HHV_modified_Dulong(shares)


def channiwala(shares: dict[str, float]) -> float:
    """Channiwala & Parikh (2002), Fuel 81, 1051; from memory [J/kg]."""
    by_share = {"C": 34.91, "H": 117.83, "S": 10.05, "O": -10.34, "N": -1.51, "Ash": -2.11}
    return 1e6 * sum(by_share[element] * share for element, share in shares.items())


@pytest.mark.parametrize(("formula", "apart"), [(dulong, 0.065), (channiwala, 0.02)])
def test_heating_oil_is_what_its_elements_give(formula, apart):
    """1 % below Channiwala & Parikh and 6 % below Dulong, whose formula lies above for all liquids."""
    compare(stated("fuel oil", "kWh/m3"), 845.0 * formula(OIL) / JOULES, rtol=apart, unit="kWh/m3")


@pytest.mark.parametrize(("fuel", "water"), [("wood pellets", 0.08), ("firewood", 0.20)])
def test_wood_is_what_its_elements_give(fuel, water):
    """Higher heating values, so that water only thins: 1 and 3.4 % apart."""
    compare(stated(fuel, "kWh/kg"), (1.0 - water) * channiwala(WOOD) / JOULES, rtol=0.04, unit="kWh/kg")
