"""The fluid in the loop: water and antifreeze mixtures over temperature."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import Number, Part, quantities
from loopdrift.basics.series import array
from loopdrift.parts.constructors import register
from loopdrift.parts.fluid.sources import by_name

if TYPE_CHECKING:
    import pandas as pd

TEMPERATURE_STEP = 0.125
"""Step of the tables [K]; linear interpolation is then within a relative 1e-4 of the source."""


def _constant(name: str) -> Range:
    """Return the range of a property of a fluid with constant properties."""
    return Range(*quantities("ConstantFluid")[name])


class _Table(NamedTuple):
    """Properties at evenly spaced temperatures, SI, each of shape (n,)."""

    freezing_point: float
    temperatures: NDArray[np.float64]
    density: NDArray[np.float64]
    heat_capacity: NDArray[np.float64]
    conductivity: NDArray[np.float64]
    viscosity: NDArray[np.float64]


@dataclass(frozen=True)
class Fluid(Part):
    """Water, or a mixture of water and an antifreeze.

    The properties are tabulated from just above the freezing point to 60 degC (40 degC for alcohols). Outside
    the table the engine uses the values at its nearest end.

    Published freezing points agree within 0.5 K up to a mass fraction of 0.3; at 0.5 they differ by up to 2.2
    K, which the margin of `Limits` has to cover. Freezing points of glycols from 10 to 60 % by volume are
    from ASHRAE [3]_, all others from Melinder [1]_; within 8 % by volume of these ends they are blended
    without a step.

    Parameters
    ----------
    name : str
        The antifreeze, or water alone: ``water``, ``propylene glycol``, ``ethylene glycol``, ``methanol``,
        ``ethanol``, or any other that has a file in the package's ``parts/fluid/fluids``.
    mass_fraction : float or str, default 0
        Mass of the antifreeze per mass of the mixture [-].

    Raises
    ------
    InvalidInput
        If the fluid is unknown, or the mass fraction is outside the source's range.

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
        source = by_name(self.name)
        fraction = units.to_si(self.mass_fraction, "", owner="Fluid", field="mass_fraction")
        if source.most == 0.0 and fraction != 0.0:
            raise InvalidInput("Fluid", "mass_fraction", fraction, "", f"must be 0 for {self.name}")
        if source.most > 0.0 and not 0.0 < fraction <= source.most:
            allowed = f"must be above 0 and at most {source.most:g} for {self.name}"
            raise InvalidInput("Fluid", "mass_fraction", fraction, "", allowed)
        object.__setattr__(self, "mass_fraction", fraction)

    @classmethod
    def constant(
        cls,
        *,
        density: Annotated[float | str, _constant("density")],
        heat_capacity: Annotated[float | str, _constant("heat_capacity")],
        conductivity: Annotated[float | str, _constant("conductivity")],
        viscosity: Annotated[float | str, _constant("viscosity")],
        freezing_point: Annotated[float | str, _constant("freezing_point")],
    ) -> ConstantFluid:
        """Return a fluid with constant properties.

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
        """Source of the properties."""
        return by_name(self.name).text

    @property
    def basis(self) -> str:
        """Basis of the fraction."""
        return "by mass"

    @property
    def _table(self) -> _Table:
        return _tabulate(self.name, self.mass_fraction)

    @property
    def temperature_range(self) -> tuple[float, float]:
        """First and last temperature of the table of properties [degC]."""
        return float(self._table.temperatures[0]), float(self._table.temperatures[-1])

    def properties(self, temperatures: ArrayLike) -> pd.DataFrame:
        """Return the properties as the engine uses them, one row per temperature.

        Parameters
        ----------
        temperatures : array_like
            Temperatures within the table, shape (n,) [degC].

        Returns
        -------
        pandas.DataFrame
            Density, heat capacity, conductivity and viscosity by temperature.

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
        """Return the density at a temperature [kg/m3]; outside the table, that at its nearest end.

        Parameters
        ----------
        temperature : float
            Temperature [degC].
        """
        return float(np.interp(temperature, self._table.temperatures, self._table.density))

    def heat_capacity_at(self, temperature: float) -> float:
        """Return the heat capacity at a temperature [J/(kg K)]; outside the table, that at its nearest end.

        Parameters
        ----------
        temperature : float
            Temperature [degC].
        """
        return float(np.interp(temperature, self._table.temperatures, self._table.heat_capacity))

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
            if self.mass_fraction == 0.0
            else f"{self.name} {100.0 * self.mass_fraction:g} % {self.basis}"
        )


@dataclass(frozen=True, kw_only=True)
class ConstantFluid(Fluid):
    """A fluid with constant properties; made by `Fluid.constant`.

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
    """

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
        """Source of the properties."""
        return "given as constants"

    @property
    def basis(self) -> str:
        """Basis of the fraction; empty, as there is none."""
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


register(Fluid, {"tabulated": Fluid, "constant": Fluid.constant})
register(ConstantFluid, {"constant": ConstantFluid})


@functools.cache
def _tabulate(name: str, mass_fraction: float) -> _Table:
    source = by_name(name)
    freezing_point, coldest = _freezing_points(name, mass_fraction)
    first = np.ceil(coldest / TEMPERATURE_STEP) * TEMPERATURE_STEP
    temperatures = np.arange(first, source.warmest + TEMPERATURE_STEP / 2, TEMPERATURE_STEP)
    density, heat_capacity, conductivity, log_viscosity = (
        _property(name, quantity, mass_fraction, temperatures)
        for quantity in ("density", "heat_capacity", "conductivity", "log_viscosity")
    )
    viscosity = np.exp(log_viscosity)
    return _Table(freezing_point, temperatures, density, heat_capacity, conductivity, viscosity)


def _freezing_points(name: str, mass_fraction: float) -> tuple[float, float]:
    """Return the freezing point, and the lowest temperature at which the properties are known [degC].

    Within its range the freezing point is from ASHRAE, which the trade uses; near either end of that range it
    is blended linearly into Melinder's, so that there is no step.
    """
    source = by_name(name)
    curves, table = source.curves, source.freezing
    point = source_point = float(_series(curves["freezing_point"], mass_fraction, curves["fractions"]))
    if table is not None and source.pure_density is not None:
        density = float(_property(name, "density", mass_fraction, np.array(20.0)))
        by_volume = mass_fraction * density / source.pure_density
        if table.least <= by_volume <= table.most:
            between = table.least, table.most
            from_table = float(_series(curves["freezing_point_by_volume"], by_volume, between))
            inside = min(by_volume - table.least, table.most - by_volume) / table.joined
            share = min(inside, 1.0)
            point = share * from_table + (1.0 - share) * source_point
    return point, max(point, source_point)


def _property(
    name: str, quantity: str, mass_fraction: float, temperatures: NDArray[np.float64]
) -> NDArray[np.float64]:
    curves = by_name(name).curves
    over_temperature = _series(curves[quantity], mass_fraction, curves["fractions"])
    return _series(over_temperature, temperatures, curves["temperatures"])


def _series(coefficients: ArrayLike, values: ArrayLike, between: Sequence[float]) -> NDArray[np.float64]:
    """Return a Chebyshev series at values between two ends, or one series per column of coefficients."""
    least, most = between
    scaled = (2.0 * np.asarray(values) - least - most) / (most - least)
    return np.asarray(np.polynomial.chebyshev.chebval(scaled, np.asarray(coefficients)))
