"""What the building asks of the heat pump, hour by hour."""

from __future__ import annotations

import functools
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import numpy as np
import numpy.typing as npt

from loopdrift import _core, units
from loopdrift.errors import InvalidInput
from loopdrift.part import quantities, require
from loopdrift.series import HOURS_PER_YEAR, Series, numbers, read_only
from loopdrift.weather import Weather

if TYPE_CHECKING:
    import pandas as pd

_NAMES = ("heating", "cooling", "hot_water", "recharge")


class Loads:
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
        Heat given to the loop's fluid from elsewhere, as by a solar collector or a dry cooler [W].

    Raises
    ------
    InvalidInput
        If a value is negative or not finite, or the arrays aren't of the same 1 to 100 whole years.

    Examples
    --------
    >>> Loads(heating=np.full(8760, 5e3), hot_water="300 W").peak["hot_water"]
    300.0
    """

    def __init__(
        self,
        *,
        heating: npt.ArrayLike | None = None,
        cooling: npt.ArrayLike | None = None,
        hot_water: npt.ArrayLike | None = None,
        recharge: npt.ArrayLike | None = None,
    ) -> None:
        values = zip(_NAMES, (heating, cooling, hot_water, recharge), strict=True)
        given = {name: _number_or_series(name, value) for name, value in values}
        lengths = [value.size for value in given.values() if not isinstance(value, float)]
        # A wrong length is left to the series that has it.
        hours = next((size for size in lengths if size and size % HOURS_PER_YEAR == 0), HOURS_PER_YEAR)
        series = {
            name: np.full(hours, value) if isinstance(value, float) else value
            for name, value in given.items()
        }
        self._series = {name: read_only(values) for name, values in _core.check_loads(series).items()}

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Self:
        """Return the loads of a CSV file.

        Columns are ``heating_W``, ``cooling_W``, ``hot_water_W`` and ``recharge_W``, or the same in ``_kW``;
        one that is missing is 0. Each line is one hour of years without leap days, from 1 January; lines
        before the header may be comments that start with ``#``. A column ``time`` (ISO 8601, local standard
        time) or ``hour`` (0 to 8759 or 1 to 8760) is checked where it is given. Stamps may name the beginning
        of their hour (the first is 00:00 on 1 January, or hour 0) or its end (01:00, or hour 1).

        Parameters
        ----------
        path : str or path-like
            The file.

        Raises
        ------
        InvalidFile
            If a cell is no load, there are leap days, gaps or repeats, or the lines are no whole number of
            years; with the line number.
        OSError
            If the file can't be read.
        """
        return cls(**_core.read_loads(os.fspath(path)))

    @classmethod
    def from_weather(
        cls,
        weather: Weather,
        *,
        loss_coefficient: float | str,
        heating_balance: float | str,
        gain_coefficient: float | str = 0.0,
        cooling_balance: float | str | None = None,
        hot_water: npt.ArrayLike | None = None,
    ) -> Self:
        """Return loads that rise straight with the outdoor temperature's distance from a balance point.

        ``heating = loss_coefficient x max(0, heating_balance - dry_bulb)`` and ``cooling = gain_coefficient x
        max(0, dry_bulb - cooling_balance)``: degree hours with a free base, the variable-base degree-day
        method of the ASHRAE Handbook of Fundamentals (from memory), taken hour by hour. Sun, people and the
        building's heat capacity are only in the balance points, so that yearly sums are better than single
        hours.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        loss_coefficient : float or str
            Heating load per kelvin below the heating balance point [W/K].
        heating_balance : float or str
            Outdoor temperature below which the building needs heating [degC].
        gain_coefficient : float or str, default 0
            Cooling load per kelvin above the cooling balance point [W/K].
        cooling_balance : float or str, optional
            Outdoor temperature above which the building needs cooling [degC]; needed where there is a gain
            coefficient.
        hot_water : array_like or float or str, optional
            Heat that domestic hot water needs [W].

        Raises
        ------
        InvalidInput
            If a value is out of range, or `cooling_balance` is below `heating_balance`.
        """
        require(weather, Weather, owner="Loads", field="weather")
        if cooling_balance is None:
            if gain_coefficient != 0.0:
                raise InvalidInput(
                    "Loads", "cooling_balance", None, "degC", "must be given with gain_coefficient"
                )
            cooling_balance = heating_balance
        given = {
            "loss_coefficient": loss_coefficient,
            "heating_balance": heating_balance,
            "gain_coefficient": gain_coefficient,
            "cooling_balance": cooling_balance,
        }
        schema = quantities("Loads")
        balance_point = {
            name: units.to_si(value, schema[name][0], owner="Loads", field=name)
            for name, value in given.items()
        }
        rooms = _core.balance_point_loads(balance_point, weather.dry_bulb)
        return cls(heating=rooms["heating"], cooling=rooms["cooling"], hot_water=hot_water)

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
        """Heat given to the loop's fluid from elsewhere in each hour [W]."""
        return self._series["recharge"]

    @property
    def years(self) -> int:
        """Number of years."""
        return self.heating.size // HOURS_PER_YEAR

    @property
    def peak(self) -> dict[str, float]:
        """Largest hourly mean of each series [W]."""
        return {name: float(values.max()) for name, values in self._series.items()}

    def monthly(self) -> pd.DataFrame:
        """Return the heat of each month [kWh], indexed by year and month of model time."""
        import pandas as pd

        month_of_hour = pd.date_range("2023-01-01", periods=HOURS_PER_YEAR, freq="h").month
        index = pd.MultiIndex.from_product([range(1, self.years + 1), month_of_hour], names=["year", "month"])
        columns = {f"{name}_kWh": values / 1000.0 for name, values in self._series.items()}
        return pd.DataFrame(columns, index=index).groupby(level=["year", "month"]).sum()

    def for_engine(self) -> dict[str, Series]:
        """Return the hourly series by name, as the engine reads them."""
        return dict(self._series)

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write a CSV file in W that `read` gives back to the last bit.

        Parameters
        ----------
        path : str or path-like
            The file.
        """
        hours = np.tile(np.arange(HOURS_PER_YEAR), self.years).tolist()
        lines = zip(hours, *(values.tolist() for values in self._series.values()), strict=True)
        text = "\n".join(",".join(map(repr, line)) for line in lines)
        Path(path).write_text(
            f"hour,heating_W,cooling_W,hot_water_W,recharge_W\n{text}\n", encoding="utf-8", newline="\n"
        )

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Loads):
            return NotImplemented
        return all(np.array_equal(self._series[name], other._series[name]) for name in _NAMES)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        peaks = ", ".join(f"{name} up to {peak / 1000.0:.4g} kW" for name, peak in self.peak.items())
        return f"<Loads of {self.years} year{'s' if self.years > 1 else ''}: {peaks}>"

    def __reduce__(self) -> tuple[Any, ...]:
        return functools.partial(type(self), **self._series), ()


def _number_or_series(name: str, values: Any) -> float | Series:
    if values is None:
        return 0.0
    if isinstance(values, str) or np.ndim(values) == 0:
        return units.to_si(values, "W", owner="Loads", field=name)
    return numbers(values, "W", owner="Loads", field=name)
