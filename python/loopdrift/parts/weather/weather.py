"""Hourly weather of one year without a leap day."""

from __future__ import annotations

import difflib
import io
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from loopdrift.basics import model_time, text_file
from loopdrift.basics.both_units import both_degrees
from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, fault_of_stamps
from loopdrift.basics.model_time import first_true as _first
from loopdrift.basics.output import write_whole
from loopdrift.basics.series import ReadOnlyArrays, Series, numbers
from loopdrift.basics.units import to_si
from loopdrift.parts.weather.sun_hours import require_sun_of_place

if TYPE_CHECKING:
    import pandas as pd

_SAMPLES = Path(__file__).parent / "samples"

# Name of the series, column in pvlib's readers, unit, least and greatest value.
_SERIES = (
    ("dry_bulb", "temp_air", "degC", -90.0, 60.0),
    ("relative_humidity", "relative_humidity", "%", 0.0, 100.0),
    ("ghi", "ghi", "W/m2", 0.0, 1600.0),
    ("dni", "dni", "W/m2", 0.0, 1600.0),
    ("dhi", "dhi", "W/m2", 0.0, 1600.0),
    ("wind_speed", "wind_speed", "m/s", 0.0, 100.0),
)
# Name in this class and in the comments of a file, unit, least and greatest value.
_PLACE = (
    ("latitude", "latitude_deg", "deg", -90.0, 90.0),
    ("longitude", "longitude_deg", "deg", -180.0, 180.0),
    ("altitude", "altitude_m", "m", -500.0, 9000.0),
    ("utc_offset", "utc_offset_h", "h", -12.0, 14.0),
)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Weather(ReadOnlyArrays):
    """Hourly means of a year of 8760 hours, from 1 January in local standard time, as read-only arrays.

    Parameters
    ----------
    dry_bulb : array_like
        Outdoor air temperature [degC].
    relative_humidity : array_like, optional
        Relative humidity [%].
    ghi, dni, dhi : array_like, optional
        Global horizontal, direct normal and diffuse horizontal radiation [W/m2].
    wind_speed : array_like, optional
        Wind speed [m/s].
    latitude, longitude : float, optional
        Place, north and east positive [deg].
    altitude : float, optional
        Height above sea level [m].
    utc_offset : float, optional
        Local standard time less UTC [h].

    Raises
    ------
    InvalidInput
        If a series isn't 8760 values, or a value is missing or outside the range of weather on Earth; hour 0
        is the first; or the sun stands hours off from where the longitude has it in local standard time.
    """

    dry_bulb: Series
    relative_humidity: Series | None = None
    ghi: Series | None = None
    dni: Series | None = None
    dhi: Series | None = None
    wind_speed: Series | None = None
    latitude: float | None = None
    longitude: float | None = None
    altitude: float | None = None
    utc_offset: float | None = None

    def __post_init__(self) -> None:
        for name, _, unit, least, most in _SERIES:
            given = getattr(self, name)
            if given is None and name != "dry_bulb":
                continue
            values = numbers(given, unit, owner="Weather", field=name)
            if values.size != HOURS_PER_YEAR:
                raise InvalidInput(
                    "Weather", name, values.size, "hourly values", f"must be {HOURS_PER_YEAR}, no leap day"
                )
            hour = _first(~((least <= values) & (values <= most)))
            if hour is not None:
                allowed = f"hour {hour}: must be from {least:g} to {most:g} {unit}"
                raise InvalidInput("Weather", name, values[hour], unit, allowed)
            object.__setattr__(self, name, values)
        for name, _, unit, least, most in _PLACE:
            if getattr(self, name) is None:
                continue
            value = to_si(getattr(self, name), unit, owner="Weather", field=name)
            if not least <= value <= most:
                raise InvalidInput("Weather", name, value, unit, f"must be from {least:g} to {most:g} {unit}")
            object.__setattr__(self, name, value)
        require_sun_of_place(self.ghi, self.longitude, self.utc_offset)

    @classmethod
    def samples(cls) -> list[str]:
        """Return the names of the invented climates that come with loopdrift."""
        return sorted(path.stem.replace("_", " ") for path in _SAMPLES.glob("*.csv"))

    @classmethod
    def sample(cls, name: str) -> Self:
        """Return an invented climate, one of `samples()`.

        Parameters
        ----------
        name : str
            Its name, such as ``"hot humid"``.

        Raises
        ------
        InvalidInput
            If there is none of this name; with the names that there are.

        Examples
        --------
        >>> round(float(Weather.sample("hot humid").dry_bulb.mean()))
        25
        """
        if name not in cls.samples():
            nearest = difflib.get_close_matches(str(name), cls.samples(), n=1)
            hint = f"; did you mean {nearest[0]!r}?" if nearest else ""
            raise InvalidInput(
                "Weather", "sample", repr(name), "", f"must be one of {', '.join(cls.samples())}{hint}"
            )
        return cls.read(_SAMPLES / f"{name.replace(' ', '_')}.csv")

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Self:
        """Return the weather of a CSV file.

        The header has ``time`` (ISO 8601, local standard time) and pvlib's names: ``temp_air`` [degC],
        ``relative_humidity`` [%], ``ghi``, ``dni``, ``dhi`` [W/m2], ``wind_speed`` [m/s]; other columns are
        left aside. Comments before it, such as ``# latitude_deg: 47.2``, may give ``latitude_deg``,
        ``longitude_deg``, ``altitude_m`` and ``utc_offset_h``. Stamps may name the beginning or the end of
        their hour.

        Parameters
        ----------
        path : str or path-like
            The file.

        Raises
        ------
        InvalidFile
            If a value or stamp can't be used, with the line number.
        OSError
            If the file can't be read.
        """
        import pandas as pd

        file = io.StringIO(text_file.read(path))
        comments = []
        while (line := file.readline()).startswith("#"):
            comments.append(line)
        header_line = len(comments) + 1
        names = [name.strip() for name in line.split(",")]
        try:
            cells = pd.read_csv(file, names=names, dtype=str, keep_default_na=False, skip_blank_lines=False)
        except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
            raise InvalidFile(path, header_line, "", "lines after the header", str(error)) from None
        for name in ("time", "temp_air"):
            if name not in names:
                raise InvalidFile(path, header_line, "", "header", f"must have a column {name}")

        def to_line(row: int) -> int:
            return header_line + 1 + row

        try:
            stamps = pd.to_datetime(cells["time"], errors="coerce", format="ISO8601")
            index = pd.DatetimeIndex(stamps)
        except ValueError:
            allowed = "must be times of one time zone, that of the place"
            raise InvalidFile(path, to_line(0), "time", "times of several time zones", allowed) from None
        row = _first(stamps.isna().to_numpy())
        if row is not None:
            allowed = "must be a time like 2023-01-01T00:00"
            raise InvalidFile(path, to_line(row), "time", str(cells["time"].iloc[row]), allowed)
        frame = pd.DataFrame(index=index)
        for _, column, unit, least, most in _SERIES:
            if column in names:
                values = pd.to_numeric(cells[column], errors="coerce").to_numpy(dtype=np.float64)
                row = _first(~((least <= values) & (values <= most)))
                if row is not None:
                    allowed = f"must be a number from {least:g} to {most:g} {unit}"
                    raise InvalidFile(path, to_line(row), column, str(cells[column].iloc[row]), allowed)
                frame[column] = values
        fault = fault_of_stamps(index)
        if fault is not None:
            row, allowed = fault
            raise InvalidFile(
                path, to_line(row), "time", str(cells["time"].iloc[row]) if len(cells) else "", allowed
            )
        return cls.from_frame(frame, **_place_of(path, comments))

    @classmethod
    def from_frame(
        cls,
        frame: pd.DataFrame,
        *,
        latitude: float | None = None,
        longitude: float | None = None,
        altitude: float | None = None,
        utc_offset: float | None = None,
    ) -> Self:
        """Return the weather of a table as pvlib's readers give it.

        Parameters
        ----------
        frame : pandas.DataFrame
            8760 rows with ``temp_air`` [degC] and, where there are, ``relative_humidity`` [%], ``ghi``,
            ``dni``, ``dhi`` [W/m2] and ``wind_speed`` [m/s]. Its DatetimeIndex is in local standard time and
            may change its year from one month to the next, as typical years do. The first stamp tells whether
            stamps name the beginning of their hour (00:00) or its end (01:00).
        latitude, longitude : float, optional
            Place, north and east positive [deg].
        altitude : float, optional
            Height above sea level [m].
        utc_offset : float, optional
            Local standard time less UTC [h]; taken from the index where that has a time zone.

        Raises
        ------
        InvalidInput
            If a column is missing, or there are leap days, gaps, repeats or missing values; row 0 is the
            first.

        Examples
        --------
        >>> frame, place = pvlib.iotools.read_tmy3("typical_year.csv")  # doctest: +SKIP
        >>> Weather.from_frame(frame, latitude=place["latitude"])  # doctest: +SKIP
        """
        import pandas as pd

        if not isinstance(frame, pd.DataFrame):
            raise InvalidInput("Weather", "frame", type(frame).__name__, "", "must be a DataFrame")
        if "temp_air" not in frame:
            raise InvalidInput("Weather", "frame", f"columns {list(frame.columns)}", "", "must have temp_air")
        if not isinstance(frame.index, pd.DatetimeIndex):
            raise InvalidInput(
                "Weather", "frame", type(frame.index).__name__, "", "must have a DatetimeIndex"
            )
        fault = fault_of_stamps(frame.index)
        if fault is not None:
            row, allowed = fault
            value = frame.index[row] if len(frame) else "no rows"
            raise InvalidInput("Weather", "frame", value, "", f"row {row}: {allowed}")
        if frame.index.tz is not None:
            utc_offset = _offset_of(frame.index[0], utc_offset)
        series: dict[str, Any] = {
            name: frame[column].to_numpy() for name, column, *_ in _SERIES if column in frame
        }
        return cls(**series, latitude=latitude, longitude=longitude, altitude=altitude, utc_offset=utc_offset)

    def in_words(self) -> str:
        """Return how cold and how warm the year is."""
        low, high, mean = (both_degrees(float(at(self.dry_bulb))) for at in (np.min, np.max, np.mean))
        return f"from {low} to {high}, {mean} in the mean"

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write a CSV file that `read` gives back to the last bit, place included.

        Parameters
        ----------
        path : str or path-like
            The file.

        Raises
        ------
        OSError
            If the file can't be written; what it held before stays.
        """
        write_whole({Path(path): self.csv().encode()})

    def csv(self) -> str:
        """Return the text of the file that `write` leaves."""
        place = [(label, getattr(self, name)) for name, label, *_ in _PLACE]
        columns = {column: getattr(self, name) for name, column, *_ in _SERIES}
        given = {column: values.tolist() for column, values in columns.items() if values is not None}
        stamps = np.datetime_as_string(model_time.stamps(), unit="m")
        rows = zip(*given.values(), strict=True)
        lines = [
            "# Stamps name the beginning of the hour in local standard time.",
            *(f"# {label}: {value!r}" for label, value in place if value is not None),
            ",".join(["time", *given]),
            *(",".join([stamp, *map(repr, row)]) for stamp, row in zip(stamps, rows, strict=True)),
        ]
        return "\n".join(lines) + "\n"

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Weather):
            return NotImplemented
        return all(
            np.array_equal(getattr(self, name), getattr(other, name)) for name, *_ in (*_SERIES, *_PLACE)
        )

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        mean, low, high = self.dry_bulb.mean(), self.dry_bulb.min(), self.dry_bulb.max()
        return f"<Weather: dry-bulb {mean:.1f} degC, from {low:.1f} to {high:.1f} degC>"


def _offset_of(first: pd.Timestamp, stated: float | None) -> float:
    """Return the time zone of an index [h].

    Raises
    ------
    InvalidInput
        If another is stated, or the index begins with a year of UTC that was turned to its zone.
    """
    offset = (first.tz_localize(None) - first.tz_convert("UTC").tz_localize(None)).total_seconds() / 3600.0
    if stated is not None and to_si(stated, "h", owner="Weather", field="utc_offset") != offset:
        raise InvalidInput("Weather", "utc_offset", stated, "h", f"must be {offset:g} h, as the index has it")
    in_utc = first.tz_convert("UTC")
    if offset != 0.0 and first.hour == 1 and in_utc.hour == 0:
        allowed = (
            "is hour 0 of a year of UTC, or the end of the first local hour: for the first, begin rows at "
            "00:00 on 1 January in local standard time; for the second, use tz_localize(None) and utc_offset"
        )
        raise InvalidInput("Weather", "frame", first, "", f"row 0: {allowed}")
    return offset


def _place_of(path: str | os.PathLike[str], comments: list[str]) -> dict[str, float]:
    found = {}
    for line, comment in enumerate(comments, start=1):
        key, _, value = comment.lstrip("# ").partition(":")
        for name, label, unit, least, most in _PLACE:
            if key.strip() == label:
                try:
                    found[name] = float(value)
                except ValueError:
                    allowed = f"must be a number from {least:g} to {most:g} {unit}"
                    raise InvalidFile(path, line, label, value.strip(), allowed) from None
    return found
