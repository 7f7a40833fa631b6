"""Weather of files and DataFrames."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, NamedTuple

from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.parts.series import files
from loopdrift.parts.series.frames import of_frame
from loopdrift.parts.series.headings import (
    RADIATION_UNITS,
    SHARE_UNITS,
    SPEED_UNITS,
    TEMPERATURE_UNITS,
    Quantity,
    Unit,
    heading,
)
from loopdrift.parts.series.hours import Hours, Needed, Reading, hours
from loopdrift.parts.series.origin import Pairs, file_name, of_comments
from loopdrift.parts.series.sheet import Rows, Sheet
from loopdrift.parts.series.stamps import Stamps
from loopdrift.parts.weather import public_files

if TYPE_CHECKING:
    import pandas as pd


class Series(NamedTuple):
    """An hourly series of weather."""

    name: str
    column: str
    """Its name in pvlib and in files."""
    unit: str
    least: float
    most: float


class Place(NamedTuple):
    """A fact of the place."""

    name: str
    label: str
    """Its name in the comments of a file."""
    unit: str
    least: float
    most: float


SERIES = (
    Series("dry_bulb", "temp_air", "degC", -90.0, 60.0),
    Series("relative_humidity", "relative_humidity", "%", 0.0, 100.0),
    Series("ghi", "ghi", "W/m2", 0.0, 1600.0),
    Series("dni", "dni", "W/m2", 0.0, 1600.0),
    Series("dhi", "dhi", "W/m2", 0.0, 1600.0),
    Series("wind_speed", "wind_speed", "m/s", 0.0, 100.0),
)
PLACE = (
    Place("latitude", "latitude_deg", "deg", -90.0, 90.0),
    Place("longitude", "longitude_deg", "deg", -180.0, 180.0),
    Place("altitude", "altitude_m", "m", -500.0, 9000.0),
    Place("utc_offset", "utc_offset_h", "h", -12.0, 14.0),
)
_WORDS = {
    "dry_bulb": ("dry bulb", "dry bulb temperature", "air temperature", "outdoor temperature", "temperature"),
    "relative_humidity": ("humidity", "rh"),
    "ghi": ("global horizontal", "global horizontal radiation", "global radiation"),
    "dni": ("direct normal", "direct normal radiation"),
    "dhi": ("diffuse horizontal", "diffuse horizontal radiation", "diffuse radiation"),
    "wind_speed": ("wind",),
}
_UNITS: dict[str, dict[str, Unit]] = {
    "degC": TEMPERATURE_UNITS,
    "%": SHARE_UNITS,
    "W/m2": RADIATION_UNITS,
    "m/s": SPEED_UNITS,
}
QUANTITIES = tuple(
    Quantity(
        each.name,
        (each.column.replace("_", " "), *_WORDS[each.name]),
        each.unit,
        _UNITS[each.unit],
        each.least,
        each.most,
        bare=(each.column.replace("_", " "),),
    )
    for each in SERIES
)
_TEMPERATURE = Needed(("dry_bulb",), "must have a column temp_air, the outdoor temperature")
_LABELS = {place.label for place in PLACE}


def read_file(
    path: str | os.PathLike[str], reading: Reading, sheet: str | None
) -> tuple[dict[str, Any], Pairs]:
    """Return series and place of a file, and their origin; see `Weather.read`."""
    public = public_files.read(path)
    if public is not None:
        read = _year(public.sheet, reading, public.times)
        origin = (("file", f"{file_name(path)}, {public.kind}"), *read.notes)
        return {**read.series, **public.place, **_zone(read, {}, public.sheet.rows)}, origin
    given = set(reading.columns.values()) if isinstance(reading.columns, dict) else set()

    def knows(text: str) -> bool:
        return text.strip() in given or heading(text, QUANTITIES) is not None

    found = files.read(path, knows, sheet=sheet, owner="Weather")
    read = _year(found, reading, None)
    place = _place_of(path, found.comments)
    of_file = [("file", file_name(path)), *read.notes] if read.notes else []
    said = (pair for pair in of_comments(found.comments) if pair[0] not in _LABELS)
    return {**read.series, **place, **_zone(read, place, found.rows)}, (*said, *of_file)


def read_frame(frame: pd.DataFrame, reading: Reading) -> tuple[dict[str, Any], Pairs]:
    """Return series of a DataFrame, its time zone where it has one, and their origin."""
    sheet, index = of_frame(frame, owner="Weather")
    read = _year(sheet, reading, index)
    return {**read.series, **_zone(read, {}, sheet.rows)}, tuple(read.notes)


def _year(sheet: Sheet, reading: Reading, index: Stamps | None) -> Hours:
    read = hours(
        sheet,
        QUANTITIES,
        reading,
        owner="Weather",
        needed=_TEMPERATURE,
        index=index,
        strict=False,
        needs_time=True,
    )
    size = read.series["dry_bulb"].size
    if size != HOURS_PER_YEAR:
        allowed = f"must be one year of {HOURS_PER_YEAR} hours"
        raise sheet.rows.fault(len(sheet) - 1, "", f"{size} hours were read", allowed)
    return read


def _zone(read: Hours, place: dict[str, float], rows: Rows) -> dict[str, float]:
    """Return the time zone of the stamps, where they have one.

    Raises
    ------
    InvalidFile
        If the place has another.
    """
    if read.utc_offset is None:
        return {}
    stated = place.get("utc_offset", read.utc_offset)
    if stated != read.utc_offset:
        allowed = f"must be {read.utc_offset:g} h, as the times have it"
        raise rows.fault(-1, "utc_offset_h", stated, allowed)
    return {"utc_offset": read.utc_offset}


def _place_of(path: str | os.PathLike[str], comments: list[str]) -> dict[str, float]:
    found = {}
    for line, comment in enumerate(comments, start=1):
        key, _, value = comment.lstrip("# ").partition(":")
        for name, label, unit, least, most in PLACE:
            if key.strip() == label:
                try:
                    found[name] = float(value)
                except ValueError:
                    allowed = f"must be a number from {least:g} to {most:g} {unit}"
                    raise InvalidFile(path, line, label, value.strip(), allowed) from None
    return found


def require_zone(stated: float, of_index: float) -> None:
    """Refuse a time zone beside another one of the index.

    Raises
    ------
    InvalidInput
        If they differ.
    """
    if stated != of_index:
        allowed = f"must be {of_index:g} h, as the index has it"
        raise InvalidInput("Weather", "utc_offset", stated, "h", allowed)
