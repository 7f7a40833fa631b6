"""The g-function of a field by a plain dense solution.

Sources: kernel between segments, Claesson & Javed (2011), An analytical method to calculate borehole fluid
temperatures for time-scales from minutes to decades, ASHRAE Transactions 117(2), equations 9 to 11; one wall
temperature for a field, Cimmino & Bernier (2014), A semi-analytical method to generate g-functions for
geothermal bore fields, International Journal of Heat and Mass Transfer 70, 641-650.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfc

Array = NDArray[np.float64]


def edges(sources: Array, count: int = 24, growth: float = 1.4) -> list[Array]:
    """Return the depths of segments' ends: from each end of the bore, each is longer than the one before."""
    half = growth ** np.arange(count // 2)
    lengths = np.concatenate([half, half[::-1]])
    relative = np.concatenate([[0.0], np.cumsum(lengths) / lengths.sum()])
    return [buried_depth + depth * relative for depth, buried_depth, _ in sources]


def ierf(x: Array) -> Array:
    """Return the integral of erf from 0 to x >= 0."""
    return np.asarray(x - 1 / np.sqrt(np.pi) + np.exp(-(x**2)) / np.sqrt(np.pi) - x * erfc(x))


def kernels(sources: Array, positions: Array) -> tuple[Array, Array, Array]:
    """Return nodes s, the matrices of exp(-r^2 s^2) F(s) at each, and the segments' lengths."""
    bores = np.array(edges(sources))
    count, ends = bores.shape
    square = ((positions[:, None] - positions[None]) ** 2).sum(-1)
    np.fill_diagonal(square, sources[:, 2] ** 2)
    step = 0.125
    nodes = np.exp(np.arange(np.log(2e-4), np.log(6.2 / sources[0, 2]), step))

    def matrix(s: float) -> Array:
        differences = second_differences(s, bores.ravel(), bores.ravel(), ends)
        across = np.exp(-square * s**2)[:, None, :, None]
        return np.asarray((across * differences * step / (2 * s)).reshape(count * (ends - 1), -1))

    return nodes, np.array([matrix(s) for s in nodes]), np.diff(bores).ravel()


def second_differences(s: float, from_: Array, to: Array, ends: int) -> Array:
    """Return the differences of ierf, real and image, over the ends of each two segments.

    `from_` and `to` have the ends of the segments, `ends` to a bore. Axes: bore, segment, bore, segment.
    """
    table = ierf(s * abs(to - from_[:, None])) + ierf(s * (to + from_[:, None]))
    bores = table.reshape(len(from_) // ends, ends, len(to) // ends, ends)
    return -np.diff(np.diff(bores, axis=1), axis=3)


def invert(transform: Callable[[Array], Array], times: Array) -> Array:
    """Read a step response off a sum of exponentials that is fitted to p x transform at real p.

    sum of a_k (1 - exp(-t / tau_k)) has p x transform = sum of a_k / (1 + p tau_k).
    """
    p = np.geomspace(0.05 / times.max(), 5 / times.min(), 80)
    scales = np.geomspace(0.02 * times.min(), 100 * times.max(), 40)
    parts = np.linalg.lstsq(1 / (1 + p[:, None] * scales), transform(p), rcond=1e-12)[0]
    return np.asarray((1 - np.exp(-times[:, None] / scales)) @ parts)


def g_function(sources: Array, positions: Array, times: Array, *, diffusivity: float) -> Array:
    """Solve the field at real p for one wall temperature.

    Parameters
    ----------
    sources : numpy.ndarray
        Depth, buried depth and radius of each bore, or of all [m], shape (bores, 3) or (1, 3).
    positions : numpy.ndarray
        Of the bores [m], shape (bores, 2).
    times : numpy.ndarray
        Since the heat began [s].
    diffusivity : float
        Of the ground [m2/s].

    Returns
    -------
    numpy.ndarray
        Drop of the wall x 2 pi k / mean heat per metre [-], shape of `times`.
    """
    nodes, matrices, lengths = kernels(np.broadcast_to(sources, (len(positions), 3)), positions)

    def drops(p: Array) -> Array:
        sums = np.exp(-p[:, None] / (4 * diffusivity * nodes**2)) @ matrices.reshape(len(nodes), -1)
        heat = [lengths @ np.linalg.solve(sum_.reshape(matrices[0].shape), lengths) for sum_ in sums]
        return np.asarray(lengths.sum() / np.array(heat))

    return invert(drops, times)
