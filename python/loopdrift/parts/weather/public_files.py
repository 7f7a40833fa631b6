"""Public weather files that pvlib reads: EPW, TMY3, TMY2, and those of the NSRDB and PVGIS services."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from loopdrift.basics import text_file
from loopdrift.basics.errors import InvalidFile
from loopdrift.parts.series.sheet import FileRows, Sheet
from loopdrift.parts.series.stamps import Stamps, of_index

_COLUMNS = ("temp_air", "relative_humidity", "ghi", "dni", "dhi", "wind_speed")
_PLACE = ("latitude", "longitude", "altitude")
_OF_TMY2 = {
    "temp_air": ("DryBulb", 0.1),
    "relative_humidity": ("RHum", 1.0),
    "ghi": ("GHI", 1.0),
    "dni": ("DNI", 1.0),
    "dhi": ("DHI", 1.0),
    "wind_speed": ("Wspd", 0.1),
}
_MISSING = {
    "temp_air": 99.0,
    "relative_humidity": 200.0,
    "ghi": 9000.0,
    "dni": 9000.0,
    "dhi": 9000.0,
    "wind_speed": 900.0,
}
"""From here on, and from -900 down, a number of these files stands for none."""


class PublicFile(NamedTuple):
    """A public weather file."""

    kind: str
    """What it is called, such as ``EPW``."""
    sheet: Sheet
    times: Stamps
    place: dict[str, float]


class _Kind(NamedTuple):
    name: str
    read: Callable[[Path], tuple[Any, dict[str, Any]]]
    first_line: int
    """Line of the first hour."""


def read(path: str | os.PathLike[str]) -> PublicFile | None:
    """Return what a public weather file holds; None if the file is none.

    Parameters
    ----------
    path : str or path-like
        The file.

    Raises
    ------
    InvalidFile
        If its beginning is that of a public file, and the rest can't be read as such.
    OSError
        If the file can't be read.
    """
    beginning = text_file.content(path)[:4000].decode("latin-1")
    kind = _kind(path, beginning)
    if kind is None:
        return None
    import pandas as pd

    try:
        frame, stated = kind.read(Path(path))
        columns = {
            name: pd.to_numeric(frame[name]).to_numpy(dtype=np.float64) for name in _COLUMNS if name in frame
        }
        place = {name: float(stated[name]) for name in _PLACE if name in stated}
        index = of_index(pd.DatetimeIndex(frame.index), "time", -1)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OSError) as error:
        if isinstance(error, OSError) and error.errno is not None:
            raise
        raise InvalidFile(path, kind.first_line, "", kind.name, f"must be {kind.name}: {error}") from None
    for name, values in columns.items():
        with np.errstate(invalid="ignore"):
            columns[name] = np.where((values >= _MISSING[name]) | (values <= -900.0), np.nan, values)
    cells = pd.DataFrame(dict(enumerate(columns.values())), index=range(len(frame)))
    rows = FileRows(path, 1, range(kind.first_line, kind.first_line + len(frame) + 1))
    return PublicFile(kind.name, Sheet(list(columns), cells, rows), index, place)


def _kind(path: str | os.PathLike[str], beginning: str) -> _Kind | None:
    """Return what a file is by its beginning."""
    lines = [*beginning.split("\n", 2), "", ""]
    if lines[0].startswith("LOCATION,"):
        return _Kind("EPW", _read_epw, 9)
    if lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        return _Kind("TMY3", _read_tmy3, 3)
    if re.match(r" ?\d{5} .{22} [A-Z]{2} +-?\d+ [NS] ", lines[0]):
        return _Kind("TMY2", _read_tmy2, 2)
    if lines[0].startswith("Source,Location ID,"):
        return _Kind("NSRDB", _read_nsrdb, 4)
    if lines[0].startswith("Latitude (decimal degrees)"):
        header = beginning.split("time(UTC)", 1)[0].count("\n") + 1
        return _Kind("PVGIS", _read_pvgis_csv, header + 1)
    if lines[0].lstrip().startswith("{") and "tmy_hourly" in text_file.content(path).decode("latin-1"):
        return _Kind("PVGIS", _read_pvgis_json, 1)
    return None


# pvlib takes a second to load, so each reader loads it only when there is a file for it.


def _read_epw(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    found: tuple[Any, dict[str, Any]] = iotools.read_epw(path)
    return found


def _read_tmy3(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    found: tuple[Any, dict[str, Any]] = iotools.read_tmy3(path, encoding="iso-8859-1")
    return found


def _read_nsrdb(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    found: tuple[Any, dict[str, Any]] = iotools.read_nsrdb_psm4(path)
    return found


def _read_tmy2(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    frame, place = iotools.read_tmy2(path)
    return frame.assign(**{name: factor * frame[own] for name, (own, factor) in _OF_TMY2.items()}), place


def _read_pvgis_csv(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    frame, stated = iotools.read_pvgis_tmy(path, pvgis_format="csv")
    place = stated["inputs"]
    return frame, {**place, "altitude": place["elevation"]}


def _read_pvgis_json(path: Path) -> tuple[Any, dict[str, Any]]:
    from pvlib import iotools

    frame, stated = iotools.read_pvgis_tmy(path, pvgis_format="json")
    place = stated["inputs"]["location"]
    return frame, {**place, "altitude": place["elevation"]}
