"""Least squares with correlated noise: the drift of a logger or of the weather lasts over many rows."""

from __future__ import annotations

import functools
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

_SHARES = (0.0, 0.2, 0.4, 0.6, 0.8, 0.9, 0.97)
"""Shares of the variance of the noise that is correlated."""
_ROUNDS = 6
"""Rounds in which values and the strength of the noise settle."""
_TIMES = 7
"""Number of correlation times, from one interval to a fifth of the duration."""


class Estimate(NamedTuple):
    """Estimates of a linear model with their covariance."""

    values: Numbers
    covariance: Numbers
    noise: float
    """Standard deviation of the noise, in units of the observations."""
    correlated: float
    """Share of its variance that is correlated [-]."""
    correlation_time: float
    """Time in which the correlation falls to 1/e, in units of the times; of the correlated share."""


def generalised(
    times: Numbers,
    columns: Numbers,
    observed: Numbers,
    *,
    expected: Numbers | None = None,
    precision: Numbers | None = None,
) -> Estimate:
    """Estimate a linear model whose noise is white and, to an unknown share, correlated in time.

    The covariance of the noise between times t and u is s^2 [(1 - w) (t = u) + w exp(-|t - u| / c)]. Each
    share w and correlation time c of a grid gives an estimate by generalised least squares; they are averaged
    with their restricted likelihoods as weights, so that the covariance includes what isn't known about the
    noise.

    Parameters
    ----------
    times : ndarray
        Times of the observations, ascending, shape (n,).
    columns : ndarray
        Derivative of each observation with respect to each value, shape (n, m).
    observed : ndarray
        Observations, shape (n,).
    expected : ndarray, optional
        What is known of each value beforehand, shape (m,).
    precision : ndarray, optional
        One over the square of its standard error, shape (m,); 0 where nothing is known, as by default.

    References
    ----------
    Patterson, H. D. & Thompson, R. (1971). Recovery of inter-block information when block sizes are unequal.
    Biometrika 58(3), 545-554: the restricted likelihood.
    """
    n, m = columns.shape
    scale = np.linalg.norm(columns, axis=0)
    scale[scale == 0.0] = 1.0  # unseen: only what is known beforehand can give such a value
    known = np.zeros(m) if precision is None else precision / scale**2
    prior = np.zeros(m) if expected is None else expected * scale
    tried = []
    for time, spectrum, basis in _modes(times.tobytes()):
        rows, seen = basis.T @ (columns / scale), basis.T @ observed
        for share in _SHARES:
            variance = 1.0 - share + share * spectrum
            weighed = rows / variance[:, None]
            normal = rows.T @ weighed
            values, inverse, square = _weighed(rows, weighed, normal, seen, variance, prior, known)
            left = seen - rows @ values
            apart = values - prior
            likelihood = -0.5 * (
                np.log(variance).sum()
                + n * np.log(square)
                + float(left @ (left / variance)) / square
                + float(apart @ (known * apart))
                - np.linalg.slogdet(inverse)[1]
            )
            tried.append((likelihood, values, inverse, square, share, time))
    likelihoods = np.array([each[0] for each in tried])
    weights = np.exp(likelihoods - likelihoods.max())
    weights /= weights.sum()
    every = np.array([each[1] for each in tried])
    values = weights @ every
    apart = every - values
    covariance = np.einsum("i,ijk->jk", weights, np.array([each[2] for each in tried]))
    covariance += np.einsum("i,ij,ik->jk", weights, apart, apart)
    best = tried[int(likelihoods.argmax())]
    return Estimate(
        values / scale, covariance / np.outer(scale, scale), float(np.sqrt(best[3])), best[4], best[5]
    )


def _weighed(
    rows: Numbers,
    weighed: Numbers,
    normal: Numbers,
    seen: Numbers,
    variance: Numbers,
    prior: Numbers,
    known: Numbers,
) -> tuple[Numbers, Numbers, float]:
    """Return values, their covariance and the square of the noise, which depend on each other."""
    n, m = rows.shape
    square = float(seen @ (seen / variance)) / n
    for _ in range(_ROUNDS if known.any() else 2):
        inverse = np.linalg.inv(normal / square + np.diag(known))
        values = inverse @ (weighed.T @ seen / square + known * prior)
        left = seen - rows @ values
        # A value that is known beforehand takes only a part of a degree of freedom.
        taken = m - float(known @ np.diag(inverse))
        square = float(left @ (left / variance)) / (n - taken)
    return values, np.linalg.inv(normal / square + np.diag(known)), square


@functools.lru_cache(maxsize=16)
def _modes(stamps: bytes) -> list[tuple[float, Numbers, Numbers]]:
    """Return correlation times, with eigenvalues and eigenvectors of the correlation over some times."""
    times = np.frombuffer(stamps)
    apart = np.abs(times[:, None] - times)
    interval, duration = float(np.median(np.diff(np.unique(times)))), float(times[-1] - times[0])
    found = []
    for time in np.geomspace(interval, max(0.2 * duration, 2.0 * interval), _TIMES):
        spectrum, basis = np.linalg.eigh(np.exp(-apart / time))
        found.append((float(time), np.maximum(spectrum, 0.0), basis))
    return found
