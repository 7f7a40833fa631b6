"""Text with units to SI numbers, and SI tables to inch-pound units."""

from __future__ import annotations

import functools
import math
import re
import tokenize
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from loopdrift.basics.both_units import DEGREE, factor, fahrenheit
from loopdrift.basics.bounds import MOST_UNIT_CHARACTERS
from loopdrift.basics.errors import InvalidInput, shown
from loopdrift.basics.units.written import doubt, feet_and_inches, nearest, plain

if TYPE_CHECKING:
    import pandas as pd
    import pint

_NUMBER_AND_UNIT = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_POWER = re.compile(r"(?<=[^\W\d])(\*\*|\^)-?\d(?![\d.*^\w])")
_NUMBER = re.compile(r"(?<![^\W\d])\d")
_OTHERS = re.compile(r"[^\w\s*/()%°µ.-]|\*\*|\b(if|else|lambda|or|and|not|is|in)\b\s+\b")
_MOST_BRACKETS = 10
_ANGLES = {"radian", "degree", "turn"}
_OF_ODD_TEXT = (
    AttributeError,
    ValueError,
    TypeError,
    AssertionError,
    ArithmeticError,
    RecursionError,
    MemoryError,
)
_DIFFERENCES = {
    "F": "delta_degF",
    "degC": "delta_degC",
    "degF": "delta_degF",
    "celsius": "delta_degC",
    "fahrenheit": "delta_degF",
}

_OTHER_FLOW = {"kg/s": "m3/s", "m3/s": "kg/s"}

WATER_DENSITY = 999.97
"""Density of groundwater given by volume [kg/m3]."""


@functools.cache
def registry() -> pint.UnitRegistry[float]:
    """Return the registry of the units in ``units.txt``."""
    import pint

    # Pint's own file has ten times as many units, and its ton is a mass.
    return pint.UnitRegistry(Path(__file__).parent / "units.txt")


def to_si(value: float | str, unit: str, *, owner: str, field: str) -> float:
    """Return `value` as a plain number in `unit`.

    Parameters
    ----------
    value : float or str
        A number, taken to be in `unit`, or text with a unit such as ``"300 ft"``; lengths can also be
        ``270'`` or ``5'6"``.
    unit : str
        The unit of the result; ``"degC"`` converts temperatures and ``"K"`` differences of temperature, and
        ``"kg/s"`` and ``"m3/s"`` take mass flows and volume flows alike, of water.
    owner, field : str
        What the value belongs to, for the message.

    Raises
    ------
    InvalidInput
        If `value` is not a finite number, or its unit is unknown or of another kind.
    """
    other = _OTHER_FLOW.get(unit)
    if other is None or not isinstance(value, str):
        return _to_si(value, unit, owner=owner, field=field)
    try:
        return _to_si(value, unit, owner=owner, field=field)
    except InvalidInput as error:
        try:
            flow = _to_si(value, other, owner=owner, field=field)
        except InvalidInput:
            raise error from None
    return flow * WATER_DENSITY if unit == "kg/s" else flow / WATER_DENSITY


def _to_si(value: float | str, unit: str, *, owner: str, field: str) -> float:
    """Return `value` as a plain number in `unit`, without turning one kind of flow into another."""
    if is_quantity(value):
        return _of_quantity(value, unit, owner=owner, field=field)
    length = feet_and_inches(plain(value)) if isinstance(value, str) and unit == "m" else None
    if length is not None:
        return length
    number, given = _split(value, unit, owner=owner, field=field)
    if given:
        import pint

        written = doubt(given)
        if written:
            raise InvalidInput(owner, field, value, "", written)
        if not _is_plain(given):
            raise InvalidInput(owner, field, value, "", _with_unit(unit, given))
        try:
            name = _DIFFERENCES.get(given, given) if unit == "K" else given
            parsed = registry().Quantity(number, registry().parse_units(name))
            if not _is_of_kind(parsed.units, unit):
                raise InvalidInput(owner, field, value, "", _with_unit(unit, given))
            number = float(parsed.to(unit or "dimensionless").magnitude)
        except pint.UndefinedUnitError as error:
            names = error.unit_names if isinstance(error.unit_names, str) else " ".join(error.unit_names)
            unknown = f"unknown unit {names}; {_with_unit(unit, given)}"
            raise InvalidInput(owner, field, value, "", unknown) from None
        except InvalidInput:
            raise
        except (pint.PintError, tokenize.TokenError, SyntaxError, *_OF_ODD_TEXT):
            raise InvalidInput(owner, field, value, "", _with_unit(unit, given)) from None
    if not math.isfinite(number):
        raise InvalidInput(owner, field, value, unit, "must be a finite number")
    return number


def is_quantity(value: object) -> bool:
    """Return whether a value is a number or an array with a unit, such as a pint quantity."""
    return hasattr(value, "magnitude") and hasattr(value, "to")


@functools.cache
def is_unit(name: str, like: str | None = None) -> bool:
    """Return whether a text is a unit that numbers may carry.

    Parameters
    ----------
    name : str
        Such as ``kBtu/h``.
    like : str, optional
        A unit of the kind that it must be of; a flow may be one of mass or of volume.
    """
    import pint

    try:
        if not (_is_plain(name) and registry().parse_units(name)):
            return False
    except (pint.PintError, tokenize.TokenError, SyntaxError, *_OF_ODD_TEXT):
        return False
    return like is None or _is_unit(name, like)


def quantity_in(value: Any, unit: str, *, owner: str, field: str) -> Any:
    """Return the magnitude of a pint quantity of any shape in `unit`.

    Parameters
    ----------
    value : pint.Quantity
        From any registry.
    unit : str
        The unit of the result; ``"K"`` converts differences of temperature.
    owner, field : str
        What the value belongs to, for the message.

    Raises
    ------
    InvalidInput
        If its unit is of another kind.
    """
    try:
        if unit == "K" and str(value.units) in ("degree_Celsius", "degree_Fahrenheit"):
            return value.magnitude * (1.0 if str(value.units) == "degree_Celsius" else 1.0 / DEGREE)
        return value.to(unit or "dimensionless").magnitude
    except Exception:
        raise InvalidInput(owner, field, str(value), "", _with_unit(unit)) from None


def _of_quantity(value: Any, unit: str, *, owner: str, field: str) -> float:
    return to_si(quantity_in(value, unit, owner=owner, field=field), unit, owner=owner, field=field)


def mass_flow(value: float | str, density: Callable[[], float], *, owner: str, field: str) -> float:
    """Return `value` as a mass flow [kg/s].

    Parameters
    ----------
    value : float or str
        Mass flow [kg/s], or text with a unit of mass flow or of volume flow.
    density : callable
        Returns the density [kg/m3] that converts a volume flow; called only for a volume flow.
    owner, field : str
        What the value belongs to, for the message.

    Raises
    ------
    InvalidInput
        If `value` is not a finite number, or its unit is unknown or of another kind.
    """
    try:
        return _to_si(value, "kg/s", owner=owner, field=field)
    except InvalidInput as error:
        try:
            volume_flow = _to_si(value, "m3/s", owner=owner, field=field)
        except InvalidInput:
            raise error from None
        return volume_flow * density()


class _Ending(NamedTuple):
    """Ending of a column's name with its unit, and both in inch-pound tables."""

    ending: str
    unit: str
    inch_pound_ending: str
    inch_pound_unit: str


_ENDINGS = (
    _Ending("_degC", "degC", "_degF", "degF"),
    _Ending("_K", "K", "_delta_degF", "degF"),
    _Ending("_W", "W", "_Btu_per_h", "Btu/h"),
    _Ending("_kWh", "kWh", "_kBtu", "kBtu"),
    _Ending("_per_kWh", "1/kWh", "_per_kBtu", "1/kBtu"),
    _Ending("_W_per_m", "W/m", "_Btu_per_h_ft", "Btu/(h ft)"),
    _Ending("_W_per_m2", "W/m2", "_Btu_per_h_ft2", "Btu/(h ft2)"),
    _Ending("_W_per_mK", "W/(m K)", "_Btu_per_h_ft_degF", "Btu/(h ft degF)"),
    _Ending("_mK_per_W", "m K/W", "_h_ft_degF_per_Btu", "h ft degF/Btu"),
    _Ending("_J_per_kgK", "J/(kg K)", "_Btu_per_lb_degF", "Btu/(lb degF)"),
    _Ending("_m", "m", "_ft", "ft"),
    _Ending("_m2", "m2", "_ft2", "ft2"),
    _Ending("_m3", "m3", "_gal", "gal"),
    _Ending("_m_per_s", "m/s", "_ft_per_s", "ft/s"),
    _Ending("_Pa", "Pa", "_psi", "psi"),
    _Ending("_kg_per_s", "kg/s", "_lb_per_h", "lb/h"),
    _Ending("_m3_per_s", "m3/s", "_gpm", "gal/min"),
    _Ending("_kg_per_m3", "kg/m3", "_lb_per_ft3", "lb/ft3"),
    _Ending("_Pa_s", "Pa s", "_cP", "cP"),
)

_ELECTRICITY = re.compile(r"(electricity.*|pump|distribution|hot_water_element|.*_power)_(W|kWh)")
"""Columns whose energy or power is given in SI units everywhere."""


def to_inch_pound(frame: pd.DataFrame) -> pd.DataFrame:
    """Return a copy of a table with its SI columns in inch-pound units, by the endings of their names.

    Electricity stays in kWh and W; columns without a unit are unchanged.

    Parameters
    ----------
    frame : pandas.DataFrame
        A table whose column names end with their units, such as ``entering_fluid_degC``.

    Returns
    -------
    pandas.DataFrame
        The same rows and columns, such as ``entering_fluid_degF``.

    Examples
    --------
    >>> import pandas as pd
    >>> to_inch_pound(pd.DataFrame({"wall_degC": [10.0], "electricity_kWh": [5.0]}))
       wall_degF  electricity_kWh
    0       50.0              5.0
    """
    converted = frame.copy()
    names = [str(name) for name in frame.columns]
    for place, name in enumerate(names):
        found = _ending(name)
        if found is None:
            continue
        values = frame.iloc[:, place].to_numpy(dtype=float)
        if found.unit == "degC":
            converted.isetitem(place, fahrenheit(values))
        else:
            converted.isetitem(place, factor(found.unit, found.inch_pound_unit) * values)
        names[place] = name.removesuffix(found.ending) + found.inch_pound_ending
    return converted.set_axis(names, axis="columns")


def inch_pound_unit(name: str, unit: str) -> str:
    """Return the unit of a column in inch-pound tables; electricity keeps its SI unit.

    Parameters
    ----------
    name : str
        The column's name, which ends with its unit.
    unit : str
        Its SI unit.
    """
    found = _ending(name)
    return unit if found is None else found.inch_pound_unit


def _ending(name: str) -> _Ending | None:
    """Return the longest known ending of a column's name; None for electricity and without a unit."""
    found = [each for each in _ENDINGS if name.endswith(each.ending)]
    if not found or _ELECTRICITY.fullmatch(name):
        return None
    return max(found, key=lambda each: len(each.ending))


def _split(value: float | str, unit: str, *, owner: str, field: str) -> tuple[float, str]:
    if isinstance(value, str):
        match = _NUMBER_AND_UNIT.fullmatch(plain(value))
        if match is None:
            or_text = ", or text with a unit" if unit else ""
            raise InvalidInput(owner, field, repr(value), "", f"{_number_in(unit)}{or_text}")
        if match[2].startswith(","):
            raise InvalidInput(owner, field, repr(value), "", _without_comma(match[1], match[2]))
        return float(match[1]), match[2]
    if isinstance(value, bool):
        raise InvalidInput(owner, field, value, "", _number_in(unit))
    try:
        return float(value), ""
    except (TypeError, ValueError, OverflowError):
        raise InvalidInput(owner, field, shown(value), "", _number_in(unit)) from None


def _is_plain(given: str) -> bool:
    """Whether a text is safe to parse as a unit: short, without numbers except powers of one digit."""
    if len(given) > MOST_UNIT_CHARACTERS or given.count("(") > _MOST_BRACKETS:
        return False
    without_powers = _POWER.sub("", given)
    return not _NUMBER.search(without_powers) and not _OTHERS.search(without_powers)


def _is_of_kind(units: Any, unit: str) -> bool:
    """Whether dimensionless units are of one kind: a percentage is neither an angle nor part of a length."""
    names = set(units._units)
    if unit == "deg":
        return bool(names & _ANGLES)
    return not names & _ANGLES if not unit else "percent" not in names


def _with_unit(unit: str, given: str = "") -> str:
    """Return what would do in the place of a unit: the one most like it, or one of the right kind."""
    if not unit:
        return _number_in(unit)
    near = nearest(given, lambda each: _is_unit(each, unit)) if given else ""
    meant = f"; did you mean {near!r}?" if near and near != given else ""
    return f"must be a number with a unit like {unit}{meant}"


@functools.cache
def _is_unit(name: str, unit: str) -> bool:
    """Whether a name is that of a unit of some kind; a flow may be one of mass or of volume."""
    units = registry().parse_units(name)
    return _is_of_kind(units, unit) and any(
        units.is_compatible_with(each) for each in {unit, _OTHER_FLOW.get(unit, unit)}
    )


def _without_comma(before: str, after: str) -> str:
    """Return how to write a number that has a comma, which can be that of thousands or of decimals."""
    digits = re.match(r",(\d+)", after)
    if digits is None:
        return "must have no comma in its number"
    readings = f"{before}.{digits[1]}"
    if len(digits[1]) == 3 and not before.lstrip("+-").startswith("0"):
        readings = f"{before}{digits[1]} or {readings}"
    return f"must have no comma in its number: write {readings}"


def _number_in(unit: str) -> str:
    return f"must be a number in {unit}" if unit else "must be a number without a unit"
