"""Soils by class and moisture, for a first design; for a real site, measure the ground."""

from __future__ import annotations

from typing import NamedTuple


class Soil(NamedTuple):
    """Thermal properties of a class of soil.

    Parameters
    ----------
    moisture : str
        Moisture, in words.
    conductivity : float
        Thermal conductivity recommended by the table [W/(m K)].
    conductivity_range : tuple of float
        Least and greatest thermal conductivity [W/(m K)].
    volumetric_heat_capacity : float
        Middle of the range of the volumetric heat capacity [J/(m3 K)].
    """

    moisture: str
    conductivity: float
    conductivity_range: tuple[float, float]
    volumetric_heat_capacity: float


SOILS = {
    "dry clay": Soil("dry", 0.5, (0.4, 1.0), 1.55e6),
    "wet clay": Soil("saturated", 1.8, (1.1, 3.1), 2.4e6),
    "dry sand": Soil("dry", 0.4, (0.3, 0.9), 1.45e6),
    "moist sand": Soil("moist", 1.4, (1.0, 1.9), 1.9e6),
    "wet sand": Soil("saturated", 2.4, (2.0, 3.0), 2.5e6),
    "dry gravel": Soil("dry", 0.4, (0.4, 0.9), 1.45e6),
    "wet gravel": Soil("saturated", 1.8, (1.6, 2.5), 2.4e6),
    "loam": Soil("moist", 2.4, (1.1, 2.9), 2.0e6),
    "peat": Soil("moist", 0.4, (0.2, 0.7), 2.15e6),
}
"""VDI 4640 part 1 (2010), Thermal use of the underground, table 1; from memory, checked against the
composition of soils in tests/reference/test_second_sources_soils.py."""
