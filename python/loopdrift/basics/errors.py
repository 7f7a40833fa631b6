"""What loopdrift raises when an input can't be used."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr

_LONGEST = 480
"""Characters of a message."""
_LONGEST_NAME = 100
_LONGEST_VALUE = 100
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def printable(text: str) -> str:
    """Return a text in which what a terminal takes for a command stands as an escape, such as ``\\x1b``."""
    return _CONTROL.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


def shortened(text: str, most: int) -> str:
    """Return a printable text of at most so many characters, from whose middle the rest is left out."""
    text = printable(text)
    if len(text) <= most:
        return text
    ends = most - 5
    return f"{text[: ends - ends // 2]} ... {text[len(text) - ends // 2 :]}"


def shown(value: object, how: Callable[[object], str] = repr) -> str:
    """Return a value as text, whatever it is."""
    try:
        return how(value)
    except (ValueError, RecursionError):  # whole numbers of thousands of digits; lists in lists in lists
        return f"{type(value).__name__} that is too long to show"


def _message(place: str, value: str, allowed: str) -> str:
    """Return what stands where and what would be accepted, as one line that is not too long."""
    beginning = f"{place}{value}: "
    return beginning + shortened(allowed, _LONGEST - len(beginning))


class LoopdriftError(Exception):
    """Base of every error that loopdrift raises itself."""


class InvalidInput(LoopdriftError, ValueError):
    """A value that no design may hold.

    Parameters
    ----------
    owner : str
        The type that holds the field, such as ``Ground``.
    field : str
        The field's name.
    value : str
        The value as it came in.
    unit : str
        Its SI unit; empty for what has none.
    allowed : str
        What would be accepted.
    """

    def __init__(self, owner: str, field: str, value: Any, unit: str, allowed: str) -> None:
        self.owner = owner
        self.field = field
        # Twelve digits drop what converting a unit has left behind the number.
        self.value = shown(float(f"{value:.12g}") if isinstance(value, float) else value, str)
        self.unit = unit
        self.allowed = allowed
        super().__init__(owner, field, self.value, unit, allowed)

    def __str__(self) -> str:
        return self._in_a_line(f"{shortened(self.owner, _LONGEST_NAME)}.")

    def _in_a_line(self, owner: str) -> str:
        unit = f" {self.unit}" if self.unit else ""
        field = shortened(self.field, _LONGEST_NAME)
        return _message(f"{owner}{field} = ", f"{shortened(self.value, _LONGEST_VALUE)}{unit}", self.allowed)


class InvalidDesignFile(InvalidInput):
    """A key of a design file that can't be used.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    key : str
        The dotted key, such as ``ground_side.bore.depth``.
    value : str
        The value as it stands in the file.
    unit : str
        Its SI unit; empty for what has none.
    allowed : str
        What would be accepted.
    """

    def __init__(self, path: Any, key: str, value: Any, unit: str, allowed: str) -> None:
        super().__init__(str(path), key, value, unit, allowed)

    @property
    def path(self) -> str:
        """The file as the caller named it."""
        return self.owner

    @property
    def key(self) -> str:
        """The dotted key."""
        return self.field

    def __str__(self) -> str:
        return self._in_a_line(f"{shortened(self.path, _LONGEST_NAME)}: ")


class InvalidFile(LoopdriftError, ValueError):
    """A cell or line of a file that can't be used.

    Parameters
    ----------
    path : str
        The file as the caller named it.
    line : int
        Line number in the file, the header being line 1.
    column : str
        Name of the column; empty where the whole line is at fault.
    value : str
        The cell as it stands in the file.
    allowed : str
        What would be accepted.
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


class DamagedPortion(UserWarning):
    """Something stored of a study is not as it was written, and is found anew."""


class Unsettled(LoopdriftError, ValueError):
    """An hour that no temperature of the fluid solves.

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
            f"hour {self.hour} of the run: no temperature of the fluid makes the heat pump's heat that of "
            "the loop; check the heat pump's curves beyond its table, the flow and the size of the loop"
        )


class StudyStopped(KeyboardInterrupt):
    """A study was stopped by Ctrl-C; what was finished is kept.

    Parameters
    ----------
    dataset : xarray.Dataset
        What the study would have returned; cases that were not run say so in ``failure``.
    """

    def __init__(self, dataset: xr.Dataset) -> None:
        self.dataset = dataset
        super().__init__(dataset)

    def __str__(self) -> str:
        done = int((self.dataset["deciding_limit"] != "").sum())
        return f"{done} of {self.dataset['failure'].size} cases were run"
