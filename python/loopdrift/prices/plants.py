"""The ground-source plant's first costs, and the plants that the client would have instead."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.bore_field import BoreField
from loopdrift.errors import InvalidInput
from loopdrift.ground_side import GroundSide
from loopdrift.part import FacePart, Figure, OptionalFigure, require, require_name
from loopdrift.prices.fuel import Fuel


@dataclass(frozen=True, kw_only=True)
class Installation(FacePart):
    """What the ground-source plant costs before it runs.

    Parameters
    ----------
    drilling : float or str, default 0
        Price of each metre of active bore, pipe and grout included [currency/m].
    each_bore : float or str, default 0
        What each bore costs besides [currency].
    trenching : float or str, default 0
        Trenches, headers and laterals [currency].
    equipment : float or str, default 0
        Heat pump, circulation pump and fluid [currency].
    distribution : float or str, default 0
        Ducts, floors or radiators [currency].
    incentive_share : float or str, default 0
        Share of all that which somebody else pays [-]: your own figure, whatever the law is.
    incentive_amount : float or str, default 0
        Or an amount [currency].
    maintenance : float or str, default 0
        Upkeep, the same each year [currency/year].

    Raises
    ------
    InvalidInput
        If a number is outside its range, or the incentive is given both ways.

    Examples
    --------
    >>> Installation(drilling="18 currency/ft", equipment=9_000.0, incentive_share="30 percent").drilling
    59.05511811023622
    """

    drilling: Figure = Figure("currency/m", least=0.0, most=1e9, default=0.0)
    each_bore: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    trenching: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    equipment: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    distribution: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    incentive_share: Figure = Figure("", least=0.0, most=1.0, default=0.0)
    incentive_amount: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    maintenance: Figure = Figure("currency/year", least=0.0, most=1e12, default=0.0)

    def __post_init__(self) -> None:
        if self.incentive_share > 0.0 and self.incentive_amount > 0.0:
            allowed = "must be 0 where incentive_share is given: a share or an amount"
            raise InvalidInput("Installation", "incentive_amount", self.incentive_amount, "currency", allowed)

    def installed_cost(self, ground_side: GroundSide) -> float:
        """Return what the plant costs before any incentive [currency].

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The loop; only bores are drilled.
        """
        bores = 0.0
        if isinstance(ground_side, BoreField):
            bores = self.drilling * ground_side.total_depth + self.each_bore * ground_side.count
        return bores + self.trenching + self.equipment + self.distribution

    def incentive(self, installed_cost: float) -> float:
        """Return what somebody else pays of it [currency].

        Parameters
        ----------
        installed_cost : float
            What the plant costs [currency].

        Raises
        ------
        InvalidInput
            If the amount is more than the plant costs.
        """
        if self.incentive_amount > installed_cost:
            allowed = f"must be at most the installed cost, {installed_cost:,.0f} currency"
            raise InvalidInput("Installation", "incentive_amount", self.incentive_amount, "currency", allowed)
        return self.incentive_amount + self.incentive_share * installed_cost


@dataclass(frozen=True, kw_only=True)
class Alternative(FacePart):
    """A plant that meets the same heat, hot water and cold without the ground.

    Parameters
    ----------
    name : str
        What it is called in tables.
    efficiency : float or str
        Heat delivered for each kWh of fuel by its higher heating value, over the season [-]; of an
        air-source heat pump its seasonal COP, taken in each hour alike.
    fuel : Fuel, optional
        What it burns; electricity by the tariff where left out.
    cooling_cop : float or str, optional
        Seasonal COP of the ordinary air conditioner beside it [-]; needed where the loads have cooling.
    first_cost : float or str, default 0
        What it costs before it runs, air conditioner and distribution included [currency].
    maintenance : float or str, default 0
        Upkeep, the same each year [currency/year].

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a number is outside its range.

    Examples
    --------
    >>> Alternative(name="air-source heat pump", efficiency=2.6, cooling_cop=3.4).fuel is None
    True
    """

    name: str
    efficiency: Figure = Figure("", least=0.05, most=20.0)
    fuel: Fuel | None = None
    cooling_cop: OptionalFigure = OptionalFigure("", least=0.5, most=30.0)
    first_cost: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    maintenance: Figure = Figure("currency/year", least=0.0, most=1e12, default=0.0)

    def __post_init__(self) -> None:
        require_name(self.name, owner="Alternative")
        if self.fuel is None:
            return
        require(self.fuel, Fuel, owner="Alternative", field="fuel")
        if self.efficiency > 1.0:
            allowed = "must be at most 1 for a fuel, by its higher heating value"
            raise InvalidInput("Alternative", "efficiency", self.efficiency, "", allowed)
