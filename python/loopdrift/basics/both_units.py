"""SI and inch-pound units: the one table of conversions, and quantities in sentences, in both.

A test compares it with ``units.txt``, which defines the same units for numbers given as text.
"""

from __future__ import annotations

import functools
import math
import re
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Values = TypeVar("Values", float, NDArray[np.float64])

FOOT = 0.3048
"""Metres."""
GALLON = 231.0 * (FOOT / 12.0) ** 3
"""Cubic metres."""
ACRE = 43560.0 * FOOT**2
"""Square metres."""
POUND = 0.45359237
"""Kilograms."""
PSI = 6894.757293168
"""Pascals."""
BTU = 1055.05585262
"""Joules, by the International Table."""
DEGREE = 1.8
"""Fahrenheit degrees in a kelvin."""
TON_OF_COOLING = 12_000.0 * BTU / 3600.0
"""Watts."""

_BTU_PER_WH = 3600.0 / BTU
_MOST_DIGITS = 4
"""Digits of a number whose own digits don't show how many are meant."""
_MOST_OF_DIFFERENCES = 3
"""Digits of a temperature difference in inch-pound units."""

FACTORS: dict[str, dict[str, float]] = {
    "K": {"degF": DEGREE},
    "K d": {"degF d": DEGREE},
    "K/a": {"degF/a": DEGREE},
    "m": {"ft": 1.0 / FOOT},
    "m2": {"ft2": 1.0 / FOOT**2, "acre": 1.0 / ACRE},
    "m3": {"ft3": 1.0 / FOOT**3, "gal": 1.0 / GALLON},
    "L": {"gal": 1e-3 / GALLON},
    "mm": {"in": 1.0 / 25.4},
    "m/s": {"ft/s": 1.0 / FOOT},
    "m3/s": {"gal/min": 60.0 / GALLON},
    "L/s": {"gal/min": 60e-3 / GALLON},
    "mm2/s": {"ft2/day": 86400e-6 / FOOT**2},
    "Pa": {"psi": 1.0 / PSI},
    "kPa": {"psi": 1e3 / PSI},
    "Pa s": {"cP": 1e3},
    "kg/s": {"gal/min": 60e-3 / GALLON, "lb/h": 3600.0 / POUND},
    "kg/m3": {"lb/ft3": FOOT**3 / POUND},
    "W": {"Btu/h": _BTU_PER_WH},
    "kW": {"kBtu/h": _BTU_PER_WH},
    "kWh": {"million Btu": 1e-3 * _BTU_PER_WH, "kBtu": _BTU_PER_WH},
    "kWh/m2": {"kBtu/ft2": _BTU_PER_WH * FOOT**2},
    "1/kWh": {"1/kBtu": 1.0 / _BTU_PER_WH},
    "W/K": {"Btu/(h degF)": _BTU_PER_WH / DEGREE},
    "W/m": {"Btu/(h ft)": _BTU_PER_WH * FOOT},
    "W/m2": {"Btu/(h ft2)": _BTU_PER_WH * FOOT**2},
    "K/m": {"degF/ft": DEGREE * FOOT},
    "m2/s": {"ft2/day": 86400.0 / FOOT**2},
    "MJ/(m3 K)": {"Btu/(ft3 degF)": 1e6 * FOOT**3 / (BTU * DEGREE)},
    "kJ/(kg K)": {"Btu/(lb degF)": 1e3 * POUND / (BTU * DEGREE)},
    "currency/m": {"currency/ft": FOOT},
    "W/(m K)": {"Btu/(h ft degF)": _BTU_PER_WH * FOOT / DEGREE},
    "W/(m2 K)": {"Btu/(h ft2 degF)": _BTU_PER_WH * FOOT**2 / DEGREE},
    "J/(m2 K)": {"Btu/(ft2 degF)": FOOT**2 / (BTU * DEGREE)},
    "J/(kg K)": {"Btu/(lb degF)": POUND / (BTU * DEGREE)},
    "m K/W": {"h ft degF/Btu": DEGREE / (_BTU_PER_WH * FOOT)},
}
"""The size of each SI unit in inch-pound units; sentences use the first.

K is a temperature difference; kg/s in gal/min assumes water of 1000 kg/m3.
"""


def factor(unit: str, other: str) -> float:
    """Return the size of an SI unit in an inch-pound unit.

    Parameters
    ----------
    unit, other : str
        SI unit and inch-pound unit, as named in `FACTORS`.
    """
    return FACTORS[unit][other]


def in_sentences(unit: str) -> tuple[str, float]:
    """Return the inch-pound unit that sentences give beside an SI unit, and the SI unit's size in it."""
    return next(iter(FACTORS[unit].items()))


def fahrenheit(celsius: Values) -> Values:
    """Return temperatures [degC] in degF."""
    return DEGREE * celsius + 32.0


def both(value: float, unit: str, form: str = ",.0f") -> str:
    """Return a quantity in both systems, such as ``85.0 m (279 ft)``.

    The second number has as many significant digits as the first, two or three where it has decimals, and
    otherwise at least four. Temperature differences have the same decimals in both, but at most three digits.

    Parameters
    ----------
    value : float
        The quantity in `unit`.
    unit : str
        Its SI unit; kWh for heat only, kg/s for water only.
    form : str, default ",.0f"
        Format of its number; ``g`` shows up to four digits.
    """
    metric, imperial = pair(value, unit, form)
    return f"{metric} ({imperial})"


def pair(value: float, unit: str, form: str = ",.0f") -> tuple[str, str]:
    """Return a quantity in SI and in inch-pound units, such as ``("85.0 m", "279 ft")``.

    Parameters
    ----------
    value : float
        The quantity in `unit`.
    unit : str
        Its SI unit, as for `both`.
    form : str, default ",.0f"
        Format of the number in SI.
    """
    text = _in_form(value, form)
    name, each = in_sentences(unit)
    if unit == "K":
        digits = f".{max(2, len(_digits(text)))}g"
        other = f"{each * value:{digits if form == 'g' else _shorter(form, each * value)}}"
    else:
        other = _like(text, each * value)
    return f"{text} {unit}", f"{other} {name}"


def inch_pound_first(text: str) -> str:
    """Return a text in which each quantity written by `both` and its like has inch-pound units first.

    Parameters
    ----------
    text : str
        The text.

    Examples
    --------
    >>> inch_pound_first("4 bores of 85.0 m (279 ft) at 4.0 degC (39.2 degF)")
    '4 bores of 279 ft (85.0 m) at 39.2 degF (4.0 degC)'
    """
    return _pairs().sub(
        lambda found: f"{found['imperial']} ({found['between'] or ''}{found['metric']})", text
    )


@functools.cache
def _pairs() -> re.Pattern[str]:
    """Return the pattern of a quantity in both systems, such as ``1.1 kg/s (1.08 L/s, 17.1 gal/min)``."""
    metric = {"degC", *FACTORS}
    imperial = {"degF", "tons", "gal/min", *(name for names in FACTORS.values() for name in names)}
    number = r"[-+]?[0-9][0-9,]*(?:\.[0-9]+)?(?:e[-+]?[0-9]+)?"
    span = rf"(?:{number} to )?{number}"
    return re.compile(
        rf"(?P<metric>(?<![\w.]){span} {_any_of(metric)}) "
        rf"\((?P<between>{span} {_any_of(metric)}, )?(?P<imperial>{span} {_any_of(imperial)})\)"
    )


def _any_of(names: set[str]) -> str:
    return f"(?:{'|'.join(map(re.escape, sorted(names, key=len, reverse=True)))})"


def both_degrees(temperature: float) -> str:
    """Return a temperature [degC] in degC and degF."""
    return f"{temperature:.1f} degC ({fahrenheit(temperature):.1f} degF)"


def both_flows(flow: float, density: float) -> str:
    """Return a mass flow [kg/s] with its volume flow at a density [kg/m3]."""
    litres = 1000.0 * flow / density
    gallons = factor("m3/s", "gal/min") * litres / 1000.0
    return f"{flow:.3g} kg/s ({litres:.3g} L/s, {gallons:.3g} gal/min)"


def kilowatts(power: float) -> str:
    """Return a power [W] in kW and tons."""
    return f"{power / 1e3:.1f} kW ({power / TON_OF_COOLING:.1f} tons)"


def significant(value: float, digits: int) -> float:
    """Return a number rounded to significant digits."""
    if not math.isfinite(value) or value == 0.0:
        return value
    return round(value, digits - 1 - math.floor(math.log10(abs(value))))


def _in_form(value: float, form: str) -> str:
    """Return a number in a format; large ones in a general format without exponent."""
    general = re.fullmatch(r"(\+?)(?:\.(\d))?g", form)
    if general is None:
        return f"{value:{form}}"
    digits = int(general[2] or _MOST_DIGITS)
    value = significant(value, digits)
    return f"{value:{f'{general[1]},.0f' if abs(value) >= 1e3 else f'{general[1]}.{digits}g'}}"


def _shorter(form: str, value: float) -> str:
    """Return a format with fewer decimals where it would show a difference with more than three digits."""
    found = re.fullmatch(r"(.*\.)([1-9])f", form)
    if found is None:
        return form
    return f"{found[1]}{min(int(found[2]), max(0, _MOST_OF_DIFFERENCES - _before_point(value)))}f"


def _before_point(value: float) -> int:
    """Return the number of digits before the decimal point, 0 or less below 1."""
    value = significant(value, 9)  # 9.99999999999, by a conversion, is 10
    return math.floor(math.log10(abs(value))) + 1 if value else 1


def _digits(text: str) -> str:
    """Return the significant digits of a number."""
    return text.lstrip("+-").replace(",", "").replace(".", "").lstrip("0")


def _like(text: str, value: float) -> str:
    """Return a number with as many digits as another, and with a sign if that has one."""
    digits = _digits(text)
    meant = len(digits if "." in text else digits.rstrip("0"))
    decimals = max(0, min(max(len(digits), 2), 3) - _before_point(value))
    sign = "+" if text.startswith(("+", "-")) else ""
    most = max(meant, _MOST_DIGITS)
    return f"{significant(value, most) if abs(value) >= 10.0**most else value:{sign},.{decimals}f}"
