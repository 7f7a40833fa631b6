"""Loads of files and DataFrames."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.parts.loads.origin import Shaped, of_comments
from loopdrift.parts.series import files
from loopdrift.parts.series.frames import of_frame
from loopdrift.parts.series.headings import HEAT_UNITS, Quantity, heading
from loopdrift.parts.series.hours import Needed, Reading, hours
from loopdrift.parts.series.origin import Pairs, file_name

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
_A_LOAD = Needed(
    ("heating", "cooling", "hot_water"),
    "must have a column heating_kW, cooling_kW or hot_water_kW, or in another unit",
)


def read_file(
    path: str | os.PathLike[str], reading: Reading, sheet: str | None
) -> tuple[dict[str, Any], Pairs, Shaped | None]:
    """Return the series of a file, their origin and what they were shaped from; see `Loads.read`."""
    given = set(reading.columns.values()) if isinstance(reading.columns, dict) else set()

    def knows(text: str) -> bool:
        return text.strip() in given or heading(text, QUANTITIES) is not None

    found = files.read(path, knows, sheet=sheet, owner="Loads")
    read = hours(found, QUANTITIES, reading, owner="Loads", needed=_A_LOAD)
    try:
        said, shaped_from = of_comments(found.comments)
    except InvalidInput as error:
        raise InvalidFile(path, 1, "", error.value, error.allowed) from None
    of_file = [("file", file_name(path)), *read.notes] if read.notes else []
    return read.series, (*said, *of_file), shaped_from


def read_frame(frame: pd.DataFrame, reading: Reading) -> tuple[dict[str, Any], Pairs]:
    """Return the series of a DataFrame and their origin; see `Loads.from_frame`."""
    sheet, index = of_frame(frame, owner="Loads")
    read = hours(sheet, QUANTITIES, reading, owner="Loads", needed=_A_LOAD, index=index)
    return read.series, tuple(read.notes)
