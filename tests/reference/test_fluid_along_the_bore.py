"""Fluid and ground coupled along a bore, against the engine's one wall temperature and effective resistance.

Reference: each depth of the bore has its own wall temperature. Down and up the fluid exchanges heat with the wall
and with itself (Hellstrom 1991, chapter 8, the circuit of two legs; for a coaxial bore of inner pipe and gap; from
memory), solved as a block tridiagonal system of finite volumes along the depth; the ground is finite line sources
with mirror images, one a segment (Claesson & Javed 2011, equations 9 to 11), transformed to p and taken back by
Stehfest's inversion (1970). The heat capacity of the fluid is left out on both sides.
"""

from __future__ import annotations

from math import factorial, log

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import erfc

import loopdrift as ld
#from loopdrift.assumptions import along_the_bore

HOUR = 3600.0
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0)
FLUID = ld.Fluid("propylene glycol", mass_fraction=0.25)
SEGMENTS = 48
TERMS = 8


def coaxial(depth: float) -> ld.Bore:
    pipes = ld.Coaxial(
        inner=ld.Pipe.sdr(11, outer_diameter=0.063), outer=ld.Pipe.sdr(17, outer_diameter=0.110)
    )
    return ld.Bore(
        depth=depth, top=2.0, diameter=0.14, grout_conductivity=1.6, pipes=pipes, heat_capacity_inside=False
    )


def u_tube(depth: float, kind: type = ld.UTube) -> ld.Bore:
    pipes = kind(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), centre_spacing=0.07)
    return ld.Bore(
        depth=depth, top=2.0, diameter=0.14, grout_conductivity=1.6, pipes=pipes, heat_capacity_inside=False
    )


def drops(edges: NDArray[np.float64], radius: float, p: float) -> NDArray[np.float64]:
    """Return p x Laplace{drop of wall i for 1 W/m along segment j throughout} [K m/W], shape (n, n)."""
    a, k = GROUND.conductivity / GROUND.volumetric_heat_capacity, GROUND.conductivity

    def ierf(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return x + np.exp(-x * x) / np.sqrt(np.pi) - x * erfc(x)

    step = 0.1
    log_s = np.arange(np.log(np.sqrt(p / (4.0 * a * 40.0))), np.log(6.0 / radius), step)
    apart, image = np.abs(edges[:, None] - edges[None, :]), edges[:, None] + edges[None, :]
    total = np.zeros((len(edges) - 1,) * 2)
    for s in np.exp(log_s):
        table = ierf(s * apart) + ierf(s * image)
        difference = table[:-1, 1:] - table[:-1, :-1] - table[1:, 1:] + table[1:, :-1]
        total += step / (2.0 * s) * np.exp(-((radius * s) ** 2) - p / (4.0 * a * s * s)) * difference
    return total / (2.0 * np.pi * k * np.diff(edges)[:, None])


def legs(kind: str, local: float, internal: float, per_metre: float, n: int) -> NDArray[np.float64]:
    """Return the heat from wall to fluid [W/m] of each segment for wall temperatures and the entering fluid, (n, n + 1),
    and in the last row the fluid that leaves.

    ``per_metre`` is the length of a segment over flow x heat capacity [m K/W].
    """
    direct = 1.0 / (1.0 / internal - 1.0 / (4.0 * local))
    # Unknown: the fluid at the end of each segment, down and then up; upwind, each half the mean of its ends.
    size = 2 * n
    matrix, right = np.zeros((size, size)), np.zeros((size, n + 1))
    heat, from_wall = np.zeros((n, size)), np.zeros((n, n + 1))

    def ends(leg: int, i: int) -> tuple[int | None, int]:
        if leg == 0:
            return (i - 1 if i else None), i
        return (n - 1 if i == n - 1 else n + i + 1), n + i

    for i in range(n):
        for leg in (0, 1):
            to_wall = {"U": 1.0 / (2.0 * local), "coaxial": (0.0, 1.0 / local)[leg]}[kind]
            row = leg * n + i
            before, after = ends(leg, i)

            def add(target, line, factor, which, i=i):
                for node in ends(which, i):
                    if node is None:
                        right_or = right if target is matrix else from_wall
                        right_or[line, n] += (-0.5 if target is matrix else 0.5) * factor
                    else:
                        target[line, node] += 0.5 * factor

            matrix[row, after] += 1.0
            if before is None:
                right[row, n] += 1.0
            else:
                matrix[row, before] -= 1.0
            add(matrix, row, per_metre * (to_wall + 1.0 / direct), leg)
            add(matrix, row, -per_metre / direct, 1 - leg)
            right[row, i] += per_metre * to_wall
            add(heat, i, -to_wall, leg)
            from_wall[i, i] += to_wall
    # What `add` put into from_wall for the entering fluid has the sign of its factor already.
    fluid = np.linalg.solve(matrix, right)
    return np.vstack([heat @ fluid + from_wall, fluid[n]])


def coupled(bore: ld.Bore, kind: str, flow: float, time: float) -> tuple[float, float]:
    """Return drops of the mean fluid a W/m after a step [K m/W]: coupled along the bore, and the engine's."""
    found = bore.resistance_at(ground=GROUND, fluid=FLUID, flow=flow, temperature=5.0)
    heat_capacity = float(FLUID.properties([5.0])["heat_capacity_J_per_kgK"].iloc[0])
    edges = bore.top + bore.depth * np.linspace(0.0, 1.0, SEGMENTS + 1)
    length = bore.depth / SEGMENTS
    fluid = legs(kind, found.local, found.internal, length / (flow * heat_capacity), SEGMENTS)

    def transformed(p: float) -> float:
        ground = drops(edges, bore.diameter / 2.0, p)
        # q = A Tw + b Tin, Tw = -G q, mean of q = 1: the fluid enters with Tin.
        heat, enters = fluid[:-1, :-1], fluid[:-1, -1]
        profile = np.linalg.solve(np.eye(SEGMENTS) + heat @ ground, enters)
        entering = 1.0 / profile.mean()
        leaving = fluid[-1, :-1] @ (-ground @ profile * entering) + fluid[-1, -1] * entering
        return -0.5 * (entering + leaving)

    half = TERMS // 2
    weights = [
        (-1.0) ** (k + half)
        * sum(
            j**half
            * factorial(2 * j)
            / (factorial(half - j) * factorial(j) * factorial(j - 1) * factorial(k - j) * factorial(2 * j - k))
            for j in range((k + 1) // 2, min(k, half) + 1)
        )
        for k in range(1, TERMS + 1)
    ]
    total = sum(w / k * transformed(k * log(2.0) / time) for k, w in enumerate(weights, 1))
    field = ld.BoreField(bore, positions=[[0.0, 0.0]])
    g = field.g_function(GROUND, [time])[0]
    return total, g / (2.0 * np.pi * GROUND.conductivity) + found.effective


CASES = {
    "coaxial, deep and slow": (coaxial(300.0), "coaxial", 0.3),
    "coaxial, less so": (coaxial(200.0), "coaxial", 0.5),
    "coaxial, quick": (coaxial(150.0), "coaxial", 1.0),
    "U": (u_tube(120.0), "U", 0.35),
    "U, deep and slow": (u_tube(300.0), "U", 0.3),
    "double U": (u_tube(150.0, ld.DoubleUTube), "U", 0.5),
}

if __name__ == "__main__":
    for name, (bore, kind, flow) in CASES.items():
        found = bore.resistance_at(ground=GROUND, fluid=FLUID, flow=flow, temperature=5.0)
        print(name, found.local, found.internal, found.effective)
        for hours in (6.0, 100.0, 8760.0, 20 * 8760.0):
            exact, engine = coupled(bore, kind, flow, HOUR * hours)
            print(f"   {hours:9.0f} h  coupled {exact:.4f} engine {engine:.4f}  30 W/m: {30 * (engine - exact):+.3f} K")
