"""What was measured at a plant, and where its rows stand in a run."""

from __future__ import annotations

import functools
import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Self, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift.analysis.learning import reading
from loopdrift.basics.errors import InvalidInput, shown
from loopdrift.basics.model_time import HOURS_PER_YEAR, MONTHS, hour_of_calendar_year
from loopdrift.basics.numbers import number_within
from loopdrift.basics.series import ReadOnlyArrays, array, read_only
from loopdrift.basics.words import Shown
from loopdrift.parts.series.origin import Pairs, pairs_of_text

if TYPE_CHECKING:
    import pandas as pd

Numbers = NDArray[np.float64]
Rows = Literal["beginning", "end", "instant"]

_HOUR = 3600.0
_MOST_YEARS = 100
_FIRST_MONTH = 31 * 24.0
"""Time after the beginning of a run in which the first row of a log can be that of a new plant [h]."""


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PlantLog(ReadOnlyArrays, Shown):
    """What was measured at a plant: entering fluid temperature, and heat or electricity where it is known.

    Parameters
    ----------
    times : array_like
        Times of the rows since the first, ascending [s].
    first : str, datetime or float
        Date of the first row, in standard time of the place; or its time since the beginning of the first
        year of operation [s].
    entering_fluid : array_like
        Entering fluid temperature, NaN where unknown [degC].
    heat : array_like, optional
        Mean heat extracted from the ground in the step of each row, negative where it is rejected, NaN where
        unknown [W].
    electricity : array_like, optional
        Mean electric power of the heat pump and the circulation pump in the step of each row, NaN where
        unknown [W].
    started : str or datetime, optional
        When the plant began to run, such as ``"2019-10"``; by default with the log, if that begins in the
        first month of a run.
    rows : {"beginning", "end", "instant"}, default "beginning"
        Whether rows are means over a step that begins or ends at their times, or readings of an instant.
    step : float or str, optional
        Length of the steps [h]; by default the usual time between two rows.
    origin : sequence of tuple of str, optional
        Where the log comes from, as labels and texts.

    Raises
    ------
    InvalidInput
        If times don't ascend, an array has another shape, nothing was measured, or a date is invalid.
    """

    times: ArrayLike
    first: Any
    entering_fluid: ArrayLike
    heat: ArrayLike | None = None
    electricity: ArrayLike | None = None
    started: Any = None
    rows: Rows = "beginning"
    step: float | str | None = None
    origin: Pairs = ()

    def __post_init__(self) -> None:
        if self.rows not in get_args(Rows):
            allowed = f"must be one of {', '.join(get_args(Rows))}"
            raise InvalidInput("PlantLog", "rows", shown(self.rows), "", allowed)
        object.__setattr__(self, "origin", pairs_of_text(self.origin, owner="PlantLog"))
        count = np.size(self.times)
        for name, unit in _UNITS.items():
            given = getattr(self, name)
            if given is None:
                continue
            column = array(given, unit, owner="PlantLog", field=name)
            if column.shape != (count,):
                allowed = f"must be {count} numbers, one for each of the times"
                raise InvalidInput("PlantLog", name, f"shape {column.shape}", unit, allowed)
            object.__setattr__(self, name, read_only(column))
        times = np.asarray(self.times)
        if count < reading.LEAST_ROWS or not (np.diff(times) > 0.0).all():
            allowed = f"must ascend, and be at least {reading.LEAST_ROWS}"
            raise InvalidInput("PlantLog", "times", f"{count} numbers", "s", allowed)
        known = int(np.isfinite(np.asarray(self.entering_fluid)).sum())
        if known < reading.LEAST_ROWS:
            allowed = f"must be known in at least {reading.LEAST_ROWS} rows"
            raise InvalidInput("PlantLog", "entering_fluid", f"{known} known", "degC", allowed)
        usual = float(np.median(np.diff(times))) / _HOUR
        step = usual
        if self.step is not None:
            step = number_within(self.step, "h", owner="PlantLog", field="step", least=1e-3, most=8760.0)
        object.__setattr__(self, "step", step)
        if not isinstance(self.first, int | float):
            object.__setattr__(self, "first", _date(self.first, "first"))
        elif not 0.0 <= self.first <= _MOST_YEARS * HOURS_PER_YEAR * _HOUR:
            allowed = "must be a date, or 0 or more since the beginning of the first year"
            raise InvalidInput("PlantLog", "first", shown(self.first), "s", allowed)
        if self.started is not None:
            object.__setattr__(self, "started", _date(self.started, "started"))

    @classmethod
    def read(
        cls,
        path: str | os.PathLike[str],
        *,
        started: Any = None,
        rows: Rows = "beginning",
        step: float | str | None = None,
        columns: Mapping[str, str] | None = None,
        date_format: str | None = None,
        sheet: str | None = None,
    ) -> Self:
        """Read a log: CSV, an Excel workbook or Parquet, of any cadence, with gaps.

        Columns are found by their headings, with their units: time (dates) or elapsed, such as
        ``elapsed_h``, since the beginning of the first year of operation; ``entering_fluid_degC``; and where
        they were measured ``heat_extracted_kWh`` from the ground or ``electricity_kWh``, as power or as
        energy of each step. A line before the header such as ``# started: 2019-10`` says when the plant
        began. Clock changes are turned into standard time.

        Parameters
        ----------
        path : str or path-like
            The file.
        started : str or datetime, optional
            When the plant began to run, such as ``"2019-10"``; by default as the file says.
        rows : {"beginning", "end", "instant"}, default "beginning"
            Whether rows are means over a step that begins or ends at their times, or readings of an instant.
        step : float or str, optional
            Length of the steps [h]; by default the usual time between two rows.
        columns : mapping of str to str, optional
            Headings by ``time``, ``elapsed``, ``entering_fluid``, ``heat`` or ``electricity``, where they
            don't say it themselves.
        date_format : str, optional
            How dates are written, such as ``"%d/%m/%Y %H:%M"``.
        sheet : str, optional
            Sheet of a workbook.

        Raises
        ------
        InvalidFile
            If a column is missing, or a cell or time can't be used.
        InvalidInput
            If an argument can't be used.
        OSError
            If the file can't be read.
        """
        found = reading.arguments(
            path, started=started, columns=columns, date_format=date_format, sheet=sheet
        )
        return cls(**found, rows=rows, step=step)

    @property
    def width(self) -> float:
        """Length of a step [h]; 0 for readings of an instant."""
        return 0.0 if self.rows == "instant" else float(self.step or 0.0)

    def hours(self, start_month: int) -> Numbers:
        """Return when the step of each row begins, since the beginning of a run [h].

        Years of a run have no 29 February: rows of that day count as 28 February.

        Parameters
        ----------
        start_month : int
            First month of the run, 1 to 12.

        Raises
        ------
        InvalidInput
            If it isn't known when the plant began, it began in another month, or the log lies outside the
            hundred years that a run may have.
        """
        shift = float(self.step or 0.0) if self.rows == "end" else 0.0
        since = np.asarray(self.times) / _HOUR
        if isinstance(self.first, int | float):
            hours: Numbers = self.first / _HOUR + since - shift
        else:
            began = self._began(start_month)
            hours = _hour_of_all(self._stamps) - shift
            hours = hours - began.year * HOURS_PER_YEAR - hour_of_calendar_year(start_month)
        if hours[0] < -shift - 1e-6:
            allowed = "must come after the plant started; hours before the first year can't be used"
            raise InvalidInput("PlantLog", "first", f"{hours[0]:.0f} h", "", allowed)
        if hours[-1] > _MOST_YEARS * HOURS_PER_YEAR:
            years = f"{hours[-1] / HOURS_PER_YEAR:.0f} years"
            raise InvalidInput("PlantLog", "times", years, "", f"must end within {_MOST_YEARS} years")
        return np.maximum(hours, 0.0)

    @functools.cached_property
    def _stamps(self) -> pd.DatetimeIndex:
        import pandas as pd

        return pd.DatetimeIndex(self.first + pd.to_timedelta(np.asarray(self.times), unit="s"))

    def _began(self, start_month: int) -> pd.Timestamp:
        """Return a date in the month in which the run begins."""
        first, started = self.first, self.started
        if started is not None:
            if started.month != start_month:
                allowed = (
                    f"must be in {MONTHS[start_month - 1]}, the first month of the design's run: give the "
                    f"design start_month = {started.month}"
                )
                raise InvalidInput("PlantLog", "started", f"{started:%Y-%m}", "", allowed)
            return started  # type: ignore[no-any-return]
        year = first.year - (first.month < start_month)
        began = first.replace(year=year, month=start_month, day=1)
        after = _hour_of_all(self._stamps[:1])[0] - _hour_of_all([began])[0]
        if after > _FIRST_MONTH:
            allowed = (
                f"must be given, such as '2019-{start_month:02}': the log begins on {first:%Y-%m-%d}, which "
                f"isn't in {MONTHS[start_month - 1]}, the first month of the design's run"
            )
            raise InvalidInput("PlantLog", "started", None, "", allowed)
        return began  # type: ignore[no-any-return]

    def __repr__(self) -> str:
        return f"<PlantLog: {self}>"

    def __str__(self) -> str:
        known = np.isfinite(np.asarray(self.entering_fluid))
        span = float(np.asarray(self.times)[-1]) / _HOUR / HOURS_PER_YEAR
        beside = " and ".join(name for name in ("heat", "electricity") if getattr(self, name) is not None)
        return (
            f"{known.sum():,} rows of entering fluid{f', with {beside},' if beside else ''} over "
            f"{span:.1f} years, one in {float(self.step or 0.0):g} h"
        )


_UNITS = {"times": "s", "entering_fluid": "degC", "heat": "W", "electricity": "W"}


def _date(given: Any, field: str) -> pd.Timestamp:
    import pandas as pd

    try:
        found = pd.Timestamp(given)
    except (ValueError, TypeError, OverflowError):
        found = pd.NaT  # type: ignore[assignment]
    if pd.isna(found) or isinstance(given, bool) or not 1900 <= found.year <= 2200:
        allowed = "must be a date such as '2019-10-01'"
        raise InvalidInput("PlantLog", field, shown(given), "", allowed)
    return found.tz_localize(None)


def _hour_of_all(stamps: Any) -> Numbers:
    """Return hours of dates on a calendar of years without 29 February, from year 0 on [h]."""
    import pandas as pd

    at = pd.DatetimeIndex(stamps)
    day = np.where((at.month == 2) & (at.day == 29), 28, at.day)
    of_month = np.array([hour_of_calendar_year(month) for month in range(1, 13)])
    clock = np.asarray((at - at.normalize()).total_seconds(), dtype=float) / _HOUR
    found: Numbers = np.asarray(at.year) * HOURS_PER_YEAR + of_month[at.month - 1] + (day - 1) * 24 + clock
    return found
