"""Properties of the ground."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, Part
from loopdrift.basics.series import instants
from loopdrift.parts.constructors import register
from loopdrift.parts.ground.soils import SOILS


@dataclass(frozen=True, kw_only=True)
class Ground(Part):
    """Homogeneous ground.

    Parameters
    ----------
    conductivity : float or str
        Thermal conductivity [W/(m K)].
    volumetric_heat_capacity : float or str
        Volumetric heat capacity [J/(m3 K)].
    temperature : float or str
        Undisturbed temperature below the seasonal zone, extrapolated to the surface along the gradient
        [degC].
    gradient : float or str, default 0
        Geothermal gradient: rise of the undisturbed temperature with depth [K/m].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.

    Examples
    --------
    >>> round(Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature="51 degF").temperature, 3)
    10.556
    """

    conductivity: Number = Number()
    volumetric_heat_capacity: Number = Number()
    temperature: Number = Number()
    gradient: Number = Number(default=0.0)

    @classmethod
    def of_soil(cls, soil: str, *, temperature: float | str, gradient: float | str = 0.0) -> Self:
        """Return ground of one of the soil classes in `soils.SOILS`.

        Parameters
        ----------
        soil : str
            Its name, such as ``"moist sand"``.
        temperature : float or str
            Undisturbed temperature below the seasonal zone [degC].
        gradient : float or str, default 0
            Geothermal gradient: rise of the undisturbed temperature with depth [K/m].

        Returns
        -------
        Ground
            Ground with the conductivity recommended by the table; real ground may differ by half.

        Raises
        ------
        InvalidInput
            If the soil is unknown; the message lists the known ones.

        Examples
        --------
        >>> Ground.of_soil("moist sand", temperature=10.0).conductivity
        1.4
        """
        if soil not in SOILS:
            raise InvalidInput("Ground", "soil", repr(soil), "", f"must be one of {', '.join(SOILS)}")
        found = SOILS[soil]
        return cls(
            conductivity=found.conductivity,
            volumetric_heat_capacity=found.volumetric_heat_capacity,
            temperature=temperature,
            gradient=gradient,
        )

    def line_source(
        self, times: ArrayLike, *, distance: float | str, depth: float | str, buried_depth: float | str
    ) -> NDArray[np.float64]:
        """Return the step response of the ground to one finite line source.

        It is the mean temperature drop along a parallel line over the same depths, times 2 pi k / (heat
        extracted per metre of the source), below a surface of constant temperature.

        Parameters
        ----------
        times : array_like
            Times since heat extraction began, any shape, 1 s to 10,000 years [s].
        distance : float or str
            Horizontal distance between the lines [m]; the bore radius for the bore's own wall.
        depth : float or str
            Length of both lines [m].
        buried_depth : float or str
            Depth of their upper ends below the surface [m].

        Returns
        -------
        ndarray
            Dimensionless response, the shape of `times`.

        Raises
        ------
        InvalidInput
            If a value is outside the range that the engine accepts.

        References
        ----------
        Claesson, J. & Javed, S. (2011). An analytical method to calculate borehole fluid temperatures for
        time-scales from minutes to decades. ASHRAE Transactions 117(2), 279-288, equations 9 to 11.

        Examples
        --------
        >>> ground = Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
        >>> ground.line_source([3600.0 * 8760.0], distance=0.075, depth=100.0, buried_depth=4.0).round(3)
        array([4.656])
        """
        at = instants(times, owner="line_source")
        numbers = {"distance": distance, "depth": depth, "buried_depth": buried_depth}
        si = {
            name: units.to_si(value, "m", owner="line_source", field=name) for name, value in numbers.items()
        }
        return _core.line_source(self.for_engine(), at.ravel(), **si).reshape(at.shape)


register(Ground, {"properties": Ground, "soil": Ground.of_soil})
