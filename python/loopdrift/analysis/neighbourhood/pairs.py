"""Which plants feel each other, and how strongly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.neighbourhood.influence import Influence, largest_of_line
from loopdrift.analysis.neighbourhood.ladder import INTERVALS_PER_YEAR, SECONDS, STRIDE, Ladder
from loopdrift.analysis.neighbourhood.places import Bores
from loopdrift.basics.series import Series
from loopdrift.parts.ground.ground import Ground

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Table = NDArray[np.float64]
Indices = NDArray[np.intp]

REACH = 2.0
"""Distance up to which plants feel each other, in diffusion lengths of the horizon."""
_AT_ONCE = 1 << 21
"""Pairs beyond reach that are summed together."""
_PAIRS_AT_ONCE = 1 << 14


class Pairs:
    """The plants that feel each other within a horizon, with the coefficients of their step responses.

    Parameters
    ----------
    bores : Bores
        The bores of all plants.
    ground : Ground
        The ground.
    years : int
        The horizon.
    """

    def __init__(self, bores: Bores, ground: Ground, years: int) -> None:
        self._bores = bores
        self._ground = ground
        self.ladder = Ladder(years)
        horizon = self.ladder.intervals * SECONDS
        diffusivity = ground.conductivity / ground.volumetric_heat_capacity
        carried = float(np.hypot(*ground.thermal_velocity)) * horizon
        self.reach = REACH * float(np.sqrt(4.0 * diffusivity * horizon)) + carried
        """Distance up to which plants feel each other [m]."""
        self.receivers, self.sources = self._within_reach()
        self._coefficients = self._responses()

    def __len__(self) -> int:
        return len(self.receivers)

    @property
    def have_neighbours(self) -> NDArray[np.bool_]:
        """Whether each plant has another within reach."""
        found = np.zeros(len(self._bores.counts), dtype=bool)
        found[self.receivers] = True
        return found

    def _within_reach(self) -> tuple[Indices, Indices]:
        """Return receiver and source of each pair, in order of receivers."""
        from scipy.spatial import cKDTree

        centres, sizes = self._bores.centres, self._bores.sizes
        found = cKDTree(centres).query_pairs(self.reach + 2.0 * float(sizes.max()), output_type="ndarray")
        one, other = found.T
        gaps = np.hypot(*(centres[one] - centres[other]).T) - sizes[one] - sizes[other]
        one, other = one[gaps < self.reach], other[gaps < self.reach]
        receivers, sources = np.concatenate([one, other]), np.concatenate([other, one])
        order = np.lexsort((sources, receivers))
        return receivers[order].astype(np.intp), sources[order].astype(np.intp)

    def _responses(self) -> Table:
        """Return the coefficients of each pair [K/W], shape (rungs, pairs)."""
        influence = Influence(self._ground, self._bores, self.ladder.times)
        found = np.empty((len(self.ladder), len(self)))
        # Without water that flows, both plants of a pair feel each other equally, to the bit.
        first_of_two = self.receivers < self.sources
        if self._ground.darcy_flux > 0.0:
            first_of_two = np.ones(len(self), dtype=bool)
        places = np.flatnonzero(first_of_two)
        for start in range(0, len(places), _PAIRS_AT_ONCE):
            few = places[start : start + _PAIRS_AT_ONCE]
            responses = influence.of_pairs(self.sources[few], self.receivers[few])
            found[:, few] = self.ladder.coefficients(responses).T
        if self._ground.darcy_flux == 0.0:
            order = np.lexsort((self.receivers, self.sources))
            mirrored = np.empty(len(self), dtype=np.intp)
            mirrored[order] = np.arange(len(self))
            others = np.flatnonzero(~first_of_two)
            found[:, others] = found[:, mirrored[others]]
        return found

    def _matrix(self, values: Series) -> csr_array:
        """Return one number of each pair as a matrix of receivers and sources."""
        from scipy.sparse import csr_array

        plants = len(self._bores.counts)
        starts = np.searchsorted(self.receivers, np.arange(plants + 1))
        return csr_array((values, self.sources, starts), shape=(plants, plants))

    def drops(self, heat: Table) -> Table:
        """Return how far the heat of neighbours lowers the temperature along each plant's bores [K].

        Parameters
        ----------
        heat : numpy.ndarray, shape (plants, intervals)
            Mean heat extracted in each interval [W].

        Returns
        -------
        numpy.ndarray
            At the beginning of each interval and at the end of the last, shape (plants, intervals + 1).
        """
        from scipy.interpolate import CubicSpline

        intervals = self.ladder.intervals
        moments = np.unique(np.append(np.arange(STRIDE, intervals, STRIDE), intervals))
        sums = np.zeros((len(heat), len(moments)))
        for rung, coefficients in enumerate(self._coefficients):
            felt = np.ascontiguousarray(self.ladder.states(rung, heat)[:, moments - 1])
            sums += self._matrix(coefficients) @ felt
        known = np.concatenate([np.zeros((len(heat), 1)), sums], axis=1)
        spline = CubicSpline(np.append(0, moments), known, axis=1)
        return np.asarray(spline(np.arange(intervals + 1)))

    def states_by_year(self, heat: Table) -> Table:
        """Return the heat of each plant as the exponentials feel it at the end of each year [W].

        Parameters
        ----------
        heat : numpy.ndarray, shape (plants, intervals)
            Mean heat extracted in each interval [W].

        Returns
        -------
        numpy.ndarray
            Shape (years, rungs, plants).
        """
        ends = slice(INTERVALS_PER_YEAR - 1, None, INTERVALS_PER_YEAR)
        states = [self.ladder.states(rung, heat)[:, ends].T.copy() for rung in range(len(self.ladder))]
        return np.stack(states, axis=1)

    def shares(self, states: Table) -> csr_array:
        """Return how far each plant lowers the temperature along the bores of each other [K].

        Parameters
        ----------
        states : numpy.ndarray, shape (rungs, plants)
            Those of a year, from `states_by_year`.

        Returns
        -------
        scipy.sparse.csr_array
            Rows are the plants that feel it, columns the plants that cause it.
        """
        return self._matrix(np.einsum("kp,kp->p", self._coefficients, states[:, self.sources]))

    def largest_beyond_reach(self, yearly_heat: Series) -> float:
        """Return an upper bound of what all plants beyond reach together would add to any plant's drop [K].

        Each is taken to have extracted its heat from the first year on, at its nearest possible distance,
        beside the middle of a line without mirror image. With flowing groundwater it isn't known, and
        NaN.

        Parameters
        ----------
        yearly_heat : numpy.ndarray
            Largest mean heat of each plant in any year, whatever its sign [W].
        """
        if self._ground.darcy_flux > 0.0:
            return float("nan")
        bores = self._bores
        longest = float(np.ptp(bores.ends, axis=1).max())
        centres, sizes, plants = bores.centres, bores.sizes, len(bores.counts)
        widest = float(np.hypot(*np.ptp(centres, axis=0))) + self.reach
        distances = np.geomspace(self.reach, max(widest, 1.01 * self.reach), 200)
        horizon = self.ladder.intervals * SECONDS
        responses = largest_of_line(self._ground, distances, longest, horizon)
        heat = np.abs(yearly_heat) / bores.lengths * bores.counts
        rows = max(1, _AT_ONCE // plants)
        worst = 0.0
        for first in range(0, plants, rows):
            few = slice(first, first + rows)
            apart = np.hypot(*(centres[few, None] - centres).transpose(2, 0, 1))
            gaps = apart - sizes[few, None] - sizes
            felt = np.where(gaps < self.reach, 0.0, np.interp(gaps, distances, responses)) @ heat
            worst = max(worst, float(felt.max(initial=0.0)))
        return worst
