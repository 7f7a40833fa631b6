"""Present value, payback and levelised cost: all amounts of a year fall at its end."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike


def present_value(amounts: ArrayLike, discount_rate: float) -> float:
    """Return what amounts at the ends of years 1, 2, ... are worth at the beginning of year 1 [currency].

    sum of amount / (1 + rate)^year.

    Parameters
    ----------
    amounts : array_like, shape (years,)
        Amounts [currency].
    discount_rate : float
        Discount rate for each year [-].

    Examples
    --------
    >>> round(present_value([110.0, 121.0], 0.1), 9)
    200.0
    """
    given = np.asarray(amounts, dtype=float)
    return float(given @ (1.0 + discount_rate) ** -np.arange(1.0, given.size + 1.0))


def simple_payback(extra_cost: float, savings: ArrayLike) -> float:
    """Return the years after which the first year's saving has paid an extra cost, without interest [years].

    Parameters
    ----------
    extra_cost : float
        What is paid more at the beginning [currency]; negative where less is paid.
    savings : array_like, shape (years,)
        What is saved in each year [currency]; negative where more is paid.

    Returns
    -------
    float
        Infinite where an extra cost meets no saving in the first year. Where nothing more is paid at the
        beginning, 0 if no year costs more, else NaN: there is nothing to pay back, but something to lose, see
        `advantage_lasts`.

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
    """Return the years until dearer years have used up what is paid less at the beginning [years].

    Without interest, each year's saving spread evenly over the year.

    Parameters
    ----------
    extra_cost : float
        What is paid more at the beginning [currency]; negative where less is paid.
    savings : array_like, shape (years,)
        What is saved in each year [currency]; negative where more is paid.

    Returns
    -------
    float
        NaN where more is paid at the beginning, infinite where these years don't use the advantage up.

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
    """Return the one price for each kWh that would pay all costs [currency/kWh].

    Present value of the costs over the energy discounted alike.

    Parameters
    ----------
    present_cost : float
        Present value of all costs [currency].
    energy : array_like, shape (years,)
        Useful energy of each year [kWh]; something in all.
    discount_rate : float
        Discount rate for each year [-].

    Examples
    --------
    >>> round(levelised_cost(1_000.0, [5_000.0, 5_000.0], 0.0), 9)
    0.1
    """
    return present_cost / present_value(energy, discount_rate)


def escalation(rate: float, years: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return by what prices have risen in each year: 1 in the first, shape (years,) [-].

    Parameters
    ----------
    rate : float
        Rise each year [-].
    years : int
        Number of years.
    """
    return np.asarray((1.0 + rate) ** np.arange(years))
