"""The heat pump: capacity and COP over the entering fluid temperature."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

import numpy as np
import numpy.typing as npt

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput, kept, raise_all
from loopdrift.basics.numbers import Range, number_within
from loopdrift.basics.part import Checked, Number, OptionalNumber, Part, require
from loopdrift.basics.series import array
from loopdrift.basics.words import Shown
from loopdrift.parts.constructors import Constructor, register
from loopdrift.parts.plant.curves import Coefficients, EnteringLoadCorrection, Mode, mode_of, stand_ins
from loopdrift.parts.plant.fit_quality import FitQuality
from loopdrift.parts.plant.performance_table.reduction import Correction
from loopdrift.parts.plant.performance_table.table import MODES, PerformanceTable

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


RATING_POINTS = {"heating": 0.0, "cooling": 25.0}
"""Entering fluid temperature at the ISO 13256-1 rating points for closed ground loops [degC]; from memory."""

_STAGES = (("heating", "heating_low"), ("cooling", "cooling_low"))
"""Names of the curves at full load and at the lowest stage or speed, by mode."""
_WORDS = {
    "cop": "cop",
    "capacity": "capacity",
    "range": "entering_fluid_range",
    "entering_load": "entering_load",
}
"""Fields of a mode by the ends of their names in `from_curves`."""


def _rating(value: float | str | None, *, owner: str, field: str, unit: str) -> float | None:
    """Return a rating in its unit, above 0; None if none is given."""
    return None if value is None else number_within(value, unit, owner=owner, field=field, above=0.0)


@dataclass(frozen=True, kw_only=True)
class ManufacturerRatings(Shown):
    """Ratings at the rating points of ISO 13256-1 for closed ground loops: entering fluid of 0 and 25 degC.

    Parameters
    ----------
    heating_cop, cooling_cop : float, optional
        COP at full load [-].
    heating_capacity, cooling_capacity : float, optional
        Heat delivered to the building, or removed from it [W].
    """

    heating_cop: Checked[float | None] = Checked(partial(_rating, unit=""), None)
    cooling_cop: Checked[float | None] = Checked(partial(_rating, unit=""), None)
    heating_capacity: Checked[float | None] = Checked(partial(_rating, unit="W"), None)
    cooling_capacity: Checked[float | None] = Checked(partial(_rating, unit="W"), None)


@dataclass(frozen=True, kw_only=True)
class HeatPump(Part):
    """A heat pump by its curves over the entering fluid temperature; made by `from_table` or `from_curves`.

    Parameters
    ----------
    heating, cooling : Mode or None
        Performance in each mode; None for a mode that it lacks.
    heating_low, cooling_low : Mode or None
        Performance of the lowest stage, or at the lowest speed; None if there is only one.
    variable_speed : bool, default False
        Whether the speed varies between lowest and full, so that the COP is linear in between; otherwise the
        two stages alternate, so that the power is linear.
    degradation_coefficient : float or str, default 0
        Share of the COP lost by cycling as the part load of the lowest stage
        approaches zero [-].
    heating_lock_out, cooling_lock_out : float or str, optional
        Entering fluid temperature below which the unit doesn't heat, and above which it doesn't cool [degC];
        back-up heat takes over. The capacity falls to zero over the last kelvin before it.
    manufacturer_ratings : ManufacturerRatings, optional
        Published ratings, to be compared with the curves; they don't change a run.
    fit : FitQuality or None
        Quality of the fit to the table; ignored when heat pumps are compared for equality.
    table : PerformanceTable or None
        The table as read, at the conditions of the design; ignored likewise.

    Raises
    ------
    InvalidInput
        If a curve is not physical over its range: COP above 1 in heating and above 0 in cooling, capacity
        above 0 W.

    Notes
    -----
    It is a single unit with one compressor. Heating (or hot water) and cooling in the same hour share its
    time. If both fit into the hour, both are met, at a higher stage if necessary. If they don't fit at full
    capacity, each gets time in proportion to what it would need alone; the rest is back-up heat and unmet
    cooling. A mode without a capacity limit takes no time.
    """

    heating: Mode | None
    cooling: Mode | None
    heating_low: Mode | None = None
    cooling_low: Mode | None = None
    variable_speed: bool = False
    degradation_coefficient: Number = Number(default=0.0)
    heating_lock_out: OptionalNumber = OptionalNumber()
    cooling_lock_out: OptionalNumber = OptionalNumber()
    manufacturer_ratings: ManufacturerRatings | None = None
    fit: FitQuality | None = field(default=None, compare=False, repr=False)
    table: PerformanceTable | None = field(default=None, compare=False, repr=False)

    @classmethod
    def from_table(
        cls,
        path: str | os.PathLike[str] | Sequence[str | os.PathLike[str]],
        *,
        flow: float | str | None = None,
        heating_entering_load_temperature: Annotated[float | str | None, Range("degC")] = None,
        cooling_entering_load_temperature: Annotated[float | str | None, Range("degC")] = None,
        cooling_wet_bulb: Annotated[float | str | None, Range("degC")] = None,
        air_flow: Annotated[float | str | None, Range("m3/s")] = None,
        load_flow: float | str | None = None,
        antifreeze_factors: Correction | None = None,
        air_flow_factors: Correction | None = None,
        variable_speed: bool = False,
        degradation_coefficient: float | str = 0.0,
        heating_lock_out: float | str | None = None,
        cooling_lock_out: float | str | None = None,
        manufacturer_ratings: ManufacturerRatings | None = None,
    ) -> Self:
        """Return the heat pump of a performance table, its curves fitted by least squares.

        The table is a CSV file (separated by commas, semicolons or tabs), an Excel workbook, or several of
        them. Each row is a rating point. The header names each column and its unit, in any order and in SI
        or inch-pound units: ``entering_fluid_degC`` or ``EWT (°F)``, ``capacity_kW`` or ``Total cooling
        kBtu/h``, ``power_kW`` or a COP or EER, and where the table depends on them ``flow_gpm``,
        ``entering_load_degC`` (air or water that enters from the building), ``entering_air_wet_bulb_degC``,
        ``air_flow_cfm``, ``load_flow_gpm`` and ``stage`` (full or low). ``mode`` is heating or cooling; it
        can also stand in the header (``heating capacity``), in the title, or in the name of sheet or file.
        A page can state a condition of all its rows in its title or in the name of its sheet, such as
        ``air flow: 1200 cfm``. Comments start with ``#``.

        Capacity and COP are fitted with the terms 1, T, T2, m, T m, L, T L of entering fluid temperature,
        flow and entering load temperature as far as the points carry them, and read at the design flow and
        entering load temperature; what the entering load temperature changes is kept. Pages for several air
        flows, load flows or wet-bulb temperatures are interpolated straight before the fit, at the value
        given here, which doesn't change during a run. Cooling capacity is the total one, with what dries the
        air.

        Parameters
        ----------
        path : str, path-like or sequence of them
            The file, or the files that make up the table.
        flow : float or str, optional
            Design mass flow on the loop side [kg/s]; needed where the table has several. A volume flow
            such as ``"9 gal/min"`` is turned into mass flow with the density of water, as in
            manufacturers' tables.
        heating_entering_load_temperature, cooling_entering_load_temperature : float or str, optional
            Design temperature of what enters the unit from the building [degC]; needed for each mode where
            the table has several.
        cooling_wet_bulb : float or str, optional
            Wet-bulb temperature of the air that enters in cooling [degC]; needed where the table has several.
        air_flow : float or str, optional
            Volume flow of air [m3/s]; needed where the table has several.
        load_flow : float or str, optional
            Mass flow on the load side [kg/s], or a volume flow of water; needed where the table has several.
        antifreeze_factors, air_flow_factors : Correction, optional
            The manufacturer's factors for antifreeze in the loop, and for another air flow than the table's.
        variable_speed, degradation_coefficient, heating_lock_out, cooling_lock_out
            As in `HeatPump`: a share for the loss, temperatures for lock-outs [degC].
        manufacturer_ratings : ManufacturerRatings, optional
            As in `HeatPump`.

        Raises
        ------
        InvalidFile
            If a header is not understood, or a line not physical, with its number.
        InvalidInput
            If a design value is missing, outside the table's span, or given for a column that the table
            lacks.
        OSError
            If a file can't be read.
        """
        on_loop = _optional_flow(flow, "flow")
        entering_load = {
            name: _optional_si(value, "degC", name)
            for name, value in (
                ("heating_entering_load_temperature", heating_entering_load_temperature),
                ("cooling_entering_load_temperature", cooling_entering_load_temperature),
            )
        }
        given = {"antifreeze_factors": antifreeze_factors, "air_flow_factors": air_flow_factors}
        for name, factors in given.items():
            if factors is not None:
                require(factors, Correction, owner="HeatPump", field=name)
        table = PerformanceTable.read(path).reduced(
            flow=on_loop,
            **entering_load,
            air_flow=_optional_si(air_flow, "m3/s", "air_flow"),
            load_flow=_optional_flow(load_flow, "load_flow"),
            cooling_wet_bulb=_optional_si(cooling_wet_bulb, "degC", "cooling_wet_bulb"),
            corrections=[factors for factors in given.values() if factors is not None],
        )
        curves, fit = table.fit(flow=on_loop, **entering_load)
        return cls(
            **{name: Mode._from_engine(curves[name]) for name in MODES},
            variable_speed=variable_speed,
            degradation_coefficient=degradation_coefficient,
            heating_lock_out=heating_lock_out,
            cooling_lock_out=cooling_lock_out,
            manufacturer_ratings=manufacturer_ratings,
            fit=fit,
            table=table,
        )

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
        heating_entering_load: EnteringLoadCorrection | None = None,
        cooling_entering_load: EnteringLoadCorrection | None = None,
        heating_low_cop: Coefficients | None = None,
        cooling_low_cop: Coefficients | None = None,
        heating_low_capacity: Coefficients | None = None,
        cooling_low_capacity: Coefficients | None = None,
        heating_low_range: tuple[float, float] | None = None,
        cooling_low_range: tuple[float, float] | None = None,
        heating_low_entering_load: EnteringLoadCorrection | None = None,
        cooling_low_entering_load: EnteringLoadCorrection | None = None,
        variable_speed: bool = False,
        degradation_coefficient: float | str = 0.0,
        heating_lock_out: float | str | None = None,
        cooling_lock_out: float | str | None = None,
        manufacturer_ratings: ManufacturerRatings | None = None,
    ) -> Self:
        """Return a heat pump given by polynomials c0 + c1 EFT + ... of up to the third degree, EFT in degC.

        Parameters
        ----------
        heating_cop, cooling_cop : sequence of float, optional
            COP in each mode; left out for a mode that the unit lacks.
        heating_capacity, cooling_capacity : sequence of float, optional
            Heat delivered to the building or removed from it [W]; unlimited if left out.
        heating_range, cooling_range : tuple of float, optional
            Lowest and highest entering fluid temperature of the curves [degC]. If left out, the curves must
            be physical from -10 to 40 degC.
        heating_entering_load, cooling_entering_load : EnteringLoadCorrection, optional
            Effect of the entering load temperature.
        heating_low_cop, cooling_low_cop, heating_low_capacity, cooling_low_capacity
            The same of the lowest stage or speed, which needs COP and capacity.
        heating_low_range, cooling_low_range, heating_low_entering_load, cooling_low_entering_load
            The same of the lowest stage or speed.
        variable_speed, degradation_coefficient, heating_lock_out, cooling_lock_out
            As in `HeatPump`: a share for the loss, temperatures for lock-outs [degC]; all but the first need
            the capacities.
        manufacturer_ratings : ManufacturerRatings, optional
            As in `HeatPump`.

        Raises
        ------
        InvalidInput
            If a curve is not physical over its range.

        Examples
        --------
        >>> HeatPump.from_curves(heating_cop=[3.6, 0.08], heating_capacity=[12e3, 300.0]).heating.cop
        (3.6, 0.08)
        """
        heating = (heating_cop, heating_capacity, heating_range, heating_entering_load)
        cooling = (cooling_cop, cooling_capacity, cooling_range, cooling_entering_load)
        heating_low = (
            heating_low_cop,
            heating_low_capacity,
            heating_low_range,
            heating_low_entering_load,
        )
        cooling_low = (
            cooling_low_cop,
            cooling_low_capacity,
            cooling_low_range,
            cooling_low_entering_load,
        )
        faults: list[InvalidInput] = []
        modes = {
            name: mode_of(name, *curves, faults)
            for name, curves in zip(MODES, (heating, cooling, heating_low, cooling_low), strict=True)
        }
        with kept(faults):
            unit = cls(
                heating=modes["heating"],
                cooling=modes["cooling"],
                heating_low=modes["heating_low"],
                cooling_low=modes["cooling_low"],
                variable_speed=variable_speed,
                degradation_coefficient=degradation_coefficient,
                heating_lock_out=heating_lock_out,
                cooling_lock_out=cooling_lock_out,
                manufacturer_ratings=manufacturer_ratings,
            )
        raise_all(faults)
        return unit

    def curves(self) -> dict[str, Any]:
        """Return the arguments with which `from_curves` gives this heat pump."""
        values = {field.name: getattr(self, field.name) for field in fields(self) if field.compare}
        modes = {name: values.pop(name) for name in MODES}
        return values | {
            f"{name}_{word}": getattr(mode, attribute)
            for name, mode in modes.items()
            if mode is not None
            for word, attribute in _WORDS.items()
        }

    def __post_init__(self) -> None:
        for name in MODES:
            if getattr(self, name) is not None:
                require(getattr(self, name), Mode, owner="HeatPump", field=name)
        require(self.variable_speed, bool, owner="HeatPump", field="variable_speed")
        if self.manufacturer_ratings is not None:
            require(
                self.manufacturer_ratings, ManufacturerRatings, owner="HeatPump", field="manufacturer_ratings"
            )
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return curves, losses and lock-outs as the engine reads them."""
        values = {field.name: getattr(self, field.name) for field in fields(self) if field.compare}
        del values["manufacturer_ratings"]
        return {
            name: value.for_engine() if isinstance(value, Mode) else value for name, value in values.items()
        }

    def pieces(self) -> Iterator[dict[str, Any]]:
        """Yield forms for the engine with one curve, or one other field, beside harmless ones."""
        given: dict[str, Mode] = {name: mode for name in MODES if (mode := getattr(self, name)) is not None}
        judged = {name: _over_a_sound_range(mode) for name, mode in given.items()}
        harmless = {name: mode.harmless(name) for name, mode in judged.items()}
        for full, low in _STAGES:
            beside = {name: harmless[name] for name in (full, low) if name in given}
            if low in given:
                beside.setdefault(full, harmless[low].harmless(full))
            for name in (full, low):
                if name in given:
                    yield _form(beside | {name: given[name].harmless(name)})
                    for curves in judged[name].pieces():
                        yield _form(beside | {name: curves})
            if full in given and low in given:
                yield _form({name: judged[name].of_capacity() for name in (full, low)})
        yield _form(harmless, variable_speed=self.variable_speed)
        at_full_load = {name: harmless[name] for name, _ in _STAGES if name in given}
        for name in ("degradation_coefficient", "heating_lock_out", "cooling_lock_out"):
            yield _form(at_full_load, **{name: getattr(self, name)})

    def rating(self) -> pd.DataFrame:
        """Return the rating points of ISO 13256-1 for closed ground loops: curves and manufacturer's ratings.

        Returns
        -------
        pandas.DataFrame
            Indexed by mode and figure (cop, capacity_W): ``entering_fluid_degC``, ``curves``,
            ``manufacturer`` and ``difference`` (curves over manufacturer, less 1), the last two empty where
            there is no rating.
        """
        import pandas as pd

        rows = {}
        for name, temperature in RATING_POINTS.items():
            at = self.performance([temperature]).iloc[0]
            for figure, column in (("cop", f"{name}_cop"), ("capacity_W", f"{name}_capacity_W")):
                if column not in at:
                    continue
                stated = getattr(self.manufacturer_ratings, column.removesuffix("_W"), None)
                stated = np.nan if stated is None else stated
                rows[name, figure] = (temperature, at[column], stated, at[column] / stated - 1.0)
        index = pd.MultiIndex.from_tuples(list(rows), names=["mode", "figure"])
        columns = ["entering_fluid_degC", "curves", "manufacturer", "difference"]
        return pd.DataFrame(list(rows.values()), index=index, columns=columns)

    def plot(self, *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None) -> Axes:
        """Draw the COP over the entering fluid temperature, with the rating points of the table.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Units of the temperature.
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure unless given.
        """
        from loopdrift.parts.plant.heat_pump_chart import heat_pump

        return heat_pump(self, units=units, ax=ax)

    def performance(self, entering_fluid: npt.ArrayLike | None = None) -> pd.DataFrame:
        """Return steady full-load performance over the entering fluid temperature.

        Parameters
        ----------
        entering_fluid : array_like, optional
            Entering fluid temperatures, shape (n,) [degC]; whole degrees over the curves' ranges if left out.

        Returns
        -------
        pandas.DataFrame
            Capacity and power [W] and COP of each mode; empty outside the range of its curves, and no
            capacity and power for a mode without a capacity limit.
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


register(
    HeatPump,
    {
        "table": HeatPump.from_table,
        "curves": Constructor(
            HeatPump.from_curves,
            arguments=HeatPump.curves,
            stand_ins={
                **{word: values for name in MODES for word, values in stand_ins(name).items()},
                **dict.fromkeys(("heating_lock_out", "cooling_lock_out", "manufacturer_ratings")),
                "variable_speed": False,
                "degradation_coefficient": 0.0,
            },
        ),
    },
)


def _over_a_sound_range(mode: Mode) -> Mode:
    """Return a mode over the range likely to be meant by its own, so that its curves can be judged."""
    *likely, usual = mode.over_likely_ranges()
    for each in likely:
        with contextlib.suppress(InvalidInput):
            _core.validate("HeatPump", _form({"heating": each.harmless("heating")}))
            return each
    return usual


def _form(modes: Mapping[str, Mode], **values: Any) -> dict[str, Any]:
    """Return a heat pump of some modes as the engine reads it."""
    curves = {name: mode.for_engine() for name, mode in modes.items()}
    return dict.fromkeys(MODES) | {"degradation_coefficient": 0.0} | curves | values


def _optional_si(value: float | str | None, unit: str, field: str) -> float | None:
    return None if value is None else units.to_si(value, unit, owner="HeatPump", field=field)


def _optional_flow(value: float | str | None, field: str) -> float | None:
    if value is None:
        return None
    return units.mass_flow(value, lambda: units.WATER_DENSITY, owner="HeatPump", field=field)
