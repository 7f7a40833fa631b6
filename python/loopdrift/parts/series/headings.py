"""What a column holds, by its heading: a quantity and its unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from loopdrift.basics.both_units import BTU, FOOT, TON_OF_COOLING


class Unit(NamedTuple):
    """A unit of a column: its numbers become ``factor x number + offset`` in the quantity's own unit."""

    factor: float
    offset: float = 0.0
    per_step: bool = False
    """Whether it is an amount in each step, such as kWh, which becomes a mean over the step."""


class Quantity(NamedTuple):
    """A quantity that a column may hold."""

    name: str
    words: tuple[str, ...]
    """Headings in lower case, without the unit, words parted by spaces."""
    unit: str
    """Unit in which it is kept."""
    units: dict[str, Unit]
    """Units that its heading may have, in lower case."""
    least: float
    most: float
    bare: tuple[str, ...] = ()
    """Headings that stand for the unit in which it is kept when they have none."""


class Heading(NamedTuple):
    """What a heading says."""

    quantity: Quantity
    unit: str
    """The unit as the heading has it; empty if it has none."""
    bare: bool
    """Whether the heading has its unit by agreement."""


_BTU_PER_HOUR = BTU / 3600.0
_POWERS = {
    "w": 1.0,
    "kw": 1e3,
    "mw": 1e6,
    "btu/h": _BTU_PER_HOUR,
    "btuh": _BTU_PER_HOUR,
    "kbtu/h": 1e3 * _BTU_PER_HOUR,
    "kbtuh": 1e3 * _BTU_PER_HOUR,
    "mbh": 1e3 * _BTU_PER_HOUR,
    "mmbtu/h": 1e6 * _BTU_PER_HOUR,
    "ton": TON_OF_COOLING,
    "tons": TON_OF_COOLING,
}
_ENERGIES = {
    "wh": 3600.0,
    "kwh": 3.6e6,
    "mwh": 3.6e9,
    "btu": BTU,
    "kbtu": 1e3 * BTU,
    "mmbtu": 1e6 * BTU,
    "therm": 1e5 * BTU,
    "therms": 1e5 * BTU,
    "kj": 1e3,
    "mj": 1e6,
    "gj": 1e9,
}
HEAT_UNITS = {
    **{name: Unit(watts) for name, watts in _POWERS.items()},
    **{name: Unit(joules, per_step=True) for name, joules in _ENERGIES.items()},
}
"""Power in W, and energy of each step in J."""
HEAT_UNITS_SHOWN = (
    "W, kW, MW, Btu/h, kBtu/h, MMBtu/h or tons, or in each step Wh, kWh, MWh, kBtu, MMBtu, therm, MJ or GJ"
)
AMBIGUOUS = ("mbtu", "mbtu/h", "mbtuh")
"""A thousand or a million Btu, by who writes it."""

TEMPERATURE_UNITS = {
    "degc": Unit(1.0),
    "c": Unit(1.0),
    "degf": Unit(1.0 / 1.8, -32.0 / 1.8),
    "f": Unit(1.0 / 1.8, -32.0 / 1.8),
}
SHARE_UNITS = {"%": Unit(1.0), "percent": Unit(1.0)}
RADIATION_UNITS = {
    "w/m2": Unit(1.0),
    "wh/m2": Unit(3600.0, per_step=True),
    "kj/m2": Unit(1e3, per_step=True),
    "btu/h ft2": Unit(_BTU_PER_HOUR / FOOT**2),
    "btu/ft2": Unit(BTU / FOOT**2, per_step=True),
}
SPEED_UNITS = {
    "m/s": Unit(1.0),
    "km/h": Unit(1.0 / 3.6),
    "mph": Unit(5280.0 * FOOT / 3600.0),
    "ft/s": Unit(FOOT),
    "ft/min": Unit(FOOT / 60.0),
}
_OTHERS = {
    *(
        *TEMPERATURE_UNITS,
        *SHARE_UNITS,
        *RADIATION_UNITS,
        *SPEED_UNITS,
        "k",
        "pa",
        "kpa",
        "bar",
        "psi",
        "v",
        "a",
    ),
    *("l/s", "l/min", "l/h", "m3/h", "gpm", "gal/min", "cfm", "m3", "hz", "kg/s", "ppm", "lux"),
}
"""Units of what is no heat: columns in them are left out of loads without doubt."""


def heading(text: str, quantities: Sequence[Quantity]) -> Heading | None:
    """Return what a heading says; None if it names no quantity.

    Parameters
    ----------
    text : str
        The heading, such as ``heating_kW`` or ``Hot water [kBtu/h]``.
    quantities : sequence of Quantity
        What is looked for.
    """
    name, unit = _parted(text)
    best: Heading | None = None
    longest = 0
    for quantity in quantities:
        for words in quantity.words:
            found = re.fullmatch(rf"{words.replace(' ', ' ')}(?: (?P<unit>.+))?", name)
            if found is None or len(words) <= longest:
                continue
            given = unit or (found["unit"] or "")
            if found["unit"] and (unit or not _is_unit(found["unit"], quantity)):
                continue  # words that say more than the quantity
            longest, best = len(words), Heading(quantity, given, not given and words in quantity.bare)
    return best


def _is_unit(text: str, quantity: Quantity) -> bool:
    return text in quantity.units or text in AMBIGUOUS


def is_of_something_else(text: str) -> bool:
    """Return whether a heading ends with a unit of what is no heat, such as degC."""
    name, unit = _parted(text)
    return (unit or name.rpartition(" ")[2]) in _OTHERS


def normal(unit: str) -> str:
    """Return a unit as the tables here have it."""
    text = unit.lower().replace("°", "deg").replace("º", "deg").replace("²", "2").replace("³", "3")
    text = re.sub(r"[\s_]*(?:/|\bper\b|(?<=_)per(?=_))[\s_]*", "/", text.strip("[]() "))
    text = re.sub(r"/hr?\b|/hour\b", "/h", text)
    text = re.sub(r"[\s_·*-]+", " ", text).replace("deg ", "deg").replace("(", "").replace(")", "").strip()
    return text.replace("h/ft2", "h ft2")


def unit_in_brackets(text: str) -> str:
    """Return the unit in brackets or after a comma at the end of a heading; empty if there is none."""
    return _parted(text)[1]


def _parted(text: str) -> tuple[str, str]:
    """Return the words of a heading in lower case, and the unit that stands in brackets or after a comma."""
    found = re.fullmatch(r"\s*(.*?)[\s_]*(?:[\[(](.+)[\])]|,\s*(\S+))\s*", text)
    name, unit = (found[1], found[2] or found[3]) if found else (text, "")
    return re.sub(r"[\s_-]+", " ", normal(name)).strip(), normal(unit)
