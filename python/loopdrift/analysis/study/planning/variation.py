"""Parameters that can vary in a design, by the dotted names of design files, and varied parts."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from typing import Any, NamedTuple, get_args, get_type_hints

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput, UnknownName
from loopdrift.basics.part import Number, Part, quantities, require
from loopdrift.model.design import WITHOUT_EFFECT, Design
from loopdrift.parts.loads import Loads

SCALE = "_scale"
"""Ending of the names of factors of loads."""


class Variable(NamedTuple):
    """A parameter that can vary."""

    path: str
    """Its full dotted name, such as ``ground_side.bore.depth``."""
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
        """Its name in words, for the axis of a chart."""
        return " ".join(self.names[-2:]).replace("_", " ").removeprefix("ground side ")


def variable(design: Design, name: str) -> Variable:
    """Return the parameter of a design with a given name: a full dotted name, or an unambiguous suffix.

    Raises
    ------
    InvalidInput
        If the name is unknown or ambiguous.
    """
    known = {found.path: found for found in _variables(design, "")}
    if name in known:
        return known[name]
    endings = [found for path, found in known.items() if path.endswith(f".{name}")]
    if len(endings) == 1:
        return endings[0]
    if endings:
        paths = ", ".join(found.path for found in endings)
        raise InvalidInput("Study", "name", repr(name), "", f"is ambiguous: could be any of {paths}")
    raise UnknownName("Study", "name", name, "unknown parameter", known)


def _variables(part: Part, prefix: str) -> Iterator[Variable]:
    owner = type(part).__name__
    for name, unit in part.variables.items():
        yield Variable(f"{prefix}{name}", owner, unit is not None, unit or "")
    children = {name: value for name, value in part.children.items() if name not in WITHOUT_EFFECT}
    for name, value in children.items():
        is_number = _is_number(part, name)
        unit = quantities(owner)[name][0] if is_number and name in quantities(owner) else ""
        yield Variable(f"{prefix}{name}", owner, is_number, unit)
        if isinstance(value, Part):
            yield from _variables(value, f"{prefix}{name}.")
        if isinstance(value, Loads):
            series = value.for_engine()
            yield from (Variable(f"{prefix}{name}.{each}{SCALE}", "Loads", True, "") for each in series)


_hints: dict[type, dict[str, Any]] = {}
"""Type hints by class: reading them costs a millisecond."""


def _type_hints(kind: type) -> dict[str, Any]:
    if kind not in _hints:
        _hints[kind] = get_type_hints(kind)
    return _hints[kind]


def _is_number(part: Part, name: str) -> bool:
    plain = _type_hints(type(part)).get(name) is float
    return plain or isinstance(inspect.getattr_static(type(part), name, None), Number)


def value(design: Design, variable: Variable, given: Any) -> Any:
    """Return the value of a parameter: numbers in SI, anything else unchanged.

    Raises
    ------
    InvalidInput
        If a value isn't a number, or its unit doesn't fit.
    """
    owner, field = variable.owner, variable.names[-1]
    if variable.path == "flow":
        density = design.fluid.density_at
        return units.mass_flow(given, lambda: density(design.ground.temperature), owner=owner, field=field)
    if variable.is_number:
        return units.to_si(given, variable.unit, owner=owner, field=field)
    return given


def varied(design: Design, field: str, changes: dict[str, Any]) -> Any:
    """Return a field of a design with other values at dotted names.

    Parameters
    ----------
    design : Design
        The design.
    field : str
        The field.
    changes : dict
        Values by full dotted names, all within the field.

    Raises
    ------
    InvalidInput
        If the field can't have the values.
    """
    part = changes.get(field, getattr(design, field))
    within = {tuple(path.split(".")[1:]): value for path, value in changes.items() if path != field}
    own = {names[0]: value for names, value in within.items() if len(names) == 1}
    if own and isinstance(part, Part):
        part = part.with_values(**own)
    elif own:
        for name, value in sorted(own.items()):
            part = _scaled(part, name, value)
    for names in sorted((names for names in within if len(names) > 1), key=lambda names: (len(names), names)):
        part = _with(part, names, within[names])
    hint = _type_hints(type(design))[field]
    kinds = get_args(hint) or (hint,)
    if not _is_number(design, field) and not isinstance(part, kinds):
        require(part, kinds[0], owner="Design", field=field)
    return part


def _with(part: Any, names: tuple[str, ...], value: Any) -> Any:
    """Return a part with another value at a path of nested names."""
    name, *rest = names
    if not rest:
        return part.with_values(**{name: value}) if isinstance(part, Part) else _scaled(part, name, value)
    return part.with_child(name, lambda child: _with(child, tuple(rest), value))


def _scaled(loads: Loads, name: str, factor: float) -> Loads:
    """Return loads with one series multiplied by a factor."""
    which = name.removesuffix(SCALE)
    return loads.with_series(**{which: factor * loads.for_engine()[which]})
