"""Words with numbers, and things in a line."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

from loopdrift.basics import notebook
from loopdrift.basics.both_units import both

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WIDTH = 100
"""Width of plain text [characters]."""

_VERBS = {"past": ("fell", "rose", "did not change"), "present": ("falls", "rises", "does not change")}


def span(values: NDArray[np.float64]) -> str:
    """Return the range of some numbers, such as ``80 to 100``, or their one value if all are equal."""
    least, greatest = values.min(), values.max()
    return f"{greatest:g}" if least == greatest else f"{least:g} to {greatest:g}"


def counted(number: int, noun: str) -> str:
    """Return a number of things, such as ``6 bores``."""
    if number == 1:
        return f"{number} {noun}"
    return f"{number} {noun}es" if noun.endswith("ch") else f"{number} {noun}s"


def with_article(noun: str) -> str:
    """Return a noun with its indefinite article, such as ``a depth``."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def percent(share: float, form: str = ".0f") -> str:
    """Return a share as a percentage, such as ``25 %`` for 0.25.

    Parameters
    ----------
    share : float
        The share [-].
    form : str, default ".0f"
        Format of the number of per cent.
    """
    return f"{100.0 * share:{form}} %"


_MOST_SHOWN = 4
_LONGEST = 80


class Shown:
    """Base of dataclasses that notebooks show as a table of their fields."""

    def _repr_html_(self) -> str:
        """Return the type, its own text if it has one, and its fields with their units."""
        own_words = type(self).__str__ is not object.__str__
        rows = [
            (field.name.replace("_", " "), f"{_in_short(value)} {self._unit_of(field.name)}".rstrip())
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
            if field.repr and (value := getattr(self, field.name)) is not None
        ]
        return (
            notebook.heading(type(self).__name__)
            + notebook.sentences(str(self).splitlines() if own_words else ())
            + notebook.facts(rows)
        )

    def _unit_of(self, name: str) -> str:
        """Return the unit of a field, empty if it has none."""
        return ""


class InALine(Shown):
    """Base of dataclasses with a `repr` of one line: what differs from defaults, without what is within."""

    def __init_subclass__(cls, **given: Any) -> None:
        super().__init_subclass__(**given)
        cls.__repr__ = cls.__repr__  # type: ignore[method-assign]  # its own: dataclass would add another

    def __repr__(self) -> str:
        shown = (
            f"{field.name}={_in_short(getattr(self, field.name))}"
            for field in dataclasses.fields(self)  # type: ignore[arg-type]
            if field.repr and not _is_default(getattr(self, field.name), field.default)
        )
        return f"{type(self).__name__}({', '.join(shown)})"


def _is_default(value: Any, default: Any) -> bool:
    is_plain = isinstance(value, str | int | float | tuple) or value is None
    return is_plain and type(value) is type(default) and bool(value == default)


def _in_short(value: Any) -> str:
    """Return a value in a few words: numbers with six digits, long lists by their length."""
    if isinstance(value, float):
        return f"{value:.6g}"
    if hasattr(value, "_fields") or (isinstance(value, InALine) and type(value).__repr__ is InALine.__repr__):
        return f"{type(value).__name__}(...)"
    if isinstance(value, list | tuple) and len(value) <= _MOST_SHOWN:
        shown = ", ".join(map(_in_short, value))
        if len(shown) <= _LONGEST:
            return f"[{shown}]" if isinstance(value, list) else f"({shown}{',' if len(value) == 1 else ''})"
    if isinstance(value, Mapping):
        return f"<{', '.join(map(str, value))}>"
    if isinstance(value, list | tuple) or getattr(value, "shape", None):
        return f"<{len(value)} values>"
    text = " ".join(repr(value).split())
    if len(text) <= _LONGEST:
        return text
    name = type(value).__name__
    return f"{name}(...)" if dataclasses.is_dataclass(value) else f"{text[: _LONGEST - 4]} ..."


def change(kelvin: float, form: str = ".2f", *, tense: Literal["past", "present"] = "past") -> str:
    """Return a change of temperature in words, such as ``fell 1.63 K (2.93 degF)``.

    Parameters
    ----------
    kelvin : float
        The change [K].
    form : str, default ".2f"
        Format of its amount.
    tense : {"past", "present"}, default "past"
        Tense of the verb.
    """
    fell, rose, same = _VERBS[tense]
    if float(f"{kelvin:{form}}") == 0.0:
        return same
    return f"{fell if kelvin < 0.0 else rose} {both(abs(kelvin), 'K', form)}"
