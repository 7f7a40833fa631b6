"""Antifreeze and water for a volume of mixture."""

from __future__ import annotations

from typing import NamedTuple

from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.fluid.sources import by_name

MIXING_TEMPERATURE = 20.0
"""Temperature at which volumes are measured [degC]."""

_WATER_DENSITY = 998.2  # kg/m3 at 20 degC


class Dose(NamedTuple):
    """Volumes at 20 degC that make up a volume of mixture; together they are a little more than it.

    Parameters
    ----------
    antifreeze : float
        Pure antifreeze [m3].
    water : float
        Water [m3].
    """

    antifreeze: float
    water: float


def dose(fluid: Fluid, volume: float) -> Dose | None:
    """Return the pure antifreeze and the water for a volume of mixture at 20 degC.

    The masses follow from density and mass fraction of the mixture, so that its contraction is included.

    Parameters
    ----------
    fluid : Fluid
        The mixture.
    volume : float
        Its volume [m3].

    Returns
    -------
    Dose or None
        None for water, and for a fluid whose antifreeze is unknown.

    Examples
    --------
    >>> found = dose(Fluid("propylene glycol", mass_fraction=0.3), 0.5)
    >>> round(found.antifreeze, 4), round(found.water, 4)
    (0.1482, 0.359)
    """
    pure = pure_density(fluid)
    if pure is None:
        return None
    mass = volume * fluid.density_at(MIXING_TEMPERATURE)
    share = fluid.mass_fraction
    return Dose(share * mass / pure, (1.0 - share) * mass / _WATER_DENSITY)


def pure_density(fluid: Fluid) -> float | None:
    """Return the density of a mixture's antifreeze at 20 degC [kg/m3]; None if unknown, or without one.

    Parameters
    ----------
    fluid : Fluid
        The mixture.
    """
    return None if fluid.mass_fraction == 0.0 else by_name(fluid.name).pure_density
