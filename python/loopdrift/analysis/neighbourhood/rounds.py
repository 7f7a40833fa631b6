"""Rounds over the whole horizon until neighbours agree on the temperature of the ground between them.

Neighbours change a plant's heat only through the efficiency of its heat pump. So each plant is first run
alone; the temperature along its bores then follows from the heat of the others, all plants are run again
in the ground so moved, and so on. Each round shrinks what is left about a hundredfold.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.neighbourhood.ladder import INTERVALS_PER_YEAR
from loopdrift.analysis.neighbourhood.pairs import Pairs
from loopdrift.analysis.neighbourhood.stepping import Found, Town
from loopdrift.basics.errors import InvalidInput

Table = NDArray[np.float64]

_MOST = 12
"""Rounds after which the search for an agreement is given up."""


@dataclass(frozen=True)
class Settled:
    """Plants that agree on the ground between them.

    Parameters
    ----------
    alone, together : Found
        Results of each plant alone, and with its neighbours.
    drops : numpy.ndarray, shape (plants, intervals + 1)
        How far neighbours lower the temperature along each plant's bores [K], as in the last round.
    changes : tuple of float
        Largest change of these temperatures from round to round [K]; the last is what is left.
    """

    alone: Found
    together: Found
    drops: Table
    changes: tuple[float, ...]


def settle(town: Town, pairs: Pairs, tolerance: float, progress: Callable[[int], object] | None) -> Settled:
    """Run all plants until their temperatures change by no more than a tolerance.

    Parameters
    ----------
    town : Town
        The plants.
    pairs : Pairs
        Which of them feel each other.
    tolerance : float
        Largest change of the temperature along a plant's bores that is left [K].
    progress : callable, optional
        Called with the number of plants stepped in all rounds so far.

    Raises
    ------
    InvalidInput
        If a plant can't be run, or the rounds don't come to an agreement.
    """
    done = 0

    def tell(count: int) -> None:
        if progress is not None:
            progress(done + count)

    everyone = np.arange(len(town.names))
    alone = Found.nothing(len(everyone), town.years)
    town.step(everyone, None, alone, tell)
    done = len(everyone)
    before = np.zeros((len(everyone), pairs.ladder.intervals + 1))
    neighbours = np.flatnonzero(pairs.have_neighbours)
    if not len(neighbours):
        return Settled(alone, alone, before, (0.0,))
    together = alone.copy()
    changes: list[float] = []
    while True:
        drops = pairs.drops(together.heat)
        changes.append(_largest(town, drops - before))
        if changes[-1] <= tolerance and len(changes) > 1:
            return Settled(alone, together, before, tuple(changes))
        if len(changes) > _MOST:
            allowed = f"must be at least {min(changes):.3g} K, the least change in {_MOST} rounds"
            raise InvalidInput("Neighbourhood.run", "tolerance", tolerance, "K", allowed)
        town.step(neighbours, drops, together, tell)
        done += len(neighbours)
        before = drops


def _largest(town: Town, differences: Table) -> float:
    """Return the largest difference while the plants run [K]."""
    largest = 0.0
    for row, years in zip(differences, town.running, strict=True):
        if years:
            own = row[(years.start - 1) * INTERVALS_PER_YEAR : (years.stop - 1) * INTERVALS_PER_YEAR + 1]
            largest = max(largest, float(np.abs(own).max()))
    return largest
