"""DataFrames as sheets of cells with the times of their index."""

from __future__ import annotations

from typing import Any

from loopdrift.basics.errors import InvalidInput, printable
from loopdrift.basics.model_time import first_true
from loopdrift.basics.units import is_quantity
from loopdrift.parts.series.sheet import FrameRows, Sheet
from loopdrift.parts.series.stamps import Stamps, of_index


def of_frame(frame: Any, *, owner: str) -> tuple[Sheet, Stamps]:
    """Return cells and times of a DataFrame.

    Parameters
    ----------
    frame : pandas.DataFrame
        The table.
    owner : str
        What is read, for messages.

    Raises
    ------
    InvalidInput
        If it is no DataFrame, its index tells no times, or a column has quantities of several units.
    """
    import numpy as np
    import pandas as pd

    if not isinstance(frame, pd.DataFrame):
        raise InvalidInput(owner, "frame", type(frame).__name__, "", "must be a DataFrame")
    index = frame.index
    if isinstance(index, pd.PeriodIndex):
        index = index.to_timestamp()
    if not isinstance(index, pd.DatetimeIndex):
        raise InvalidInput(owner, "frame", type(frame.index).__name__, "", "must have a DatetimeIndex")
    missing = first_true(np.asarray(index.isna()))
    if missing is not None:
        raise InvalidInput(owner, "frame", "NaT", "", f"row {missing}: must be a time")
    headings = [printable(" ".join(str(name).split())) for name in frame.columns]
    cells = {}
    units: dict[str, str] = {}
    stated = frame.attrs.get("units", {})
    for place, name in enumerate(headings):
        column = frame.iloc[:, place]
        unit = column.attrs.get("units", stated)  # a column has the frame's, unless it has its own
        unit = unit.get(name) if isinstance(unit, dict) else unit
        if hasattr(column.dtype, "units"):
            allowed = "has a type of its own for units: must be plain numbers, with the unit in its name"
            raise InvalidInput(owner, "frame", name, "", f"column {allowed}")
        if column.dtype == object and len(column) and is_quantity(column.iloc[0]):
            column, unit = _magnitudes(column, name, owner)
        cells[place] = column.reset_index(drop=True)
        if unit:
            units[name] = str(unit)
    sheet = Sheet(headings, pd.DataFrame(cells, index=range(len(frame))), FrameRows(owner), units=units)
    return sheet, of_index(index, "index", -1)


def _magnitudes(column: Any, name: str, owner: str) -> tuple[Any, str]:
    """Return quantities of pint as numbers, and their unit."""
    first = column.iloc[0]
    if not all(is_quantity(each) and each.units == first.units for each in column):
        raise InvalidInput(owner, "frame", name, "", "column: must have quantities of one unit")
    return column.map(lambda each: float(each.magnitude)), f"{first.units:~}".replace(" ", "")
