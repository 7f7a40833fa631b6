"""The parts of a design: immutable, their numbers in SI, checked by the engine as soon as they are made."""

from __future__ import annotations

import dataclasses
import functools
from types import UnionType
from typing import Any, Self, get_args, overload

from loopdrift import _core, units
from loopdrift.errors import InvalidInput


@functools.cache
def quantities(owner: str) -> dict[str, tuple[str, float, float]]:
    """Return unit, least and greatest value of each number of a type, as the engine's schema has them."""
    return {name: (unit, least, most) for name, unit, least, most in _core.quantities(owner)}


def require(value: object, kind: type | UnionType, *, owner: str, field: str) -> None:
    """Refuse a value that is not of a type, or of one of several.

    Raises
    ------
    InvalidInput
        If `value` is no `kind`.
    """
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        names = [each.__name__ for each in get_args(kind) or (kind,)]
        named = " or ".join(f"{'an' if name[0] in 'aeiouAEIO' else 'a'} {name}" for name in names)
        raise InvalidInput(owner, field, repr(value), "", f"must be {named}")


class Number:
    """A number of a part: takes SI or text with a unit, gives SI.

    Unit and range come from the engine's schema by the names of the class and the attribute.

    Parameters
    ----------
    default : float, optional
        The value where none is given; without it the number is required.
    """

    def __init__(self, default: float | None = None) -> None:
        self._default = default

    def __set_name__(self, owner: type, name: str) -> None:
        self._owner = owner.__name__
        self._name = name

    @overload
    def __get__(self, part: None, owner: type) -> float: ...
    @overload
    def __get__(self, part: object, owner: type) -> float: ...
    def __get__(self, part: object | None, owner: type) -> float:
        if part is None:
            if self._default is None:
                raise AttributeError(self._name)
            return self._default
        value: float = part.__dict__[self._name]
        return value

    def __set__(self, part: object, value: float | str) -> None:
        unit = quantities(self._owner)[self._name][0]
        part.__dict__[self._name] = units.to_si(value, unit, owner=self._owner, field=self._name)


class OptionalNumber(Number):
    """A number of a part that may be left out."""

    def __get__(self, part: object | None, owner: type) -> float | None:  # type: ignore[override]
        return None if part is None else part.__dict__[self._name]

    def __set__(self, part: object, value: float | str | None) -> None:
        if value is None:
            part.__dict__[self._name] = None
        else:
            super().__set__(part, value)


class Part:
    """Base of the immutable parts of a design; subclasses are frozen dataclasses."""

    def __post_init__(self) -> None:
        _core.validate(type(self).__name__, self.for_engine())

    def for_engine(self) -> dict[str, Any]:
        """Return the part as the engine reads it: plain numbers, text, lists and dictionaries."""
        return {
            field.name: getattr(self, field.name)
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
        }

    def replace(self, **changes: Any) -> Self:
        """Return a copy in which the named fields have other values.

        Parameters
        ----------
        **changes
            Fields and their values, as the constructor takes them.
        """
        return dataclasses.replace(self, **changes)  # type: ignore[type-var]
