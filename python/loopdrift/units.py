"""Text with a unit into plain SI numbers, and SI columns into inch-pound ones."""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING

from loopdrift.errors import InvalidInput

if TYPE_CHECKING:
    import pint

_NUMBER_AND_UNIT = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_DIFFERENCES = {"degC": "delta_degC", "degF": "delta_degF", "celsius": "delta_degC", "fahrenheit": "delta_degF"}


@functools.cache
def registry() -> pint.UnitRegistry[float]:
    """Return the one registry of units, with the trade's short names added."""
    import pint

    units: pint.UnitRegistry[float] = pint.UnitRegistry()
    units.define("gpm = gallon / minute")
    units.define("ton = refrigeration_ton")
    return units


def to_si(value: float | str, unit: str, *, owner: str, field: str) -> float:
    """Return `value` as a plain number in `unit`.

    Parameters
    ----------
    value : float or str
        A number, taken to be in `unit`, or text with a unit such as ``"300 ft"``.
    unit : str
        The unit of the result; ``"degC"`` converts temperatures and ``"K"`` differences of temperature.
    owner, field : str
        What the value belongs to, for the message.

    Raises
    ------
    InvalidInput
        If `value` is no finite number, or its unit is unknown or of another kind.
    """
    number, given = _split(value, unit, owner=owner, field=field)
    if given:
        import pint

        try:
            name = _DIFFERENCES.get(given, given) if unit == "K" else given
            parsed = registry().Quantity(number, registry().parse_units(name))
            number = float(parsed.to(unit or "dimensionless").magnitude)
        except (pint.PintError, AttributeError, ValueError, TypeError, AssertionError):
            raise InvalidInput(owner, field, value, "", f"must be a number with a unit like {_named(unit)}") from None
    if not math.isfinite(number):
        raise InvalidInput(owner, field, value, unit, "must be a finite number")
    return number


def _split(value: float | str, unit: str, *, owner: str, field: str) -> tuple[float, str]:
    if isinstance(value, str):
        match = _NUMBER_AND_UNIT.fullmatch(value)
        if match is None:
            raise InvalidInput(owner, field, repr(value), "", f"must be a number in {_named(unit)}, or text with a unit")
        return float(match[1]), match[2]
    if isinstance(value, bool):
        raise InvalidInput(owner, field, value, "", f"must be a number in {_named(unit)}")
    try:
        return float(value), ""
    except (TypeError, ValueError):
        raise InvalidInput(owner, field, repr(value), "", f"must be a number in {_named(unit)}") from None


def _named(unit: str) -> str:
    return unit or "no unit"
