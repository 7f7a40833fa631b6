"""Units and fixed numbers against pint's own registry and scipy's constants, which the code doesn't read."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pint
import pytest
import scipy.constants

from book import compare
from loopdrift.basics import units
from loopdrift.basics.both_units import FACTORS, TON_OF_COOLING, factor, fahrenheit
from loopdrift.ground_sides.pond.on_site import WATTS_PER_COIL
from loopdrift.parts.hydraulics.pump import GRAVITY

REGISTRY = pint.UnitRegistry()
REGISTRY.define("currency = [currency]")
DEFINITIONS = Path(units.__file__).with_name("units.txt").read_text(encoding="utf-8")
NAMES = re.findall(r"^(\w+) = ", DEFINITIONS, flags=re.MULTILINE)
# Pint calls these otherwise.
PINTS = {
    "ton": "ton_of_refrigeration",
    "month": "year / 12",
    "m2": "meter ** 2",
    "m3": "meter ** 3",
    "ft2": "foot ** 2",
    "in2": "inch ** 2",
    "ft3": "foot ** 3",
    "meter_of_water": "9806.65 pascal",
    "foot_of_water": "2989.06692 pascal",
    "inch_of_water": "249.08891 pascal",
    "MMBtu": "1e6 Btu",
    "therm": "1e5 Btu",
    "gpm": "gallon / minute",
    "cfm": "foot ** 3 / minute",
    "British_thermal_unit": "Btu",
    "year": "365 day",
    "decade": "3650 day",
    "percent": "0.01 dimensionless",
    "pound_per_square_inch": "psi",
    "acre": "43560 foot ** 2",
}


IN_PINT = [name for name in NAMES if name in PINTS or name in REGISTRY]
BY_THEMSELVES = ("currency", "kelvin", "radian", "degree_Celsius", "degree_Fahrenheit")


def test_pint_knows_nearly_all_of_them():
    assert len(IN_PINT) >= 50


@pytest.mark.parametrize("name", [name for name in IN_PINT if name not in BY_THEMSELVES])
def test_a_unit_is_as_large_as_pint_has_it(name):
    expected = REGISTRY(PINTS.get(name, name))
    in_base = expected.to_base_units() if name != "month" else (REGISTRY("365 day") / 12).to_base_units()
    unit = f"{in_base.units:~}" if str(in_base.units) != "dimensionless" else ""
    is_angle = unit == "rad"
    unit = "deg" if is_angle else unit.replace(" ** ", "**")
    found = units.to_si(f"1 {name}", unit, owner="Part", field="number")
    expected = np.degrees(in_base.magnitude) if is_angle else in_base.magnitude
    compare(found, expected, rtol=2e-7)  # pint rounds a Btu to six digits


def test_temperatures_have_the_zeros_of_scipy():
    for celsius in (-40.0, 0.0, 37.0):
        in_degf = scipy.constants.convert_temperature(celsius, "Celsius", "Fahrenheit")
        found = units.to_si(f"{in_degf} degF", "degC", owner="Part", field="number")
        compare(found, celsius, atol=1e-9, unit="degC")


@pytest.mark.parametrize(
    ("unit", "other"), [(unit, other) for unit, others in FACTORS.items() for other in others]
)
def test_factors_are_those_of_pint_and_of_our_definitions(unit, other):
    if (unit, other) == ("kg/s", "gal/min"):  # a flow of water of 1000 kg/m3
        unit, scale = "m3/s", 1e-3
    else:
        scale = 1.0
    own = units.registry()
    # Pint's acre is one of survey feet.
    for registry, written in ((REGISTRY, _for_pint), (own, _for_own))[other == "acre" :]:
        found = registry.Quantity(scale, written(unit)).to(written(other)).magnitude
        compare(found, factor(*(("kg/s", other) if scale < 1.0 else (unit, other))), rtol=2e-7)


def test_degrees_are_those_of_scipy():
    expected = scipy.constants.convert_temperature([-40.0, 0.0, 37.0], "Celsius", "Fahrenheit")
    compare(fahrenheit(np.array([-40.0, 0.0, 37.0])), expected, atol=1e-12, unit="degF")


def _for_own(unit: str) -> str:
    return (
        _for_pint(unit)
        .replace("MBtu", "MMBtu")
        .replace("1/kBtu", "1/(MBH*h)")
        .replace("kBtu", "MBH*h")
        .replace("**", "^")
    )


def _for_pint(unit: str) -> str:
    unit = unit.replace("million Btu", "MBtu").replace("degF", "delta_degF").replace("gal", "gallon")
    unit = re.sub(r"(?<=[a-z])([23])\b", r"**\1", unit)
    unit = re.sub(r"\(([^)]*)\)", lambda match: "(" + match[1].replace(" ", " * ") + ")", unit)
    return unit.replace("h ft", "h * ft").replace("ft delta", "ft * delta").replace("m K/", "m * K/")


def test_a_ton_is_that_of_scipy():
    of_scipy = 12_000.0 * scipy.constants.Btu / scipy.constants.hour
    compare([TON_OF_COOLING, WATTS_PER_COIL], of_scipy, rtol=1e-9, unit="W")


def test_gravity_is_that_of_scipy():
    assert scipy.constants.g == GRAVITY


def test_horsepower_and_pressure_are_those_of_scipy():
    for name, value, unit in (("hp", scipy.constants.hp, "W"), ("psi", scipy.constants.psi, "Pa")):
        compare(units.to_si(f"1 {name}", unit, owner="Part", field="number"), value, rtol=1e-9)
