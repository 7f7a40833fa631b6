"""The table of soils against what soil is made of.

Conductivity: Johansen (1975), Thermal conductivity of soils, as in Farouki (1981), CRREL Monograph 81-1; heat
capacity: minerals and water by volume (de Vries 1963). Both from memory; the table has measured ranges.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from loopdrift.parts.ground.soils import SOILS

# Porosity, share of quartz among the minerals, share of the pores with water, coarse or not: usual, from
# memory.
MADE_OF = {
    "dry clay": (0.45, 0.2, 0.0, False),
    "wet clay": (0.45, 0.2, 1.0, False),
    "dry sand": (0.40, 0.6, 0.0, True),
    "moist sand": (0.40, 0.6, 0.25, True),
    "wet sand": (0.38, 0.6, 1.0, True),
    "dry gravel": (0.35, 0.5, 0.0, True),
    "wet gravel": (0.32, 0.4, 1.0, True),
    "loam": (0.40, 0.5, 0.80, False),
}
WATER, MINERALS = 4.18e6, 2.1e6  # J/(m3 K)


def conductivity(porosity: float, quartz: float, saturation: float, coarse: bool) -> float:
    others = 3.0 if coarse and quartz < 0.2 else 2.0
    solids = 7.7**quartz * others ** (1.0 - quartz)
    saturated = solids ** (1.0 - porosity) * 0.57**porosity
    density = 2700.0 * (1.0 - porosity)
    dry = (0.135 * density + 64.7) / (2700.0 - 0.947 * density)
    if saturation == 0.0:
        return dry
    weight = (0.7 if coarse else 1.0) * np.log10(saturation) + 1.0
    return float(dry + (saturated - dry) * weight)


def heat_capacity(porosity: float, saturation: float) -> float:
    return (1.0 - porosity) * MINERALS + porosity * saturation * WATER


@pytest.mark.parametrize("name", [name for name in MADE_OF if not name.startswith("dry")])
def test_conductivity_is_of_the_size_that_its_parts_give(name):
    """Johansen's is within the table's range, or 30 % beyond; what the table recommends within a factor of
    1.6."""
    found, soil = conductivity(*MADE_OF[name]), SOILS[name]
    low, high = soil.conductivity_range
    assert low / 1.3 < found < 1.3 * high
    assert 1 / 1.6 < soil.conductivity / found < 1.6


@pytest.mark.parametrize("name", [name for name in MADE_OF if name.startswith("dry")])
def test_dry_soil_lies_between_oven_and_moist(name):
    """Dry ground still has some water: from none to a quarter of its pores."""
    porosity, quartz, _, coarse = MADE_OF[name]
    oven, moist = (conductivity(porosity, quartz, share, coarse) for share in (0.0, 0.25))
    assert oven < SOILS[name].conductivity < moist
    oven, moist = (heat_capacity(porosity, share) for share in (0.0, 0.25))
    assert oven < SOILS[name].volumetric_heat_capacity < moist


@pytest.mark.parametrize("name", [name for name in MADE_OF if not name.startswith("dry")])
def test_heat_capacity_is_that_of_minerals_and_water(name):
    """Within 25 %; a soil may be denser or wetter by as much."""
    porosity, _, saturation, _ = MADE_OF[name]
    assert_allclose(SOILS[name].volumetric_heat_capacity, heat_capacity(porosity, saturation), rtol=0.25)


def test_peat_is_half_way_between_air_and_water():
    """Nine tenths of it are pores (Farouki 1981); as moist as it lies, half to all of them with water."""
    solids = 0.1 * 2.5e6
    low, high = (solids + 0.9 * share * WATER for share in (0.4, 1.0))
    assert low < SOILS["peat"].volumetric_heat_capacity < high
    # Water itself is the most that wet peat has, air with fibres the least.
    assert 0.06 < SOILS["peat"].conductivity < 0.6


def test_conductivity_stands_in_its_own_range():
    for name, soil in SOILS.items():
        low, high = soil.conductivity_range
        assert low <= soil.conductivity <= high, name
