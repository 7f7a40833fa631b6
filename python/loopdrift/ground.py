"""What is known of the ground."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.part import Number, Part


@dataclass(frozen=True, kw_only=True)
class Ground(Part):
    """Homogeneous ground.

    Parameters
    ----------
    conductivity : float or str
        Thermal conductivity [W/(m K)].
    volumetric_heat_capacity : float or str
        Heat capacity per volume [J/(m3 K)].
    temperature : float or str
        Undisturbed temperature below the reach of the seasons, carried up to the surface along the gradient [degC].
    gradient : float or str, default 0
        Rise of the undisturbed temperature with depth [K/m].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.

    Examples
    --------
    >>> Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature="51 degF").temperature
    10.555555555555543
    """

    conductivity: Number = Number()
    volumetric_heat_capacity: Number = Number()
    temperature: Number = Number()
    gradient: Number = Number(default=0.0)
