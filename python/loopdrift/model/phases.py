"""Plants that change during their life: designs in phases, and their runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self

from loopdrift import _core
from loopdrift.basics import notebook
from loopdrift.basics.errors import InvalidInput, UnknownName
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.numbers import Range, WholeRange, number_within, whole_number
from loopdrift.basics.words import Shown
from loopdrift.model.cautions import CAUTIONS
from loopdrift.model.clearance import judged
from loopdrift.model.design import WITHOUT_EFFECT, Design, check_years
from loopdrift.model.judgement import LABELS, Judgement
from loopdrift.model.progress import Progress, Reporting
from loopdrift.model.run import Run, Span
from loopdrift.model.run_error import RunError
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.hydraulics.piping import Piping
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Loads
from loopdrift.parts.plant.distribution import Distribution
from loopdrift.parts.plant.heat_pump import HeatPump
from loopdrift.parts.plant.hot_water import HotWater

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_FIXED = {
    "ground": "must stay the same: it is the ground that remembers the heat of the years before",
    "ground_side": "must stay the same: the effect of past heat on other bores or pipes isn't computed",
    "start_month": "must stay the same: every year of a run begins in the same month",
}
_LAST = 100


@dataclass(frozen=True, kw_only=True)
class Change(Shown):
    """What changes from a year on; fields that aren't given stay the same.

    Parameters
    ----------
    year : int
        Year of operation that begins with the change, 2 to 100, in ascending order.
    investment : float or str, optional
        What the change costs when it is made, in the currency of the prices.
    heat_pump : HeatPump, optional
        The heat pump.
    loads : Loads, optional
        The building loads; they begin with their first year.
    distribution : AirDistribution or WaterDistribution, optional
        Ducts, or radiant floors and radiators.
    hot_water : HotWater, optional
        Hot water from a tank.
    limits : Limits, optional
        The limits that these years are judged by.
    fluid : Fluid, optional
        The fluid in the loop; bores only.
    flow : float or str, optional
        Total flow while the circulation pump runs [kg/s]; bores only.
    pump_power : float or str, optional
        Electric power of the circulation pump while it runs [W].
    pump_stops : bool, optional
        Whether the circulation pump stops with the compressor.
    piping : Piping, optional
        Pipes and pump.
    """

    year: Annotated[int, WholeRange(2, _LAST)]
    investment: Annotated[float, Range("currency", least=0.0)] = 0.0
    heat_pump: HeatPump | None = None
    loads: Loads | None = None
    distribution: Distribution | None = None
    hot_water: HotWater | None = None
    limits: Limits | None = None
    fluid: Fluid | None = None
    flow: float | str | None = None
    pump_power: float | str | None = None
    pump_stops: bool | None = None
    piping: Piping | None = None

    @property
    def given(self) -> dict[str, Any]:
        """The fields that change, by name."""
        values = {field.name: getattr(self, field.name) for field in fields(self)[2:]}
        return {name: value for name, value in values.items() if value is not None}


_MAY_CHANGE = tuple(field.name for field in fields(Change)[2:])


@dataclass(frozen=True)
class Phase(Shown):
    """Years in which a plant stays the same.

    Parameters
    ----------
    year : int
        First year of the phase; it lasts until the next.
    design : Design
        The plant.
    changed : tuple of str
        Fields of the design that differ from the phase before.
    investment : float, default 0
        What the change costs when it is made [currency].
    """

    year: int
    design: Design
    changed: tuple[str, ...]
    investment: float = 0.0

    def __str__(self) -> str:
        return f"from year {self.year}: {', '.join(self.changed).replace('_', ' ')}"


class Phases:
    """A plant that changes from one year to another; made by `Design.then`.

    Parameters
    ----------
    phases : sequence of Phase
        The phases, the first from year 1.
    """

    run_type: ClassVar[type[PhasedRun]]
    """Type that `run` returns."""

    def __init__(self, phases: Sequence[Phase]) -> None:
        self.phases = tuple(phases)

    def __repr__(self) -> str:
        return f"<Phases: {self.phases[0].design.ground_side}; {'; '.join(map(str, self.phases[1:]))}>"

    def _repr_html_(self) -> str:
        return notebook.heading(str(self.phases[0].design.ground_side)) + notebook.sentences(
            map(str, self.phases[1:])
        )

    @classmethod
    def of(cls, design: Design) -> Self:
        """Return a plant of one phase, to which `then` adds others.

        Parameters
        ----------
        design : Design
            The plant of year 1.
        """
        return cls([Phase(1, design, ())])

    def then(self, year: int, *, investment: float | str = 0.0, **changes: Any) -> Self:
        """Return the plant with a further change.

        Parameters
        ----------
        year : int
            Year of operation that begins with the change: after that of the change before, up to 100.
        investment : float, default 0
            What the change costs when it is made [currency].
        **changes
            Fields of the design and their values, as for `Design`. Loads begin with their first year;
            those that don't change go on.

        Returns
        -------
        Phases
            The plant in phases.

        Raises
        ------
        InvalidInput
            If the year or a field is not allowed, or the design can't have the values.
        """
        last = self.phases[-1]
        from_year = whole_number(year, last.year + 1, _LAST, owner="Design.then", field="year")
        spent = number_within(investment, "currency", owner="Design.then", field="investment", least=0.0)
        if not changes:
            raise InvalidInput("Design.then", "changes", "nothing", "", "must name at least one field")
        for name in changes:
            if name in _FIXED:
                raise InvalidInput("Design.then", name, "another", "", _FIXED[name])
            if name not in _MAY_CHANGE:
                if name in WITHOUT_EFFECT:
                    allowed = "must be left out: it has no effect on a run"
                    raise InvalidInput("Design.then", name, "another", "", allowed)
                raise UnknownName("Design.then", "field", name, "not a field that can change", _MAY_CHANGE)
        after = last.design.replace(**changes)
        return type(self)([*self.phases, Phase(from_year, after, tuple(changes), spent)])

    def run(self, years: int = 20, *, progress: Progress = False) -> PhasedRun:
        """Simulate every hour of a horizon; the ground keeps the heat of all phases.

        Each year is judged by the limits of its phase. Where the flow or the fluid changes, the heat stored
        inside the bores follows the new one at once; `RunError` includes the difference.

        Parameters
        ----------
        years : int, default 20
            Horizon, up to 100 years of 8760 hours; it must include the last phase.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of hours done.

        Returns
        -------
        PhasedRun
            Hourly and yearly tables, and the error of the temperatures.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, the fluid freezes during the run, the loop is a pond or a well, or
            flow or fluid of trenches change.
        """
        horizon = check_years(years, owner="Phases")
        last = self.phases[-1].year
        if horizon < last:
            raise InvalidInput("Phases", "years", years, "", f"must include the last phase, from year {last}")
        epochs = [
            (phase.year - 1, phase.design.for_engine(), place, phase.year - began)
            for place, (phase, began) in enumerate(zip(self.phases, self.loads_since, strict=True))
        ]
        loads = [phase.design.demand for phase in self.phases]
        with Reporting(progress, owner="Phases", unit="hour", total=horizon * HOURS_PER_YEAR) as tell:
            hourly, yearly, error, judgement = _core.run_epochs(epochs, loads, horizon, tell)
        judged_by_phase = judged(self.phases[0].design, judgement)
        return self.run_type(self, hourly, yearly, RunError(**error), judged_by_phase)

    @property
    def loads_since(self) -> list[int]:
        """The year in which the loads of each phase began."""
        years: list[int] = []
        for phase in self.phases:
            years.append(phase.year if not years or "loads" in phase.changed else years[-1])
        return years


class PhasedRun(Run):
    """Hourly fluid temperatures of a plant in phases, and results derived from them; made by `Phases.run`.

    `design` is that of the last phase.

    Parameters
    ----------
    plant : Phases
        The plant.
    hourly, yearly : dict of str to numpy.ndarray
        The engine's columns.
    error : RunError
        The largest errors of the temperatures.
    judgement : Judgement
        The judgement of each year by the limits of its phase.
    """

    def __init__(
        self,
        plant: Phases,
        hourly: dict[str, NDArray[np.float64]],
        yearly: dict[str, NDArray[Any]],
        error: RunError,
        judgement: Judgement,
    ) -> None:
        super().__init__(plant.phases[-1].design, hourly, yearly, error, judgement)
        self.plant = plant

    @property
    def spans(self) -> tuple[Span, ...]:
        phases = self.plant.phases
        ends = [*(phase.year - 1 for phase in phases[1:]), self.years]
        return tuple(
            Span(phase.year, end, phase.design, began)
            for phase, end, began in zip(phases, ends, self.plant.loads_since, strict=True)
        )

    def __str__(self) -> str:
        return "\n".join(
            [
                f"{self.years} years of {self.design.ground_side}",
                *map(str, self.plant.phases[1:]),
                self._verdict,
                "",
                self.yearly.loc[self._ends, _SHOWN].round(2).to_string(),
                "",
                f"Temperatures are within {self.error.largest:.2g} K of the exact solution of the equations.",
                "",
                CAUTIONS,
            ]
        )

    def _repr_html_(self) -> str:
        return (
            notebook.heading(f"{self.years} years of {self.design.ground_side}")
            + notebook.sentences([*map(str, self.plant.phases[1:]), self._verdict])
            + notebook.table(self.yearly.loc[self._ends, _SHOWN])
            + notebook.sentences([CAUTIONS])
        )

    @property
    def _ends(self) -> list[int]:
        """The first year, the last of each phase, and the first of the next."""
        changes = {phase.year for phase in self.plant.phases[1:]}
        return sorted({1, self.years} | changes | {year - 1 for year in changes})

    @property
    def _verdict(self) -> str:
        if self.holds:
            return "The limits of each phase hold in every hour."
        broken = ", ".join(LABELS[each.name] for each in self.judgement.broken)
        first = min(
            year for each in self.judgement.broken for year, hours in enumerate(each.hours_broken, 1) if hours
        )
        return f"Limits exceeded, first in year {first}: {broken}."


Phases.run_type = PhasedRun
_SHOWN = ["entering_fluid_min_degC", "entering_fluid_max_degC", "electricity_kWh", "seasonal_cop"]
