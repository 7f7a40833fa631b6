"""Numbers and units as people write them: feet and inches, other signs, and the unit most likely meant."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable

FOOT = 0.3048
INCH = FOOT / 12.0

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u2018\u2019\u2032\u02b9\u00b4`", "'"),
        **dict.fromkeys("\u201c\u201d\u201e\u2033\u02ba", '"'),
        **dict.fromkeys("\u2212\u2013\u2011", "-"),
        **dict.fromkeys("\u00a0\u202f\u2009", " "),
        "\u00b0": "deg",
        "\u00ba": "deg",
        "\u2103": "degC",
        "\u2109": "degF",
        "\u00b2": "2",
        "\u00b3": "3",
        "\u00b7": "*",
        "\u22c5": "*",
        "\u00d7": "*",
        "\u0394": "delta_",
    }
)
_FEET_AND_INCHES = re.compile(
    r"""\s*(?P<sign>[-+]?)
    (?:(?P<feet>\d+(?:\.\d*)?)\s*(?:'(?!')|ft\b\.?|feet\b|foot\b)\s*-?\s*)?
    (?:(?P<inches>\d+(?:\.\d*)?)?(?:(?:(?<=\d)[ -])?(?P<above>\d+)/(?P<below>[1-9]\d*))?
       \s*(?P<mark>"|''|inches\b|inch\b|in\b\.?))?\s*""",
    re.VERBOSE,
)
_MILLION_OR_THOUSAND = re.compile(r"M(BTU|Btu|btu)(H|h|(/| per )(h|hr|hour))?")
_ALIKE = 0.6
_USUAL = (
    *("m", "cm", "mm", "ft", "inch", "m2", "ft2", "acre", "hectare", "m3", "L", "ft3", "gal"),
    *("degC", "degF", "K", "W", "kW", "Btu/h", "kBtu/h", "MBH", "ton", "hp"),
    *(
        "kWh",
        "kBtu",
        "therm",
        "kg/s",
        "lb/h",
        "L/s",
        "L/min",
        "m3/h",
        "m3/s",
        "gal/min",
        "gpm",
        "cfm",
        "m/s",
        "ft/s",
    ),
    *("Pa", "kPa", "bar", "psi", "mH2O", "ftH2O", "Pa s", "cP"),
    *("W/m", "Btu/(h ft)", "W/m2", "W/K", "Btu/(h degF)", "W/(m K)", "Btu/(h ft degF)"),
    *("W/(m2 K)", "Btu/(h ft2 degF)", "m K/W", "h ft degF/Btu", "J/(kg K)", "kJ/(kg K)", "Btu/(lb degF)"),
    *("J/(m3 K)", "kJ/(m3 K)", "MJ/(m3 K)", "Btu/(ft3 degF)", "kg/m3", "lb/ft3", "m2/s", "ft2/day", "mm2/s"),
    *("K/m", "deg", "1/h", "%"),
)


def plain(text: str) -> str:
    """Return a text with the signs of a keyboard: straight quotes, ``-``, ``deg``, no raised numbers.

    Parameters
    ----------
    text : str
        Such as ``55 °F`` or ``2.1 W/m·K``.
    """
    return re.sub(r"\bdeg\.? ?([CF])\b", r"deg\1", text.translate(_SIGNS))


def feet_and_inches(text: str) -> float | None:
    """Return a length [m] written as ``270'``, ``5'6"``, ``5 ft 6 in`` or ``1-1/4"``; None for anything else.

    Parameters
    ----------
    text : str
        In plain signs.
    """
    match = _FEET_AND_INCHES.fullmatch(text)
    if match is None or not (match["feet"] or match["inches"] or match["above"]):
        return None
    inches = float(match["inches"] or 0.0)
    if match["above"]:
        inches += float(match["above"]) / float(match["below"])
    if match["feet"] and inches >= 12.0:
        return None
    length = float(match["feet"] or 0.0) * FOOT + inches * INCH
    return -length if match["sign"] == "-" else length


def doubt(unit: str) -> str:
    """Return why a unit can't be taken as it is, because it means two things; empty where it means one.

    Parameters
    ----------
    unit : str
        The unit.
    """
    if _MILLION_OR_THOUSAND.fullmatch(unit):
        return f"{unit!r} is a thousand Btu in the trade and a million in SI: write kBtu or MMBtu"
    return ""


def nearest(unit: str, is_of_kind: Callable[[str], bool]) -> str:
    """Return the usual unit of some kind that one is most like; empty where none is like it.

    Parameters
    ----------
    unit : str
        The unit as it was written.
    is_of_kind : callable
        Whether a unit is of that kind.
    """
    usual = {_letters(each): each for each in reversed(_USUAL) if is_of_kind(each)}
    found = difflib.get_close_matches(_letters(unit), usual, n=1, cutoff=_ALIKE)
    return usual[found[0]] if found else ""


def _letters(unit: str) -> str:
    """Return the letters of a unit in lower case, with short names of hours, feet and degrees."""
    text = plain(unit).lower().replace("_per_", "/").replace(" per ", "/")
    for long, short in (("hour", "h"), ("hr", "h"), ("feet", "ft"), ("foot", "ft"), ("minute", "min")):
        text = text.replace(long, short)
    text = re.sub(r"(?<![a-z])(deg)?\.? ?f(?![a-z])", "degf", text)
    text = re.sub(r"(?<![a-z])(deg)?\.? ?c(?![a-z])", "degc", text)
    return re.sub(r"[^a-z0-9%]", "", text)
