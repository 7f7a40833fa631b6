"""Errors and warnings of loopdrift."""

from __future__ import annotations

import contextlib
import difflib
import math
import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr

_LONGEST = 480
"""Longest message [characters]."""
_LONGEST_NAME = 100
_ALIKE = 0.6
"""Least similarity of a suggested name to the unknown one."""
_LONGEST_VALUE = 100
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def printable(text: str) -> str:
    """Return a text with control characters replaced by escapes such as ``\\x1b``."""
    return _CONTROL.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


def shortened(text: str, most: int) -> str:
    """Return a printable text of at most `most` characters, cut in the middle if it is longer."""
    text = printable(text)
    if len(text) <= most:
        return text
    ends = most - 5
    return f"{text[: ends - ends // 2]} ... {text[len(text) - ends // 2 :]}"


def shown(value: object, how: Callable[[object], str] = repr) -> str:
    """Return any value as text."""
    try:
        return how(value)
    except (ValueError, RecursionError):  # whole numbers of thousands of digits; lists in lists in lists
        return f"{type(value).__name__} that is too long to show"


def _message(place: str, value: str, allowed: str) -> str:
    """Return place, value and what is accepted as one line of limited length."""
    beginning = f"{place}{value}: "
    return beginning + shortened(allowed, _LONGEST - len(beginning))


def nearest_name(name: str, known: Sequence[str]) -> str:
    """Return the known name that is most likely meant by another; empty where none is like it.

    Parameters
    ----------
    name : str
        The name.
    known : sequence of str
        The names that would be accepted.
    """
    near = difflib.get_close_matches(name, known, n=1, cutoff=_ALIKE)
    return near[0] if near else ""


def _hint(name: str, known: tuple[str, ...]) -> str:
    """Return the known name most similar to an unknown one, or all known names if none is similar."""
    near = nearest_name(name, known)
    return f"did you mean {near!r}?" if near else f"must be one of {', '.join(known)}"


class LoopdriftError(Exception):
    """Base of every error that loopdrift raises itself."""


class InvalidInput(LoopdriftError, ValueError):
    """A value that can't be used.

    Parameters
    ----------
    owner : str
        The type that the field belongs to, such as ``Ground``.
    field : str
        The field's name.
    value : str
        The value as given.
    unit : str
        Its SI unit; empty if it has none.
    allowed : str
        What is accepted.

    Attributes
    ----------
    others : tuple of InvalidInput
        Faults of other values, found together with this one.
    """

    others: tuple[InvalidInput, ...] = ()

    def __init__(self, owner: str, field: str, value: Any, unit: str, allowed: str) -> None:
        self.owner = owner
        self.field = field
        # Twelve digits hide the rounding error of a unit conversion.
        self.value = shown(float(f"{value:.12g}") if isinstance(value, float) else value, str)
        self.unit = unit
        self.allowed = allowed
        super().__init__(owner, field, self.value, unit, allowed)

    def __str__(self) -> str:
        return self._in_a_line(f"{shortened(self.owner, _LONGEST_NAME)}.")

    def _in_a_line(self, owner: str) -> str:
        unit = f" {self.unit}" if self.unit and self.value != "nothing" else ""
        field = shortened(self.field, _LONGEST_NAME)
        return _message(f"{owner}{field} = ", f"{shortened(self.value, _LONGEST_VALUE)}{unit}", self.allowed)


class FluidFreezes(InvalidInput):
    """Circulating fluid that is colder than its freezing point.

    Parameters
    ----------
    year : int
        First year of the run in which it happens, from 1.
    hour : int
        First hour of that year in which it happens, from 0.
    temperature : float
        Leaving fluid temperature in that hour [degC].
    freezing_point : float
        Freezing point of the fluid [degC].
    """

    def __init__(self, year: int, hour: int, temperature: float, freezing_point: float) -> None:
        self.year = year
        self.hour = hour
        self.temperature = temperature
        self.freezing_point = freezing_point
        allowed = (
            f"must be below the leaving fluid temperature, {temperature:.2f} degC in year {year}, hour "
            f"{hour}: use more antifreeze, a longer loop or more flow"
        )
        super().__init__("Fluid", "freezing_point", f"{freezing_point:.12g}", "degC", allowed)

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.year, self.hour, self.temperature, self.freezing_point)


class UnknownName(InvalidInput):
    """A name that is unknown.

    Parameters
    ----------
    owner : str
        Where it was looked up, such as ``Study``.
    field : str
        The field that holds it, such as ``name``.
    name : str
        The name.
    what : str
        Why it isn't one, such as ``is nothing in this design``.
    known : iterable of str
        The names that are accepted.
    """

    def __init__(self, owner: str, field: str, name: str, what: str, known: Iterable[str]) -> None:
        self.name = name
        self.what = what
        self.known = tuple(known)
        super().__init__(owner, field, repr(name), "", f"{what}; {_hint(name, self.known)}")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.owner, self.field, self.name, self.what, self.known)


class InvalidDesignFile(InvalidInput):
    """A value in a design file that can't be used.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    key : str
        The dotted key, such as ``ground_side.bore.depth``.
    value : str
        The value in the file.
    unit : str
        Its SI unit; empty if it has none.
    allowed : str
        What is accepted.
    line : int, optional
        Line of the key, or of the table that lacks it; 0 where it is not known.
    """

    def __init__(self, path: Any, key: str, value: Any, unit: str, allowed: str, line: int = 0) -> None:
        super().__init__(str(path), key, value, unit, allowed)
        self.line = line

    @property
    def path(self) -> str:
        """The file as the caller named it."""
        return self.owner

    @property
    def key(self) -> str:
        """The dotted key."""
        return self.field

    def __str__(self) -> str:
        line = f", line {self.line}" if self.line else ""
        return self._in_a_line(f"{shortened(self.path, _LONGEST_NAME)}{line}: ")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.path, self.key, self.value, self.unit, self.allowed, self.line)


class UnknownKey(InvalidDesignFile):
    """An unknown key in a design file.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    key : str
        The dotted key.
    value : str
        The value in the file.
    known : iterable of str
        The keys that the table accepts.
    line : int, optional
        Line of the key; 0 where it is not known.
    meant : str, optional
        What was most likely meant, as it is to be written; found among `known` where it isn't given.
    """

    def __init__(
        self, path: Any, key: str, value: Any, known: Iterable[str], line: int = 0, meant: str = ""
    ) -> None:
        self.known = tuple(known)
        self.meant = meant
        hint = f"did you mean {meant}?" if meant else _hint(key.rpartition(".")[2], self.known)
        super().__init__(path, key, value, "", f"is no known key; {hint}", line)

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.path, self.key, self.value, self.known, self.line, self.meant)


class InvalidFile(LoopdriftError, ValueError):
    """A cell or line of a file that can't be used.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    line : int
        Line number in the file, the header being line 1.
    column : str
        Name of the column; empty if the whole line is at fault.
    value : str
        The cell in the file.
    allowed : str
        What is accepted.
    """

    def __init__(self, path: Any, line: int, column: str, value: str, allowed: str) -> None:
        self.path = str(path)
        self.line = line
        self.column = column
        self.value = value
        self.allowed = allowed
        super().__init__(self.path, line, column, value, allowed)

    def __str__(self) -> str:
        column = f", column {shortened(repr(self.column), _LONGEST_NAME)}" if self.column else ""
        place = f"{shortened(self.path, _LONGEST_NAME)}, line {self.line}{column}: "
        return _message(place, shortened(repr(self.value[:1000]), _LONGEST_VALUE), self.allowed)


_MOST_FAULTS = 20


@contextlib.contextmanager
def kept(faults: list[InvalidInput]) -> Iterator[None]:
    """Keep a fault that is raised within, so that the values after it are checked as well.

    Parameters
    ----------
    faults : list of InvalidInput
        Takes the fault; `raise_all` raises what it holds.
    """
    try:
        yield
    except InvalidInput as error:
        faults.append(error)


def first_of_each_field(faults: Iterable[InvalidInput]) -> list[InvalidInput]:
    """Return faults without those of fields that an earlier one names.

    Parameters
    ----------
    faults : iterable of InvalidInput
        The faults.
    """
    found: dict[tuple[str, str], InvalidInput] = {}
    for fault in faults:
        found.setdefault((fault.owner, fault.field), fault)
    return list(found.values())


def raise_all(faults: Sequence[LoopdriftError | OSError]) -> None:
    """Raise the first fault, by line, with the others as its notes; nothing if there is none.

    After twenty faults, only the number of the rest is noted.

    Parameters
    ----------
    faults : sequence of exceptions
        The faults of one part, or of one file and of those that it names.
    """
    ordered = sorted(faults, key=lambda fault: getattr(fault, "line", 0) or math.inf)
    for fault in ordered[1:_MOST_FAULTS]:
        for line in (as_text(fault), *getattr(fault, "__notes__", ())):
            ordered[0].add_note(line)
    if len(ordered) > _MOST_FAULTS:
        ordered[0].add_note(f"and {len(ordered) - _MOST_FAULTS:,} more")
    if ordered:
        first, *rest = ordered
        if isinstance(first, InvalidInput):
            invalid = [fault for fault in rest if isinstance(fault, InvalidInput)]
            first.others += tuple(each for fault in invalid for each in (fault, *fault.others))
        raise first


def as_text(error: Exception) -> str:
    """Return an error as a line, as the command line shows it."""
    if isinstance(error, OSError) and error.filename is not None:
        file = shortened(str(error.filename), _LONGEST // 2)
        return f"{file}: {os.strerror(error.errno) if error.errno else error.strerror}"
    return str(error)


class DamagedStoreFile(UserWarning):
    """A stored file of a study is damaged, and its cases are computed again."""


class NotConverged(LoopdriftError, ValueError):
    """An hour without a solution at any fluid temperature.

    Parameters
    ----------
    hour : int
        The hour of the run, counted from 0.
    """

    def __init__(self, hour: int) -> None:
        self.hour = hour
        super().__init__(hour)

    def __str__(self) -> str:
        return (
            f"hour {self.hour} of the run: heat pump and loop balance at no fluid temperature; check the "
            "heat pump's curves beyond its table, the flow and the size of the loop"
        )


class StudyStopped(KeyboardInterrupt):
    """A study was stopped by Ctrl-C; finished cases are kept.

    Parameters
    ----------
    dataset : xarray.Dataset
        The study's dataset so far; cases that were not run are marked in ``failure``.
    finished : int
        Number of cases that are finished, run or refused.
    """

    def __init__(self, dataset: xr.Dataset, finished: int) -> None:
        self.dataset = dataset
        self.finished = finished
        super().__init__(dataset, finished)

    def __str__(self) -> str:
        return f"{self.finished} of {self.dataset['failure'].size} cases are finished"
