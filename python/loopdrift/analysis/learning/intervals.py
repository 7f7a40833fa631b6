"""Rows of a log as intervals, which a fit compares with the hours of a run."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

from loopdrift.analysis.learning.plant_log import PlantLog
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR

Numbers = NDArray[np.float64]

_MOST = 200
_DAY, _WEEK = 24.0, 168.0
_FINE = 6.0
"""Longest step that separates hours of high heat from hours of low heat [h]."""
_RUNS = 0.5
"""Share of a step in which the heat pump must run for its temperature to count [-]."""
_LEAST_FILLED = 0.25
"""Share of the usual number of rows that an interval must have [-]."""
_LEAST_INTERVALS = 10


@dataclass(frozen=True, eq=False)
class Intervals:
    """Means of a log, and the matrix that takes the same means of the hours of a run.

    Each is the mean of rows in which the heat pump runs, over a week or longer. Where heat was measured in
    steps of a few hours, an interval is split into the rows of high heat and those of low heat: their
    difference shows the resistance between fluid and ground.

    Parameters
    ----------
    middle : ndarray
        Middle of each interval since the beginning of the run [h].
    measured : ndarray
        Mean entering fluid temperature [degC].
    averaging : scipy.sparse.csr_array
        Mean of each interval from hourly values, shape (intervals, hours).
    rows : int
        Number of rows in use.
    months : int
        Number of calendar months in which there are rows.
    """

    middle: Numbers
    measured: Numbers
    averaging: scipy.sparse.csr_array
    rows: int
    months: int

    def of(self, hourly: Numbers) -> Numbers:
        """Return the mean of hourly values in each interval."""
        found: Numbers = self.averaging @ hourly
        return found

    @property
    def years(self) -> int:
        """Number of whole years from the beginning of the run to the last interval."""
        return int(self.averaging.shape[1]) // HOURS_PER_YEAR

    @property
    def span(self) -> float:
        """Time from the first interval to the last, in years."""
        return float(self.middle[-1] - self.middle[0]) / HOURS_PER_YEAR


def intervals(log: PlantLog, begins: Numbers, heat: Numbers, *, fine: bool) -> Intervals:
    """Return the intervals of a log.

    Parameters
    ----------
    log : PlantLog
        The log.
    begins : ndarray
        Beginning of the step of each row since that of the run [h].
    heat : ndarray
        Heat extracted in each hour of a run [W].
    fine : bool
        Whether the heat of a row is that of its hours, as it was measured.

    Raises
    ------
    InvalidInput
        If too few rows are left.
    """
    entering = np.asarray(log.entering_fluid)
    means = _row_means(begins, log.width, heat.size)
    running = means @ (np.abs(heat) > 1e-3 * np.abs(heat).max()).astype(float)
    used = np.flatnonzero(np.isfinite(entering) & (running >= _RUNS) & (means.sum(axis=1) > 0.99))
    step = float(log.step or 1.0)
    split = fine and step <= _FINE
    span = float(begins[-1] - begins[0]) + step
    width = max(step, _DAY if split else _WEEK, span / (_MOST // 2 if split else _MOST))
    block = np.floor((begins[used] - begins[0]) / width + 1e-9).astype(np.intp)
    if split:
        of_rows = np.abs(means[used] @ heat)
        block = 2 * block + (of_rows > _median_by(2 * block, of_rows))
    names, which, count = np.unique(block, return_inverse=True, return_counts=True)
    filled = count >= _LEAST_FILLED * np.median(count) if names.size else count > 0
    if filled.sum() < _LEAST_INTERVALS:
        allowed = (
            f"must fill at least {_LEAST_INTERVALS} intervals of {width / 24.0:.0f} days with rows in which "
            "the heat pump runs"
        )
        raise InvalidInput("PlantLog", "entering_fluid", f"{int(filled.sum())} intervals", "", allowed)
    kept = filled[which]
    _, which = np.unique(which[kept], return_inverse=True)
    used, count = used[kept], count[filled]
    gather = scipy.sparse.csr_array(
        (1.0 / count[which], (which, np.arange(used.size))), shape=(count.size, used.size)
    )
    middle = gather @ (begins[used] + 0.5 * log.width)
    if split:  # both halves of a block have one time
        pair = names[filled] // 2
        middle = (np.bincount(pair, middle) / np.maximum(np.bincount(pair), 1))[pair]
    return Intervals(
        middle=middle,
        measured=gather @ entering[used],
        averaging=scipy.sparse.csr_array(gather @ means[used]),
        rows=int(used.size),
        months=int(np.unique((begins[used] % HOURS_PER_YEAR) // (HOURS_PER_YEAR / 12.0)).size),
    )


def _row_means(begins: Numbers, width: float, hours: int) -> scipy.sparse.csr_array:
    """Return the matrix that makes the mean of each row from hourly values, shape (rows, hours)."""
    reach = max(int(np.ceil(width - 1e-6)), 1) + 1
    first = np.floor(begins + 1e-6).astype(np.intp)
    hour = first[:, None] + np.arange(reach)
    if width < 1.0 - 1e-6:  # an instant, or a part of an hour, has that hour's value
        share = np.zeros(hour.shape)
        share[:, 0] = 1.0
    else:
        end = begins[:, None] + width
        share = np.clip(np.minimum(end, hour + 1.0) - np.maximum(begins[:, None], hour), 0.0, None) / width
    row = np.broadcast_to(np.arange(begins.size)[:, None], hour.shape)
    within = (hour < hours) & (share > 1e-9)
    return scipy.sparse.csr_array((share[within], (row[within], hour[within])), shape=(begins.size, hours))


def _median_by(block: NDArray[np.intp], values: Numbers) -> Numbers:
    """Return for each row the median of the rows of its block."""
    order = np.lexsort((values, block))
    names, first, count = np.unique(block[order], return_index=True, return_counts=True)
    middle = values[order][first + (count - 1) // 2]
    found: Numbers = middle[np.searchsorted(names, block)]
    return found
