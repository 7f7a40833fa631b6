"""The parts of a design: immutable, with numbers in SI, checked by the engine when they are constructed."""

from __future__ import annotations

import dataclasses
import functools
import inspect
from collections.abc import Callable, Iterator, Sequence
from types import UnionType
from typing import Any, ClassVar, Generic, Self, TypeVar, get_args, overload

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.bounds import MOST_WHOLE_NUMBER
from loopdrift.basics.errors import InvalidInput, first_of_each_field, kept, printable, raise_all, shown
from loopdrift.basics.numbers import number_within
from loopdrift.basics.words import InALine

_of_the_face: dict[str, dict[str, tuple[str, float, float]]] = {}
"""Unit, least and greatest value of each number of parts that the engine doesn't know."""
Kind = TypeVar("Kind")


@functools.cache
def quantities(owner: str) -> dict[str, tuple[str, float, float]]:
    """Return unit, least and greatest value of each number of a type, from the engine's schema."""
    if owner in _of_the_face:
        return _of_the_face[owner]
    return {name: (unit, least, most) for name, unit, least, most in _core.quantities(owner)}


_LONGEST_NAME = 100
_TEXTS = "_texts"
"""Where a part under construction keeps numbers given as text, for messages."""


def as_given(error: InvalidInput, text: str) -> InvalidInput:
    """Return an error that shows the text given for a value before the number read from it."""
    if not error.unit or text.strip() == error.value:
        return error
    value = f"{text.strip()} ({error.value} {error.unit})"
    return InvalidInput(error.owner, error.field, value, "", error.allowed)


def require(value: object, kind: type | UnionType | tuple[type, ...], *, owner: str, field: str) -> None:
    """Refuse a value that is not of a type, or of one of several.

    Raises
    ------
    InvalidInput
        If `value` is not a `kind`.
    """
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        kinds = kind if isinstance(kind, tuple) else get_args(kind) or (kind,)
        names = [each.__name__ for each in kinds]
        named = " or ".join(f"{'an' if name[0] in 'aeioAEIO' else 'a'} {name}" for name in names)
        raise InvalidInput(owner, field, shown(value), "", f"must be {named}")


class Number:
    """A number of a part: accepts SI or text with a unit, returns SI.

    Unit and range come from the engine's schema by the names of the class and the attribute.

    Parameters
    ----------
    default : float, optional
        The value if none is given; without a default the number is required.
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

    @property
    def unit(self) -> str:
        """Unit in which the number is stored."""
        return quantities(self._owner)[self._name][0]

    def __set__(self, part: object, value: float | str) -> None:
        part.__dict__[self._name] = units.to_si(value, self.unit, owner=self._owner, field=self._name)
        if isinstance(value, str):
            part.__dict__.setdefault(_TEXTS, {})[self._name] = value


class OptionalNumber(Number):
    """A number of a part that may be left out."""

    def __get__(self, part: object | None, owner: type) -> float | None:  # type: ignore[override]
        return None if part is None else part.__dict__[self._name]

    def __set__(self, part: object, value: float | str | None) -> None:
        if value is None:
            part.__dict__[self._name] = None
        else:
            super().__set__(part, value)


class Several(Generic[Kind]):
    """Parts of one kind within a part: accepts one, a sequence of them or none, returns a tuple.

    Parameters
    ----------
    kind : type
        Type of each.
    """

    def __init__(self, kind: type[Kind]) -> None:
        self._kind = kind

    def __set_name__(self, owner: type, name: str) -> None:
        self._owner = owner.__name__
        self._name = name

    def __get__(self, part: object | None, owner: type) -> tuple[Kind, ...]:
        return () if part is None else part.__dict__[self._name]

    def __set__(self, part: object, value: Kind | Sequence[Kind]) -> None:
        given = value if isinstance(value, Sequence) and not isinstance(value, str) else (value,)
        for each in given:
            require(each, self._kind, owner=self._owner, field=self._name)
        part.__dict__[self._name] = tuple(given)


class Checked(Generic[Kind]):
    """A field of a part with a check of its own: stores what the check returns for the value given.

    Parameters
    ----------
    check : callable
        Takes the value given, and as `owner` and `field` the names of the part's type and of the field.
    default : optional
        The value given if the field is left out; without it the field is required.
    """

    def __init__(self, check: Callable[..., Kind], *default: Any) -> None:
        self._check = check
        self._default = default

    def __set_name__(self, owner: type, name: str) -> None:
        self._owner = owner.__name__
        self._name = name

    def __get__(self, part: object | None, owner: type) -> Kind:
        if part is None:
            if not self._default:
                raise AttributeError(self._name)
            return self._default[0]  # type: ignore[no-any-return]
        value: Kind = part.__dict__[self._name]
        return value

    def __set__(self, part: object, value: Any) -> None:
        part.__dict__[self._name] = self._check(value, owner=self._owner, field=self._name)


class Part(InALine):
    """Base of the immutable parts of a design; subclasses are frozen dataclasses."""

    not_in_engine: ClassVar[frozenset[str]] = frozenset()
    """Fields that the engine doesn't know."""

    def __post_init__(self) -> None:
        texts = self.__dict__.pop(_TEXTS, {})
        owner = type(self).__name__
        self._require_whole_numbers()
        faults: list[InvalidInput] = []
        with kept(faults):
            _core.validate(owner, self.for_engine())
        for piece in self.pieces() if faults else ():
            with kept(faults):
                _core.validate(owner, piece)
        raise_all(
            [
                as_given(fault, texts[fault.field])
                if fault.owner == owner and fault.field in texts
                else fault
                for fault in first_of_each_field(faults)
            ]
        )

    def _unit_of(self, name: str) -> str:
        """Return the unit of a number of the part."""
        number = inspect.getattr_static(type(self), name, None)
        return number.unit if isinstance(number, Number) else ""

    def _require_whole_numbers(self) -> None:
        """Refuse whole numbers that the engine can't take."""
        owner = type(self).__name__
        for field in dataclasses.fields(self):  # type: ignore[arg-type]
            value = getattr(self, field.name)
            if not isinstance(value, int) or isinstance(value, bool):
                continue
            least = -MOST_WHOLE_NUMBER if field.name in quantities(owner) else 0  # it has its own range
            if not least <= value <= MOST_WHOLE_NUMBER:
                allowed = f"must be a whole number from 0 to {MOST_WHOLE_NUMBER:,}"
                raise InvalidInput(owner, field.name, value, "", allowed)

    def for_engine(self) -> dict[str, Any]:
        """Return the part as the engine reads it: plain numbers, text, lists and dictionaries."""
        values = {
            field.name: getattr(self, field.name)
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
            if field.name not in self.not_in_engine
        }
        return {
            name: value.for_engine() if isinstance(value, Part) else value for name, value in values.items()
        }

    def pieces(self) -> Iterator[dict[str, Any]]:
        """Yield forms for the engine with one field of the part in each, and harmless values around it.

        The engine names one fault of a form. Of a part that it refuses, the pieces show the others.
        """
        yield from ()

    def arguments(self) -> dict[str, Any]:
        """Return the constructor's arguments for this part."""
        return {
            field.name: getattr(self, field.name)
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
            if field.init
        }

    @property
    def children(self) -> dict[str, Any]:
        """Its components that may vary, by name."""
        return {
            field.name: getattr(self, field.name)
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
            if field.compare
        }

    @property
    def variables(self) -> dict[str, str | None]:
        """What else may vary, besides `children`: the unit of a number, None for anything else."""
        return {}

    def with_values(self, **values: Any) -> Self:
        """Return a copy with other values of some `children` and `variables`.

        Parameters
        ----------
        **values
            Names and values, numbers in SI.

        Raises
        ------
        InvalidInput
            If the part can't take the values.
        """
        return self.replace(**values)

    def with_child(self, name: str, change: Callable[[Any], Any]) -> Self:
        """Return a copy in which one of `children` is changed.

        Parameters
        ----------
        name : str
            Its name.
        change : callable
            Takes the child and returns the changed one.

        Raises
        ------
        InvalidInput
            If the part can't take it.
        """
        return self.replace(**{name: change(getattr(self, name))})

    def change_in_engine(self, names: tuple[str, ...]) -> Callable[[Any, float], Any] | None:
        """Return a function that changes a number in what the engine reads, without making another part.

        Parameters
        ----------
        names : tuple of str
            Names that lead to the number, the first of them within this part.

        Returns
        -------
        callable or None
            Takes what `for_engine` returned and the number in SI, and returns the changed copy. None if the
            engine doesn't read the number as it is, or doesn't check it: a part has to be made.

        Notes
        -----
        The function may refuse a number as the part would, with `InvalidInput`; the engine checks the rest.
        """
        kind, (name, *deeper) = type(self), names
        is_plain = kind.for_engine is Part.for_engine and kind.__post_init__ is Part.__post_init__
        if not is_plain or deeper or not isinstance(inspect.getattr_static(kind, name, None), Number):
            return None
        return lambda form, value: form | {name: value}

    def replace(self, **changes: Any) -> Self:
        """Return a copy with other values of the named fields.

        Parameters
        ----------
        **changes
            Fields and their values, as the constructor takes them.
        """
        return dataclasses.replace(self, **changes)  # type: ignore[type-var]


class Figure(Number):
    """A number of a part that the engine doesn't know, with its own unit and range.

    Parameters
    ----------
    unit : str
        Unit in which it is stored.
    least, most : float
        Its range.
    default : float, optional
        The value if none is given; without a default the number is required.
    """

    def __init__(self, unit: str, *, least: float, most: float, default: float | None = None) -> None:
        super().__init__(default)
        self._range = (unit, least, most)

    def __set_name__(self, owner: type, name: str) -> None:
        super().__set_name__(owner, name)
        _of_the_face.setdefault(owner.__name__, {})[name] = self._range

    def __set__(self, part: object, value: float | str) -> None:
        unit, least, most = self._range
        try:
            found = number_within(value, unit, owner=self._owner, field=self._name, least=least, most=most)
        except InvalidInput as error:
            raise (as_given(error, value) if isinstance(value, str) else error) from None
        part.__dict__[self._name] = found


class OptionalFigure(Figure):
    """A number that may be left out, of a part that the engine doesn't know."""

    def __get__(self, part: object | None, owner: type) -> float | None:  # type: ignore[override]
        return None if part is None else part.__dict__[self._name]

    def __set__(self, part: object, value: float | str | None) -> None:
        if value is None:
            part.__dict__[self._name] = None
        else:
            super().__set__(part, value)


class FacePart(Part):
    """Base of the parts of a design that the engine doesn't know; their numbers are `Figure`."""

    def __post_init__(self) -> None:
        """Do nothing: each figure was checked when it was set."""


def require_name(value: object, *, owner: str, field: str = "name") -> None:
    """Refuse a name that isn't text, is empty, is too long or doesn't fit on one line.

    Raises
    ------
    InvalidInput
        If it is any of these.
    """
    if not isinstance(value, str) or not value.strip():
        raise InvalidInput(owner, field, repr(value), "", "must be text, and not empty")
    if len(value) > _LONGEST_NAME or printable(value) != value:
        allowed = f"must be one line of at most {_LONGEST_NAME} characters"
        raise InvalidInput(owner, field, repr(value), "", allowed)
