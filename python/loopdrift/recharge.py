"""The heat that must be put into the loop, or taken out of it, so that the entering fluid drifts no farther than wanted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core, units
from loopdrift.errors import InvalidInput
from loopdrift.loads import Loads
from loopdrift.series import HOURS_PER_YEAR, array
from loopdrift.summary import counted

if TYPE_CHECKING:
    from loopdrift.design import Design

MONTHS = 12
RESOLUTION = 0.002
"""Width of the gap between the answer and a recharge that doesn't hold, over the greatest recharge [-]."""

_HOURS_OF_MONTHS = 24 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True, eq=False)
class Recharge:
    """What the search for a recharge found; prints as sentences.

    Parameters
    ----------
    holds : bool
        Whether the drift stays within the limit; if not, nothing in the range holds and this comes closest.
    monthly : numpy.ndarray
        Recharge in each month of the calendar [W], shape (12,); negative where heat is taken out of the loop.
    design : Design
        The design with that recharge added to its own.
    years : int
        Horizon.
    limit : float
        Largest change of the yearly mean entering fluid temperature from the first year that was asked for
        [K].
    drift : float
        That change with the recharge, in the year in which it is largest [K].
    drift_without : float
        The same without [K].
    runs : int
        Hourly coupled runs that it took.
    """

    holds: bool
    monthly: NDArray[np.float64]
    design: Design
    years: int
    limit: float
    drift: float
    drift_without: float
    runs: int

    @property
    def yearly(self) -> float:
        """Recharge of a year [kWh], negative where heat is taken out of the loop."""
        return float(self.monthly @ _HOURS_OF_MONTHS) / 1000.0

    def __str__(self) -> str:
        without = f"{self.drift_without:+.2f} K in {counted(self.years, 'year')}"
        if self.holds and self.yearly == 0.0:
            return f"No recharge is needed: the mean entering fluid moves by {without}, less than {self.limit:g} K."
        way = "put into" if self.yearly > 0.0 else "taken out of"
        power = np.abs(self.monthly).max() / 1000.0
        recharge = (
            f"{abs(self.yearly):,.0f} kWh {way} the loop each year, at most {power:.2f} kW in a month's mean"
        )
        if self.holds:
            return (
                f"With {recharge}, the mean entering fluid stays within {self.limit:g} K of the first year "
                f"({self.drift:+.2f} K); without, it moves by {without}."
            )
        return (
            f"Nothing holds in the range: with {recharge}, which comes closest, the mean entering fluid still "
            f"moves by {self.drift:+.2f} K, more than {self.limit:g} K; without, by {without}."
        )


def find_recharge(
    design: Design,
    drift: float | str,
    *,
    years: int,
    profile: Sequence[float] | NDArray[np.float64] | None,
    most: float | str | None,
    progress: Callable[[int], object] | None,
) -> Recharge:
    """Find the least recharge that holds the drift; see `Design.find_recharge`."""
    from loopdrift.design import check_years

    horizon = check_years(years, owner="Recharge")
    limit = units.to_si(drift, "K", owner="Recharge", field="drift")
    if limit <= 0.0:
        raise InvalidInput("Recharge", "drift", limit, "K", "must be above 0")
    if progress is not None and not callable(progress):
        raise InvalidInput("Recharge", "progress", repr(progress), "", "must be callable with a number of runs")
    search = _Search(design, horizon, limit, progress)
    without = search.try_(np.zeros(MONTHS))
    if without.holds:
        return search.answer(without, without)
    sign = -1.0 if without.drift > 0.0 else 1.0
    shape = sign * _shape(design.loads, sign, profile)
    greatest = _greatest(search.balance(without), shape, most)
    return search.answer(search.least(shape, greatest, without), without)
