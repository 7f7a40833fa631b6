"""A design: the complete input of a run."""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import dataclass
from types import UnionType
from typing import TYPE_CHECKING, Any, ClassVar, Self, overload

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.numbers import whole_number
from loopdrift.basics.part import Number, Part, require
from loopdrift.basics.series import Series
from loopdrift.model.clearance import judged
from loopdrift.model.progress import Progress, Reporting
from loopdrift.model.run import Run
from loopdrift.model.run_error import RunError
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground_side import GroundSide, require_ground_side
from loopdrift.parts.hydraulics.piping import Piping
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Loads
from loopdrift.parts.plant.distribution import Distribution
from loopdrift.parts.plant.heat_pump import HeatPump
from loopdrift.parts.plant.hot_water import HotWater
from loopdrift.parts.prices.prices import Prices
from loopdrift.parts.project import Project
from loopdrift.parts.site_plan import SitePlan

if TYPE_CHECKING:
    import pandas as pd


_REQUIRED: dict[str, type | UnionType] = {
    "ground": Ground,
    "fluid": Fluid,
    "heat_pump": HeatPump,
    "loads": Loads,
    "limits": Limits,
    "pump_stops": bool,
    "start_month": int,
}
_OPTIONAL: dict[str, type | UnionType] = {
    "distribution": Distribution,
    "hot_water": HotWater,
    "piping": Piping,
    "prices": Prices,
    "project": Project,
    "site": SitePlan,
}
WITHOUT_EFFECT = ("piping", "prices", "project", "site")
"""Fields of a design that change no temperature."""


class DesignFlow(Number):
    """Total flow of a design [kg/s]; a volume flow is converted with the density of the fluid."""

    def __set__(self, design: Design, value: float | str) -> None:  # type: ignore[override]
        design.__dict__["flow"] = units.mass_flow(value, design._density, owner="Design", field="flow")


class PumpPower(Number):
    """Electric power of a design's circulation pump [W]; that required by the piping unless it is given."""

    @overload  # type: ignore[override]
    def __get__(self, design: None, owner: type) -> None: ...
    @overload
    def __get__(self, design: Design, owner: type) -> float: ...
    def __get__(self, design: Design | None, owner: type) -> float | None:
        if design is None:
            return None
        given: float | None = design.__dict__["pump_power"]
        return design._power_of_piping if given is None else given

    def __set__(self, design: Design, value: float | str | None) -> None:  # type: ignore[override]
        given = None if value is None else units.to_si(value, "W", owner="Design", field="pump_power")
        design.__dict__["pump_power"] = given


@dataclass(frozen=True, kw_only=True, repr=False)
class Design(Part):
    """A building, a heat pump and a ground loop; immutable, varied by `replace`.

    Parameters
    ----------
    ground : Ground
        The ground.
    ground_side : BoreField, TrenchField, Pond or Well
        The ground side: source and sink of heat.
    fluid : Fluid
        The fluid in the loop.
    flow : float or str
        Total flow while the circulation pump runs [kg/s]; a volume flow such as ``"9 gal/min"`` is converted
        to mass flow with the fluid's density at the undisturbed ground temperature.
    heat_pump : HeatPump
        The heat pump.
    loads : Loads
        The building loads.
    distribution : AirDistribution or WaterDistribution, optional
        Ducts, or radiant floors and radiators; without it, the heat pump delivers the loads directly.
    hot_water : HotWater, optional
        Hot water from a tank; replaces the hot water in the loads.
    limits : Limits, optional
        The limits that a run is judged by.
    pump_power : float or str, optional
        Electric power of the circulation pump while it runs [W]; by default that required by the piping with
        the coldest fluid, or 0 without piping. The default is updated by `replace`.
    pump_stops : bool, default False
        Whether the circulation pump stops with the compressor; otherwise, and while the heat pump has no
        capacity, it runs for the whole of every hour with demand.
    start_month : int, default 1
        First month of the run, 1 to 12.
    piping : Piping, optional
        Pipes and pump.
    prices : Prices, optional
        Prices of energy and plant, for `Run.cost`; they don't affect a run.
    project : Project, optional
        Name, place, people and date of the project, shown with all results.
    site : SitePlan, optional
        House and property lines, drawn on plans.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, a number is outside its range, or the parts are incompatible.
    """

    ground: Ground
    ground_side: GroundSide
    fluid: Fluid
    flow: DesignFlow = DesignFlow()
    heat_pump: HeatPump
    loads: Loads
    distribution: Distribution | None = None
    hot_water: HotWater | None = None
    limits: Limits = Limits()
    pump_power: PumpPower = PumpPower()
    pump_stops: bool = False
    start_month: int = 1
    piping: Piping | None = None
    prices: Prices | None = None
    project: Project | None = None
    site: SitePlan | None = None

    run_type: ClassVar[type[Run]] = Run
    """Type that `run` returns."""

    def __post_init__(self) -> None:
        for name, kind in _REQUIRED.items():
            require(getattr(self, name), kind, owner="Design", field=name)
        for name, kind in _OPTIONAL.items():
            if getattr(self, name) is not None:
                require(getattr(self, name), kind, owner="Design", field=name)
        require_ground_side(self.ground_side, owner="Design")
        self._require_whole_numbers()
        _ = self._power_of_piping  # refuses piping that doesn't fit, also where the power is given
        _core.check(self.for_engine(), self.demand)

    def __repr__(self) -> str:
        return f"<Design: {self.ground_side}, {self.fluid}, {self.flow:.4g} kg/s>"

    @property
    def demand(self) -> dict[str, Series]:
        """Hourly series of the demand on the heat pump, by name, as the engine reads them."""
        return self._met[0]

    @property
    def distribution_power(self) -> Series:
        """Electricity of fans or pumps in the building in each hour of the loads [W]."""
        return self._met[1]

    @property
    def tank(self) -> dict[str, Series] | None:
        """Heat flows [W] and temperature [degC] of the hot-water tank in each hour of the loads, by name."""
        return self._met[2]

    @functools.cached_property
    def _met(self) -> tuple[dict[str, Series], Series, dict[str, Series] | None]:
        return meet(
            loads=self.loads,
            distribution=self.distribution,
            hot_water=self.hot_water,
            heat_pump=self.heat_pump,
        )

    def _density(self) -> float:
        """Return the density of the fluid at the temperature of the ground [kg/m3]."""
        require(self.ground, Ground, owner="Design", field="ground")
        require(self.fluid, Fluid, owner="Design", field="fluid")
        return self.fluid.density_at(self.ground.temperature)

    @functools.cached_property
    def _power_of_piping(self) -> float:
        """Return the electric power of the pump with the coldest fluid [W]; 0 without piping."""
        if self.piping is None:
            return 0.0
        return self.piping.design_power(
            ground_side=self.ground_side, fluid=self.fluid, flow=self.flow, limits=self.limits
        )

    @property
    def pump_power_follows(self) -> bool:
        """Whether the pump's power is computed from the piping, as it was not given."""
        return self.__dict__["pump_power"] is None

    def arguments(self) -> dict[str, Any]:
        """Return the constructor's arguments, without the pump's power if it is computed from the piping."""
        given = super().arguments()
        if self.pump_power_follows:
            del given["pump_power"]
        return given

    def replace(self, **changes: Any) -> Self:
        """Return a copy with other values of the named fields.

        Parameters
        ----------
        **changes
            Fields and their values, as for the constructor.
        """
        kept = {"pump_power": None} if self.pump_power_follows else {}
        return super().replace(**(kept | changes))

    def run(self, years: int = 20, *, progress: Progress = False) -> Run:
        """Simulate every hour of a horizon; the loads repeat as needed.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of hours done.

        Returns
        -------
        Run
            Hourly and yearly tables, and the error of the temperatures.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, or the fluid leaving the heat pump freezes during the run.
        """
        horizon = check_years(years, owner="Design")
        hours = horizon * HOURS_PER_YEAR
        with Reporting(progress, owner="Design", unit="hour", total=hours) as tell:
            hourly, yearly, error, judgement = _core.run(self.for_engine(), self.demand, horizon, tell)
        return self.run_type(self, hourly, yearly, RunError(**error), judged(self, judgement))

    def pressure_drop(self, *, temperature: float | str | None = None) -> pd.DataFrame:
        """Return the loop's pressure drop by part; see `Piping.pressure_drop`.

        Parameters
        ----------
        temperature : float or str, optional
            Fluid temperature [degC]; by default the design temperature of the pump.

        Raises
        ------
        InvalidInput
            If the design has no piping, or the temperature is outside the fluid's table.
        """
        if self.piping is None:
            raise InvalidInput("Design", "piping", None, "", "must be given for a pressure drop")
        laid_out = self.piping.design_temperature(self.limits) if temperature is None else temperature
        return self.piping.pressure_drop(
            ground_side=self.ground_side, fluid=self.fluid, flow=self.flow, temperature=laid_out
        )

    def for_engine(self) -> dict[str, Any]:
        """Return the design as the engine reads it, without the loads, which are passed as `demand`."""
        values = {field.name: getattr(self, field.name) for field in dataclasses.fields(self)}
        for name in ("loads", "distribution", "hot_water", *WITHOUT_EFFECT):
            del values[name]
        return {
            name: value.for_engine() if isinstance(value, Part) else value for name, value in values.items()
        }


def meet(
    *, loads: Loads, distribution: Distribution | None, hot_water: HotWater | None, heat_pump: HeatPump
) -> tuple[dict[str, Series], Series, dict[str, Series] | None]:
    """Return the hourly demand on the heat pump, electricity of the distribution, and state of the tank.

    Raises
    ------
    InvalidInput
        If the parts are incompatible.
    """
    parts = {"distribution": distribution, "hot_water": hot_water}
    plant = {name: part and part.for_engine() for name, part in parts.items()}
    return _core.meet(plant, heat_pump.for_engine(), loads.for_engine())


def check_years(years: int, *, owner: str) -> int:
    """Return a horizon as an int.

    Raises
    ------
    InvalidInput
        If it isn't a whole number from 1 to 100.
    """
    return whole_number(years, 1, 100, owner=owner, field="years")
