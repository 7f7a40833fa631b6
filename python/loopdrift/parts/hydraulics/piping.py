"""The pipes and devices of the loop, and their pressure drop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import FacePart, Figure, OptionalFigure, Several, require, require_name
from loopdrift.parts.bore import Pipe
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground_side import GroundSide, require_ground_side
from loopdrift.parts.hydraulics.channel import Channel, Liquid
from loopdrift.parts.hydraulics.pump import Pump
from loopdrift.parts.hydraulics.steps import Step
from loopdrift.parts.limits import Limits

if TYPE_CHECKING:
    import pandas as pd

CLOSE_BEND = 1.5
"""Loss coefficient of the close bend at the bottom of a U-tube [-]; common practice, no source, checked in
tests/reference/test_second_sources_bore.py."""


@dataclass(frozen=True, kw_only=True)
class PipeRun(FacePart):
    """A length of pipe with its fittings.

    Parameters
    ----------
    name : str
        Name in tables.
    pipe : Pipe
        The pipe.
    length : float or str
        Length of the flow path, supply and return together if they are alike [m].
    loss_coefficient : float or str, default 0
        Sum of the loss coefficients of its bends and fittings [-].
    flow_share : float or str, default 1
        Share of the flow in one such pipe [-]: of the total flow in a main, of a bore's flow in a lateral.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a number is outside its range.

    Examples
    --------
    >>> pipe = Pipe.sdr(11, outer_diameter="63 mm")
    >>> PipeRun(name="header past the first bores", pipe=pipe, length="20 ft", flow_share=0.75).length
    6.096
    """

    name: str
    pipe: Pipe
    length: Figure = Figure("m", least=0.0, most=20e3)
    loss_coefficient: Figure = Figure("", least=0.0, most=10e3, default=0.0)
    flow_share: Figure = Figure("", least=1e-4, most=1.0, default=1.0)

    def __post_init__(self) -> None:
        require_name(self.name, owner="PipeRun")
        require(self.pipe, Pipe, owner="PipeRun", field="pipe")


@dataclass(frozen=True, kw_only=True)
class Apparatus(FacePart):
    """A device whose pressure drop is known at one flow, such as the heat pump's exchanger or a strainer.

    The pressure drop is assumed to rise with the square of the volume flow; its dependence on viscosity is
    neglected.

    Parameters
    ----------
    name : str
        Name in tables.
    pressure_drop : float or str
        Pressure drop [Pa].
    flow : float or str
        Volume flow at that pressure drop [m3/s].

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a number is outside its range.

    Examples
    --------
    >>> Apparatus(name="heat exchanger", pressure_drop="25 kPa", flow="60 L/min").pressure_drop
    25000.0
    """

    name: str
    pressure_drop: Figure = Figure("Pa", least=0.0, most=1e7)
    flow: Figure = Figure("m3/s", least=1e-6, most=10.0)

    def __post_init__(self) -> None:
        require_name(self.name, owner="Apparatus")


class OperatingPoint(NamedTuple):
    """Operating point of pump and loop.

    Parameters
    ----------
    flow : float
        Total mass flow [kg/s].
    pressure_drop : float
        Pressure drop of the loop [Pa].
    power : float
        Electric power of the pump [W].
    """

    flow: float
    pressure_drop: float
    power: float


@dataclass(frozen=True, kw_only=True)
class Piping(FacePart):
    """Pump, mains, laterals and bores in series; bores, each with its lateral, in parallel.

    The pump is sized for the coldest, most viscous fluid; only if that makes the flow laminar can a warmer
    fluid need slightly more. All bores have the same flow, as in the engine; if their depths differ, the
    deepest one counts and the others are throttled. A run keeps the flow of the design, even if the pump's
    curve meets the loop at a different flow; it reports that.

    Parameters
    ----------
    pump : Pump
        The circulation pump.
    mains : PipeRun or sequence of PipeRun, optional
        Pipes to the farthest bore that carry the total flow, or a share of it.
    laterals : PipeRun or sequence of PipeRun, optional
        Pipes that each bore has for itself.
    apparatus : Apparatus or sequence of Apparatus, optional
        Devices in the total flow.
    bend_loss_coefficient : float or str, default 1.5
        Sum of the loss coefficients at the bottom of a bore [-]; the default is the close bend of a U-tube
        (common practice, no source).
    temperature : float or str, optional
        Fluid temperature for which the pump is sized [degC]; the lower limit of the entering fluid
        temperature if left out.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, a number is outside its range, or two parts have one name.
    """

    pump: Pump
    mains: Several[PipeRun] = Several(PipeRun)
    laterals: Several[PipeRun] = Several(PipeRun)
    apparatus: Several[Apparatus] = Several(Apparatus)
    bend_loss_coefficient: Figure = Figure("", least=0.0, most=1e3, default=CLOSE_BEND)
    temperature: OptionalFigure = OptionalFigure("degC", least=-60.0, most=60.0)

    def __post_init__(self) -> None:
        require(self.pump, Pump, owner="Piping", field="pump")
        seen = {"bores"}
        runs = [part.name for part in (*self.mains, *self.laterals)]
        for name in (*runs, *(part.name for part in self.apparatus)):
            if name in seen:
                raise InvalidInput("Piping", "name", repr(name), "", "must name one part only")
            seen.add(name)

    def design_temperature(self, limits: Limits) -> float:
        """Return the fluid temperature for which the pump is sized [degC].

        Parameters
        ----------
        limits : Limits
            The design's limits.

        Raises
        ------
        InvalidInput
            If neither the piping nor the limits have one.
        """
        if self.temperature is not None:
            return self.temperature
        if limits.entering_fluid_min is None:
            allowed = "must be given if limits.entering_fluid_min isn't: friction depends on it"
            raise InvalidInput("Design", "piping.temperature", None, "degC", allowed)
        return limits.entering_fluid_min

    def steps(self, ground_side: GroundSide, *, liquid: Liquid, flow: float) -> Iterator[Step]:
        """Yield the parts of the loop with their pressure drops, from the heat pump to the bores.

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The bores; the deepest counts.
        liquid : Liquid
            Density and viscosity of the fluid.
        flow : float
            Total mass flow [kg/s].

        Raises
        ------
        InvalidInput
            If `ground_side` isn't one, or its bores have a measured resistance, so that their pipes are not
            known.
        """
        require_ground_side(ground_side, owner="Piping")
        for apparatus in self.apparatus:
            ratio = flow / liquid.density / apparatus.flow
            yield Step(apparatus.name, None, apparatus.pressure_drop * ratio**2)
        for runs, whole in ((self.mains, flow), (self.laterals, flow / ground_side.count)):
            for run in runs:
                found = Channel.inside(run.pipe).flow(
                    liquid,
                    run.flow_share * whole,
                    length=run.length,
                    loss_coefficient=run.loss_coefficient,
                )
                yield Step(run.name, found, found.pressure_drop)
        yield from ground_side.flow_path(liquid, flow, self.bend_loss_coefficient)

    def pressure_drop(
        self,
        *,
        ground_side: GroundSide,
        fluid: Fluid,
        flow: float | str,
        temperature: float | str,
    ) -> pd.DataFrame:
        """Return the pressure drop by part, one row per part; their sum is that of the loop.

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The bores.
        fluid : Fluid
            The fluid in the loop.
        flow : float or str
            Total mass flow [kg/s].
        temperature : float or str
            Temperature at which the fluid's properties are evaluated [degC].

        Returns
        -------
        pandas.DataFrame
            ``flow_kg_per_s`` and ``velocity_m_per_s`` in one pipe of the part, ``reynolds``, ``regime`` and
            ``pressure_drop_Pa``; for a coaxial bore, the flow in the gap and the total pressure drop of both
            pipes; empty cells for a device.

        Raises
        ------
        InvalidInput
            If the flow isn't above 0 kg/s, the temperature is outside the fluid's table, or the bore's pipes
            are not known.
        """
        import pandas as pd

        liquid, total = _liquid_and_flow(fluid, flow, temperature)
        steps = list(self.steps(ground_side, liquid=liquid, flow=total))

        def column(name: str) -> list[Any]:
            return [None if step.flow is None else getattr(step.flow, name) for step in steps]

        numbers = {"flow_kg_per_s": "mass_flow", "velocity_m_per_s": "velocity", "reynolds": "reynolds"}
        return pd.DataFrame(
            {
                **{name: pd.Series(column(field), dtype=float) for name, field in numbers.items()},
                "regime": pd.Series(column("regime"), dtype=object),
                "pressure_drop_Pa": [step.pressure_drop for step in steps],
            }
        ).set_index(pd.Index([step.name for step in steps], name="part"))

    def operating_point(
        self,
        *,
        ground_side: GroundSide,
        fluid: Fluid,
        flow: float | str,
        temperature: float | str,
    ) -> OperatingPoint:
        """Return flow, pressure drop and pump power of the loop; without a pump curve, at the design flow.

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The bores.
        fluid : Fluid
            The fluid in the loop.
        flow : float or str
            Total mass flow of the design [kg/s].
        temperature : float or str
            Temperature at which the fluid's properties are evaluated [degC].

        Raises
        ------
        InvalidInput
            As for `pressure_drop`; and if pump and loop don't meet within the curve.
        """
        liquid, total = _liquid_and_flow(fluid, flow, temperature)
        moved = self._operating_flow(ground_side, liquid, total)
        lost = self._lost(ground_side, liquid, moved)
        return OperatingPoint(moved, lost, lost * moved / liquid.density / self.pump.efficiency)

    def design_power(self, *, ground_side: GroundSide, fluid: Fluid, flow: float, limits: Limits) -> float:
        """Return the electric power of the pump at the temperature for which it is sized [W].

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The bores.
        fluid : Fluid
            The fluid in the loop.
        flow : float
            Total mass flow of the design [kg/s].
        limits : Limits
            The design's limits.

        Raises
        ------
        InvalidInput
            As for `operating_point` and `design_temperature`.
        """
        temperature = self.design_temperature(limits)
        first, last = fluid.temperature_range
        if not first <= temperature <= last:
            field = "limits.entering_fluid_min" if self.temperature is None else "piping.temperature"
            allowed = f"must be from {first:g} to {last:g} degC, the table of {fluid}, to size the pump"
            raise InvalidInput("Design", field, temperature, "degC", allowed)
        found = self.operating_point(ground_side=ground_side, fluid=fluid, flow=flow, temperature=temperature)
        return found.power

    def _lost(self, ground_side: GroundSide, liquid: Liquid, flow: float) -> float:
        return sum(step.pressure_drop for step in self.steps(ground_side, liquid=liquid, flow=flow))

    def _operating_flow(self, ground_side: GroundSide, liquid: Liquid, flow: float) -> float:
        if not self.pump.has_curve:
            return flow

        def lost(volume_flow: float) -> float:
            return self._lost(ground_side, liquid, volume_flow * liquid.density)

        return liquid.density * self.pump.operating_flow(lost, liquid.density)


def _liquid_and_flow(fluid: Fluid, flow: float | str, temperature: float | str) -> tuple[Liquid, float]:
    require(fluid, Fluid, owner="Piping", field="fluid")
    liquid = Liquid.at(fluid, units.to_si(temperature, "degC", owner="Piping", field="temperature"))
    total = units.mass_flow(flow, lambda: liquid.density, owner="Piping", field="flow")
    if total <= 0.0:
        raise InvalidInput("Piping", "flow", total, "kg/s", "must be above 0 kg/s")
    return liquid, total
