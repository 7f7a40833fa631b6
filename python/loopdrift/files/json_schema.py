"""JSON Schema of design, site and tariff files, for editors that complete and check keys.

It is made of what the reader uses: kinds of tables, their constructors' signatures and docstrings, and the
ranges of numbers. It can't see all that the reader checks: units within text, files that are named, and
values that must fit each other.
"""

from __future__ import annotations

import datetime
import inspect
import math
import re
import types
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Literal, Union, get_args, get_origin

import numpy as np

from loopdrift.basics.part import Checked, Number, quantities
from loopdrift.files.design_file import STUDY, THEN
from loopdrift.files.kinds import Key, TableKind, constructor_hints, tables_within
from loopdrift.files.reader import KIND, SCHEMA, SCHEMA_KEY
from loopdrift.model.design import Design
from loopdrift.model.phases import Change
from loopdrift.parts.building.week import Weekly
from loopdrift.parts.weather.weather import Weather

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
"""The version of JSON Schema."""
_NUMBER_WITH_UNIT = r"^\s*[-+]?(\d|\.\d)"
_PARAMETERS = re.compile(r"^Parameters\n-+\n(.*?)(?=^\S[^\n]*\n-{3,}$|\Z)", re.DOTALL | re.MULTILINE)
_ENTRY = re.compile(r"^(\S[^\n:]*?) ?:[^\n]*\n((?:[ ]+[^\n]*\n|\n)+)", re.MULTILINE)
_TEXT: Schema = {"type": "string"}
_VALUES: Schema = {"type": "array", "items": {"$ref": "#/$defs/values"}}


def schema(part: type) -> Schema:
    """Return the JSON Schema of the files that describe a part.

    Parameters
    ----------
    part : type
        `Design`, `Site` or another part of a design.
    """
    is_design = issubclass(part, Design)
    tables = tables_within(part, *([Change] if is_design else []))
    whole = tables[part][""]
    root = _table(whole)
    root["properties"] = {
        SCHEMA_KEY: {
            "type": "integer",
            "minimum": 1,
            "maximum": SCHEMA,
            "description": "Version of the file's format.",
        },
        **root["properties"],
    }
    if is_design:
        root["properties"][STUDY] = {"type": "object", "description": "What a study of the design varies."}
        root["properties"][THEN] = {
            "type": "array",
            "items": {"$ref": f"#/$defs/{Change.__name__}"},
            "description": "What changes in later years, in order.",
        }
    definitions = {each.__name__: _kinds(kinds) for each, kinds in tables.items() if each is not part}
    values = {"anyOf": [_number("", {}), {"type": "array", "items": {"$ref": "#/$defs/values"}}]}
    return {
        "$schema": DIALECT,
        "title": f"loopdrift {part.__name__.lower()}",
        **root,
        "$defs": {**dict(sorted(definitions.items())), "values": values},
    }


def _kinds(kinds: Mapping[str, TableKind]) -> Schema:
    """Return the schema of a table that is of one of some kinds."""
    if "" in kinds:
        return _table(kinds[""])
    return {
        "type": "object",
        "required": [KIND],
        "properties": {KIND: {"enum": list(kinds)}},
        "oneOf": [_table(kind, name) for name, kind in kinds.items()],
    }


def _table(kind: TableKind, name: str = "") -> Schema:
    """Return the schema of a table of one kind."""
    make = kind.constructor.make
    summary, about = _documentation(make)
    hints = constructor_hints(make)
    of_numbers = quantities(make.__name__) if inspect.isclass(make) else {}
    properties: Schema = {KIND: {"const": name}} if name else {}
    for key, accepted in kind.keys.items():
        value = _value(accepted, hints.get(accepted.parameter), of_numbers.get(accepted.parameter))
        described = about.get(accepted.parameter)
        properties[key] = {**value, "description": described} if described else value
    return {
        "type": "object",
        **({"description": summary} if summary else {}),
        "properties": properties,
        "required": [*([KIND] if name else []), *kind.required()],
        "additionalProperties": False,
    }


def _value(accepted: Key, hint: Any, quantity: tuple[str, float, float] | None) -> Schema:
    """Return the schema of the value of a key."""
    if accepted.parts:
        tables = [{"$ref": f"#/$defs/{part.__name__}"} for part in dict.fromkeys(accepted.parts)]
        lists = [{"type": "array", "items": _any_of(tables)}] if accepted.several else []
        names = [_TEXT] if Weather in accepted.parts else []
        return _any_of([*tables, *lists, *names])
    if accepted.is_path:
        paths = {"type": "array", "items": _TEXT, "minItems": 1}
        return _any_of([_TEXT, *([paths] if accepted.several else [])])
    if quantity is not None:
        return _number(*_bounds(*quantity))
    return _any_of(list(_of(hint))) if hint is not None else {}


def _bounds(unit: str, least: float, most: float) -> tuple[str, Schema]:
    """Return a unit, and the finite ends of a range."""
    ends = {"minimum": least, "maximum": most}
    return unit, {name: end for name, end in ends.items() if math.isfinite(end)}


def _number(unit: str, bounds: Schema) -> Schema:
    """Return the schema of a number in a unit, or of text that begins with a number."""
    about = {"description": f"[{unit}]"} if unit else {}
    return {"type": ["number", "string"], "pattern": _NUMBER_WITH_UNIT, **bounds, **about}


def _of(hint: Any) -> Iterator[Schema]:
    """Yield the schemas of the values that an annotation allows."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        is_number = any(each in (float, complex) for each in arguments)
        for each in arguments:
            if not (is_number and each is str):  # such text is a number with a unit
                yield from _of(each)
    elif origin is Checked:
        yield from _of(arguments[0])
    elif origin is Literal:
        yield {"enum": list(arguments)}
    elif origin is tuple and arguments[-1:] != (...,):
        items = [_any_of(list(_of(each))) for each in arguments]
        yield {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}
    elif origin is not None and issubclass(origin, Sequence):
        yield {"type": "array", "items": _any_of(list(_of(arguments[0])))}
    elif origin is not None and issubclass(origin, Mapping):
        yield {"type": "object"}
    elif (origin or hint) is np.ndarray or "_NestedSequence" in str(origin):
        yield _VALUES
    elif isinstance(hint, type):
        yield from _of_type(hint)


def _of_type(hint: type) -> Iterator[Schema]:
    """Yield the schema of a plain type; none for one that no file can hold."""
    if issubclass(hint, Weekly):
        yield from [_number("", {}), {"type": "object"}]
    elif issubclass(hint, Number) or hint in (float, complex):
        yield _number("", {})
    elif hint is bool:
        yield {"type": "boolean"}
    elif hint is int:
        yield {"type": "integer"}
    elif hint is str or issubclass(hint, datetime.date):
        yield _TEXT


def _any_of(schemas: Sequence[Schema]) -> Schema:
    """Return a schema that allows what one of several allows; anything if there is none."""
    different = [each for place, each in enumerate(schemas) if each not in schemas[:place]]
    if len(different) == 1:
        return different[0]
    return {"anyOf": different} if different else {}


def _documentation(make: Callable[..., Any]) -> tuple[str, dict[str, str]]:
    """Return the first sentence of a docstring, and what it says of each parameter."""
    text = inspect.getdoc(make) or ""
    summary = " ".join(text.partition("\n\n")[0].split())
    section = _PARAMETERS.search(text)
    about: dict[str, str] = {}
    for names, body in _ENTRY.findall(f"{section[1]}\n" if section else ""):
        about |= {name.strip(): " ".join(body.split()) for name in names.split(",")}
    return summary, about
