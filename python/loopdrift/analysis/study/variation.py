"""What can vary in a design, by the dotted names that its file has, and designs' parts with other values."""

from __future__ import annotations

import dataclasses
import difflib
import inspect
from collections.abc import Iterator
from typing import Any, NamedTuple, get_args, get_type_hints

import numpy as np

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, Part, quantities, require
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.model.design import Design
from loopdrift.parts.loads import Loads

_SCALE = "_scale"
_SIDES = ("ground_side.columns", "ground_side.rows")
_WITHOUT_EFFECT = {"piping", "prices"}
"""Fields of a design that change no temperature."""


class Variable(NamedTuple):
    """One thing that can vary."""

    path: str
    """Its whole dotted name, such as ``ground_side.bore.depth``."""
    owner: str
    """Name of the type that holds it."""
    is_number: bool
    unit: str

    @property
    def names(self) -> list[str]:
        """The names between the dots."""
        return self.path.split(".")

    @property
    def label(self) -> str:
        """What it is, in words for the axis of a chart."""
        return " ".join(self.names[-2:]).replace("_", " ").removeprefix("ground side ")


def variable(design: Design, name: str) -> Variable:
    """Return what `name` means in a design: a whole dotted name, or its end where no other has the same.

    Raises
    ------
    InvalidInput
        If nothing in the design has the name, or several things have.
    """
    known = {found.path: found for found in _variables(design, "")}
    if name in known:
        return known[name]
    endings = [found for path, found in known.items() if path.endswith(f".{name}")]
    if len(endings) == 1:
        return endings[0]
    if endings:
        paths = ", ".join(found.path for found in endings)
        raise InvalidInput("Study", "name", repr(name), "", f"could be any of {paths}")
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    hint = f"did you mean {near[0]!r}?" if near else f"must be one of {', '.join(known)}"
    raise InvalidInput("Study", "name", repr(name), "", f"is nothing in this design; {hint}")


def _variables(part: Part, prefix: str) -> Iterator[Variable]:
    owner = type(part).__name__
    if isinstance(part, BoreField):
        yield Variable(f"{prefix}spacing", owner, True, "m")
        yield Variable(f"{prefix}positions", owner, False, "")
        yield from (Variable(f"{prefix}{name}", owner, True, "deg") for name in ("inclination", "direction"))
        if _sides(part) is not None:
            yield from (Variable(path, owner, False, "") for path in _SIDES)
        children: dict[str, Any] = {"bore": part.bores[0]}
    else:
        fields = [field for field in dataclasses.fields(part) if field.compare]  # type: ignore[arg-type]
        children = {field.name: getattr(part, field.name) for field in fields}
    if isinstance(part, TrenchField) and part.coil is None:
        yield Variable(f"{prefix}depth", owner, True, "m")
    for name in _WITHOUT_EFFECT & children.keys():
        del children[name]
    for name, value in children.items():
        is_number = _is_number(part, name)
        unit = quantities(owner)[name][0] if is_number and name in quantities(owner) else ""
        yield Variable(f"{prefix}{name}", owner, is_number, unit)
        if isinstance(value, Part):
            yield from _variables(value, f"{prefix}{name}.")
        if isinstance(value, Loads):
            series = value.for_engine()
            yield from (Variable(f"{prefix}{name}.{each}{_SCALE}", "Loads", True, "") for each in series)


def _sides(field: BoreField) -> tuple[int, int] | None:
    """Return columns and rows of a full rectangular grid of equal vertical bores; None for any other."""
    if len(field.bores) != 1 or field.count == 1 or field.leans:
        return None
    places = (field.positions - field.positions.min(axis=0)) / field.spacing
    cells = np.rint(places)
    columns, rows = (int(side) + 1 for side in cells.max(axis=0))
    is_full = len(np.unique(cells, axis=0)) == columns * rows == field.count
    return (columns, rows) if is_full and np.allclose(places, cells, rtol=0.0, atol=1e-6) else None


def _is_number(part: Part, name: str) -> bool:
    plain = get_type_hints(type(part)).get(name) is float
    return plain or isinstance(inspect.getattr_static(type(part), name, None), Number)


def value(design: Design, variable: Variable, given: Any) -> Any:
    """Return what was given for a variable: numbers in SI, all else as it is.

    Raises
    ------
    InvalidInput
        If a number isn't one, or its unit is of another kind.
    """
    owner, field = variable.owner, variable.names[-1]
    if variable.path == "flow":
        density = design.fluid.density_at
        return units.mass_flow(given, lambda: density(design.ground.temperature), owner=owner, field=field)
    if variable.is_number:
        return units.to_si(given, variable.unit, owner=owner, field=field)
    return given


def varied(design: Design, field: str, changes: dict[str, Any]) -> Any:
    """Return a field of a design in which what stands at dotted names has other values.

    Parameters
    ----------
    design : Design
        The design.
    field : str
        The field.
    changes : dict
        Values by their whole dotted names, all of them of the field.

    Raises
    ------
    InvalidInput
        If the field can't have the values.
    """
    part = changes.get(field, getattr(design, field))
    sides = {path.split(".")[1]: changes[path] for path in _SIDES if path in changes}
    if sides:
        part = _with_sides(part, sides)
    for path in sorted(changes.keys() - {field, *_SIDES}, key=lambda path: (path.count("."), path)):
        part = _with(part, path.split(".")[1:], changes[path])
    kinds = get_args(get_type_hints(Design)[field]) or (get_type_hints(Design)[field],)
    if kinds != (float,) and not isinstance(part, kinds):
        require(part, kinds[0], owner="Design", field=field)
    return part


def _with_sides(field: Any, changes: dict[str, Any]) -> BoreField:
    """Return a grid with other numbers of columns or rows, the spacing as it was."""
    sides = _sides(field) if isinstance(field, BoreField) else None
    if sides is None:
        allowed = "can't be varied where the field is no rectangular grid of equal vertical bores"
        raise InvalidInput("BoreField", ", ".join(changes), "other than its own", "", allowed)
    columns, rows = sides
    counts = {"columns": columns, "rows": rows} | changes
    return BoreField.grid(field.bores[0], **counts, spacing=field.spacing)


def _with(part: Any, names: list[str], value: Any) -> Any:
    name, *rest = names
    if isinstance(part, Loads):
        series = part.for_engine()
        which = name.removesuffix(_SCALE)
        return Loads(**series | {which: value * series[which]})
    if isinstance(part, BoreField) and name == "spacing":
        return part.spaced(value)
    if isinstance(part, BoreField) and name == "bore":
        bores = [_with(bore, rest, value) if rest else value for bore in part.bores]
        return part.replace(bore=bores[0] if len(bores) == 1 else bores)
    if isinstance(part, TrenchField) and name == "depth":
        return part.lowered(value)
    return part.replace(**{name: _with(getattr(part, name), rest, value) if rest else value})
