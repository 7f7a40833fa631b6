"""Cost of a run by year, compared with alternatives that meet the same loads."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, NoReturn

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.cost.economics import (
    advantage_lasts,
    escalation,
    levelised_cost,
    present_value,
    simple_payback,
)
from loopdrift.basics import model_time, notebook
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.part import require
from loopdrift.model.phases import PhasedRun
from loopdrift.parts.prices.carbon import carbon
from loopdrift.parts.prices.plants import Alternative
from loopdrift.parts.prices.prices import GROUND_SOURCE, Prices

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.model.design import Design
    from loopdrift.model.run import Run, Span

Hourly = NDArray[np.float64]
"""Hours by year: shape (years, 8760)."""

_WATT_HOURS_PER_KWH = 1000.0
_MONTHS_PER_YEAR = 12


@dataclass(frozen=True)
class _Plant:
    """A plant with its costs and its electricity."""

    name: str
    installed_cost: float
    incentive: float
    maintenance: float
    electricity: Hourly
    """[kWh]"""
    alternative: Alternative | None = None
    investments: Mapping[int, float] = field(default_factory=dict)
    """What changes of the plant cost, by the year that begins with them [currency]."""

    @property
    def first_cost(self) -> float:
        return self.installed_cost - self.incentive


class Cost:
    """Cost of a run and of its alternatives; made by `Run.cost`.

    Parameters
    ----------
    prices : Prices
        The prices.
    yearly : pandas.DataFrame
        One row a plant and year.
    summary : pandas.DataFrame
        One row a plant.
    unpriced : tuple of str
        Missing prices of items that this kind of loop needs; the items count as zero.
    plant_changes : bool, default False
        Whether the plant changes during the run, so that not only the drift makes years differ.
    """

    def __init__(
        self,
        prices: Prices,
        yearly: pd.DataFrame,
        summary: pd.DataFrame,
        unpriced: tuple[str, ...],
        *,
        plant_changes: bool = False,
    ) -> None:
        self.prices = prices
        self.unpriced = unpriced
        self.plant_changes = plant_changes
        self._yearly = yearly
        self._summary = summary

    @property
    def yearly(self) -> pd.DataFrame:
        """One row per plant and year: energy, cost and carbon.

        ``heat_kWh`` (space heating and hot water) and ``cold_kWh`` (cooling) delivered, the same for each
        plant; ``electricity_kWh`` and ``fuel_kWh`` (higher heating value) purchased, for the ground-source
        plant as in `Run.yearly`; ``energy_cost``, ``fixed_cost`` (monthly charges), ``maintenance_cost`` and
        their sum ``cost``; ``energy_cost_at_first_prices``: the year's energy at the prices and weekdays of
        year 1, which varies only with the drift of the ground and with loads that differ by year;
        ``carbon_kg``; ``investment`` at the beginning of the year, not included in ``cost``, for a plant that
        changes.
        """
        return self._yearly

    @property
    def summary(self) -> pd.DataFrame:
        """One row per plant, the ground-source plant first.

        ``installed_cost``, ``incentive``, and ``first_cost``, their difference; ``present_cost``: present
        value of first cost and all yearly costs; ``levelised_cost_per_kWh`` of heating and cooling
        delivered, empty without any; ``carbon_kg`` of all years. For the choice of the ground-source plant
        instead of an alternative: ``extra_first_cost``, ``first_year_saving``, ``simple_payback_years`` and
        ``net_present_value``. The payback is infinite if the choice never pays, 0 if the ground source has
        neither a higher first cost nor a higher cost in any year, and empty if its first cost isn't higher
        but the cost of some year is. In that case, ``advantage_lasts_years`` is the time until higher yearly
        costs use up the initial advantage, infinite if they don't within the run; it is empty if the ground
        source has a higher first cost.
        """
        return self._summary

    def by_year(self, column: str) -> pd.DataFrame:
        """Return one column of the yearly table: one row per year, one column per plant.

        Parameters
        ----------
        column : str
            Name of the column, such as ``cost``.

        Raises
        ------
        InvalidInput
            If there is no such column.
        """
        if column not in self._yearly:
            allowed = f"must be one of {', '.join(self._yearly.columns)}"
            raise InvalidInput("Cost", "column", repr(column), "", allowed)
        return self._yearly[column].unstack("plant")[list(self._summary.index)]  # noqa: PD010

    @property
    def drift(self) -> float:
        """Relative change of the energy cost from the first year to the last, at the prices of year 1 [-]."""
        at_first_prices = self.by_year("energy_cost_at_first_prices")[GROUND_SOURCE].to_numpy()
        first, last = float(at_first_prices[0]), float(at_first_prices[-1])
        return last / first - 1.0 if first else 0.0

    def plot(self, *, ax: Axes | None = None) -> Axes:
        """Draw the cost of each year for the ground-source plant and its alternatives.

        Parameters
        ----------
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.
        """
        from loopdrift import charts

        return charts.cost(self.by_year("cost"), currency=self.prices.currency, ax=ax)

    def text(self, *, units: Literal["SI", "IP"] = "SI") -> str:
        """Return one row per plant, and the savings of the ground-source plant.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Unit of the levelised cost: per kWh or per million Btu.
        """
        from loopdrift.analysis.cost.text import text

        return text(self, units)

    def __repr__(self) -> str:
        return f"<Cost: {', '.join(map(str, self.summary.index))}, in {self.prices.currency}>"

    def _repr_html_(self) -> str:
        return notebook.heading(f"Cost in {self.prices.currency}") + notebook.table(self.summary)

    def __str__(self) -> str:
        return self.text()


def of(run: Run, prices: Prices) -> Cost:
    """Return the cost of a run and of the alternatives in the prices.

    All plants deliver the same heating and hot water, as given by the loads, and the same cooling, as met by
    the heat pump. The run's back-up heat is electric. All plants share the building's distribution, with the
    same electricity for fans and pumps, and its tank; the fixed charge for electricity applies to every
    plant.

    Parameters
    ----------
    run : Run
        The run.
    prices : Prices
        The prices.

    Raises
    ------
    InvalidInput
        If `prices` isn't a Prices; or there is cooling, and an alternative has no COP for it.
    """
    require(prices, Prices, owner="Cost", field="prices")
    heat, cold = _delivered(run)
    installation = prices.installation
    installed = installation.installed_cost(run.design.ground_side)
    shared = _drawn(run, "distribution_W")
    plants = [
        _Plant(
            GROUND_SOURCE,
            installed,
            installation.incentive(installed),
            installation.maintenance,
            _drawn(run, "electricity_W"),
            investments=_investments(run),
        ),
        *(_alternative(plant, heat, cold, shared) for plant in prices.alternatives),
    ]
    count = _Counter(prices, run.years, run.design.start_month, heat, cold)
    tables = {plant.name: count.yearly(plant) for plant in plants}
    unpriced = installation.unpriced(run.design.ground_side)
    summary = _summary(prices, plants, tables)
    return Cost(prices, _stacked(tables), summary, unpriced, plant_changes=len(run.spans) > 1)


def _investments(run: Run) -> dict[int, float]:
    """Return what changes of the plant cost, by year [currency]; empty for a plant that doesn't change."""
    phases = run.plant.phases[1:] if isinstance(run, PhasedRun) else ()
    return {phase.year: phase.investment for phase in phases}


def _delivered(run: Run) -> tuple[Hourly, Hourly]:
    """Return the heating and cooling delivered in each hour of a run [kWh]."""
    heat, cold = np.concatenate([_asked(span) for span in run.spans], axis=1)
    cold = cold - run.hourly["unmet_cooling_W"].to_numpy()
    shape = run.years, HOURS_PER_YEAR
    return (heat / _WATT_HOURS_PER_KWH).reshape(shape), (cold / _WATT_HOURS_PER_KWH).reshape(shape)


def _asked(span: Span) -> NDArray[np.float64]:
    """Return heating with hot water, and cooling, to be delivered in each hour, shape (2, hours) [W]."""
    demand, tank = span.design.demand, span.design.tank
    water = demand["hot_water"] if tank is None else tank["drawn_W"] + tank["lost_W"]
    hours = span.hours_of_loads()
    return np.stack(
        [series.take(hours, mode="wrap") for series in (demand["heating"] + water, demand["cooling"])]
    )


def _drawn(run: Run, column: str) -> Hourly:
    """Return the electricity in a column of the hourly table, zero without the column [kWh]."""
    shape = run.years, HOURS_PER_YEAR
    if column not in run.hourly:
        return np.zeros(shape)
    return (run.hourly[column].to_numpy() / _WATT_HOURS_PER_KWH).reshape(shape)


def own(run: Run) -> Cost:
    """Return the cost of a run at the prices of its design.

    Parameters
    ----------
    run : Run
        The run.

    Raises
    ------
    InvalidInput
        If the design has no prices.
    """
    prices = run.spans[0].design.prices
    if prices is None:
        raise InvalidInput("Run", "prices", None, "", "must be given if the design has none")
    return of(run, prices)


def require_priced(design: Design) -> None:
    """Check, before a run, that a design's prices allow its cost to be computed.

    Raises
    ------
    InvalidInput
        If an alternative has no COP for the cooling in the loads, or the installation has no cost.
    """
    prices = design.prices
    if prices is None:
        return
    for plant in prices.alternatives:
        if plant.cooling_cop is None and design.demand["cooling"].any():
            _refuse_cooling()
    prices.installation.incentive(prices.installation.installed_cost(design.ground_side))


def _refuse_cooling() -> NoReturn:
    raise InvalidInput("Alternative", "cooling_cop", None, "", "must be given: the loads include cooling")


def _alternative(plant: Alternative, heat: Hourly, cold: Hourly, shared: Hourly) -> _Plant:
    electricity = shared + (0.0 if plant.fuel is not None else heat / plant.efficiency)
    if cold.any():
        if plant.cooling_cop is None:
            _refuse_cooling()
        electricity += cold / plant.cooling_cop
    return _Plant(plant.name, plant.first_cost, 0.0, plant.maintenance, electricity, plant)


@dataclass(frozen=True)
class _Counter:
    """Sums energy, cost and carbon of each year."""

    prices: Prices
    years: int
    start_month: int
    heat: Hourly
    cold: Hourly

    @functools.cached_property
    def hourly_prices(self) -> Hourly:
        """Return the price in each hour of the run, without tiers and escalation [currency/kWh]."""
        first = model_time.WEEKDAYS.index(self.prices.first_weekday)
        of_weekdays = self.prices.electricity.hourly_prices(self.start_month)
        return of_weekdays[model_time.first_weekdays(first, self.years)]

    @functools.cached_property
    def delivered(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return heating and cooling of each year [kWh]."""
        return self.heat.sum(axis=1), self.cold.sum(axis=1)

    def yearly(self, plant: _Plant) -> dict[str, NDArray[np.float64]]:
        """Return the columns of one plant."""
        tariff, (heat, cold) = self.prices.electricity, self.delivered
        tiers = tariff.tier_cost(plant.electricity, start_month=self.start_month)
        at_first = plant.electricity @ self.hourly_prices[0] + tiers
        rise = escalation(tariff.escalation, self.years)
        energy_cost = rise * (np.einsum("ij,ij->i", plant.electricity, self.hourly_prices) + tiers)
        fixed_cost = rise * _MONTHS_PER_YEAR * tariff.monthly
        emitted = carbon(tariff.carbon, plant.electricity, start_month=self.start_month, owner="Tariff")
        burnt = np.zeros(self.years)
        fuel = None if plant.alternative is None else plant.alternative.fuel
        if plant.alternative is not None and fuel is not None:
            burnt = heat / plant.alternative.efficiency
            rise = escalation(fuel.escalation, self.years)
            at_first = at_first + fuel.price_per_kWh * burnt
            energy_cost = energy_cost + rise * fuel.price_per_kWh * burnt
            fixed_cost = fixed_cost + rise * _MONTHS_PER_YEAR * fuel.monthly
            emitted = emitted + carbon(
                fuel.carbon, burnt[:, np.newaxis], start_month=self.start_month, owner="Fuel"
            )
        maintenance_cost = np.full(self.years, plant.maintenance)
        spent = np.array([plant.investments.get(year, 0.0) for year in range(1, self.years + 1)])
        return {
            "heat_kWh": heat,
            "cold_kWh": cold,
            "electricity_kWh": plant.electricity.sum(axis=1),
            "fuel_kWh": burnt,
            "energy_cost": energy_cost,
            "energy_cost_at_first_prices": at_first,
            "fixed_cost": fixed_cost,
            "maintenance_cost": maintenance_cost,
            "cost": energy_cost + fixed_cost + maintenance_cost,
            "carbon_kg": emitted,
            "investment": spent,
        }


def _stacked(tables: dict[str, dict[str, NDArray[np.float64]]]) -> pd.DataFrame:
    import pandas as pd

    columns = next(iter(tables.values()))
    years = len(columns["cost"])
    index = pd.MultiIndex.from_product([list(tables), range(1, years + 1)], names=["plant", "year"])
    stacked = {name: np.concatenate([table[name] for table in tables.values()]) for name in columns}
    table = pd.DataFrame(stacked, index=index)
    return table if table["investment"].any() else table.drop(columns="investment")


def _summary(
    prices: Prices, plants: list[_Plant], tables: dict[str, dict[str, NDArray[np.float64]]]
) -> pd.DataFrame:
    import pandas as pd

    rate = prices.discount_rate
    own, later = (tables[GROUND_SOURCE][name] for name in ("cost", "investment"))
    # Made at the beginning of a year, which is the end of the year before.
    invested = present_value(later[1:], rate)
    rows: list[dict[str, Any]] = []
    for plant in plants:
        table = tables[plant.name]
        present_cost = plant.first_cost + present_value(table["cost"], rate)
        if plant.alternative is None:
            present_cost += invested
        delivered = table["heat_kWh"] + table["cold_kWh"]
        row = {
            "installed_cost": plant.installed_cost,
            "incentive": plant.incentive,
            "first_cost": plant.first_cost,
            "present_cost": present_cost,
            "levelised_cost_per_kWh": (
                levelised_cost(present_cost, delivered, rate) if delivered.any() else math.nan
            ),
            "carbon_kg": table["carbon_kg"].sum(),
        }
        if plant.alternative is not None:
            extra, saving = plants[0].first_cost - plant.first_cost, table["cost"] - own
            kept = saving - later
            row |= {
                "extra_first_cost": extra,
                "first_year_saving": saving[0],
                "simple_payback_years": simple_payback(extra, kept),
                "advantage_lasts_years": advantage_lasts(extra, kept),
                "net_present_value": present_value(saving, rate) - extra - invested,
            }
        rows.append(row)
    return pd.DataFrame(rows, index=pd.Index([plant.name for plant in plants], name="plant"))
