"""Hourly loads of whole years."""

from __future__ import annotations

import functools
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Self

import numpy as np
import numpy.typing as npt

from loopdrift import _core
from loopdrift.basics import notebook, units
from loopdrift.basics.errors import InvalidInput, first_of_each_field, kept, raise_all
from loopdrift.basics.model_time import HOURS_PER_YEAR, month_of_hours
from loopdrift.basics.output import write_whole
from loopdrift.basics.series import Series, numbers, read_only
from loopdrift.parts.loads.origin import Shaped, checked_shape, comments
from loopdrift.parts.series.origin import pairs_of_text

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

NAMES = ("heating", "cooling", "hot_water", "recharge")


class HourlyLoads:
    """Hourly mean loads of one or more whole years.

    Two objects are equal where all their values are. Arrays are copied and can't be written to.

    Parameters
    ----------
    heating : array_like or float or str, optional
        Heat that the rooms need [W]: 8760 values for each year, or one for all hours; 0 where left out.
    cooling : array_like or float or str, optional
        Heat to be taken out of the rooms [W], zero or more.
    hot_water : array_like or float or str, optional
        Heat that domestic hot water needs [W].
    recharge : array_like or float or str, optional
        Heat given to the loop's fluid from elsewhere, as by a solar collector; negative where heat is taken
        out of it, as by a dry cooler [W].
    origin : sequence of tuple of str, optional
        Where the loads come from, as labels and texts of a line each; no part of what makes
        loads equal. Loads of a building or of a heat loss have its facts there, those of a file what was done
        to its rows.
    shaped_from : str, optional
        What the hours were shaped from, where they weren't hourly; no part of what makes loads equal.

    Raises
    ------
    InvalidInput
        If a load is negative, a value not finite, the arrays aren't of the same 1 to 100 whole years, the
        origin isn't pairs of text, or `shaped_from` is unknown.
    """

    def __init__(
        self,
        *,
        heating: npt.ArrayLike | None = None,
        cooling: npt.ArrayLike | None = None,
        hot_water: npt.ArrayLike | None = None,
        recharge: npt.ArrayLike | None = None,
        origin: Sequence[tuple[str, str]] = (),
        shaped_from: Shaped | None = None,
    ) -> None:
        values = zip(NAMES, (heating, cooling, hot_water, recharge), strict=True)
        faults: list[InvalidInput] = []
        given: dict[str, float | Series] = {}
        for name, value in values:
            with kept(faults):
                given[name] = _number_or_series(name, value)
        lengths = [value.size for value in given.values() if not isinstance(value, float)]
        # A wrong length is left to the series that has it.
        hours = next((size for size in lengths if size and size % HOURS_PER_YEAR == 0), HOURS_PER_YEAR)
        series = {
            name: np.full(hours, value) if isinstance(value, float) else value
            for name, value in given.items()
        }
        self._series = {name: read_only(values) for name, values in _checked(series, faults).items()}
        self._origin = pairs_of_text(origin, owner="Loads")
        self._shaped_from = checked_shape(shaped_from)

    @property
    def heating(self) -> Series:
        """Heat that the rooms need in each hour [W]."""
        return self._series["heating"]

    @property
    def cooling(self) -> Series:
        """Heat to be taken out of the rooms in each hour [W]."""
        return self._series["cooling"]

    @property
    def hot_water(self) -> Series:
        """Heat that domestic hot water needs in each hour [W]."""
        return self._series["hot_water"]

    @property
    def recharge(self) -> Series:
        """Heat given to the loop's fluid from elsewhere in each hour, negative where it is taken out [W]."""
        return self._series["recharge"]

    @property
    def origin(self) -> tuple[tuple[str, str], ...]:
        """Where the loads come from, as labels and texts; empty where that isn't known."""
        return self._origin

    @property
    def shaped_from(self) -> Shaped | None:
        """What the hours were shaped from, None where they were hourly from the first."""
        return self._shaped_from

    @property
    def years(self) -> int:
        """Number of years."""
        return self.heating.size // HOURS_PER_YEAR

    @property
    def peak(self) -> dict[str, float]:
        """Largest hourly mean of each series [W]."""
        return {name: float(values.max()) for name, values in self._series.items()}

    def with_series(self, **changes: npt.ArrayLike) -> Self:
        """Return a copy in which named series have other values, of the same origin.

        Parameters
        ----------
        **changes
            Names of series and their values [W].

        Raises
        ------
        InvalidInput
            If the values are none that loads may have.
        """
        series: dict[str, Any] = self._series | changes
        return type(self)(**series, origin=self._origin, shaped_from=self._shaped_from)

    def monthly(self) -> pd.DataFrame:
        """Return heat and largest hour of each month, by year and month of model time.

        Returns
        -------
        pandas.DataFrame
            Of each series ``_kWh``, and its largest hourly mean ``_peak_W``.
        """
        import pandas as pd

        month_of_hour = month_of_hours(start_month=1)
        index = pd.MultiIndex.from_product([range(1, self.years + 1), month_of_hour], names=["year", "month"])
        hours = pd.DataFrame(self._series, index=index)
        months = hours.groupby(level=["year", "month"])
        return pd.concat(
            [months.sum().add_suffix("_kWh") / 1000.0, months.max().add_suffix("_peak_W")], axis=1
        )

    def plot(
        self,
        kind: Literal["months", "days", "hours"] = "months",
        *,
        series: Literal["heating", "cooling", "hot_water", "recharge"] = "heating",
        units: Literal["SI", "IP"] = "SI",
        ax: Axes | None = None,
    ) -> Axes:
        """Draw heat and largest hour of each month, or the days or hours of one series.

        Parameters
        ----------
        kind : {"months", "days", "hours"}, default "months"
            All series by month; the days of one, beside the mean and the largest hour of each month; or its
            hours as a map, which shows clocks, gaps and habits.
        series : {"heating", "cooling", "hot_water", "recharge"}, default "heating"
            The series of days or hours.
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
            If `kind`, `series` or `units` is unknown.
        """
        from loopdrift import charts

        if series not in NAMES:
            raise InvalidInput("Loads", "series", repr(series), "", f"must be one of {', '.join(NAMES)}")
        if kind == "months":
            return charts.loads(self.monthly(), units=units, ax=ax)
        if kind == "days":
            return charts.days(self._series[series], series, units=units, ax=ax)
        if kind == "hours":
            return charts.hours(self._series[series], series, units=units, ax=ax)
        raise InvalidInput("Loads", "kind", repr(kind), "", "must be months, days or hours")

    def for_engine(self) -> dict[str, Series]:
        """Return the hourly series by name, as the engine reads them."""
        return dict(self._series)

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write a CSV file in W that `read` gives back to the last bit, with its origin.

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
        hours = np.tile(np.arange(HOURS_PER_YEAR), self.years).tolist()
        lines = zip(hours, *(values.tolist() for values in self._series.values()), strict=True)
        text = [
            *comments(self._origin, self._shaped_from),
            "hour,heating_W,cooling_W,hot_water_W,recharge_W",
            *(",".join(map(repr, line)) for line in lines),
        ]
        return "\n".join(text) + "\n"

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, HourlyLoads):
            return NotImplemented
        return all(np.array_equal(self._series[name], other._series[name]) for name in NAMES)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        peaks = ", ".join(f"{name} up to {peak / 1000.0:.4g} kW" for name, peak in self.peak.items())
        return f"<Loads of {self.years} year{'s' if self.years > 1 else ''}: {peaks}>"

    def _repr_html_(self) -> str:
        return (
            notebook.heading("Loads") + notebook.sentences([repr(self)[1:-1]]) + notebook.facts(self.origin)
        )

    def __reduce__(self) -> tuple[Any, ...]:
        return functools.partial(
            type(self), **self._series, origin=self._origin, shaped_from=self._shaped_from
        ), ()


def _checked(series: dict[str, Series], faults: list[InvalidInput]) -> dict[str, Series]:
    """Return series as the engine takes them; refuse them with one fault of each, and with those known."""
    checked: dict[str, Series] = {}
    with kept(faults):
        checked = _core.check_loads(series)
    for name, values in series.items() if faults else ():
        hours = values.size if values.size % HOURS_PER_YEAR == 0 else HOURS_PER_YEAR
        with kept(faults):
            _core.check_loads({each: np.zeros(hours) for each in NAMES} | {name: values})
    raise_all(first_of_each_field(faults))
    return checked


def _number_or_series(name: str, values: Any) -> float | Series:
    if values is None:
        return 0.0
    if isinstance(values, str) or np.ndim(values) == 0:
        return units.to_si(values, "W", owner="Loads", field=name)
    index: Any = getattr(values, "index", None)
    if hasattr(index, "freq") or (hasattr(index, "dtype") and index.dtype.kind in "mM"):
        _require_hours(index, name)
    return numbers(values, "W", owner="Loads", field=name)


def _require_hours(index: Any, name: str) -> None:
    """Refuse stamps that aren't the hours of whole years from 1 January without leap days."""
    import pandas as pd

    from loopdrift.basics.model_time import fault_of_stamps

    if not isinstance(index, pd.DatetimeIndex):
        allowed = "must have a DatetimeIndex or plain numbers as its index"
        raise InvalidInput("Loads", name, type(index).__name__, "", allowed)
    fault = fault_of_stamps(index, years=True)
    if fault is not None:
        row, allowed = fault
        value = index[row] if len(index) else "no rows"
        raise InvalidInput("Loads", name, value, "", f"index, row {row}: {allowed}")
