"""The input of a design as readable tables: every part by name, with units in both systems."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from loopdrift.basics.both_units import FACTORS, both, both_degrees
from loopdrift.basics.part import Part, quantities
from loopdrift.model.key_figures import flow_in_words
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    from loopdrift.model.design import Design

_MOST_SHOWN = 24
_SHOWN_ELSEWHERE = {"project"}


class Section(NamedTuple):
    """One part of a design."""

    title: str
    rows: list[tuple[str, str]]
    """Labels and values in words."""


def sections(design: Design) -> list[Section]:
    """Return the input of a design, part by part.

    Parameters
    ----------
    design : Design
        The design.
    """
    return [section for section in _sections("design", design, design) if section.rows]


def _sections(title: str, part: Any, design: Design) -> Iterator[Section]:
    """Yield a part and the parts in it; the part itself first."""
    rows: list[tuple[str, str]] = []
    within: list[Section] = []
    for name, value in _values(part).items():
        label = name.replace("_", " ")
        path = label if part is design else f"{title}, {label}"
        if value is None or (part is design and name in _SHOWN_ELSEWHERE):
            continue
        if part is design and name == "flow":
            rows.append((label, flow_in_words(design)))
        elif isinstance(value, Loads | Weather):
            rows.append((label, _series(value)))
        elif dataclasses.is_dataclass(value):
            within += _sections(path, value, design)
        elif isinstance(value, list | tuple) and value and dataclasses.is_dataclass(value[0]):
            for number, each in enumerate(value, start=1):
                within += _sections(f"{path} {number}" if len(value) > 1 else path, each, design)
        elif not (isinstance(value, list | tuple) and not value):
            rows.append((label, _in_words(value, _unit(part, name))))
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


def _unit(part: Any, name: str) -> str:
    found = quantities(type(part).__name__).get(name)
    return found[0] if found is not None else {"positions": "m"}.get(name, "")


def _in_words(value: Any, unit: str) -> str:
    if isinstance(value, bool | np.bool_):
        return "yes" if value else "no"
    if isinstance(value, float | np.floating):
        if unit == "degC":
            return both_degrees(float(value))
        number = float(value)
        form = ",.0f" if 1e3 <= abs(number) < 1e6 else ".4g"
        if unit == "m" and 0.0 < abs(number) < 1.0:
            return both(1e3 * number, "mm", ".4g")
        if unit in FACTORS and unit != "W":
            return both(number, unit, form)
        return f"{number:{form}} {unit}".rstrip()
    if isinstance(value, np.ndarray | list | tuple):
        return _list(np.asarray(value, dtype=object), unit)
    if isinstance(value, dict):
        return ", ".join(f"{key}: {each}" for key, each in value.items())
    return str(value)


def _list(values: np.ndarray[tuple[int, ...], np.dtype[Any]], unit: str) -> str:
    """Return numbers in a line, those of one row in parentheses; only how many if they are very many."""
    if values.size > _MOST_SHOWN:
        return f"{len(values):,} values, in the attached file"

    def shown(each: Any) -> str:
        if isinstance(each, np.ndarray):
            return f"({', '.join(map(shown, each))})"
        return f"{each:.5g}" if isinstance(each, float | np.floating) else str(each)

    return f"{', '.join(map(shown, values))} {unit}".rstrip()
