"""Hourly weather of one year without a leap day."""

from __future__ import annotations

import difflib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Self

import numpy as np
import numpy.typing as npt

from loopdrift.basics import model_time, notebook
from loopdrift.basics.both_units import both_degrees
from loopdrift.basics.errors import InvalidInput, kept, raise_all
from loopdrift.basics.model_time import HOURS_PER_YEAR, first_true
from loopdrift.basics.numbers import number_within
from loopdrift.basics.output import write_whole
from loopdrift.basics.series import ReadOnlyArrays, Series, numbers
from loopdrift.basics.units import to_si
from loopdrift.parts.constructors import register
from loopdrift.parts.series.hours import Reading
from loopdrift.parts.series.origin import Pairs, comment, pairs_of_text
from loopdrift.parts.series.steps import Named
from loopdrift.parts.weather.place import refuse_turned_utc, require_season_of_place, require_sun_of_place
from loopdrift.parts.weather.reading import PLACE, SERIES, read_file, read_frame, require_zone

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_SAMPLES = Path(__file__).parent / "samples"


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
    origin : sequence of tuple of str, optional
        Where it comes from and what was done to it, as labels and texts; no part of what makes weather equal.

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
    origin: Pairs = ()

    def __post_init__(self) -> None:
        faults: list[InvalidInput] = []
        for name, _, unit, least, most in SERIES:
            given = getattr(self, name)
            if given is not None or name == "dry_bulb":
                with kept(faults):
                    object.__setattr__(self, name, _series(name, given, unit, least, most))
        for name, _, unit, least, most in PLACE:
            given = getattr(self, name)
            if given is not None:
                with kept(faults):
                    value = number_within(given, unit, owner="Weather", field=name, least=least, most=most)
                    object.__setattr__(self, name, value)
        raise_all(faults)
        require_sun_of_place(self.ghi, self.longitude, self.utc_offset)
        require_season_of_place(self.dry_bulb, self.ghi, self.latitude)
        object.__setattr__(self, "origin", pairs_of_text(self.origin, owner="Weather"))

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
                "Weather", "name", repr(name), "", f"must be one of {', '.join(cls.samples())}{hint}"
            )
        return cls.read(_SAMPLES / f"{name.replace(' ', '_')}.csv")

    @classmethod
    def read(
        cls,
        path: str | os.PathLike[str],
        *,
        columns: Mapping[str, str] | None = None,
        stamps: Named | None = None,
        date_format: str | None = None,
        time_zone: str | None = None,
        longest_gap: float | str | None = None,
        sheet: str | None = None,
    ) -> Self:
        """Return the weather of a file.

        Public files are known by their beginning and read by pvlib: EPW, TMY3, TMY2, and those of the NSRDB
        and PVGIS services. Any other is text, a workbook or Parquet, as for `Loads.read`, with pvlib's names:
        ``temp_air`` [degC], ``relative_humidity`` [%], ``ghi``, ``dni``, ``dhi`` [W/m2] and ``wind_speed``
        [m/s]; or with names and units such as ``Outdoor temperature [degF]``. Other columns are left aside.
        Comments before the header, such as ``# latitude_deg: 47.2``, may give ``latitude_deg``,
        ``longitude_deg``, ``altitude_m`` and ``utc_offset_h``.

        Rows are steps of 1 min to 1 h of one year from any day. Shorter steps are averaged, leap days left
        out, and summer time or UTC is turned into local standard time; `origin` says what was done. A typical
        year may change its year from one month to the next.

        Parameters
        ----------
        path : str or path-like
            The file.
        columns : mapping of str to str, optional
            Headings by the names of series, such as ``{"dry_bulb": "T out [degF]", "time": "Read at"}``.
        stamps : {"beginning", "middle", "end"}, optional
            What each time marks of its step. By default the first decides: 00:00 is a beginning.
        date_format : str, optional
            How dates are written, such as ``"%d/%m/%Y %H:%M"``; for 03/04/2023, which can be two dates.
        time_zone : str, optional
            Zone of the place, such as ``"Europe/Berlin"`` or ``"UTC+1"``, into whose standard time times with
            an offset or in UTC are turned; for others, the zone whose clocks they show.
        longest_gap : float or str, optional
            Longest gap that is filled [h], none by default; as for `Loads.read`.
        sheet : str, optional
            Sheet of a workbook, where several hold weather.

        Raises
        ------
        InvalidFile
            If a value or stamp can't be used, with the line number.
        InvalidInput
            If an argument can't be used, or the sun stands hours off from the place.
        OSError
            If the file can't be read.
        """
        reading = Reading(
            columns=columns,
            stamps=stamps,
            date_format=date_format,
            time_zone=time_zone,
            longest_gap=longest_gap,
        )
        given, origin = read_file(path, reading, sheet)
        return cls(**given, origin=origin)

    @classmethod
    def from_frame(
        cls,
        frame: pd.DataFrame,
        *,
        latitude: float | None = None,
        longitude: float | None = None,
        altitude: float | None = None,
        utc_offset: float | None = None,
        stamps: Named | None = None,
        time_zone: str | None = None,
        longest_gap: float | str | None = None,
    ) -> Self:
        """Return the weather of a table as pvlib's readers give it.

        Parameters
        ----------
        frame : pandas.DataFrame
            Columns as in a file, with a DatetimeIndex or PeriodIndex of one year from any day, in steps of 1
            min to 1 h. Units may also stand in ``frame.attrs["units"]`` by column, or cells be quantities of
            pint.
        latitude, longitude : float, optional
            Place, north and east positive [deg].
        altitude : float, optional
            Height above sea level [m].
        utc_offset : float, optional
            Local standard time less UTC [h]; taken from the index where that has a time zone.
        stamps, time_zone, longest_gap : optional
            As for `read` [h].

        Raises
        ------
        InvalidInput
            If a column is missing, or there are gaps, repeats or missing values; row 0 is the first.

        Examples
        --------
        >>> frame, place = pvlib.iotools.read_tmy3("typical_year.csv")  # doctest: +SKIP
        >>> Weather.from_frame(frame, latitude=place["latitude"])  # doctest: +SKIP
        """
        reading = Reading(stamps=stamps, time_zone=time_zone, longest_gap=longest_gap)
        if stamps is None and time_zone is None:
            refuse_turned_utc(frame)
        given, origin = read_frame(frame, reading)
        if utc_offset is not None:
            stated = to_si(utc_offset, "h", owner="Weather", field="utc_offset")
            require_zone(stated, given.setdefault("utc_offset", stated))
        return cls(**given, latitude=latitude, longitude=longitude, altitude=altitude, origin=origin)

    def in_words(self) -> str:
        """Return how cold and how warm the year is."""
        low, high, mean = (both_degrees(float(at(self.dry_bulb))) for at in (np.min, np.max, np.mean))
        return f"from {low} to {high}, {mean} in the mean"

    def plot(
        self,
        kind: Literal["temperature", "sun"] = "temperature",
        *,
        units: Literal["SI", "IP"] = "SI",
        ax: Axes | None = None,
    ) -> Axes:
        """Draw the outdoor temperature of each day, or the sun by day and hour.

        Parameters
        ----------
        kind : {"temperature", "sun"}, default "temperature"
            What to draw. The sun shows whether hours are those of the place.
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure unless given.

        Returns
        -------
        matplotlib.axes.Axes
            The chart.

        Raises
        ------
        InvalidInput
            If `kind` or `units` is unknown, or there is no radiation to draw.
        """
        from loopdrift import charts

        if kind == "temperature":
            return charts.days(
                self.dry_bulb, "outdoor temperature", quantity="temperature", units=units, ax=ax
            )
        if kind != "sun":
            raise InvalidInput("Weather", "kind", repr(kind), "", "must be temperature or sun")
        if self.ghi is None:
            raise InvalidInput("Weather", "ghi", "nothing", "W/m2", "must be given to draw the sun")
        return charts.hours(self.ghi, "global radiation", unit="W/m2", units=units, ax=ax)

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
        place = [(label, getattr(self, name)) for name, label, *_ in PLACE]
        columns = {column: getattr(self, name) for name, column, *_ in SERIES}
        given = {column: values.tolist() for column, values in columns.items() if values is not None}
        stamps = np.datetime_as_string(model_time.stamps(), unit="m")
        rows = zip(*given.values(), strict=True)
        lines = [
            "# Stamps name the beginning of the hour in local standard time.",
            *(f"# {label}: {value!r}" for label, value in place if value is not None),
            *(comment(label, text) for label, text in self.origin),
            ",".join(["time", *given]),
            *(",".join([stamp, *map(repr, row)]) for stamp, row in zip(stamps, rows, strict=True)),
        ]
        return "\n".join(lines) + "\n"

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Weather):
            return NotImplemented
        return all(
            np.array_equal(getattr(self, name), getattr(other, name)) for name, *_ in (*SERIES, *PLACE)
        )

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        mean, low, high = self.dry_bulb.mean(), self.dry_bulb.min(), self.dry_bulb.max()
        return f"<Weather: dry-bulb {mean:.1f} degC, from {low:.1f} to {high:.1f} degC>"

    def _repr_html_(self) -> str:
        return (
            notebook.heading("Weather") + notebook.sentences([repr(self)[1:-1]]) + notebook.facts(self.origin)
        )


def _series(name: str, given: npt.ArrayLike | None, unit: str, least: float, most: float) -> Series:
    """Return a year of hourly values of one kind, each within its range."""
    values = numbers(given, unit, owner="Weather", field=name)
    if values.size != HOURS_PER_YEAR:
        allowed = f"must be {HOURS_PER_YEAR}, no leap day"
        raise InvalidInput("Weather", name, values.size, "hourly values", allowed)
    hour = first_true(~((least <= values) & (values <= most)))
    if hour is not None:
        allowed = f"hour {hour}: must be from {least:g} to {most:g} {unit}"
        raise InvalidInput("Weather", name, values[hour], unit, allowed)
    return values


register(Weather, {"sample": Weather.sample, "file": Weather.read, "values": Weather})
