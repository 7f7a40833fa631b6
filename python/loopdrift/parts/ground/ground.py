"""Properties of the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import Checked, Number, Part, Several, require
from loopdrift.basics.series import instants
from loopdrift.parts.constructors import register
from loopdrift.parts.ground.layers import Layer, mean
from loopdrift.parts.ground.soils import SOILS
from loopdrift.parts.ground.warming import Warming, optional_warming

DEEPEST = 10e3
"""Greatest depth of layers [m]."""


@dataclass(frozen=True, kw_only=True)
class Ground(Part):
    """Homogeneous ground, in which water may flow.

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
    darcy_flux : float or str, default 0
        Darcy flux of the groundwater: volume per time and area of the ground, the same at all depths [m/s].
        For vertical bores only.
    flow_direction : float or str, default 0
        Direction towards which the groundwater flows, clockwise from north (y) [deg].
    layers : sequence of Layer, optional
        Layers from the surface down, whose means are the properties; see `layered`. They change no result,
        but the assumptions state how far results in the layers can differ.
    warming : Warming, optional
        Change of the undisturbed temperature during a run, which begins at `temperature`. For bores and
        trenches only.

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
    darcy_flux: Number = Number(default=0.0)
    flow_direction: Number = Number(default=0.0)
    layers: Several[Layer] = Several(Layer)
    warming: Checked[Warming | None] = Checked(optional_warming, None)

    not_in_engine = frozenset({"layers"})

    @classmethod
    def layered(
        cls,
        layers: Sequence[Layer],
        *,
        top: float | str,
        bottom: float | str,
        temperature: float | str,
        gradient: float | str = 0.0,
        darcy_flux: float | str = 0.0,
        flow_direction: float | str = 0.0,
        warming: Warming | None = None,
    ) -> Self:
        """Return ground with the mean properties of its layers along vertical bores.

        Parameters
        ----------
        layers : sequence of Layer
            The layers from the surface down; the last one continues below its thickness.
        top, bottom : float or str
            Depths of the upper and lower ends of the bores, between which the means are taken [m].
        temperature : float or str
            Undisturbed temperature below the seasonal zone [degC].
        gradient : float or str, default 0
            Geothermal gradient: rise of the undisturbed temperature with depth [K/m].
        darcy_flux : float or str, default 0
            Darcy flux of the groundwater, the same in all layers [m/s].
        flow_direction : float or str, default 0
            Direction towards which it flows, clockwise from north [deg].
        warming : Warming, optional
            Change of the undisturbed temperature during a run.

        Returns
        -------
        Ground
            The ground. `Design.size` takes the means again along the bores of each size. Everything else,
            studies too, keeps them; `check` points out a design whose bores reach other depths.

        Raises
        ------
        InvalidInput
            If there is no layer, or a value is outside its range.

        Examples
        --------
        >>> clay = Layer(thickness=20.0, conductivity=1.2, volumetric_heat_capacity=2.4e6)
        >>> rock = Layer(thickness=100.0, conductivity=3.2, volumetric_heat_capacity=2.2e6)
        >>> ground = Ground.layered([clay, rock], top=0.0, bottom=80.0, temperature=10.0)
        >>> round(ground.conductivity, 3)
        2.7
        """
        ends = {
            name: number_within(value, "m", owner="Ground", field=name, least=0.0, most=DEEPEST)
            for name, value in {"top": top, "bottom": bottom}.items()
        }
        if ends["bottom"] <= ends["top"]:
            allowed = f"must be below the top, {ends['top']:g} m"
            raise InvalidInput("Ground", "bottom", ends["bottom"], "m", allowed)
        checked = _layers(layers)
        conductivity, volumetric_heat_capacity = mean(checked, **ends)
        return cls(
            conductivity=conductivity,
            volumetric_heat_capacity=volumetric_heat_capacity,
            temperature=temperature,
            gradient=gradient,
            darcy_flux=darcy_flux,
            flow_direction=flow_direction,
            layers=checked,
            warming=warming,
        )

    @classmethod
    def of_soil(
        cls,
        soil: str,
        *,
        temperature: float | str,
        gradient: float | str = 0.0,
        darcy_flux: float | str = 0.0,
        flow_direction: float | str = 0.0,
        warming: Warming | None = None,
    ) -> Self:
        """Return ground of one of the soil classes in `soils.SOILS`.

        Parameters
        ----------
        soil : str
            Its name, such as ``"moist sand"``.
        temperature : float or str
            Undisturbed temperature below the seasonal zone [degC].
        gradient : float or str, default 0
            Geothermal gradient: rise of the undisturbed temperature with depth [K/m].
        darcy_flux : float or str, default 0
            Darcy flux of the groundwater [m/s].
        flow_direction : float or str, default 0
            Direction towards which it flows, clockwise from north [deg].
        warming : Warming, optional
            Change of the undisturbed temperature during a run.

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
            darcy_flux=darcy_flux,
            flow_direction=flow_direction,
            warming=warming,
        )

    @property
    def thermal_velocity(self) -> NDArray[np.float64]:
        """Velocity at which groundwater carries heat along, to the east and to the north [m/s].

        The Darcy flux times the ratio of the heat capacities per volume of water and ground.
        """
        return np.array(_core.thermal_velocity(self.for_engine()))

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


def _layers(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """Return layers as a tuple.

    Raises
    ------
    InvalidInput
        If there is none, or one is something else.
    """
    require(layers, Sequence, owner="Ground", field="layers")
    for each in layers:
        require(each, Layer, owner="Ground", field="layers")
    if not layers:
        raise InvalidInput("Ground", "layers", "[]", "", "must hold at least one layer")
    return tuple(layers)


register(Ground, {"properties": Ground, "soil": Ground.of_soil, "layers": Ground.layered})
