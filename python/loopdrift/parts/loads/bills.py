"""Hours shaped from fuel bills."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from loopdrift.basics.errors import InvalidInput, kept, raise_all
from loopdrift.basics.model_time import (
    DAYS_OF_MONTHS,
    DAYS_PER_YEAR,
    HOURS_PER_DAY,
    HOURS_PER_YEAR,
    first_hours,
)
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import FacePart, require
from loopdrift.basics.series import Series
from loopdrift.basics.words import counted
from loopdrift.parts.loads.shapes import line_of_slope
from loopdrift.parts.prices.fuel import heat_of

EFFICIENCY, TOTAL = Range(least=0.05, most=6.0), Range("kWh", least=0.0, most=1e10)
"""Efficiency by the higher heating value, a heat pump's included, and heat of a year."""
_BASES = np.arange(8.0, 22.05, 0.1)
"""Balance points among which the one that fits the bills is looked for [degC]."""
_FEWEST = 6
"""Bills that a signature needs."""
_MOST_DAYS_OFF = 31
"""Days by which the bills of a year may be more or fewer than a year."""
_Day = datetime.date | str


@dataclass(frozen=True, kw_only=True)
class Bill(FacePart):
    """Fuel used between two readings.

    Parameters
    ----------
    first : datetime.date or str
        First day of the period, as ``2023-01-14``.
    last : datetime.date or str
        Its last day; the next bill begins the day after.
    amount : float or str
        Fuel used [kWh] by its higher heating value, or text such as ``"120 therm"``, ``"310 m3"``, ``"95
        gal"`` or ``"1.2 t"``.

    Raises
    ------
    InvalidInput
        If a day is none, the last is before the first, or the amount is no text or number.
    """

    first: _Day
    last: _Day
    amount: float | str

    def __post_init__(self) -> None:
        for name in ("first", "last"):
            object.__setattr__(self, name, _day(getattr(self, name), name))
        if self.last < self.first:  # type: ignore[operator]
            allowed = f"must not be before first, {self.first}"
            raise InvalidInput("Bill", "last", str(self.last), "", allowed)


class Signature(NamedTuple):
    """What bills tell of a building: heat over outdoor temperature."""

    base: float
    """Balance point [degC]."""
    slope: float
    """Heating per kelvin below it [W/K]."""
    constant: float
    """Heat that is independent of the weather, that of hot water [W]."""


class Periods(NamedTuple):
    """Periods of bills on the days of a year without leap day."""

    days: tuple[np.ndarray, ...]
    """The days of each period, from 0; days at the beginning and the end of the bills may be the same."""
    heat: Series
    """Heat delivered in each period [W h]."""

    @property
    def bills_of_day(self) -> np.ndarray:
        """Number of bills that each day is in, shape (365,)."""
        return np.bincount(np.concatenate(self.days), minlength=DAYS_PER_YEAR)

    def in_words(self) -> str:
        """Return how the bills differ from one year; empty if they don't."""
        bills = self.bills_of_day
        twice, none = int((bills > 1).sum()), int((bills == 0).sum())
        if twice:
            return f"the bills cover {counted(twice, 'day')} more than a year: there, the mean of two years"
        return f"{counted(none, 'day')} without a bill follow the signature" if none else ""


def periods(
    bills: Sequence[Bill] | None,
    monthly: Any,
    *,
    fuel: str,
    efficiency: float,
    heating_value: str | None,
) -> Periods:
    """Return bills as heat delivered in periods of a year.

    Raises
    ------
    InvalidInput
        If there are both kinds of bills or none, or the periods don't follow each other through about a year.
    """
    if (bills is None) == (monthly is None):
        allowed = "must be given, or monthly_bills of calendar months, and not both"
        raise InvalidInput("Loads", "bills", "nothing" if bills is None else "bills", "", allowed)
    if monthly is not None:
        if isinstance(monthly, str) or not hasattr(monthly, "__len__") or len(monthly) != 12:
            allowed = "must be twelve amounts, from January"
            raise InvalidInput("Loads", "monthly_bills", repr(monthly), "", allowed)
        amounts = [(f"monthly_bills[{place}]", amount) for place, amount in enumerate(monthly)]
        days = tuple(np.split(np.arange(DAYS_PER_YEAR), np.cumsum(DAYS_OF_MONTHS)[:-1]))
    else:
        given = list(bills or [])
        for bill in given:
            require(bill, Bill, owner="Loads", field="bills")
        amounts = [(f"bills[{place}].amount", bill.amount) for place, bill in enumerate(given)]
        days = _days(given)
    heat, faults = np.empty(len(amounts)), list[InvalidInput]()
    for place, (field, amount) in enumerate(amounts):
        with kept(faults):
            heat[place] = 1e3 * efficiency * heat_of(amount, fuel, heating_value, owner="Loads", field=field)
    raise_all(faults)
    return Periods(days, heat)


def signature(given: Periods, outdoor: Series, hot_water: float | None) -> Signature:
    """Return the line over outdoor temperature that fits bills best.

    ``heat / days = constant + slope x degree days(base) / days``, by least squares weighted by days, with the
    base that fits best: Fels (1986), PRISM: an introduction, Energy and Buildings 9, 5-18 (from memory).

    Parameters
    ----------
    given : Periods
        Heat of each period.
    outdoor : numpy.ndarray
        Outdoor temperature in the hours of these days [degC].
    hot_water : float, optional
        The constant part, where it is known [W].

    Raises
    ------
    InvalidInput
        If there are too few bills.
    """
    count = given.heat.size
    if count < _FEWEST:
        raise InvalidInput("Loads", "bills", f"{count} bills", "", f"must be at least {_FEWEST} in a year")
    hours = np.array([float(HOURS_PER_DAY * len(days)) for days in given.days])
    best, least = Signature(float(_BASES[0]), 0.0, 0.0), np.inf
    for base in _BASES:
        colder = np.clip(base - outdoor, 0.0, None).reshape(DAYS_PER_YEAR, HOURS_PER_DAY).sum(axis=1)
        degrees = np.array([colder[days].sum() for days in given.days])
        found = _fit(degrees, hours, given.heat, hot_water)
        missed = float(((found[0] * degrees + found[1] * hours - given.heat) ** 2 / hours).sum())
        if missed < least - 1e-9 * abs(least if np.isfinite(least) else 0.0):
            best, least = Signature(float(base), *found), missed
    return best


def _fit(degrees: Series, hours: Series, heat: Series, hot_water: float | None) -> tuple[float, float]:
    """Return slope and constant, neither of them negative."""
    weight = 1.0 / np.sqrt(hours)
    if hot_water is not None:
        rest = np.clip(heat - hot_water * hours, 0.0, None)
        square = float(((weight * degrees) ** 2).sum())
        return (float((weight**2 * degrees * rest).sum()) / square if square > 0.0 else 0.0), hot_water
    from scipy.optimize import nnls

    (slope, constant), _ = nnls(np.column_stack([weight * degrees, weight * hours]), weight * heat)
    return float(slope), float(constant)


def as_billed(given: Periods, outdoor: Series, told: Signature) -> tuple[Series, Series]:
    """Return heating and hot water of each hour [W] whose sum in each period is that of its bill.

    A day of two bills has the mean of both, a day without one the load of the signature.

    Parameters
    ----------
    given : Periods
        Heat of each period.
    outdoor : numpy.ndarray
        Outdoor temperature in the hours of these days [degC].
    told : Signature
        What the bills tell.
    """
    heating, hot_water = np.zeros(HOURS_PER_YEAR), np.zeros(HOURS_PER_YEAR)
    for days, heat in zip(given.days, given.heat.tolist(), strict=True):
        at = (HOURS_PER_DAY * days[:, None] + np.arange(HOURS_PER_DAY)).ravel()
        constant = min(told.constant, heat / at.size) if told.slope > 0.0 else heat / at.size
        hot_water[at] += constant
        if heat > constant * at.size:
            heating[at] += line_of_slope(-outdoor[at], told.slope, heat - constant * at.size)
    bills = np.repeat(given.bills_of_day, HOURS_PER_DAY)
    unbilled = bills == 0
    found = []
    for billed, by_line in zip((heating, hot_water), normalised(told, outdoor), strict=True):
        found.append(np.where(unbilled, by_line, billed / np.maximum(bills, 1)))
    return found[0], found[1]


def normalised(told: Signature, outdoor: Series) -> tuple[Series, Series]:
    """Return heating and hot water of each hour [W] of a signature in other weather.

    Parameters
    ----------
    told : Signature
        What the bills tell.
    outdoor : numpy.ndarray
        Outdoor temperature of that weather [degC].
    """
    return told.slope * np.clip(told.base - outdoor, 0.0, None), np.full(outdoor.size, told.constant)


def _days(bills: list[Bill]) -> tuple[np.ndarray, ...]:
    """Return the days of a year without leap day that each bill covers."""
    found = []
    after: datetime.date | None = None
    for place, bill in enumerate(bills):
        begin, end = (_day(each, "bills") for each in (bill.first, bill.last))
        if after is not None and begin != after:
            allowed = f"must be {after}, the day after the bill before"
            raise InvalidInput("Loads", f"bills[{place}].first", str(begin), "", allowed)
        after = end + datetime.timedelta(days=1)
        dates = [begin + datetime.timedelta(days=day) for day in range((end - begin).days + 1)]
        days = [
            int(first_hours(start_month=1)[date.month - 1]) // HOURS_PER_DAY + date.day - 1
            for date in dates
            if (date.month, date.day) != (2, 29)
        ]
        found.append(np.array(days, dtype=np.int64))
    covered = sum(map(len, found))
    if abs(covered - DAYS_PER_YEAR) > _MOST_DAYS_OFF:
        allowed = (
            f"must cover one year, {DAYS_PER_YEAR - _MOST_DAYS_OFF} to {DAYS_PER_YEAR + _MOST_DAYS_OFF} "
            "days; 29 February doesn't count"
        )
        raise InvalidInput("Loads", "bills", f"{covered} days", "", allowed)
    return tuple(found)


def _day(value: Any, field: str) -> datetime.date:
    if isinstance(value, datetime.datetime):
        return value.date()
    if isinstance(value, datetime.date):
        return value
    try:
        return datetime.date.fromisoformat(value)
    except (TypeError, ValueError):
        raise InvalidInput("Bill", field, repr(value), "", "must be a day like 2023-01-31") from None


def efficiency_of(value: float | str) -> float:
    """Return a boiler's efficiency by the higher heating value.

    Parameters
    ----------
    value : float or str
        Share of the fuel's heat that is delivered [-].

    Raises
    ------
    InvalidInput
        If it is outside 0.05 to 6, a heat pump's included.
    """
    return EFFICIENCY.of(value, owner="Loads", field="efficiency")


def power_of(kWh: float | str | None, field: str) -> float | None:
    """Return a yearly sum [kWh] as a power [W].

    Parameters
    ----------
    kWh : float or str, optional
        The sum [kWh].
    field : str
        Its name, for messages.

    Raises
    ------
    InvalidInput
        If it is negative, or above 1e10 kWh.
    """
    if kWh is None:
        return None
    return 1e3 * TOTAL.of(kWh, owner="Loads", field=field) / HOURS_PER_YEAR
