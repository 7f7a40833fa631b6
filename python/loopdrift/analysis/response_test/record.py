"""What a logger recorded in a response test, and its heat hour by hour."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve

Numbers = NDArray[np.float64]

_MOST_STEPS = 3000
_LEAST_STEP = 60.0  # s
_SWITCHED = 0.25
"""Change of heat from row to row that is a switch, relative to its level."""
_MOST_SWITCHES = 8
_INTERVALS = 160
"""Number of intervals that fits see, each the mean of its rows."""
_STEADY = 0.15
"""Departure of steady heat from its median, relative to it."""


@dataclass(frozen=True)
class Record:
    """Rows of a logger, without gaps in the heat.

    Parameters
    ----------
    times : ndarray
        Times since the first row [s], ascending.
    supply, returned : ndarray
        Temperatures of the fluid that enters and leaves the bore [degC].
    heat : ndarray
        Heat given to the bore [W], negative where it is extracted: at the time of the row, or the mean since
        the row before.
    means : bool
        Whether heat is a mean since the row before.
    """

    times: Numbers
    supply: Numbers
    returned: Numbers
    heat: Numbers
    means: bool

    @property
    def mean(self) -> Numbers:
        """Mean of supply and return temperature [degC]."""
        return 0.5 * (self.supply + self.returned)

    @property
    def duration(self) -> float:
        """Time from the first to the last row [s]."""
        return float(self.times[-1])

    @property
    def cadence(self) -> float:
        """Usual time between two rows [s]."""
        return float(np.median(np.diff(self.times)))

    @property
    def level(self) -> float:
        """Median heat while the heater runs [W]."""
        running = np.abs(self.heat) > 0.25 * np.abs(self.heat).max()
        return float(np.median(self.heat[running]))

    @property
    def is_running(self) -> NDArray[np.bool_]:
        """Whether the heater runs, by row."""
        running: NDArray[np.bool_] = self.heat / self.level > 0.5
        return running

    @property
    def start(self) -> float:
        """Time at which the heater starts [s]: halfway between the two rows around it."""
        first = int(self.is_running.argmax())
        if first == 0:
            return 0.0
        before, after = self.times[first - 1], self.times[first]
        return float(before if self.means else 0.5 * (before + after))

    @property
    def end(self) -> float:
        """Time of the last row in which the heater runs [s]."""
        return float(self.times[self.is_running][-1])

    @property
    def first_break(self) -> float | None:
        """Time from which the heat is no longer steady although the heater starts again later [s], if any."""
        within = (self.times > self.start + self.cadence) & (self.times <= self.end)
        unsteady = within & (np.abs(self.heat / self.level - 1.0) > 4.0 * _STEADY)
        return float(self.times[unsteady][0]) if unsteady.any() else None

    @property
    def switches(self) -> NDArray[np.intp]:
        """Rows before which the heat was switched at an unknown time; none if there are many."""
        if self.means:
            return np.array([], dtype=np.intp)
        found = np.flatnonzero(np.abs(np.diff(self.heat)) > _SWITCHED * abs(self.level)) + 1
        return found if found.size <= _MOST_SWITCHES else found[:0]

    def pulse(self, row: int) -> Numbers:
        """Return the heat of 1 J between a row and the one before, as mean heat in each of `steps` [W]."""
        edges = np.append(0.0, self.steps[0])
        share = np.clip((edges - self.times[row - 1]) / (self.times[row] - self.times[row - 1]), 0.0, 1.0)
        pulse: Numbers = np.diff(share) / np.diff(edges)
        return pulse

    @property
    def since_change(self) -> Numbers:
        """Time since the heat last changed by more than a quarter of its level, by row [s]."""
        changed = np.abs(np.diff(self.heat, prepend=0.0)) > _SWITCHED * abs(self.level)
        last = np.maximum.accumulate(np.where(changed, np.arange(self.times.size), 0))
        since: Numbers = self.times - self.times[last]
        return since

    @property
    def before(self) -> Numbers:
        """Mean fluid temperatures before the heater starts [degC]."""
        return self.mean[: int(self.is_running.argmax())]

    def heat_between(self, begin: float, end: float) -> float:
        """Return the mean heat over a part of the record [W].

        Parameters
        ----------
        begin, end : float
            Times [s].
        """
        given = np.interp([begin, end], self.times, self._energy)
        return float((given[1] - given[0]) / (end - begin))

    @property
    def _energy(self) -> Numbers:
        """Energy given since the first row, by row [J]."""
        mean = self.heat[1:] if self.means else 0.5 * (self.heat[1:] + self.heat[:-1])
        return np.concatenate([[0.0], np.cumsum(mean * np.diff(self.times))])

    @property
    def steps(self) -> tuple[Numbers, Numbers]:
        """Ends of equal steps [s] and mean heat in each [W], shape (steps,)."""
        count = int(min(_MOST_STEPS, np.ceil(self.duration / max(self.cadence, _LEAST_STEP))))
        edges = np.linspace(0.0, self.duration, count + 1)
        energy = np.interp(edges, self.times, self._energy)
        return edges[1:], np.diff(energy) / np.diff(edges)

    def intervals(self, begin: float, end: float, settling: float = 0.0) -> tuple[Numbers, NDArray[np.intp]]:
        """Return mean time of each interval that has rows [s], and the interval of each row.

        Rows outside, or without a temperature, have -1.

        Parameters
        ----------
        begin, end : float
            Times between which rows are used [s].
        settling : float, default 0
            Time after each change of the heat in which rows aren't used [s].
        """
        width = max((end - begin) / _INTERVALS, self.cadence)
        which = np.floor((self.times - begin) / width).astype(np.intp)
        which[(self.times < begin) | (self.times > end) | np.isnan(self.mean)] = -1
        which[self.since_change < settling] = -1
        _, numbered = np.unique(which[which >= 0], return_inverse=True)
        which[which >= 0] = numbered
        return averaged(self.times, which), which


def averaged(values: Numbers, which: NDArray[np.intp]) -> Numbers:
    """Return the mean of the rows of each interval, over the first axis."""
    used = which >= 0
    count = np.bincount(which[used])
    if values.ndim == 1:
        return np.bincount(which[used], values[used]) / count
    columns = [np.bincount(which[used], column[used]) / count for column in values.T]
    return np.column_stack(columns)


def superposed(heat: Numbers, response: Numbers) -> Numbers:
    """Return the sum of step responses to heat that changes from step to step, at the ends of the steps.

    Parameters
    ----------
    heat : ndarray
        Heat in each of equal steps, shape (n,).
    response : ndarray
        Response to a unit of heat after 1, 2, ... steps, shape (n,).
    """
    total: Numbers = fftconvolve(np.diff(heat, prepend=0.0), response)[: heat.size]
    return total
