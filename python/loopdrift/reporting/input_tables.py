"""The input of a design as readable tables: every part by name, with units."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from loopdrift.basics.both_units import FACTORS, both, both_degrees, fahrenheit, in_sentences
from loopdrift.basics.model_time import MONTHS
from loopdrift.basics.part import Part, quantities
from loopdrift.model.key_figures import flow_in_words
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather
from loopdrift.reporting.curves import CURVES, equation
from loopdrift.reporting.html import Units

if TYPE_CHECKING:
    from loopdrift.model.design import Design

_MOST_SHOWN = 24
_SHOWN_ELSEWHERE = {"project"}
_UNITS = {
    ("EnteringLoadCorrection", "reference"): "degC",
    ("EnteringLoadCorrection", "between"): "degC",
    ("BoreField", "positions"): "m",
    ("BoreField", "inclination"): "deg",
    ("BoreField", "direction"): "deg",
    ("TrenchField", "pipes"): "m",
    ("TrenchField", "origin"): "m",
    ("TrenchField", "direction"): "deg",
    ("SitePlan", "house"): "m",
    ("SitePlan", "property_lines"): "m",
    ("Tariff", "carbon"): "kg/kWh",
    ("Fuel", "carbon"): "kg/kWh",
}
"""Units of what the schema doesn't know: lists, and numbers that may be series."""
_SHARES = ("_fraction", "_share")
_RATES = {"discount_rate", "escalation"}
_LARGER = {"J/(m3 K)": ("MJ/(m3 K)", 1e-6), "J/(kg K)": ("kJ/(kg K)", 1e-3)}
"""Units that read better than those of the schema, and the size of the schema's in them."""


class Section(NamedTuple):
    """One part of a design."""

    title: str
    rows: list[tuple[str, str]]
    """Labels and values in words."""


def sections(design: Design, units: Units) -> list[Section]:
    """Return the input of a design, part by part.

    Parameters
    ----------
    design : Design
        The design.
    units : {"SI", "IP"}
        Units of equations and lists; single numbers are in both.
    """
    return [section for section in _sections("design", design, design, units) if section.rows]


def _sections(title: str, part: Any, design: Design, units: Units) -> Iterator[Section]:
    """Yield a part and the parts in it; the part itself first."""
    rows: list[tuple[str, str]] = []
    within: list[Section] = []
    for name, value in _values(part).items():
        label = name.replace("_", " ")
        path = label if part is design else f"{title}, {label}"
        if value is None or (part is design and name in _SHOWN_ELSEWHERE):
            continue
        if isinstance(value, Loads | Weather):
            rows.append((label, _series(value)))
        elif dataclasses.is_dataclass(value):
            within += _sections(path, value, design, units)
        elif isinstance(value, list | tuple) and value and dataclasses.is_dataclass(value[0]):
            for number, each in enumerate(value, start=1):
                within += _sections(f"{path} {number}" if len(value) > 1 else path, each, design, units)
        elif not (isinstance(value, list | tuple) and not value):
            rows.append((label, _field(part, name, value, units)))
    yield Section(title, rows)
    yield from within


def _values(part: Any) -> dict[str, Any]:
    """Return what a part was made of, by name."""
    fields = {field.name: getattr(part, field.name) for field in dataclasses.fields(part) if field.compare}
    if not isinstance(part, Part) or any(dataclasses.is_dataclass(value) for value in fields.values()):
        return fields
    return part.arguments()


def _series(value: Loads | Weather) -> str:
    if isinstance(value, Weather):
        return "hourly series of one year, in the attached file"
    years = "one year" if value.years == 1 else f"{value.years} years"
    return f"hourly series of {years}, in the attached file"


def _field(part: Any, name: str, value: Any, units: Units) -> str:
    """Return the value of one field in words."""
    owner = type(part).__name__
    if owner.endswith("Design"):
        if name == "flow":
            return flow_in_words(part)
        if name == "pump_power" and part.pump_power_follows:
            return f"{float(f'{value:.3g}'):,.0f} W, computed from the piping"
    if name == "start_month":
        return MONTHS[value - 1]
    if owner == "Period" and name in ("hours", "months"):
        first, last = (f"{each}:00" if name == "hours" else MONTHS[each - 1] for each in value)
        return f"{first} to {last}"
    if name == "entering_fluid_range":
        return " to ".join(map(both_degrees, value))
    if (owner, name) in CURVES:
        degree = "degC" if units == "SI" else "degF"
        return f"{equation(value, CURVES[owner, name], units)}, T: entering fluid in {degree}"
    if isinstance(value, float | np.floating):
        if name in _RATES:
            return f"{100.0 * value:g} % a year"
        if name.endswith(_SHARES):
            return f"{100.0 * value:g} %"
    found = quantities(owner).get(name)
    return _in_words(value, _UNITS.get((owner, name), "") if found is None else found[0], units)


def _in_words(value: Any, unit: str, units: Units) -> str:
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, float | np.floating):
        return _number(float(value), unit)
    if isinstance(value, np.ndarray | list | tuple):
        return _list(np.asarray(value, dtype=object), unit, units)
    if isinstance(value, dict):
        return ", ".join(f"{key}: {each}" for key, each in value.items())
    return str(value)


def _number(value: float, unit: str) -> str:
    if unit == "degC":
        return both_degrees(value)
    if unit == "m" and 0.0 < abs(value) < 1.0:
        return both(1e3 * value, "mm", ".4g")
    if unit in _LARGER:
        unit, size = _LARGER[unit]
        value *= size
    form = ",.0f" if 1e3 <= abs(value) < 1e6 else ".4g"
    if unit in FACTORS and unit != "W":
        return both(value, unit, form)
    return f"{value:{form}} {unit}".rstrip()


def _list(values: np.ndarray[tuple[int, ...], np.dtype[Any]], unit: str, units: Units) -> str:
    """Return numbers in a line, those of one row in parentheses; only how many if they are very many."""
    if values.size > _MOST_SHOWN:
        return f"{len(values):,} values, in the attached file"

    def converted(each: float) -> float:
        if units == "SI" or unit not in ("degC", *FACTORS):
            return each
        return fahrenheit(each) if unit == "degC" else in_sentences(unit)[1] * each

    def shown(each: Any) -> str:
        if isinstance(each, np.ndarray):
            return f"({', '.join(map(shown, each))})"
        return f"{converted(float(each)):z.4g}" if isinstance(each, float | np.floating) else str(each)

    name = unit
    if units == "IP" and unit in ("degC", *FACTORS):
        name = "degF" if unit == "degC" else in_sentences(unit)[0]
    return f"{', '.join(map(shown, values))} {name}".rstrip()
