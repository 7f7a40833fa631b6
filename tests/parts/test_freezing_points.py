"""Freezing points of the antifreezes over their whole range."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

NAMES = ("propylene glycol", "ethylene glycol", "methanol", "ethanol")


@pytest.mark.parametrize("name", NAMES)
def test_more_antifreeze_always_freezes_lower(name: str) -> None:
    fractions = np.linspace(0.001, 0.6, 1200)
    points = np.array([ld.Fluid(name, mass_fraction=float(each)).freezing_point for each in fractions])
    falls = -np.diff(points)
    assert falls.min() > 0.0
    # No step: nowhere steeper than 3 K for a hundredth.
    assert falls.max() < 300.0 * (fractions[1] - fractions[0])


# ASHRAE Handbook: Fundamentals, freezing points of aqueous propylene glycol by mass; from memory.
TABLE = {0.05: -1.6, 0.15: -5.1, 0.25: -9.6, 0.35: -16.4, 0.45: -26.7, 0.55: -41.6, 0.60: -51.1}


@pytest.mark.parametrize("fraction", TABLE)
def test_propylene_glycol_freezes_as_published(fraction: float) -> None:
    point = ld.Fluid("propylene glycol", mass_fraction=fraction).freezing_point
    assert_allclose(point, TABLE[fraction], atol=1.2)
