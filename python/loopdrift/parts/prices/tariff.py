"""Electricity tariffs: prices by hour, weekday and month, tiers of monthly use, and fixed charges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics import model_time
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Checked, FacePart, Figure, Several
from loopdrift.parts.prices.carbon import CarbonFactor, checked

Days = Literal["all days", "workdays", "weekend"]
DAYS: tuple[Days, ...] = get_args(Days)
_FIRST_OF_WEEKEND = 5


def _span(values: Any, *, owner: str, field: str, least: int, most: int) -> tuple[int, int]:
    allowed = f"must be two whole numbers from {least} to {most}"
    if not isinstance(values, list | tuple) or len(values) != 2:
        raise InvalidInput(owner, field, repr(values), "", allowed)
    for value in values:
        whole = isinstance(value, int | np.integer) and not isinstance(value, bool)
        if not whole or not least <= value <= most:
            raise InvalidInput(owner, field, repr(values), "", allowed)
    return int(values[0]), int(values[1])


@dataclass(frozen=True, kw_only=True)
class Period(FacePart):
    """Hours with a different price.

    Parameters
    ----------
    price : float or str
        Price in those hours [currency/kWh].
    hours : tuple of int, default (0, 24)
        Hours of the day at which the period begins and ends; across midnight if it ends earlier than it
        begins, so ``(22, 6)`` is the night.
    months : tuple of int, default (1, 12)
        First and last month; across the turn of the year if the last comes first, so ``(11, 3)`` is the
        winter.
    days : {"all days", "workdays", "weekend"}, default "all days"
        Days of the week; public holidays count as ordinary days.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a number is outside its range.

    Examples
    --------
    >>> Period(price="0.31 currency/kWh", hours=(16, 21), months=(6, 9), days="workdays").price
    0.31
    """

    price: Figure = Figure("currency/kWh", least=-100.0, most=1e6)
    hours: Checked[tuple[int, int]] = Checked(partial(_span, least=0, most=model_time.HOURS_PER_DAY), (0, 24))
    months: Checked[tuple[int, int]] = Checked(partial(_span, least=1, most=12), (1, 12))
    days: Days = "all days"

    def __post_init__(self) -> None:
        day = model_time.HOURS_PER_DAY
        if self.hours != (0, day) and self.hours[0] % day == self.hours[1] % day:
            raise InvalidInput("Period", "hours", self.hours, "", "must end at another hour than they begin")
        if self.days not in DAYS:
            raise InvalidInput("Period", "days", repr(self.days), "", f"must be one of {', '.join(DAYS)}")

    def holds(
        self, *, hour: model_time.Whole, month: model_time.Whole, weekday: model_time.Whole
    ) -> NDArray[np.bool_]:
        """Return whether the price applies in each hour, the shape of `hour`.

        Parameters
        ----------
        hour, month, weekday : numpy.ndarray of int
            Hour of the day, month and weekday (Monday is 0) of each hour, of one shape.
        """
        first, end = self.hours
        in_hours = (hour >= first) & (hour < end) if first < end else (hour >= first) | (hour < end)
        begin, last = self.months
        in_months = (
            (month >= begin) & (month <= last) if begin <= last else (month >= begin) | (month <= last)
        )
        weekend = weekday >= _FIRST_OF_WEEKEND
        every = np.ones_like(weekend)
        in_days = {"all days": every, "workdays": ~weekend, "weekend": weekend}[self.days]
        found: NDArray[np.bool_] = in_hours & in_months & in_days
        return found


@dataclass(frozen=True, kw_only=True)
class Tier(FacePart):
    """A surcharge or rebate on monthly use above a threshold.

    Parameters
    ----------
    above : float or str
        Monthly energy above which it applies [kWh].
    surcharge : float or str
        Added to the price of the hour, negative for a rebate [currency/kWh]; tiers add up.

    Raises
    ------
    InvalidInput
        If a number is outside its range.

    Examples
    --------
    >>> Tier(above=600.0, surcharge=0.04).above
    600.0
    """

    above: Figure = Figure("kWh", least=0.0, most=1e12)
    surcharge: Figure = Figure("currency/kWh", least=-1e6, most=1e6)


@dataclass(frozen=True, kw_only=True)
class Tariff(FacePart):
    """An electricity tariff.

    Parameters
    ----------
    price : float or str
        Price outside all periods, 0 or above; only the price of a period may be negative [currency/kWh].
    periods : Period or sequence of Period, optional
        Hours with another price; if several apply, the first counts.
    tiers : Tier or sequence of Tier, optional
        Surcharges by monthly use. Only the plant's own use counts.
    monthly : float or str, default 0
        Fixed charge [currency/month].
    escalation : float or str, default 0
        Yearly rise of all prices, 0.02 for 2 % [-]; the values given are those of year 1.
    carbon : float or str or sequence of float, default 0
        Carbon dioxide per kWh [kg/kWh]: one value, one per year of the run, or 8760 hourly values from
        1 January, the same each year. No values are built in.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a number is outside its range.
    """

    price: Figure = Figure("currency/kWh", least=0.0, most=1e6)
    periods: Several[Period] = Several(Period)
    tiers: Several[Tier] = Several(Tier)
    monthly: Figure = Figure("currency/month", least=0.0, most=1e9, default=0.0)
    escalation: Figure = Figure("", least=-0.5, most=0.5, default=0.0)
    carbon: Checked[CarbonFactor] = Checked(partial(checked, hourly=True), 0.0)

    def hourly_prices(self, start_month: int) -> NDArray[np.float64]:
        """Return the price of each hour without tiers, one row per weekday on which the year begins.

        Parameters
        ----------
        start_month : int
            Month in which the year begins, 1 to 12.

        Returns
        -------
        numpy.ndarray, shape (7, 8760)
            Prices [currency/kWh]; the first row is for a year that begins on a Monday.
        """
        hour, month = model_time.hour_of_day(), model_time.month_of_hours(start_month)
        prices = np.full((model_time.DAYS_PER_WEEK, hour.size), self.price)
        for first_weekday, row in enumerate(prices):
            weekday = model_time.weekday_of_hours(first_weekday)
            for period in reversed(self.periods):
                row[period.holds(hour=hour, month=month, weekday=weekday)] = period.price
        return prices

    def tier_cost(self, energy: NDArray[np.float64], *, start_month: int) -> NDArray[np.float64]:
        """Return the cost of the tiers in each year, at the prices of year 1, shape (years,) [currency].

        Parameters
        ----------
        energy : numpy.ndarray, shape (years, 8760)
            Energy of each hour [kWh].
        start_month : int
            Month in which each year begins, 1 to 12.
        """
        monthly = np.add.reduceat(energy, model_time.first_hours(start_month), axis=1)
        cost = np.zeros(len(energy))
        for tier in self.tiers:
            cost += tier.surcharge * np.maximum(monthly - tier.above, 0.0).sum(axis=1)
        return cost
