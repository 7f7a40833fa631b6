"""Directions in the space of the unknowns that a log doesn't determine."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from loopdrift.analysis.learning.learned import Learned

UNSEEN = 0.7
"""Standard error along a direction, relative to the usual error before any measurement, from which the
log doesn't determine it; common practice, no source."""
TOGETHER = 0.9
"""Correlation of two numbers from which they are known only together; common practice, no source."""
_PART = 0.25
"""Least part in a direction that is named."""


def hidden(learned: Learned) -> list[str]:
    """Return sentences about what the log doesn't determine, or determines only in combination.

    The covariance is scaled by the usual error of each number (`Unknown.usual_error`); an eigenvector
    with a large eigenvalue is a direction along which the numbers can move without a trace in the log.

    Parameters
    ----------
    learned : Learned
        The result.
    """
    unknowns, every = learned.unknowns, learned.every
    covariance = learned.fit.covariance
    usual = np.array([each.usual_error for each in unknowns])
    count = len(unknowns)
    scaled = covariance[:count, :count] / np.outer(usual, usual)
    sizes, directions = np.linalg.eigh(scaled)
    found = []
    for size, direction in zip(sizes[::-1], directions.T[::-1], strict=True):
        if np.sqrt(size) < UNSEEN:
            break
        step = np.sqrt(size) * direction * usual
        largest = int(np.abs(direction).argmax())
        step = step * np.sign(step[largest])
        named = [place for place in range(count) if abs(direction[place]) >= _PART]
        if len(named) == 1:
            only = unknowns[largest]
            found.append(
                f"The log hardly sees the {only.label}: one standard error is "
                f"{only.step(step[largest]).lstrip('+')}, about as much as is usual without any measurement."
            )
            continue
        moves = ", ".join(f"{unknowns[place].label} {unknowns[place].step(step[place])}" for place in named)
        found.append(
            f"The log hardly determines one combination: {moves}, all at once, changes it by no more than "
            "its noise (one standard error)."
        )
    return found + _pairs(learned, [each.label for each in every])


def _pairs(learned: Learned, labels: list[str]) -> list[str]:
    """Return sentences about pairs of numbers that are known only together."""
    covariance = learned.fit.covariance
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread)
    found = []
    for first in range(len(learned.unknowns)):
        for second in range(first + 1, len(labels)):
            rho = float(correlation[first, second])
            if abs(rho) < TOGETHER:
                continue
            both = learned.every[first].is_positive and learned.every[second].is_positive
            combined = (
                ("ratio" if rho > 0.0 else "product") if both else ("difference" if rho > 0.0 else "sum")
            )
            sure = f"determines their {combined}" if both else f"determines a {combined} of both"
            found.append(
                f"{labels[first].capitalize()} and {labels[second]} are known only together (correlation "
                f"{rho:+.2f}): the log {sure} better than either of them."
            )
    return found
