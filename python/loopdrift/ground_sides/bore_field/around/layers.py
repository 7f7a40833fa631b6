"""What the mean properties of layered ground leave out.

A run uses the mean conductivity and heat capacity along the bores. Heat prefers the conductive layers, which
cool first, and near neighbours draw on the layers above and below the bores. Here one bore in the layers is
compared with one in their mean: alone, and with neighbours on all sides.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from itertools import pairwise
from math import pi, sqrt
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.model_time import HOURS_PER_YEAR, SECONDS_PER_HOUR
from loopdrift.parts.ground.layers import Layer, mean

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from loopdrift.ground_sides.bore_field.field import BoreField
    from loopdrift.parts.bore import Bore
    from loopdrift.parts.ground.ground import Ground

DAY = 24.0 * SECONDS_PER_HOUR
YEAR = HOURS_PER_YEAR * SECONDS_PER_HOUR
TIMES = np.concatenate([np.geomspace(600.0, DAY, 13)[:-1], np.geomspace(DAY, 30.0 * YEAR, 25)])
"""Ends of the time steps [s]; differences count from the first day on."""

STRETCH = 1.5
"""Ratio of the heights and widths of neighbouring cells, at most."""


def mean_ground(field: BoreField, ground: Ground) -> Ground:
    """Return ground with the mean properties of its layers along the bores of a field.

    Parameters
    ----------
    field : BoreField
        The field.
    ground : Ground
        The ground; returned as it is if it has no layers.
    """
    if not ground.layers:
        return ground
    bores = field.bores * (field.count // len(field.bores))
    upright = np.cos(np.radians(field.inclination))
    top = upright * [bore.buried_depth for bore in bores]
    bottom = top + upright * [bore.depth for bore in bores]
    conductivity, volumetric_heat_capacity = mean(ground.layers, top=top, bottom=bottom)
    return ground.replace(conductivity=conductivity, volumetric_heat_capacity=volumetric_heat_capacity)


class Departure(NamedTuple):
    """Temperature difference between fluid and undisturbed ground in layers, relative to that in their mean.

    Constant heat extraction for a day to 30 years; a finite field lies between a single bore and one with
    neighbours on all sides.
    """

    least: float
    """Least ratio less 1 [-]."""
    most: float
    """Greatest ratio less 1 [-]; if positive, the fluid is farther from the ground temperature than shown."""


def departure(field: BoreField, layers: tuple[Layer, ...], *, resistance: float) -> Departure:
    """Return how far a field in layers departs from one in their mean.

    Parameters
    ----------
    field : BoreField
        The field; its deepest bore and its mean distance between neighbours count.
    layers : tuple of Layer
        The layers from the surface down.
    resistance : float
        Effective bore resistance [m K/W].

    Notes
    -----
    Radial and vertical heat conduction in rings around the bore, in finite volumes with implicit time steps
    (Patankar 1980, Numerical heat transfer and fluid flow, chapter 4), for a fluid of one temperature along
    the bore. With neighbours, no heat crosses the cylinder of the area that belongs to a bore.
    """
    bore = max(field.bores, key=lambda each: each.depth)
    resistance = round(resistance, 3)  # as far as it matters here, and as the cache's key
    found = _ratios(bore, layers, resistance, None)
    if field.count > 1:
        from scipy.spatial import KDTree

        nearest, _ = KDTree(field.positions).query(field.positions, k=[2])
        around = float(nearest.mean()) / sqrt(pi)
        found = np.concatenate([found, _ratios(bore, layers, resistance, around)])
    return Departure(float(found.min()) - 1.0, float(found.max()) - 1.0)


@functools.lru_cache(maxsize=8)
def _ratios(
    bore: Bore, layers: tuple[Layer, ...], resistance: float, around: float | None
) -> NDArray[np.float64]:
    uniform = mean(layers, top=bore.buried_depth, bottom=bore.buried_depth + bore.depth)
    alike = [
        Layer(thickness=each.thickness, conductivity=uniform[0], volumetric_heat_capacity=uniform[1])
        for each in layers
    ]
    counted = TIMES >= DAY * (1.0 - 1e-9)
    drops = [_drops(bore, each, resistance, around)[counted] for each in (layers, alike)]
    return drops[0] / drops[1]


def _drops(
    bore: Bore, layers: Sequence[Layer], resistance: float, around: float | None
) -> NDArray[np.float64]:
    """Return the drop of the fluid at `TIMES` for 1 W per metre of bore [m K/W]."""
    import scipy.sparse
    from scipy.sparse.linalg import splu

    radius, top, bottom = 0.5 * bore.diameter, bore.buried_depth, bore.buried_depth + bore.depth
    reach = 5.0 * sqrt(max(each.conductivity / each.volumetric_heat_capacity for each in layers) * TIMES[-1])
    r = radius + _growing(0.3 * radius, (reach if around is None else around) - radius)
    bounds = np.concatenate([[0.0], np.cumsum([each.thickness for each in layers])[:-1]])
    z = _depths(sorted({0.0, top, bottom, *(each for each in bounds if each < bottom)}), reach)
    middle_r, middle_z, dz = 0.5 * (r[1:] + r[:-1]), 0.5 * (z[1:] + z[:-1]), np.diff(z)
    which = np.searchsorted(bounds, middle_z) - 1
    k = np.array([each.conductivity for each in layers])[which]
    c = np.array([each.volumetric_heat_capacity for each in layers])[which]

    rings, cells = pi * np.diff(r**2), len(middle_z) * len(middle_r)
    number = np.arange(cells).reshape(len(middle_z), len(middle_r))
    beside = np.outer(2.0 * pi * k * dz, 1.0 / np.log(middle_r[1:] / middle_r[:-1]))
    half = 0.5 * dz / k
    below = np.outer(1.0 / (half[1:] + half[:-1]), rings)
    along = (middle_z > top) & (middle_z < bottom)
    to_fluid = dz[along] / (resistance + np.log(middle_r[0] / radius) / (2.0 * pi * k[along]))
    ends = [
        (number[:, :-1], number[:, 1:], beside),
        (number[:-1], number[1:], below),
        (number[along, 0], np.full(along.sum(), cells), to_fluid),
    ]
    one, other, conductance = (np.concatenate([each[i].ravel() for each in ends]) for i in range(3))
    joined = scipy.sparse.coo_matrix((conductance, (one, other)), shape=(cells + 1, cells + 1))
    joined = (joined + joined.T).tocsc()
    own = np.asarray(joined.sum(axis=1)).ravel()
    own[number[0]] += rings / half[0]  # to the surface
    capacity = np.append(np.outer(c * dz, rings).ravel(), 0.0)
    heat = np.append(np.zeros(cells), bore.depth)
    temperature, drops, before = np.zeros(cells + 1), [], 0.0
    for time in TIMES:
        rate = capacity / (time - before)
        matrix = (scipy.sparse.diags(own + rate) - joined).tocsc()
        temperature = splu(matrix).solve(heat + rate * temperature)
        drops.append(temperature[-1])
        before = time
    return np.array(drops)


def _growing(first: float, length: float) -> NDArray[np.float64]:
    """Return distances from 0 to a length, each step longer than the one before."""
    count = max(2, int(np.ceil(np.log1p(length / first * (STRETCH - 1.0)) / np.log(STRETCH))))
    steps = np.cumsum(STRETCH ** np.arange(count))
    return np.concatenate([[0.0], length * steps / steps[-1]])


def _depths(bounds: Sequence[float], reach: float) -> NDArray[np.float64]:
    """Return the depths of the edges of cells, finest at each bound, from the first to far below the last."""
    found = [np.array(bounds[:1])]
    for upper, lower in pairwise(bounds):
        half = _growing(min(0.5, 0.2 * (lower - upper)), 0.5 * (lower - upper))
        found += [upper + half[1:], lower - half[-2::-1]]
    found.append(bounds[-1] + _growing(0.5, reach)[1:])
    return np.concatenate(found)
