"""What loopdrift raises when an input can't be used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import xarray as xr


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
        self.value = str(float(f"{value:.12g}") if isinstance(value, float) else value)
        self.unit = unit
        self.allowed = allowed
        super().__init__(owner, field, self.value, unit, allowed)

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.owner}.{self.field} = {self.value}{unit}: {self.allowed}"


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
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.path}: {self.key} = {self.value}{unit}: {self.allowed}"


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
        column = f", column {self.column!r}" if self.column else ""
        return f"{self.path}, line {self.line}{column}: {self.value!r}: {self.allowed}"


class DamagedPortion(UserWarning):
    """Something stored of a study is not as it was written, and is found anew."""


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
