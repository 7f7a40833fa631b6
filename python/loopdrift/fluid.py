"""The fluid in the loop: water and antifreeze mixtures over temperature."""

from __future__ import annotations

import difflib
import functools
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core, units
from loopdrift.errors import InvalidInput
from loopdrift.part import Number, Part
from loopdrift.series import array

if TYPE_CHECKING:
    import pandas as pd

TEMPERATURE_STEP = 0.125
"""Step of the tables [K]: straight lines between rows then miss the source by less than 1e-4 of the value."""

_PRESSURE = 3e5  # Pa, common in a loop; the properties of a liquid hardly know it
_FREEZING_POINT_OF_WATER = 0.0  # degC


class _Source(NamedTuple):
    """Where the properties of a fluid come from, and how far they reach."""

    backend: str
    fluid: str
    warmest: float  # degC
    most: float  # greatest mass fraction
    text: str
    freezing: _FreezingTable | None = None


class _FreezingTable(NamedTuple):
    """A table of freezing points by volume of antifreeze per volume of mixture, at 20 degC."""

    fluid: str
    antifreeze_density: float  # kg/m3, CRC Handbook, from memory
    least: float = 0.1  # reach of the volume fraction
    most: float = 0.6


def _melinder(fluid: str, warmest: float, freezing: _FreezingTable | None = None) -> _Source:
    text = "Melinder 2010, Properties of secondary working fluids for indirect systems, by CoolProp"
    if freezing is not None:
        text += "; freezing point from 10 to 60 % by volume: ASHRAE Handbook Fundamentals 2001, by CoolProp"
    return _Source("INCOMP", fluid, warmest, 0.6, text, freezing)


_SOURCES = {
    "water": _Source("HEOS", "Water", 60.0, 0.0, "Wagner & Pruss 2002 (IAPWS-95), by CoolProp"),
    "propylene glycol": _melinder("MPG", 60.0, _FreezingTable("APG", 1036.0)),
    "ethylene glycol": _melinder("MEG", 60.0, _FreezingTable("AEG", 1113.5)),
    "methanol": _melinder("MMA", 40.0),
    "ethanol": _melinder("MEA", 40.0),
}


class _Table(NamedTuple):
    """Properties over evenly spaced temperatures, SI."""

    freezing_point: float
    temperatures: NDArray[np.float64]
    density: NDArray[np.float64]
    heat_capacity: NDArray[np.float64]
    conductivity: NDArray[np.float64]
    viscosity: NDArray[np.float64]


@dataclass(frozen=True)
class Fluid(Part):
    """Water, or a mixture of water and an antifreeze.

    The properties stand in a table from just above the freezing point up to 60 degC (40 degC for alcohols).
    Beyond the table the engine uses those of its nearest end.

    Published freezing points agree within 0.5 K up to a mass fraction of 0.3; at 0.5 they differ by up to
    2.2 K, which the margin of `Limits` has to cover. Those of glycols from 10 to 60 % by volume are ASHRAE's
    [3]_, the others Melinder's.

    Parameters
    ----------
    name : {"water", "propylene glycol", "ethylene glycol", "methanol", "ethanol"}
        The antifreeze, or water alone.
    mass_fraction : float or str, default 0
        Mass of the antifreeze per mass of the mixture [-].

    Raises
    ------
    InvalidInput
        If the fluid is unknown, or the mass fraction is beyond the source's range.

    Examples
    --------
    >>> Fluid("propylene glycol", mass_fraction="20 percent")
    Fluid(name='propylene glycol', mass_fraction=0.2)

    References
    ----------
    .. [1] Melinder, A. (2010). Properties of secondary working fluids for indirect systems. International
       Institute of Refrigeration.
    .. [2] Wagner, W., & Pruss, A. (2002). The IAPWS formulation 1995 for the thermodynamic properties of
       ordinary water substance. Journal of Physical and Chemical Reference Data 31, 387-535.
    .. [3] ASHRAE (2001). Handbook: Fundamentals, physical properties of secondary coolants.
    """

    name: str
    mass_fraction: float = field(default=0.0, kw_only=True)

    def __post_init__(self) -> None:
        source = _source(self.name)
        fraction = units.to_si(self.mass_fraction, "", owner="Fluid", field="mass_fraction")
        if self.name == "water" and fraction != 0.0:
            raise InvalidInput("Fluid", "mass_fraction", fraction, "", "must be 0 for water")
        if self.name != "water" and not 0.0 < fraction <= source.most:
            allowed = f"must be above 0 and at most {source.most:g} for {self.name}"
            raise InvalidInput("Fluid", "mass_fraction", fraction, "", allowed)
        object.__setattr__(self, "mass_fraction", fraction)

    @classmethod
    def constant(
        cls,
        *,
        density: float | str,
        heat_capacity: float | str,
        conductivity: float | str,
        viscosity: float | str,
        freezing_point: float | str,
    ) -> ConstantFluid:
        """Return a fluid whose properties are the same at every temperature.

        Parameters
        ----------
        density : float or str
            Density [kg/m3].
        heat_capacity : float or str
            Heat capacity per mass [J/(kg K)].
        conductivity : float or str
            Thermal conductivity [W/(m K)].
        viscosity : float or str
            Dynamic viscosity [Pa s].
        freezing_point : float or str
            Temperature at which ice begins to form [degC].

        Raises
        ------
        InvalidInput
            If a value is outside the range that the engine accepts.
        """
        return ConstantFluid(
            density=density,
            heat_capacity=heat_capacity,
            conductivity=conductivity,
            viscosity=viscosity,
            freezing_point=freezing_point,
        )

    @property
    def freezing_point(self) -> float:
        """Temperature at which ice begins to form [degC]."""
        return self._table.freezing_point

    @property
    def source(self) -> str:
        """Where the properties come from."""
        return _source(self.name).text

    @property
    def basis(self) -> str:
        """What the fraction is a fraction of."""
        return "by mass"

    @property
    def _table(self) -> _Table:
        return _tabulate(self.name, self.mass_fraction)

    @property
    def temperature_range(self) -> tuple[float, float]:
        """First and last temperature of the table of properties [degC]."""
        return float(self._table.temperatures[0]), float(self._table.temperatures[-1])

    def properties(self, temperatures: ArrayLike) -> pd.DataFrame:
        """Return the properties as the engine reads them, one row a temperature.

        Parameters
        ----------
        temperatures : array_like
            Temperatures within the table [degC].

        Returns
        -------
        pandas.DataFrame
            Density, heat capacity, conductivity and viscosity over the temperature.

        Raises
        ------
        InvalidInput
            If a temperature is outside the table.
        """
        import pandas as pd

        table = self._table
        at = np.atleast_1d(array(temperatures, "degC", owner="Fluid", field="temperatures"))
        first, last = self.temperature_range
        outside = at[~((at >= first) & (at <= last))]
        if outside.size:
            raise InvalidInput(
                "Fluid", "temperatures", outside[0], "degC", f"must be from {first:g} to {last:g} degC"
            )

        def read(column: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.interp(at, table.temperatures, column)

        return pd.DataFrame(
            {
                "density_kg_per_m3": read(table.density),
                "heat_capacity_J_per_kgK": read(table.heat_capacity),
                "conductivity_W_per_mK": read(table.conductivity),
                "viscosity_Pa_s": read(table.viscosity),
            },
            index=pd.Index(at, name="temperature_degC"),
        )

    def density_at(self, temperature: float) -> float:
        """Return the density at a temperature [kg/m3]; beyond the table that of its nearest end.

        Parameters
        ----------
        temperature : float
            Temperature [degC].
        """
        return float(np.interp(temperature, self._table.temperatures, self._table.density))

    def for_engine(self) -> dict[str, Any]:
        """Return the table as the engine reads it."""
        table = self._table
        return {
            "name": str(self),
            "freezing_point": table.freezing_point,
            "first_temperature": float(table.temperatures[0]),
            "temperature_step": TEMPERATURE_STEP,
            "density": table.density.tolist(),
            "heat_capacity": table.heat_capacity.tolist(),
            "conductivity": table.conductivity.tolist(),
            "viscosity": table.viscosity.tolist(),
        }

    def __str__(self) -> str:
        return (
            self.name
            if self.name == "water"
            else f"{self.name} {100.0 * self.mass_fraction:g} % {self.basis}"
        )


@dataclass(frozen=True, kw_only=True)
class ConstantFluid(Fluid):
    """A fluid whose properties are the same at every temperature; made by `Fluid.constant`."""

    name: str = field(default="constant", init=False, repr=False)
    mass_fraction: float = field(default=0.0, init=False, repr=False)
    density: Number = Number()
    heat_capacity: Number = Number()
    conductivity: Number = Number()
    viscosity: Number = Number()
    freezing_point: Number = Number()

    def __post_init__(self) -> None:
        _core.validate("Fluid", self.for_engine())

    @property
    def source(self) -> str:
        """Where the properties come from."""
        return "given as constants"

    @property
    def basis(self) -> str:
        """What the fraction is a fraction of: there is none."""
        return ""

    @property
    def _table(self) -> _Table:
        properties = (self.density, self.heat_capacity, self.conductivity, self.viscosity)
        return _Table(self.freezing_point, np.zeros(1), *(np.array([value]) for value in properties))

    @property
    def temperature_range(self) -> tuple[float, float]:
        """All temperatures [degC]."""
        return -np.inf, np.inf

    def __str__(self) -> str:
        return "fluid of constant properties"


def _source(name: str) -> _Source:
    if not isinstance(name, str) or name not in _SOURCES:
        near = difflib.get_close_matches(str(name).lower(), _SOURCES, n=1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise InvalidInput("Fluid", "name", repr(name), "", f"must be one of {', '.join(_SOURCES)}{hint}")
    return _SOURCES[name]


@functools.cache
def _tabulate(name: str, mass_fraction: float) -> _Table:
    from CoolProp.constants import PT_INPUTS, iT_freeze
    from CoolProp.CoolProp import AbstractState

    source = _source(name)
    try:
        state = AbstractState(source.backend, source.fluid)
        if source.backend == "INCOMP":
            state.set_mass_fractions([mass_fraction])
            freezing_point = _freezing_point(source, state, mass_fraction)
            coldest = max(freezing_point, state.keyed_output(iT_freeze) - 273.15)
        else:
            freezing_point = coldest = _FREEZING_POINT_OF_WATER
        first = np.ceil(coldest / TEMPERATURE_STEP) * TEMPERATURE_STEP
        temperatures = np.arange(first, source.warmest + TEMPERATURE_STEP / 2, TEMPERATURE_STEP)
        rows = [_state(state, PT_INPUTS, temperature) for temperature in temperatures]
    except ValueError as error:
        raise InvalidInput(
            "Fluid", "mass_fraction", mass_fraction, "", f"has no properties of {name}: {error}"
        ) from error
    return _Table(freezing_point, temperatures, *np.array(rows).T)


def _freezing_point(source: _Source, state: Any, mass_fraction: float) -> float:
    """Return the freezing point [degC]: ASHRAE's, which the trade goes by, where it reaches."""
    from CoolProp.constants import PT_INPUTS, iT_freeze
    from CoolProp.CoolProp import AbstractState

    table = source.freezing
    if table is not None:
        state.update(PT_INPUTS, _PRESSURE, 293.15)
        by_volume = mass_fraction * state.rhomass() / table.antifreeze_density
        if table.least <= by_volume <= table.most:
            state = AbstractState("INCOMP", table.fluid)
            state.set_volu_fractions([by_volume])
    return float(state.keyed_output(iT_freeze)) - 273.15


def _state(state: Any, inputs: int, temperature: float) -> Sequence[float]:
    state.update(inputs, _PRESSURE, temperature + 273.15)
    return state.rhomass(), state.cpmass(), state.conductivity(), state.viscosity()
