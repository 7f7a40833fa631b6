"""Step responses between plants as sums of exponentials, all with the same time constants."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.series import Series

Table = NDArray[np.float64]

INTERVAL = 120
"""Hours over which the heat of a plant is averaged, for its neighbours: a multiple of the engine's blocks
that divides a year."""

INTERVALS_PER_YEAR = HOURS_PER_YEAR // INTERVAL

STRIDE = 3
"""Intervals between the moments at which temperatures are summed; a cubic spline joins them."""

SECONDS = 3600.0 * INTERVAL
"""Length of an interval [s]."""

_RUNGS = 28
_SAMPLES_PER_E = 10
"""Samples of a response while its time grows by a factor of e."""
_LEAST_SINGULAR_VALUE = 1e-10
"""Relative; smaller ones of the fit are left out."""


class Ladder:
    """Exponentials whose sum is a step response from half an interval up to a horizon.

    ``G(t) = sum over k of c_k (1 - exp(-t / tau_k))``, with fixed time constants and the coefficients by
    least squares. Heat that is constant over each interval then acts through one state for each time
    constant, which follows from the state before: sums over the past need no memory of it.

    Parameters
    ----------
    years : int
        The horizon.
    """

    def __init__(self, years: int) -> None:
        self.intervals = years * INTERVALS_PER_YEAR
        horizon = self.intervals * SECONDS
        first = 0.5 * SECONDS
        count = int(np.ceil(_SAMPLES_PER_E * np.log(horizon / first))) + 1
        self.times: Series = np.asarray(np.geomspace(first, horizon, count))
        """Times at which responses are sampled [s]."""
        self._constants: Series = np.asarray(np.geomspace(first, 2.0 * horizon, _RUNGS))
        parts = 1.0 - np.exp(-self.times[:, None] / self._constants)
        self._fit: Table = np.asarray(np.linalg.pinv(parts, rcond=_LEAST_SINGULAR_VALUE), dtype=np.float64)

    def __len__(self) -> int:
        return _RUNGS

    def coefficients(self, responses: Table) -> Table:
        """Return the coefficients of step responses sampled at `times`, one row for each response."""
        return np.asarray(responses @ self._fit.T)

    def states(self, rung: int, heat: Table) -> Table:
        """Return the heat of each plant as one exponential feels it [W].

        Parameters
        ----------
        rung : int
            Which exponential.
        heat : numpy.ndarray, shape (plants, intervals)
            Mean heat in each interval [W].

        Returns
        -------
        numpy.ndarray
            At the end of each interval, shape (plants, intervals).
        """
        from scipy.signal import lfilter

        kept = np.exp(-SECONDS / self._constants[rung])
        return np.asarray(lfilter([1.0 - kept], [1.0, -kept], heat, axis=1))
