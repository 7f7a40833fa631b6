"""g-functions of a square field of piles by a dense solution of rings of heat on all walls and ends.

Heat of one instantaneous ring of radius a on another of radius b around the same axis:
exp(-(a^2 + b^2) s^2) I0(2 a b s^2), s^2 = 1 / (4 alpha t) (Carslaw & Jaeger 1959, section 10.3); around
another axis it is the mean over points of both rings. Every pile has its own unknowns along the wall and on
its ends, in contrast to the engine, which solves a field of lines and corrects it by what a single pile
differs by.
"""

from __future__ import annotations

from itertools import pairwise
from math import factorial

import numpy as np
from scipy.special import erf, erfc, ive

DIFFUSIVITY = 1e-6
STEP = 0.14
TERMS = 14


def stehfest(k: int) -> float:
    """Weight of p x Laplace{g} at k ln 2 / t (Stehfest 1970)."""
    half = TERMS // 2
    total = sum(
        j**half
        * factorial(2 * j)
        / (factorial(half - j) * factorial(j) * factorial(j - 1) * factorial(k - j) * factorial(2 * j - k))
        for j in range((k + 1) // 2, min(k, half) + 1)
    )
    return float((-1) ** (k + half) * total / k)


def along(s: float, edges: np.ndarray) -> np.ndarray:
    """Double integrals over two pieces of the wall, less those of the image above the surface."""

    def ierfc(x: np.ndarray) -> np.ndarray:
        return np.exp(-x * x) / np.sqrt(np.pi) - x * erfc(x)

    apart = s * np.abs(edges[:, None] - edges[None, :])
    table = apart + ierfc(apart) + ierfc(s * (edges[:, None] + edges[None, :]))
    return STEP / (2 * s) * (table[:-1, 1:] - table[:-1, :-1] - table[1:, 1:] + table[1:, :-1])


class Pile:
    """Rings of a pile: pieces of the wall, then circles of the ends with the wall's length of their area."""

    def __init__(self, depth: float, buried_depth: float, radius: float) -> None:
        upper, lower = [radius if buried_depth == 0.0 else 0.3 * min(radius, buried_depth)], [0.3 * radius]
        while sum(upper) + sum(lower) < depth:
            shorter = upper if upper[-1] <= lower[-1] else lower
            shorter.append(1.4 * shorter[-1])
        lengths = np.array(upper + lower[::-1])
        lengths *= depth / lengths.sum()
        self.radius = radius
        self.edges = buried_depth + np.concatenate([[0.0], np.cumsum(lengths)])
        rims = radius * (1.0 - (1.0 - np.linspace(0.0, 1.0, 5)) ** 1.7)
        x, weight = np.polynomial.legendre.leggauss(2)
        self.ends = []
        for z in [buried_depth + depth] if buried_depth == 0.0 else [buried_depth, buried_depth + depth]:
            for inner, outer in pairwise(rims):
                at = 0.5 * (outer - inner) * x + 0.5 * (outer + inner)
                self.ends.append((z, at, 0.5 * (outer - inner) * weight * at / radius))
        self.load = np.concatenate([lengths, [end[2].sum() for end in self.ends]])

    def matrix(self, s: float, distance: float) -> np.ndarray:
        """What one pile's rings do to those of another one at a distance, 0 for itself."""
        walls, edges, radius = len(self.edges) - 1, self.edges, self.radius
        found = np.zeros((len(self.load), len(self.load)))
        if (distance - 2.0 * radius) * s > 6.0:
            return found
        angle = np.arange(8) * np.pi / 4.0 + 0.1

        def rings(a: float, b: float) -> float:
            if distance == 0.0:
                return float(np.exp(-(((a - b) * s) ** 2)) * ive(0, 2 * a * b * s * s))
            x = distance + a * np.cos(angle)[:, None] - b * np.cos(angle + 0.2)
            y = a * np.sin(angle)[:, None] - b * np.sin(angle + 0.2)
            return float(np.exp(-(x * x + y * y) * s * s).mean())

        found[:walls, :walls] = along(s, edges) * rings(radius, radius)
        for row, (z, at, length) in enumerate(self.ends, walls):
            felt = erf(s * (edges - z)) - erf(s * (edges + z))
            on_wall = sum(part * rings(radius, a) for a, part in zip(at, length, strict=True))
            found[:walls, row] = found[row, :walls] = 0.5 * STEP * np.diff(felt) * on_wall
            for column, (other, beside, its) in enumerate(self.ends[: row - walls + 1], walls):
                bells = np.exp(-((s * (z - other)) ** 2)) - np.exp(-((s * (z + other)) ** 2))
                pairs = [
                    (a, b, u * v)
                    for a, u in zip(at, length, strict=True)
                    for b, v in zip(beside, its, strict=True)
                ]
                both = sum(product * rings(a, b) for a, b, product in pairs)
                found[row, column] = found[column, row] = STEP * s / np.sqrt(np.pi) * bells * both
        return found


def g_of_rings(side: int, pile: tuple[float, float, float], spacing: float, times: np.ndarray) -> np.ndarray:
    """g of side x side piles (depth, buried depth, radius [m]) at the times [s]; one temperature for all."""
    rings = Pile(*pile)
    places = np.array([[i, j] for i in range(side) for j in range(side)]) * spacing
    apart = np.round(np.hypot(*(places[:, None] - places[None, :]).T), 6)
    kinds: dict[tuple[float, ...], list[int]] = {}
    for number, distances in enumerate(apart):
        kinds.setdefault(tuple(sorted(distances)), []).append(number)
    least = np.sqrt(np.log(2.0) / times.max() / (4.0 * DIFFUSIVITY * 37.0))
    nodes = np.exp(np.arange(np.log(least), np.log(6.0 / pile[2]) + 4.0, STEP))
    at = {d: np.array([rings.matrix(s, d) for s in nodes]) for d in np.unique(apart)}
    members = list(kinds.values())

    def value(p: float) -> float:
        decay = np.exp(-p / (4.0 * DIFFUSIVITY * nodes**2))
        summed = {d: np.tensordot(decay, matrices, 1) for d, matrices in at.items()}
        blocks = [[sum(summed[apart[to[0], one]] for one in of) for of in members] for to in members]
        heat = np.linalg.solve(np.block(blocks), np.tile(rings.load, len(members)))
        shares = heat.reshape(len(members), -1) @ rings.load
        drawn = sum(len(of) * share for of, share in zip(members, shares, strict=True))
        return float(pile[0] * len(places) / drawn)

    return np.array(
        [sum(stehfest(k) * value(k * np.log(2.0) / time) for k in range(1, TERMS + 1)) for time in times]
    )
