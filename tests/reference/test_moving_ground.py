"""Bore fields in flowing groundwater against a dense solution in the Laplace domain.

Every segment of every bore is an unknown. Between two segments the drop is the double integral over point
sources in moving ground, exp(U x / 2a - q d) / d with q = sqrt((p + U^2 / 4a) / a) (Carslaw & Jaeger 1959,
section 10.7, from memory), minus that of the mirror image; p is complex, and time is recovered by de Hoog's
method (mpmath). The engine sums over ages of heat, reduces the equations and inverts by Euler's sum.
"""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from scipy.special import i0, k0

import loopdrift as ld
from book import compare
from loopdrift import _core

YEAR = 8760 * 3600.0
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.3e6, temperature=10.0)
DIFFUSIVITY = 2.0 / 2.3e6
WATER = 4.18e6  # J/(m3 K)
RADIUS, TOP = 0.075, 2.0
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(8)


def bore(depth):
    return ld.Bore(depth=depth, buried_depth=TOP, diameter=2 * RADIUS, resistance=0.1)


def edges(depth, count=24, growth=1.4):
    """Depths of the edges of segments that grow from both ends."""
    length = np.array([growth ** min(i, count - 1 - i) for i in range(count)])
    return TOP + depth * np.concatenate([[0.0], np.cumsum(length / length.sum())])


def twice_integrated(lengths, distance, q):
    """Integral of (L - z) exp(-q d) / d from 0 to L, d^2 = distance^2 + z^2.

    With z = distance sinh u it is L x the integral of exp(-q distance cosh u) du, by panels between the
    lengths, minus (exp(-q distance) - exp(-q d at L)) / q.
    """
    ends, place = np.unique(np.arcsinh(lengths / distance), return_inverse=True)
    starts = np.concatenate([[0.0], ends[:-1]])
    u = starts[:, None] + 0.5 * (ends - starts)[:, None] * (POINTS + 1.0)
    panels = 0.5 * (ends - starts) * (np.exp(-q * distance * np.cosh(u)) @ WEIGHTS)
    whole = np.cumsum(panels)[place].reshape(lengths.shape)
    return lengths * whole - (np.exp(-q * distance) - np.exp(-q * np.hypot(distance, lengths))) / q


def double_integral(to, source, distance, q):
    """Double integrals of exp(-q d) / d over the segments of two bores, less those of the mirror image."""
    apart, image = np.abs(to[:, None] - source), to[:, None] + source
    table = -twice_integrated(apart, distance, q) - twice_integrated(image, distance, q)
    return np.diff(np.diff(table, axis=0), axis=1)


class Field:
    """Bores with one wall temperature in moving ground."""

    def __init__(self, depths, positions, flux, towards):
        speed = flux * WATER / GROUND.volumetric_heat_capacity
        self.half = speed / (2.0 * DIFFUSIVITY)
        self.towards = towards
        self.edges = [edges(depth) for depth in depths]
        self.positions = np.array(positions)
        self.along = self.positions @ [np.sin(np.radians(towards)), np.cos(np.radians(towards))]
        self.lengths = np.concatenate([np.diff(each) for each in self.edges])

    def heat(self, p):
        """Heat of the segments per metre at a complex p, for a drop of 1 along all walls."""
        q = np.sqrt(p / DIFFUSIVITY + self.half**2 + 0j)
        blocks, known = [], {}
        for to, (x, y) in enumerate(self.positions):
            row = []
            for source, (u, v) in enumerate(self.positions):
                distance = np.hypot(x - u, y - v) if to != source else RADIUS
                key = (round(distance, 9), self.edges[to][-1], self.edges[source][-1])
                if key not in known:
                    known[key] = 0.5 * double_integral(self.edges[to], self.edges[source], distance, q)
                moved = np.exp(self.half * (self.along[to] - self.along[source]))
                row.append((i0(self.half * RADIUS) if to == source else moved) * known[key])
            blocks.append(row)
        return np.linalg.solve(np.block(blocks), self.lengths)

    def drop(self, p):
        """p x Laplace{g} at a complex p."""
        return self.lengths.sum() / (self.lengths @ self.heat(p))

    def drop_at(self, p, place, depth):
        """p x Laplace{drop at a place and depth}, x 2 pi k / (mean heat per metre), at a complex p."""
        q = np.sqrt(p / DIFFUSIVITY + self.half**2 + 0j)
        along = np.dot(place, [np.sin(np.radians(self.towards)), np.cos(np.radians(self.towards))])
        felt = []
        for source, position in enumerate(self.positions):
            distance = np.hypot(*(np.subtract(place, position)))
            ends = self.edges[source]
            middle, half = 0.5 * (ends[1:] + ends[:-1])[:, None], 0.5 * np.diff(ends)[:, None]
            at, weights = np.polynomial.legendre.leggauss(40)
            z = middle + half * at
            near, image = np.hypot(distance, depth - z), np.hypot(distance, depth + z)
            kernel = np.exp(-q * near) / near - np.exp(-q * image) / image
            moved = np.exp(self.half * (along - self.along[source]))
            felt.append(0.5 * moved * ((half * kernel) @ weights))
        heat = self.heat(p)
        return self.lengths.sum() * (np.concatenate(felt) @ heat) / (self.lengths @ heat)

    def g(self, time):
        """g-function at a time."""
        return in_time(self.drop, time)

    def g_at(self, time, place, depth):
        """Drop at a place and depth at a time, x 2 pi k / (mean heat per metre)."""
        return in_time(lambda p: self.drop_at(p, place, depth), time)


def in_time(drop, time):
    """Step response at a time from p x its Laplace transform."""

    def transform(p):
        p = complex(p)
        return mpmath.mpc(drop(p) / p)

    return float(mpmath.invertlaplace(transform, time, method="dehoog", degree=17))


def moving(flux, towards=0.0):
    return GROUND.replace(darcy_flux=flux, flow_direction=towards)


ROW = [(0.0, 0.0), (1.5, 6.0), (0.0, 12.5), (2.0, 19.0)]
TWELVE = [(6.0 * i, 5.0 * j) for j in range(4) for i in range(3)]


@pytest.mark.parametrize("flux", [1e-8, 1e-7, 5e-7, 2e-6])
def test_row_along_the_flow(flux):
    times = np.array([6 * 3600.0, 60 * 86400.0, 2 * YEAR, 100 * YEAR])
    field = ld.BoreField(bore(100.0), positions=ROW)
    expected = [Field([100.0] * 4, ROW, flux, 20.0).g(time) for time in times]
    compare(field.g_function(moving(flux, 20.0), times), expected, rtol=1e-3, what="g")


def test_unequal_bores():
    depths, times = [60.0, 100.0, 80.0, 60.0], np.array([20 * 86400.0, 10 * YEAR])
    field = ld.BoreField([bore(depth) for depth in depths], positions=ROW)
    expected = [Field(depths, ROW, 3e-7, 200.0).g(time) for time in times]
    compare(field.g_function(moving(3e-7, 200.0), times), expected, rtol=1e-3, what="g")


def test_twelve_bores():
    times = np.array([100 * 86400.0, 3 * YEAR])
    field = ld.BoreField(bore(100.0), positions=TWELVE)
    expected = [Field([100.0] * 12, TWELVE, 2e-6, 90.0).g(time) for time in times]
    compare(field.g_function(moving(2e-6, 90.0), times), expected, rtol=1e-3, what="g")


def test_one_bore_ends_in_the_steady_state_of_a_moving_line():
    """I0(x) K0(x) at the wall, x = U r / 2a: an endless line, to which heat from the ends adds little."""
    flux = 2e-6
    x = flux * WATER / GROUND.volumetric_heat_capacity * RADIUS / (2.0 * DIFFUSIVITY)
    field = ld.BoreField(bore(150.0), positions=[[0.0, 0.0]])
    found = field.g_function(moving(flux), [100 * YEAR])[0]
    compare(found, i0(x) * k0(x), rtol=5e-3, what="steady g")


PLACES = [(1.5, 9.0), (0.0, 3.0), (6.0, 40.0), (2.0, -4.0), (40.0, 110.0), (30.0, 10.0)]


@pytest.mark.parametrize(
    "flux, years", [(1e-7, 0.2), (1e-7, 10.0), (5e-7, 2.0), (2e-6, 0.1), (2e-6, 1.0), (2e-6, 10.0)]
)
def test_temperatures_around_a_row(flux, years):
    """Upstream, between bores, beside and down the plume, with constant heat."""
    hours = round(8760 * years)
    ground, heat = moving(flux, 20.0), 12e3
    field = ld.BoreField(bore(100.0), positions=ROW)
    history = _core.GroundHistory(
        field.for_engine(), ground.for_engine(), ld.Fluid("water").for_engine(), 2.0, np.full(hours, heat)
    )
    exact = Field([100.0] * 4, ROW, flux, 20.0)
    scale = heat / 400.0 / (2.0 * np.pi * GROUND.conductivity)
    for depth in (10.0, 60.0):
        points = np.array([(*place, depth) for place in PLACES])
        found = (GROUND.temperature - history.points(points, [hours])[0]) / scale
        expected = [exact.g_at(hours * 3600.0, place, depth) for place in PLACES]
        compare(found, expected, atol=3e-3, what=f"drop at {depth:g} m x 2 pi k / heat")


def test_still_water_changes_no_bit():
    field = ld.BoreField(bore(100.0), positions=ROW)
    times = np.geomspace(3600.0, 100 * YEAR, 20)
    still = field.g_function(GROUND, times)
    assert (still == field.g_function(moving(0.0, 77.0), times)).all()
    compare(field.g_function(moving(1e-14), times), still, rtol=3e-4, what="g")
