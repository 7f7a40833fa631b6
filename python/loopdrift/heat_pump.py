"""What the heat pump does at an entering fluid temperature."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Self

import numpy as np
import numpy.typing as npt

from loopdrift import _core, units
from loopdrift.errors import InvalidInput
from loopdrift.part import Number, Part, require
from loopdrift.series import array

if TYPE_CHECKING:
    import pandas as pd

Coefficients = Sequence[float]


@dataclass(frozen=True)
class Residual:
    """Relative differences fitted / given - 1 over the rating points.

    Parameters
    ----------
    rms : float
        Root of the mean square.
    largest : float
        The one that is farthest from 0.
    line : int
        Line of the file where it is.
    """

    rms: float
    largest: float
    line: int

    def __str__(self) -> str:
        return f"rms {self.rms:.2%}, largest {self.largest:+.2%} in line {self.line}"


@dataclass(frozen=True)
class ModeQuality:
    """How well the curves of heating or of cooling meet the table.

    Parameters
    ----------
    rows : int
        Number of rating points.
    terms : tuple of str
        Terms of the fit in the entering fluid temperature T, the flow m and the load-side temperature L.
    entering_fluid_range : tuple of float
        Lowest and highest entering fluid temperature of the table [degC].
    capacity, power : Residual
        Relative differences.
    """

    rows: int
    terms: tuple[str, ...]
    entering_fluid_range: tuple[float, float]
    capacity: Residual
    power: Residual

    @classmethod
    def _from_engine(cls, values: dict[str, Any]) -> Self:
        low, high = values["entering_fluid_range"]
        capacity, power = Residual(**values["capacity"]), Residual(**values["power"])
        return cls(values["rows"], tuple(values["terms"]), (low, high), capacity, power)

    def __str__(self) -> str:
        low, high = self.entering_fluid_range
        return (
            f"{self.rows} rating points, {low:g} to {high:g} degC, terms {', '.join(self.terms)}\n"
            f"  capacity: {self.capacity}\n"
            f"  power:    {self.power}"
        )


@dataclass(frozen=True)
class FitQuality:
    """How well a heat pump's curves meet the table that they were fitted to; prints as a table.

    Parameters
    ----------
    heating, cooling : ModeQuality or None
        None where the table lacks the mode.
    """

    heating: ModeQuality | None
    cooling: ModeQuality | None

    def __str__(self) -> str:
        modes = (("heating", self.heating), ("cooling", self.cooling))
        return "\n".join(f"{name}: {quality}" for name, quality in modes if quality is not None)


@dataclass(frozen=True)
class Mode:
    """Steady full-load performance in heating or in cooling: polynomials c0 + c1 EFT + ..., EFT in degC.

    Parameters
    ----------
    cop : tuple of float
        Coefficients of the COP.
    capacity : tuple of float or None
        Coefficients of the heat given to the building or taken from it [W]; None where it has no limit.
    entering_fluid_range : tuple of float or None
        Lowest and highest entering fluid temperature that the curves are known for [degC].
    """

    cop: tuple[float, ...]
    capacity: tuple[float, ...] | None
    entering_fluid_range: tuple[float, ...] | None

    @classmethod
    def _from_engine(cls, values: dict[str, Any] | None) -> Self | None:
        if values is None:
            return None
        return cls(tuple(values["cop"]), tuple(values["capacity"]), tuple(values["entering_fluid_range"]))


@dataclass(frozen=True, kw_only=True)
class HeatPump(Part):
    """A heat pump by its curves over the entering fluid temperature; made by `from_table` or `from_curves`.

    Parameters
    ----------
    heating, cooling : Mode or None
        Performance; None for what it can't do.
    cycling_loss : float or str, default 0
        Share of the COP that is lost by cycling as the part load goes to nothing.
    fit : FitQuality or None
        How well the curves meet the table that they come from; takes no part in comparisons.

    Raises
    ------
    InvalidInput
        If a curve is not physical over its range: COP above 1 in heating and above 0 in cooling, capacity
        above 0 W.
    """

    heating: Mode | None
    cooling: Mode | None
    cycling_loss: Number = Number(default=0.0)
    fit: FitQuality | None = field(default=None, compare=False, repr=False)

    @classmethod
    def from_table(
        cls,
        path: str | os.PathLike[str],
        *,
        flow: float | str | None = None,
        heating_load_side: float | str | None = None,
        cooling_load_side: float | str | None = None,
        cycling_loss: float | str = 0.0,
    ) -> Self:
        """Return the heat pump of a performance table, its curves fitted by least squares.

        The CSV file has one rating point a line: ``mode`` (heating or cooling), ``entering_fluid_degC`` or
        ``_degF``, ``capacity_W`` or ``_kW``, ``power_W`` or ``_kW``, and where the table depends on them
        ``flow_kg_per_s`` and ``load_side_degC`` or ``_degF``. Lines before the header may be comments that
        start with ``#``. Capacity and COP are fitted with the terms 1, T, T2, m, T m, L, T L of entering
        fluid temperature, flow and load-side temperature as far as the points carry them, and read at the
        design flow and load-side temperature.

        Parameters
        ----------
        path : str or path-like
            The file.
        flow : float or str, optional
            Design mass flow on the loop side [kg/s]; needed where the table has the column.
        heating_load_side, cooling_load_side : float or str, optional
            Design temperature of what enters the unit from the building [degC]; needed for each mode where
            the table has the column.
        cycling_loss : float or str, default 0
            Share of the COP that is lost by cycling as the part load goes to nothing.

        Raises
        ------
        InvalidFile
            If a line is not physical, with its number.
        InvalidInput
            If a design value is missing, outside the table's span, or given for a column that the table
            lacks.
        OSError
            If the file can't be read.
        """
        curves, quality = _core.fit_performance_table(
            os.fspath(path),
            flow=_optional_si(flow, "kg/s", "flow"),
            heating_load_side=_optional_si(heating_load_side, "degC", "heating_load_side"),
            cooling_load_side=_optional_si(cooling_load_side, "degC", "cooling_load_side"),
        )
        fit = FitQuality(
            *(quality[mode] and ModeQuality._from_engine(quality[mode]) for mode in ("heating", "cooling"))
        )
        heating, cooling = Mode._from_engine(curves["heating"]), Mode._from_engine(curves["cooling"])
        return cls(heating=heating, cooling=cooling, cycling_loss=cycling_loss, fit=fit)

    @classmethod
    def from_curves(
        cls,
        *,
        heating_cop: Coefficients | None = None,
        cooling_cop: Coefficients | None = None,
        heating_capacity: Coefficients | None = None,
        cooling_capacity: Coefficients | None = None,
        heating_range: tuple[float, float] | None = None,
        cooling_range: tuple[float, float] | None = None,
        cycling_loss: float | str = 0.0,
    ) -> Self:
        """Return a heat pump given by polynomials c0 + c1 EFT + ... of up to the third degree, EFT in degC.

        Parameters
        ----------
        heating_cop, cooling_cop : sequence of float, optional
            COP in each mode; left out for a mode that it lacks.
        heating_capacity, cooling_capacity : sequence of float, optional
            Heat given to the building or taken from it [W]; without limit where left out.
        heating_range, cooling_range : tuple of float, optional
            Lowest and highest entering fluid temperature that the curves are known for [degC]. Where left out
            the curves must be physical from -10 to 40 degC.
        cycling_loss : float or str, default 0
            Share of the COP that is lost by cycling as the part load goes to nothing; needs the capacities.

        Raises
        ------
        InvalidInput
            If a curve is not physical over its range.

        Examples
        --------
        >>> HeatPump.from_curves(heating_cop=[3.6, 0.08], heating_capacity=[12e3, 300.0]).heating.cop
        (3.6, 0.08)
        """
        heating = _mode("heating", heating_cop, heating_capacity, heating_range)
        cooling = _mode("cooling", cooling_cop, cooling_capacity, cooling_range)
        return cls(heating=heating, cooling=cooling, cycling_loss=cycling_loss)

    def __post_init__(self) -> None:
        for name, mode in (("heating", self.heating), ("cooling", self.cooling)):
            if mode is not None:
                require(mode, Mode, owner="HeatPump", field=name)
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the curves and the cycling loss as the engine reads them."""
        modes = {"heating": self.heating, "cooling": self.cooling}
        curves = {name: None if mode is None else dict(vars(mode)) for name, mode in modes.items()}
        return {**curves, "cycling_loss": self.cycling_loss}

    def performance(self, entering_fluid: npt.ArrayLike | None = None) -> pd.DataFrame:
        """Return steady full-load performance over the entering fluid temperature.

        Parameters
        ----------
        entering_fluid : array_like, optional
            Entering fluid temperatures [degC]; whole degrees over the curves' ranges where left out.

        Returns
        -------
        pandas.DataFrame
            For each mode capacity and power [W] and COP; empty cells where the curves aren't known, and no
            capacity and power for a mode without limit.
        """
        import pandas as pd

        modes = {name: mode for name, mode in (("heating", self.heating), ("cooling", self.cooling)) if mode}
        ranges = {name: mode.entering_fluid_range or (-10.0, 40.0) for name, mode in modes.items()}
        if entering_fluid is None:
            low, high = min(low for low, _ in ranges.values()), max(high for _, high in ranges.values())
            entering_fluid = np.arange(np.ceil(low), np.floor(high) + 1.0)
        temperatures = array(entering_fluid, "degC", owner="HeatPump", field="entering_fluid")
        table = pd.DataFrame(index=pd.Index(temperatures, name="entering_fluid_degC"))
        for name, mode in modes.items():
            low, high = ranges[name]
            known = np.where((low <= temperatures) & (temperatures <= high), temperatures, np.nan)
            cop = np.polynomial.polynomial.polyval(known, mode.cop)
            if mode.capacity is not None:
                capacity = np.polynomial.polynomial.polyval(known, mode.capacity)
                table[f"{name}_capacity_W"] = capacity
                table[f"{name}_power_W"] = capacity / cop
            table[f"{name}_cop"] = cop
        return table


def _optional_si(value: float | str | None, unit: str, field: str) -> float | None:
    return None if value is None else units.to_si(value, unit, owner="HeatPump", field=field)


def _mode(
    name: str,
    cop: Coefficients | None,
    capacity: Coefficients | None,
    entering_fluid_range: Coefficients | None,
) -> Mode | None:
    if cop is None:
        if capacity is not None or entering_fluid_range is not None:
            raise InvalidInput(
                "HeatPump", f"{name}_cop", None, "", f"must be given with other curves of {name}"
            )
        return None
    return Mode(
        _coefficients(f"{name}_cop", cop),
        None if capacity is None else _coefficients(f"{name}_capacity", capacity),
        None
        if entering_fluid_range is None
        else _coefficients(f"{name}_range", entering_fluid_range, count=2),
    )


def _coefficients(field: str, values: Coefficients, count: int | None = None) -> tuple[float, ...]:
    try:
        numbers = tuple(float(value) for value in values)
    except (TypeError, ValueError):
        raise InvalidInput("HeatPump", field, repr(values), "", "must be a sequence of numbers") from None
    if count not in (None, len(numbers)):
        raise InvalidInput("HeatPump", field, numbers, "", f"must be {count} numbers")
    return numbers
