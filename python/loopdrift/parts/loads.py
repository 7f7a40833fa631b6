"""What the building asks of the heat pump, hour by hour."""

from __future__ import annotations

import functools
import itertools
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Self

import numpy as np
import numpy.typing as npt

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, month_of_hours
from loopdrift.basics.numbers import number_within, whole_number
from loopdrift.basics.output import write_whole
from loopdrift.basics.part import quantities, require
from loopdrift.basics.series import Series, numbers, read_only
from loopdrift.parts.load_scaling import scale
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

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
        Heat given to the loop's fluid from elsewhere, as by a solar collector; negative where heat is taken
        out of it, as by a dry cooler [W].
    origin : sequence of tuple of str, optional
        Where the loads come from, as labels and texts of a line each for the report; no part of what makes
        loads equal. Loads of a building or of a heat loss have its facts there.

    Raises
    ------
    InvalidInput
        If a load is negative, a value not finite, the arrays aren't of the same 1 to 100 whole years, or the
        origin isn't pairs of text.

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
        origin: Sequence[tuple[str, str]] = (),
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
        self._origin = _pairs_of_text(origin)

    @classmethod
    def read(cls, path: str | os.PathLike[str], *, years: int | None = None) -> Self:
        """Return the loads of a CSV file.

        Columns are ``heating_W``, ``cooling_W``, ``hot_water_W`` and ``recharge_W``, or the same in ``_kW``,
        ``_Btu_per_h`` or ``_kBtu_per_h``; one that is missing is 0. Each line is one hour of years without
        leap days, from 1 January. Lines before the header may be comments; those like ``# meter: heat, read
        in 2023`` become the origin. A column ``time`` (ISO 8601, local standard time) or ``hour`` (0 to 8759
        or 1 to 8760) is checked where it is given. Stamps may name the beginning of their hour (the first is
        00:00 on 1 January, or hour 0) or its end (01:00, or hour 1).

        Parameters
        ----------
        path : str or path-like
            The file.
        years : int, optional
            Number of years of hours; needed where a file of more than one year has neither ``time`` nor
            ``hour``, as it could also be one year of shorter steps.

        Raises
        ------
        InvalidInput
            If `years` is no whole number from 1 to 100.
        InvalidFile
            If a cell is no load, there are leap days, gaps or repeats, or the lines are no whole number of
            years; with the line number.
        OSError
            If the file can't be read.
        """
        if years is not None:
            whole_number(years, 1, 100, owner="Loads", field="years")
        return cls(**_core.read_loads(os.fspath(path), years), origin=_origin_in(path))

    @classmethod
    def from_heat_loss(
        cls,
        weather: Weather,
        *,
        heating_kWh: float | str,
        cooling_kWh: float | str = 0.0,
        hot_water_kWh: float | str = 0.0,
        heat_loss: float | str | None = None,
        design_outdoor: float | str | None = None,
        loss_coefficient: float | str | None = None,
        indoor: float | str = 20.0,
        cooling_indoor: float | str = 25.0,
    ) -> Self:
        """Return the loads of a building of which the heat loss and the yearly totals are known.

        Heating is a straight line over the outdoor temperature: the whole heat loss at `design_outdoor`, zero
        at a balance point that the yearly total sets. Gains of sun and people are the distance from that line
        to the heat loss: none at `design_outdoor` and below it, more the milder it is (common practice, no
        source). Colder hours have the larger loss that goes with them. With `loss_coefficient` the coldest
        hour of the weather is the one without gains. Cooling begins higher, by the distance of the two room
        temperatures, and rises as steeply as its total requires. That is the variable-base degree-day method
        of the ASHRAE Handbook of Fundamentals (from memory), hour by hour: yearly totals are met, single
        hours know nothing of sun, people and heat stored. Hot water is the same in all hours. `origin` names
        the largest hour and the gains.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        heating_kWh, cooling_kWh, hot_water_kWh : float or str
            Heat in a year, to be delivered to rooms or taken out of them, or for hot water [kWh].
        heat_loss : float or str, optional
            Heat loss of the building [W] at `design_outdoor` and `indoor`.
        design_outdoor : float or str, optional
            Outdoor temperature of that heat loss [degC].
        loss_coefficient : float or str, optional
            Heat loss per kelvin [W/K], instead of these two.
        indoor : float or str, default 20
            Room temperature while heated [degC].
        cooling_indoor : float or str, default 25
            Room temperature while cooled [degC].

        Raises
        ------
        InvalidInput
            If a value is out of range, the heat loss is given twice or not at all, or a total can't come from
            this weather: more heating than the heat loss makes without any gains, less than it
            makes in hours no warmer than `design_outdoor`, or cooling without a warm hour.

        Examples
        --------
        >>> loads = Loads.from_heat_loss(
        ...     Weather.sample("mild maritime"), heat_loss="7 kW", design_outdoor=-4.0, heating_kWh=14000.0
        ... )
        >>> round(loads.peak["heating"])
        6648
        """
        require(weather, Weather, owner="Loads", field="weather")
        given = {
            "heat_loss": heat_loss,
            "design_outdoor": design_outdoor,
            "loss_coefficient": loss_coefficient,
            "indoor": indoor,
            "cooling_indoor": cooling_indoor,
            "heating_kWh": heating_kWh,
            "cooling_kWh": cooling_kWh,
            "hot_water_kWh": hot_water_kWh,
        }
        schema = quantities("Loads")
        known = {
            name: units.to_si(value, schema[name][0], owner="Loads", field=name)
            for name, value in given.items()
            if value is not None
        }
        series = _core.heat_loss_loads(known, weather.dry_bulb)
        origin = [
            ("heat loss", _heat_loss_text(known)),
            *_largest_hour_and_gains(known, weather.dry_bulb, series["heating"]),
            ("outdoors", weather.in_words()),
        ]
        return cls(**series, origin=origin)

    def scaled(
        self,
        *,
        heating_kWh: float | str | None = None,
        cooling_kWh: float | str | None = None,
        hot_water_kWh: float | str | None = None,
        heating_peak: float | str | None = None,
        cooling_peak: float | str | None = None,
        hot_water_peak: float | str | None = None,
    ) -> Self:
        """Return loads of the same shape that meet known yearly totals, largest hours, or both.

        A total or a peak alone multiplies all hours alike. Both together bend the shape as well: each hour
        becomes ``peak x (load / largest load) ^ a``, with the exponent that meets the total. So hours without
        load stay without, and of two hours the larger stays the larger.

        Parameters
        ----------
        heating_kWh, cooling_kWh, hot_water_kWh : float or str, optional
            Heat in a mean year [kWh].
        heating_peak, cooling_peak, hot_water_peak : float or str, optional
            Largest hourly mean [W].

        Raises
        ------
        InvalidInput
            If a value is negative, there is nothing to scale, or total and peak can't both be met with an
            exponent from 1/20 to 20; with the totals that can.

        Examples
        --------
        >>> loads = Loads(heating=1000.0 * (1.0 + np.sin(np.arange(8760.0) / 100.0)))
        >>> metered = loads.scaled(heating_kWh=12000.0, heating_peak="6 kW")
        >>> print(f"{metered.heating.sum() / 1000:.6f} kWh, {metered.heating.max():.6f} W")
        12000.000000 kWh, 6000.000000 W
        """
        known = {
            "heating": (heating_kWh, heating_peak),
            "cooling": (cooling_kWh, cooling_peak),
            "hot_water": (hot_water_kWh, hot_water_peak),
        }
        scaled = {
            name: scale(
                self._series[name],
                name,
                total=_positive(total, "kWh", f"{name}_kWh"),
                peak=_positive(peak, "W", f"{name}_peak"),
            )
            for name, (total, peak) in known.items()
        }
        changed = [name for name, figures in known.items() if any(figure is not None for figure in figures)]
        metered = [("scaled from there", ", ".join(changed).replace("_", " "))] if changed else []
        return type(self)(**{**self._series, **scaled}, origin=[*self._origin, *metered])

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
    def years(self) -> int:
        """Number of years."""
        return self.heating.size // HOURS_PER_YEAR

    @property
    def peak(self) -> dict[str, float]:
        """Largest hourly mean of each series [W]."""
        return {name: float(values.max()) for name, values in self._series.items()}

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

    def plot(self, *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None) -> Axes:
        """Draw heat and largest hour of each month.

        Parameters
        ----------
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
            If `units` is unknown.
        """
        from loopdrift import charts

        return charts.loads(self.monthly(), units=units, ax=ax)

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
            *(_comment(label, what) for label, what in self._origin),
            "hour,heating_W,cooling_W,hot_water_W,recharge_W",
            *(",".join(map(repr, line)) for line in lines),
        ]
        return "\n".join(text) + "\n"

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Loads):
            return NotImplemented
        return all(np.array_equal(self._series[name], other._series[name]) for name in _NAMES)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        peaks = ", ".join(f"{name} up to {peak / 1000.0:.4g} kW" for name, peak in self.peak.items())
        return f"<Loads of {self.years} year{'s' if self.years > 1 else ''}: {peaks}>"

    def __reduce__(self) -> tuple[Any, ...]:
        return functools.partial(type(self), **self._series, origin=self._origin), ()


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


def _pairs_of_text(origin: Any) -> tuple[tuple[str, str], ...]:
    given = list(origin) if isinstance(origin, Sequence) and not isinstance(origin, str) else [origin]
    for pair in given:
        if not isinstance(pair, list | tuple) or [type(each) for each in pair] != [str, str]:
            raise InvalidInput(
                "Loads", "origin", repr(pair), "", "must be pairs of text, label and what it is"
            )
        if _pair_of(_comment(*pair)) != tuple(pair):
            allowed = "must be a label without a colon and what it is, in one line"
            raise InvalidInput("Loads", "origin", repr(pair), "", allowed)
    return tuple((label, text) for label, text in given)


def _origin_in(path: str | os.PathLike[str]) -> list[tuple[str, str]]:
    """Return what the comments before the header of a file say."""
    with open(path, encoding="utf-8-sig") as file:
        comments = itertools.takewhile(lambda line: line.startswith("#"), file)
        return [pair for pair in map(_pair_of, comments) if pair is not None]


def _comment(label: str, text: str) -> str:
    return f"# {label}: {text}"


def _pair_of(comment: str) -> tuple[str, str] | None:
    """Return label and text of a comment that has both."""
    found = re.fullmatch(r"#+\s*([^:\s][^:\r\n]*?)\s*:\s*(\S[^\r\n]*?)\s*", comment)
    return None if found is None else (found[1], found[2])


def _heat_loss_text(known: dict[str, float]) -> str:
    rooms = f"rooms of {both_degrees(known['indoor'])}"
    if "loss_coefficient" in known:
        text = both(known["loss_coefficient"], "W/K")
    else:
        cold = both_degrees(known["design_outdoor"])
        text = f"{both(known['heat_loss'] / 1000.0, 'kW', '.3g')} at {cold} outdoors"
    cooled = f", cooled to {both_degrees(known['cooling_indoor'])}" if known["cooling_kWh"] > 0.0 else ""
    return f"{text}, {rooms}{cooled}; single hours know nothing of sun, people and heat stored"


def _largest_hour_and_gains(
    known: dict[str, float], outdoor: Series, heating: Series
) -> list[tuple[str, str]]:
    """Return what the largest hour of heating is and what gains make up for, as labels and texts."""
    if not heating.any():
        return []
    coldest = float(outdoor.min())
    design = known.get("design_outdoor", coldest)
    loss = known.get("loss_coefficient") or known["heat_loss"] / (known["indoor"] - design)
    lost = float(np.clip(loss * (known["indoor"] - outdoor), 0.0, None).sum()) / 1e3
    largest = f"{both(float(heating.max()) / 1000.0, 'kW', '.3g')} at {both_degrees(coldest)}"
    cause = (
        "the whole heat loss, without gains" if coldest <= design else "warmer than the design temperature"
    )
    gained = lost - known["heating_kWh"]
    gains = f"sun and people make up for {gained:,.0f} of {lost:,.0f} kWh a year, and for none"
    return [
        ("largest hour", f"{largest}, {cause}"),
        ("gains", f"{gains} at {both_degrees(design)} or below"),
    ]


def _positive(value: float | str | None, unit: str, field: str) -> float | None:
    return None if value is None else number_within(value, unit, owner="Loads", field=field, least=0.0)
