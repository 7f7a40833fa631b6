"""The constructors of parts, by the ``kind`` of their tables in design and site files.

A part with several constructors registers them in its own module, next to its class.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple


class Constructor(NamedTuple):
    """A constructor of a part.

    Parameters
    ----------
    make : callable
        The class, or a function that returns the part.
    parameters : mapping of str to str
        Its parameters by the key of the table, if these differ.
    arguments : callable, optional
        Takes a part and returns the arguments with which `make` gives it again. Parts are written to files as
        tables of this kind. A class that is its own constructor doesn't need it.
    stand_ins : mapping of str to object
        For parameters that are checked one by one, values that are accepted beside any others: if a file's
        value of one is refused, this replaces it, so that the others are checked too.
    """

    make: Callable[..., Any]
    parameters: Mapping[str, str] = {}
    arguments: Callable[[Any], dict[str, Any]] | None = None
    stand_ins: Mapping[str, Any] = {}


_registered: dict[type, dict[str, Constructor]] = {}


def register(part: type, kinds: Mapping[str, Constructor | Callable[..., Any]]) -> None:
    """Add constructors of a part.

    Parameters
    ----------
    part : type
        The type of the part.
    kinds : mapping
        Its constructors by the ``kind`` of their tables; an empty name if the table needs no ``kind``.
    """
    made = {
        name: each if isinstance(each, Constructor) else Constructor(each) for name, each in kinds.items()
    }
    _registered.setdefault(part, {}).update(made)


def registered() -> tuple[type, ...]:
    """Return all parts whose constructors are registered."""
    return tuple(_registered)


def constructors(part: type) -> dict[str, Constructor]:
    """Return the constructors of a part by kind; the class alone, with an empty name, if none is registered.

    A subclass has the constructors of its base, with itself as the class.

    Parameters
    ----------
    part : type
        The type of the part.
    """
    base = next((each for each in part.__mro__ if each in _registered), None)
    if base is None:
        return {"": Constructor(part)}
    return {
        name: each._replace(make=part) if each.make is base else each
        for name, each in _registered[base].items()
    }
