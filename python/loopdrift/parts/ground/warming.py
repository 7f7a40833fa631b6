"""An undisturbed ground temperature that changes during a run."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics.both_units import both
from loopdrift.basics.bounds import MOST_TIMES, require_count
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.numbers import require_within, whole_number
from loopdrift.basics.part import Checked, Number, OptionalNumber, Part, require
from loopdrift.basics.series import array


def _changes(values: Any, *, owner: str, field: str) -> tuple[float, ...]:
    """Return changes of temperature [K] as a tuple."""
    given = array(values, "K", owner=owner, field=field)
    if given.ndim != 1:
        shape = f"array of shape {given.shape}"
        raise InvalidInput(owner, field, shape, "", "must be a list of numbers in K")
    require_count(given.size, MOST_TIMES, owner=owner, field=field)
    return tuple(given.tolist())


@dataclass(frozen=True, kw_only=True)
class Warming(Part):
    """Change of the undisturbed ground temperature since the start of a run: a rate, a series, or their sum.

    A warming climate, a city's heat, or other plants nearby. It applies to the whole length of the loop
    alike, and adds to `Ground.temperature` and `Ground.gradient`.

    Parameters
    ----------
    rate : float or str, default 0
        Constant rate, below 0 for cooling [K/a], such as ``"0.03 K/year"`` or ``"0.3 K/decade"``; a year has
        8760 hours.
    values : array_like of float, optional
        Changes at the start of the run and after each `interval`, joined by straight lines [K].
    interval : float or str, optional
        Interval of the values [h].

    Raises
    ------
    InvalidInput
        If a number is outside its range, there is only one value, or values or interval are missing.

    Notes
    -----
    A run that is longer than the series is refused: what happens after its end isn't known.

    Examples
    --------
    >>> Warming(rate="0.3 K/decade").at([0, 8760, 20 * 8760])
    array([0.  , 0.03, 0.6 ])
    >>> Warming(values=[0.0, -0.2, -0.3], interval="1 year").at(1.5 * 8760)
    array(-0.25)
    """

    rate: Number = Number(default=0.0)
    values: Checked[tuple[float, ...]] = Checked(_changes, ())
    interval: OptionalNumber = OptionalNumber()

    @property
    def end(self) -> float | None:
        """Time from the start of a run to the end of the series [h]; None without a series."""
        return None if self.interval is None else (len(self.values) - 1) * self.interval

    def at(self, hours: ArrayLike) -> NDArray[np.float64]:
        """Return the change of the undisturbed temperature.

        Parameters
        ----------
        hours : array_like
            Times since the start of the run, any shape [h].

        Returns
        -------
        ndarray
            The changes, the shape of `hours` [K].

        Raises
        ------
        InvalidInput
            If a time is negative or after the end of the series.
        """
        times = array(hours, "h", owner="Warming", field="hours")
        require_count(times.size, MOST_TIMES, owner="Warming", field="hours")
        for time in (times.min(initial=0.0), times.max(initial=0.0)):
            require_within(float(time), "h", owner="Warming", field="hours", least=0.0, most=self.end)
        return _core.warming_at(self.for_engine(), times.ravel()).reshape(times.shape)

    def mean(self, year: int) -> float:
        """Return the mean change of the undisturbed temperature in a year of the run, from year 1 [K].

        Parameters
        ----------
        year : int
            The year.

        Raises
        ------
        InvalidInput
            If the year is below 1, or isn't over by the end of the series.
        """
        of_run = whole_number(year, 1, owner="Warming", field="year")
        return float(self.at((of_run - 1) * HOURS_PER_YEAR + np.arange(1, HOURS_PER_YEAR + 1)).mean())

    def __str__(self) -> str:
        said = []
        if self.rate or not self.values:
            verb = "cools" if self.rate < 0.0 else "warms"
            said.append(f"the undisturbed ground {verb} by {both(abs(self.rate), 'K/a', '.3g')}")
        if self.values and self.end is not None:
            least, most = (both(end(self.values), "K", "+.2f") for end in (min, max))
            years = self.end / HOURS_PER_YEAR
            changes = "changes more" if said else "the undisturbed ground changes"
            said.append(f"{changes} from {least} to {most} in {years:.3g} years, as given")
        return " and ".join(said)


def assumed(warming: Warming | None) -> str:
    """Return what a run assumes of the undisturbed temperature over the years."""
    if warming is None:
        return "an undisturbed temperature that is the same in all years"
    return (
        "the given change of the undisturbed temperature, alike along the whole loop (warmth from the "
        "surface reaches the depths of bores decades later, and weaker)"
    )


def optional_warming(value: Any, *, owner: str, field: str) -> Warming | None:
    """Return a warming as it is; None if none is given.

    Raises
    ------
    InvalidInput
        If it is something else.
    """
    if value is not None:
        require(value, Warming, owner=owner, field=field)
    return cast("Warming | None", value)
