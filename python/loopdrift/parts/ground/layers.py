"""Layers of the ground and their mean properties."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from loopdrift.basics.part import FacePart, Figure


@dataclass(frozen=True, kw_only=True)
class Layer(FacePart):
    """A layer of the ground.

    Parameters
    ----------
    thickness : float or str
        Its thickness [m].
    conductivity : float or str
        Thermal conductivity [W/(m K)].
    volumetric_heat_capacity : float or str
        Volumetric heat capacity [J/(m3 K)].

    Raises
    ------
    InvalidInput
        If a number is outside its range.

    Examples
    --------
    >>> Layer(thickness="40 ft", conductivity=1.2, volumetric_heat_capacity=2.4e6).thickness
    12.192
    """

    thickness: Figure = Figure("m", least=0.01, most=10e3)
    conductivity: Figure = Figure("W/(m K)", least=0.1, most=20.0)
    volumetric_heat_capacity: Figure = Figure("J/(m3 K)", least=2e5, most=1e7)


def mean(layers: Sequence[Layer], *, top: ArrayLike, bottom: ArrayLike) -> tuple[float, float]:
    """Return the mean properties along vertical lines.

    Parameters
    ----------
    layers : sequence of Layer
        The layers from the surface down; the last one has no lower end.
    top, bottom : array_like
        Depths of the ends of one line or of several, shape () or (lines,) [m].

    Returns
    -------
    tuple of float
        Thermal conductivity [W/(m K)] and volumetric heat capacity [J/(m3 K)].
    """
    upper = np.concatenate([[0.0], np.cumsum([each.thickness for each in layers])[:-1]])
    lower = np.append(upper[1:], np.inf)
    tops, bottoms = (np.atleast_1d(np.asarray(ends, dtype=np.float64))[:, None] for ends in (top, bottom))
    within = np.clip(np.minimum(lower, bottoms) - np.maximum(upper, tops), 0.0, None).sum(axis=0)
    shares = within / within.sum()
    return (
        float(shares @ [each.conductivity for each in layers]),
        float(shares @ [each.volumetric_heat_capacity for each in layers]),
    )
