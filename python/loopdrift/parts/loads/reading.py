"""Loads of files and DataFrames."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.basics.series import Series
from loopdrift.parts.loads.origin import Pairs, Shaped, of_comments
from loopdrift.parts.series import files
from loopdrift.parts.series.frames import of_frame
from loopdrift.parts.series.headings import HEAT_UNITS, Quantity, heading
from loopdrift.parts.series.hours import Hours, Reading, hours
from loopdrift.parts.series.sheet import Sheet

if TYPE_CHECKING:
    import pandas as pd

_LARGEST = 1e9
"""Largest load of an hour [W], as in the engine."""


def _quantity(name: str, *words: str, least: float = 0.0) -> Quantity:
    return Quantity(name, words, "W", HEAT_UNITS, least, _LARGEST)


QUANTITIES = (
    _quantity("heating", "heating", "heating load", "heating demand", "heating need", "space heating"),
    _quantity("cooling", "cooling", "cooling load", "cooling demand", "cooling need", "space cooling"),
    _quantity("hot_water", "hot water", "hot water load", "hot water demand", "domestic hot water", "dhw"),
    _quantity("recharge", "recharge", least=-_LARGEST),
)
"""What files of loads hold."""


def read_file(
    path: str | os.PathLike[str], reading: Reading, sheet: str | None
) -> tuple[dict[str, Series], Pairs, Shaped | None]:
    """Return the series of a file, their origin and what they were shaped from; see `Loads.read`."""
    given = set(reading.columns.values()) if isinstance(reading.columns, dict) else set()

    def knows(text: str) -> bool:
        return text.strip() in given or heading(text, QUANTITIES) is not None

    found = files.read(path, knows, sheet=sheet, owner="Loads")
    read = _with_a_load(found, reading)
    try:
        said, shaped_from = of_comments(found.comments)
    except InvalidInput as error:
        raise InvalidFile(path, 1, "", error.value, error.allowed) from None
    of_file = [("file", Path(path).name), *read.notes] if read.notes else []
    return read.series, (*said, *of_file), shaped_from


def read_frame(frame: pd.DataFrame, reading: Reading) -> tuple[dict[str, Series], Pairs]:
    """Return the series of a DataFrame and their origin; see `Loads.from_frame`."""
    sheet, index = of_frame(frame, owner="Loads")
    read = hours(sheet, QUANTITIES, reading, owner="Loads", index=index)
    _require_load(sheet, read)
    return read.series, tuple(read.notes)


def _with_a_load(sheet: Sheet, reading: Reading) -> Hours:
    read = hours(sheet, QUANTITIES, reading, owner="Loads")
    _require_load(sheet, read)
    return read


def _require_load(sheet: Sheet, read: Hours) -> None:
    if not read.series.keys() - {"recharge"}:
        allowed = "must have a column heating_kW, cooling_kW or hot_water_kW, or in another unit"
        raise sheet.rows.fault(-1, "", "no load", allowed)
