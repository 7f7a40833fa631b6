"""The aquifer that a well taps, and the quality of its water."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.numbers import Range, number_within, require_within
from loopdrift.basics.part import Number, Part, require
from loopdrift.basics.series import instants
from loopdrift.basics.words import Shown

_CONCENTRATION = Range(least=0.0)


@dataclass(frozen=True, kw_only=True)
class Aquifer(Part):
    """A homogeneous confined aquifer.

    Parameters
    ----------
    temperature : float or str
        Temperature of its water [degC].
    thickness : float or str
        Thickness [m].
    transmissivity : float or str
        Hydraulic conductivity x thickness [m2/s].
    storativity : float or str
        Volume of water released per square metre and metre of fall of the level [-].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.

    Examples
    --------
    >>> aquifer = Aquifer(temperature=11.0, thickness=15.0, transmissivity=2e-3, storativity=2e-4)
    >>> aquifer.drawdown("2 L/s", distance=0.15, times=[3600, 86400]).round(3)
    array([1.201, 1.454])
    """

    temperature: Number = Number()
    thickness: Number = Number()
    transmissivity: Number = Number()
    storativity: Number = Number()

    def drawdown(self, flow: float | str, *, distance: float | str, times: ArrayLike) -> NDArray[np.float64]:
        """Return the drawdown near a pumped well.

        Parameters
        ----------
        flow : float or str
            Flow of the well [kg/s], or a volume flow as text.
        distance : float or str
            Distance from the well's axis [m].
        times : array_like
            Time since pumping began, any shape, above 0 [s].

        Returns
        -------
        ndarray
            Drawdown, the shape of `times` [m].

        Raises
        ------
        InvalidInput
            If a value isn't a number in its unit, or isn't above 0.

        References
        ----------
        Theis, C. V. (1935). The relation between the lowering of the piezometric surface and the rate and
        duration of discharge of a well using ground-water storage. Trans. Am. Geophys. Union 16, 519-524.
        """
        pumped = mass_flow_of_water(flow, owner="Aquifer", field="flow")
        metres = number_within(distance, "m", owner="Aquifer", field="distance", above=0.0)
        at = instants(times, owner="Aquifer")
        require_within(float(at.min(initial=1.0)), "s", owner="Aquifer", field="times", above=0.0)
        per_flow = _core.well_drawdown(self.for_engine(), metres, at.ravel())
        return (pumped / units.WATER_DENSITY * per_flow).reshape(at.shape)


@dataclass(frozen=True, kw_only=True)
class WaterLimit(Shown):
    """Concentration of one substance in the water, and the limit set by the plant's manufacturer.

    Parameters
    ----------
    substance : str
        Its name, such as ``"iron"``.
    measured : float
        Measured concentration.
    limit : float
        Highest concentration allowed.
    unit : str
        Unit of both, such as ``"mg/L"``.

    Raises
    ------
    InvalidInput
        If a value isn't a number of 0 or more.
    """

    substance: str
    measured: Annotated[float, _CONCENTRATION]
    limit: Annotated[float, _CONCENTRATION]
    unit: str

    def __post_init__(self) -> None:
        require(self.substance, str, owner="WaterLimit", field="substance")
        require(self.unit, str, owner="WaterLimit", field="unit")
        for name in ("measured", "limit"):
            value = _CONCENTRATION.of(getattr(self, name), owner="WaterLimit", field=name)
            object.__setattr__(self, name, value)

    @property
    def holds(self) -> bool:
        """Whether the measured concentration is within the limit."""
        return self.measured <= self.limit

    def __str__(self) -> str:
        return f"{self.substance} {self.measured:g} of {self.limit:g} {self.unit}"


def mass_flow_of_water(value: float | str, *, owner: str, field: str) -> float:
    """Return a flow of groundwater [kg/s].

    Parameters
    ----------
    value : float or str
        The flow: a number [kg/s], or text with a unit of mass or volume flow.
    owner, field : str
        What it belongs to, for the message.

    Raises
    ------
    InvalidInput
        If it is not a flow.
    """
    return units.mass_flow(value, lambda: units.WATER_DENSITY, owner=owner, field=field)
