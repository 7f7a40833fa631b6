"""Step responses between plants: finite lines with mirror images.

Heat at a rate of one watt in one plant lowers the temperature along the bores of another by

    G(t) = 1 / (4 pi k) x sum over pieces u of bores of the one and v of the other of w_u(t') w_v(t') I_uv(t),

    I_uv(t) = integral from 1 / sqrt(4 alpha t) to infinity of
              exp(-|s r - U / (4 alpha s)|^2) D_uv(s) / s^2 ds

with the horizontal vector r between two bores, the diffusivity alpha, and D, the second differences of
-ierf(s |v - u|) - ierf(s (v + u)) over the ends of both pieces (Claesson & Javed 2011, equations 9 to 11,
for lines of different depths). Water that carries heat along with the velocity U moves the heat of age 1
/ (4 alpha s^2) by U / (4 alpha s^2) (Carslaw & Jaeger 1959, section 10.7; from memory).

The weights w are the heat per metre of each piece, for one watt of its plant by itself, with one wall
temperature for all its bores after the time t: the same distribution of heat as in the plant's own
response, and by reciprocity the weights with which the plant feels its surroundings. How neighbours shift
that distribution is left out.

Heat that arrives at the time t left its source earlier. The weights are therefore those of the time
t' = t exp(-H(n)) with the harmonic number H of the response's logarithmic slope n = d ln I / d ln t: the
mean of ln (t - tau) over the ages tau of a response that grows with t^n.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.neighbourhood.places import Bores
from loopdrift.basics.series import Series
from loopdrift.parts.ground.ground import Ground

Table = NDArray[np.float64]
Indices = NDArray[np.intp]

PIECES = np.array([0.0, 0.05, 0.15, 0.85, 0.95, 1.0])
"""Ends of the pieces of a bore, as shares of its depth: heat gathers at its ends."""
_COUNT = len(PIECES) - 1
_FAR = 6.1
"""Beyond this x, exp(-x^2) is below the rounding of 1."""
_LARGEST = 60.0
"""Largest s [1/m]: beyond it, nothing reaches 0.1 m."""
_BEFORE = 40
"""Panels before the first time."""
_AT_ONCE = 1 << 13
"""Pairs of bores that are processed together."""
_MOMENTS = 8
"""Times at which a plant's own distribution of heat is solved; it changes with the logarithm of time."""


class Influence:
    """Step responses between plants at fixed times.

    Parameters
    ----------
    ground : Ground
        The ground.
    bores : Bores
        The bores of all plants.
    times : numpy.ndarray
        In ascending order, evenly spaced in their logarithm [s].
    """

    def __init__(self, ground: Ground, bores: Bores, times: Series) -> None:
        self._bores = bores
        self._times = times
        self._diffusivity = ground.conductivity / ground.volumetric_heat_capacity
        self._scale = 1.0 / (4.0 * np.pi * ground.conductivity)
        self._velocity: Series = ground.thermal_velocity
        # Panels in ln s, those of the latest times last: the integral up to infinity grows with the time.
        nearest = 1.0 / np.sqrt(4.0 * self._diffusivity * times[0])
        beyond = np.geomspace(_LARGEST, nearest, _BEFORE + 1)[:-1]
        edges = np.log(np.concatenate([beyond, 1.0 / np.sqrt(4.0 * self._diffusivity * times)]))
        # One node in each panel: the errors of neighbouring panels cancel in the sum.
        self._s: Series = np.exp(0.5 * (edges[1:] + edges[:-1]))
        self._weights: Series = (edges[:-1] - edges[1:]) / self._s
        tops, feet = bores.ends.T
        self._ends: Table = tops[:, None] + (feet - tops)[:, None] * PIECES
        """Ends of the pieces of each kind of bore [m]."""
        self._given, self._felt = self._own_weights()

    def of_pairs(self, sources: Indices, receivers: Indices) -> Table:
        """Return the step responses of pairs of plants [K/W], shape (pairs, times).

        Parameters
        ----------
        sources, receivers : numpy.ndarray
            The plants of each pair.
        """
        counts = self._bores.counts[sources] * self._bores.counts[receivers]
        found = np.empty((len(sources), len(self._times)))
        ends = np.cumsum(counts)
        first = 0
        while first < len(sources):
            before = ends[first] - counts[first]
            last = max(int(np.searchsorted(ends, before + _AT_ONCE, side="right")), first + 1)
            few = slice(first, last)
            a, b = self._pairs_of_bores(sources[few], receivers[few])
            integrals = list(self._integrals(a, b))
            when = self._time_of_weights(np.sum([felt for _, _, felt in integrals], axis=0))
            given = [_at(self._given[a, u], when) for u in range(_COUNT)]
            felt_by = [_at(self._felt[b, v], when) for v in range(_COUNT)]
            sums = np.zeros((len(a), len(self._times)))
            for u, v, felt in integrals:
                sums += given[u] * felt_by[v] * felt
            starts = np.concatenate([[0], np.cumsum(counts[few])[:-1]])
            found[few] = self._scale * np.add.reduceat(sums, starts, axis=0)
            first = last
        return found

    def _time_of_weights(self, responses: Table) -> Table:
        """Return where among the times t' lies, at which weights are taken, for each response and time."""
        from scipy.special import digamma

        step = float(np.log(self._times[1] / self._times[0]))
        slopes = np.gradient(np.log(np.maximum(responses, np.finfo(float).tiny)), step, axis=1).clip(0.0)
        earlier = (digamma(slopes + 1.0) + np.euler_gamma) / step
        return np.asarray((np.arange(len(self._times)) - earlier).clip(0.0))

    def _pairs_of_bores(self, sources: Indices, receivers: Indices) -> tuple[Indices, Indices]:
        """Return source and receiver of all pairs of bores of some pairs of plants, plants by plants."""
        bores = self._bores
        counts = bores.counts[sources] * bores.counts[receivers]
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
        place = np.arange(counts.sum()) - np.repeat(starts, counts)
        across = np.repeat(bores.counts[receivers], counts)
        a = np.repeat(bores.firsts[sources], counts) + place // across
        b = np.repeat(bores.firsts[receivers], counts) + place % across
        return a, b

    def _integrals(self, a: Indices, b: Indices) -> Iterator[tuple[int, int, Table]]:
        """Yield I_uv for each two pieces of pairs of bores, shape (pairs, times)."""
        bores = self._bores
        kernel = np.exp(-self._squares(a, b)) * self._weights
        kinds, which = np.unique(
            np.stack([bores.kinds[a], bores.kinds[b]], axis=1), axis=0, return_inverse=True
        )
        from_, to = self._ends[kinds[:, 0]], self._ends[kinds[:, 1]]
        table = self._along(from_, to)
        for u in range(_COUNT):
            for v in range(_COUNT):
                differences = table[u][v + 1] - table[u + 1][v + 1] - table[u][v] + table[u + 1][v]
                panels = kernel * differences[which.ravel()]
                yield u, v, np.cumsum(panels, axis=1)[:, _BEFORE - 1 :]

    def _squares(self, a: Indices, b: Indices) -> Table:
        """Return |s r - U / (4 alpha s)|^2 for pairs of bores, shape (pairs, nodes); r is a bore's radius."""
        bores, s = self._bores, self._s
        apart = bores.positions[b] - bores.positions[a]
        apart[:, 0] = np.where(a == b, bores.radii[a], apart[:, 0])
        if not self._velocity.any():
            return np.asarray((apart**2).sum(axis=1)[:, None] * s**2)
        carried = self._velocity[:, None] / (4.0 * self._diffusivity * s)
        return np.asarray(((apart[:, :, None] * s - carried) ** 2).sum(axis=1))

    def _along(self, from_: Table, to: Table) -> list[list[Table]]:
        """Return ierf(s |v - u|) + ierf(s (v + u)) for each two ends of pieces, shape (kinds, nodes) each."""

        def between(u: Series, v: Series) -> Table:
            return ierf(self._s * np.abs(v - u)[:, None]) + ierf(self._s * (v + u)[:, None])

        return [[between(u, v) for v in to.T] for u in from_.T]

    def _own_weights(self) -> tuple[Table, Table]:
        """Return the heat per metre of each piece for one watt of its plant, and how much it feels.

        Both have the shape (bores, pieces, times), and are the same without flowing water.
        """
        bores = self._bores
        given = np.empty((len(bores.positions), _COUNT, len(self._times)))
        felt = given if not self._velocity.any() else np.empty_like(given)
        known: dict[bytes, tuple[Table, Table]] = {}
        for plant, (first, count) in enumerate(zip(bores.firsts, bores.counts, strict=True)):
            own = slice(first, first + count)
            places = np.round(bores.positions[own] - bores.positions[first], 6) + 0.0
            shape = places.tobytes() + bores.kinds[own].tobytes() + bores.radii[own].tobytes()
            if shape not in known:
                known[shape] = self._weights_of(plant)
            given[own], felt[own] = known[shape]
        return given, felt

    def _weights_of(self, plant: int) -> tuple[Table, Table]:
        """Solve one plant for one wall temperature at a few times, and join them by lines over ln t."""
        count = int(self._bores.counts[plant])
        moments = np.unique(np.linspace(0, len(self._times) - 1, _MOMENTS).round().astype(int))
        pieces = self._ends[self._bores.kinds[self._bores.firsts[plant] + np.arange(count)]]
        lengths = np.diff(pieces, axis=1).ravel()
        a, b = self._pairs_of_bores(np.array([plant]), np.array([plant]))
        matrices = np.empty((len(moments), count, _COUNT, count, _COUNT))
        for start in range(0, len(a), _AT_ONCE):
            few = slice(start, start + _AT_ONCE)
            row, column = np.divmod(np.arange(len(a))[few], count)
            for u, v, sums in self._integrals(a[few], b[few]):
                # Rows feel, columns give.
                matrices[:, column, v, row, u] = sums[:, moments].T
        systems = matrices.reshape(len(moments), len(lengths), len(lengths))
        found = []
        for each in (systems, systems.transpose(0, 2, 1)):
            right = np.broadcast_to(lengths[:, None], (len(moments), len(lengths), 1))
            heat = np.linalg.solve(each, right)[..., 0]
            heat /= (heat @ lengths)[:, None]
            every = np.arange(len(self._times))
            joined = np.stack([np.interp(every, moments, own) for own in heat.T])
            found.append(joined.reshape(count, _COUNT, -1))
        return found[0], found[1]


def _at(weights: Table, places: Table) -> Table:
    """Return weights of each row between its columns."""
    low = np.minimum(places.astype(np.intp), weights.shape[1] - 2)
    lower, upper = (np.take_along_axis(weights, low + step, axis=1) for step in (0, 1))
    return np.asarray(lower + (places - low) * (upper - lower))


def ierf(x: Table) -> Table:
    """Return the integral of erf from 0 to x."""
    from scipy.special import erf

    return np.asarray(x * erf(x) + np.expm1(-x * x) / np.sqrt(np.pi))


def largest_of_line(ground: Ground, distances: Series, length: float, time: float) -> Series:
    """Return an upper bound of the drop at a distance from a line, for 1 W per metre of it [m K/W].

    It is the drop beside the middle of the line without its mirror image, and no place feels more:

        1 / (4 pi k) x integral from 1 / sqrt(4 alpha t) to infinity of 2 exp(-r^2 s^2) erf(s H / 2) / s ds

    Parameters
    ----------
    ground : Ground
        The ground; no water flows.
    distances : numpy.ndarray
        Distances r [m].
    length : float
        Length H of the line [m].
    time : float
        Since the heat began [s].
    """
    from scipy.special import erf

    diffusivity = ground.conductivity / ground.volumetric_heat_capacity
    least = 1.0 / np.sqrt(4.0 * diffusivity * time)
    nodes = np.geomspace(least, least + _FAR / distances.min(), 400)
    kernel = np.exp(-((distances[:, None] * nodes) ** 2)) * 2.0 * erf(0.5 * nodes * length)
    return np.asarray(np.trapezoid(kernel, np.log(nodes), axis=1) / (4.0 * np.pi * ground.conductivity))
