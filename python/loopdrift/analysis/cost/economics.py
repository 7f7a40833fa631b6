"""Present value, payback and levelised cost; all amounts of a year fall due at its end."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike


def present_value(amounts: ArrayLike, discount_rate: float) -> float:
    """Return the present value, at the start of year 1, of amounts at the ends of years 1, 2, ... [currency].

    sum of amount / (1 + rate)^year.

    Parameters
    ----------
    amounts : array_like, shape (years,)
        Amounts [currency].
    discount_rate : float
        Discount rate per year [-].

    Examples
    --------
    >>> round(present_value([110.0, 121.0], 0.1), 9)
    200.0
    """
    given = np.asarray(amounts, dtype=float)
    return float(given @ (1.0 + discount_rate) ** -np.arange(1.0, given.size + 1.0))


def simple_payback(extra_cost: float, savings: ArrayLike) -> float:
    """Return the time in which savings at the rate of the first year repay an extra cost [years].

    Interest is neglected.

    Parameters
    ----------
    extra_cost : float
        Extra first cost [currency]; negative if the first cost is lower.
    savings : array_like, shape (years,)
        Saving in each year [currency]; negative if the year costs more.

    Returns
    -------
    float
        Infinite for an extra cost without a saving in the first year. Without an extra cost, 0 if no year
        costs more, else NaN: there is nothing to pay back, but an advantage to lose, see `advantage_lasts`.

    Examples
    --------
    >>> simple_payback(12_000.0, [1_500.0, 1_400.0])
    8.0
    >>> simple_payback(-2_000.0, [-500.0, -500.0])
    nan
    """
    given = np.atleast_1d(np.asarray(savings, dtype=float))
    if extra_cost <= 0.0:
        return 0.0 if bool((given >= 0.0).all()) else math.nan
    return extra_cost / float(given[0]) if given[0] > 0.0 else math.inf


def advantage_lasts(extra_cost: float, savings: ArrayLike) -> float:
    """Return the time until higher yearly costs have used up a lower first cost [years].

    Interest is neglected, and each year's saving is spread evenly over the year.

    Parameters
    ----------
    extra_cost : float
        Extra first cost [currency]; negative if the first cost is lower.
    savings : array_like, shape (years,)
        Saving in each year [currency]; negative if the year costs more.

    Returns
    -------
    float
        NaN for a positive extra cost, infinite if the advantage outlasts these years.

    Examples
    --------
    >>> advantage_lasts(-2_000.0, [-800.0, -800.0, -800.0])
    2.5
    """
    if extra_cost > 0.0:
        return math.nan
    given = np.atleast_1d(np.asarray(savings, dtype=float))
    after = -extra_cost + given.cumsum()
    below = np.flatnonzero(after < 0.0)
    if not below.size:
        return math.inf
    year = int(below[0])
    left = after[year] - given[year]
    return float(year - left / given[year])


def levelised_cost(present_cost: float, energy: ArrayLike, discount_rate: float) -> float:
    """Return the constant price per kWh that covers all costs [currency/kWh].

    Present value of the costs over the energy, discounted at the same rate.

    Parameters
    ----------
    present_cost : float
        Present value of all costs [currency].
    energy : array_like, shape (years,)
        Useful energy of each year [kWh]; not all zero.
    discount_rate : float
        Discount rate per year [-].

    Examples
    --------
    >>> round(levelised_cost(1_000.0, [5_000.0, 5_000.0], 0.0), 9)
    0.1
    """
    return present_cost / present_value(energy, discount_rate)


def escalation(rate: float, years: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the price factor of each year: 1 in the first, shape (years,) [-].

    Parameters
    ----------
    rate : float
        Price increase per year [-].
    years : int
        Number of years.
    """
    return np.asarray((1.0 + rate) ** np.arange(years))
