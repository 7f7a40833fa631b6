"""Kinds of tables in design and site files: the constructor behind each, and what its keys accept.

All of it is read off the constructors' signatures, so a new field or kind of a part needs no change here.
"""

from __future__ import annotations

import dataclasses
import functools
import inspect
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, NamedTuple, Optional, get_args, get_origin, get_type_hints

from loopdrift.basics.numbers import Range, WholeRange
from loopdrift.basics.part import Several, quantities
from loopdrift.ground_sides.kind import kinds
from loopdrift.parts import building  # noqa: F401  registers the loads of a building
from loopdrift.parts.constructors import Constructor, constructors, registered
from loopdrift.parts.ground_side import GroundSide

PLAIN = {bool: "true or false", int: "a whole number", str: "text"}
"""Types of plain values, in words."""
_SEVERAL = (Sequence, Several, tuple, list)
_PATHS = (Path, os.PathLike)


class Key(NamedTuple):
    """What a key of a table accepts.

    Parameters
    ----------
    parameter : str
        The constructor's parameter.
    required : bool
        Whether the key must be given.
    parts : tuple of type
        Parts of which the value is a table; empty if it is none.
    several : bool
        Whether the value may be a list.
    plain : type or None
        Truth, whole number or text, if the value can be nothing else.
    is_path : bool
        Whether the value is the path of a file, from the folder of the file that names it.
    range : Range, WholeRange or None
        Range of the number, or of each number of the list; None if it isn't known beforehand.
    """

    parameter: str
    required: bool
    parts: tuple[type, ...]
    several: bool
    plain: type | None
    is_path: bool
    range: Range | WholeRange | None


class TableKind(NamedTuple):
    """A kind of table.

    Parameters
    ----------
    constructor : Constructor
        The constructor of its part.
    keys : dict of str to Key
        What its keys accept, apart from ``kind``.
    stand_ins : dict of str to object
        Values that replace refused ones of these parameters, so that the others are checked too.
    """

    constructor: Constructor
    keys: dict[str, Key]
    stand_ins: dict[str, Any]

    def required(self) -> list[str]:
        """Return the keys that must be given."""
        return [name for name, key in self.keys.items() if key.required]


def table_kinds(*parts: type) -> dict[str, TableKind]:
    """Return the kinds of the table of a part by name; an empty name if the table needs no ``kind``.

    Parameters
    ----------
    *parts : type
        The types that the part may have.
    """
    return {name: _table_kind(each) for part in parts for name, each in constructors(part).items()}


def tables_within(*parts: type) -> dict[type, dict[str, TableKind]]:
    """Return the kinds of all tables in a file of some parts, by the part that each describes.

    Parameters
    ----------
    *parts : type
        The parts that files describe, such as a design and a site.
    """
    found: dict[type, dict[str, TableKind]] = {}
    left = list(parts)
    while left:
        part = left.pop()
        if part not in found:
            found[part] = table_kinds(part)
            left += [
                each for kind in found[part].values() for key in kind.keys.values() for each in key.parts
            ]
    return found


def _table_kind(constructor: Constructor) -> TableKind:
    keys = {parameter: key for key, parameter in constructor.parameters.items()}
    hints, ranges = constructor_hints(constructor.make), _ranges(constructor.make)
    signature = inspect.signature(constructor.make).parameters
    found = {}
    for name, parameter in signature.items():
        within = list(_within(hints.get(name)))
        origins = [get_origin(each) or each for each in within]
        found[keys.get(name, name)] = Key(
            parameter=name,
            required=parameter.default is parameter.empty,
            parts=tuple(_parts(within)),
            several=any(origin in _SEVERAL for origin in origins),
            plain=next((kind for kind in PLAIN if hints.get(name) in (kind, Optional[kind])), None),  # noqa: UP045
            is_path=any(origin in _PATHS for origin in origins),
            range=ranges.get(name),
        )
    defaults = {name: each.default for name, each in signature.items() if name in ranges}
    numbers = {name: value for name, value in defaults.items() if isinstance(value, int | float)}
    return TableKind(constructor, found, numbers | dict(constructor.stand_ins))


def _parts(within: Sequence[Any]) -> Iterator[type]:
    """Yield the parts among types."""
    for each in within:
        if each is GroundSide:
            yield from (kind.part for kind in kinds())
        elif isinstance(each, type) and (dataclasses.is_dataclass(each) or each in registered()):
            yield each


@functools.cache
def constructor_hints(make: Callable[..., Any]) -> dict[str, Any]:
    """Return the annotations of a constructor's parameters."""
    return _hints(make, include_extras=False)


def _hints(make: Callable[..., Any], *, include_extras: bool) -> dict[str, Any]:
    known = {part.__name__: part for part in registered()}  # a module may know a part for type checkers only
    hints = get_type_hints(
        make, localns=known, include_extras=include_extras
    )  # of a class those of its fields
    if inspect.isclass(make) and not hints.keys() >= inspect.signature(make).parameters.keys():
        hints |= get_type_hints(make.__init__, localns=known, include_extras=include_extras)
    return hints


def _ranges(make: Callable[..., Any]) -> dict[str, Range | WholeRange]:
    """Return the ranges of a constructor's numbers: from the schema, and from its annotations."""
    owner = make if isinstance(make, type) else getattr(make, "__self__", None)  # of a class method
    found: dict[str, Range | WholeRange] = {}
    if isinstance(owner, type):
        found |= {name: Range(*each) for name, each in quantities(owner.__name__).items()}
    for name, hint in _hints(make, include_extras=True).items():
        for each in _within(hint):
            for note in get_args(each) if get_origin(each) is Annotated else ():
                if isinstance(note, Range | WholeRange):
                    found[name] = note
    return found


def _within(hint: Any) -> Iterator[Any]:
    """Yield an annotation, and all that stands within it."""
    yield hint
    for each in get_args(hint):
        yield from _within(each)


def matching(kinds: Mapping[str, TableKind], table: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """Return the kind that has most of a table's keys, and the table as it has to be.

    A key named like a kind, such as ``table = "unit.csv"``, stands for that kind and its first key.

    Parameters
    ----------
    kinds : mapping of str to TableKind
        The kinds.
    table : mapping of str to object
        The table, without ``kind``.

    Returns
    -------
    tuple of str and dict
        The kind and the table; an empty name if two kinds have as many of the keys, or none has any.
    """
    scores = []
    for name, kind in kinds.items():
        as_it_is = {key_of(key, name, kind): value for key, value in table.items()}
        known = len(as_it_is.keys() & kind.keys.keys())
        missing = len(set(kind.required()) - as_it_is.keys())
        scores.append(((known, -missing), name, as_it_is))
    scores.sort(key=lambda score: score[0], reverse=True)
    (best, name, as_it_is), *others = scores
    is_unique = best[0] > 0 and (not others or others[0][0] < best)
    return (name, as_it_is) if is_unique else ("", dict(table))


def key_of(key: str, name: str, kind: TableKind) -> str:
    """Return the first key of a kind for a key that is named like the kind; any other key as it is.

    Parameters
    ----------
    key : str
        The key.
    name : str
        The name of the kind.
    kind : TableKind
        The kind.
    """
    first = next(iter(kind.keys), key)
    is_name = key not in kind.keys and key.casefold() in name.casefold().split()[:1]
    return first if is_name else key
