"""Costs of the ground-source plant, and the alternatives to it."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import FacePart, Figure, OptionalFigure, require, require_name
from loopdrift.parts.ground_side import GroundSide
from loopdrift.parts.prices.fuel import Fuel


@dataclass(frozen=True, kw_only=True)
class Installation(FacePart):
    """Investment and maintenance costs of the ground-source plant.

    The cost of the loop rises with its size. Only the prices of the loop's own kind count, so one
    `Installation` serves a study or a comparison of several kinds. A price that is left out is unknown:
    `installed_cost` omits it and `unpriced` names it, and a comparison gives no cost for that kind. Give 0
    for anything free.

    Parameters
    ----------
    drilling : float or str, optional
        Price per metre of active bore, including pipe and grout [currency/m].
    each_bore : float or str, default 0
        Additional price per bore [currency].
    trench : float or str, optional
        Price per metre of a trench field's trenches, dug and filled [currency/m].
    trench_pipe : float or str, optional
        Price per metre of pipe in the trenches, laid [currency/m].
    pond_coil : float or str, optional
        Price per metre of a pond's coils, sunk [currency/m].
    well_drilling : float or str, optional
        Price per metre of well depth, including screen and casing, for return wells too [currency/m].
    well_pump : float or str, optional
        The well's pump with cable and riser [currency].
    trenching : float or str, default 0
        Trenches of headers and laterals, and other costs of the loop that don't rise with its size
        [currency].
    equipment : float or str, default 0
        Heat pump, circulation pump and fluid [currency].
    distribution : float or str, default 0
        Ducts, floors or radiators [currency].
    incentive_share : float or str, default 0
        Share of the installed cost paid by a grant or tax credit [-]; no legal rules are built in.
    incentive_amount : float or str, default 0
        Alternatively, an amount [currency].
    maintenance : float or str, default 0
        Maintenance, the same each year [currency/year].

    Raises
    ------
    InvalidInput
        If a number is outside its range, or the incentive is given both as a share and as an amount.

    Examples
    --------
    >>> Installation(drilling="18 currency/ft", equipment=9_000.0, incentive_share="30 percent").drilling
    59.055118110236215
    >>> Installation(trench="12 currency/ft", trench_pipe="2 currency/m", equipment=9_000.0).trench_pipe
    2.0
    """

    drilling: OptionalFigure = OptionalFigure("currency/m", least=0.0, most=1e9)
    each_bore: Figure = Figure("currency", least=0.0, most=1e12, default=0.0)
    trench: OptionalFigure = OptionalFigure("currency/m", least=0.0, most=1e9)
    trench_pipe: OptionalFigure = OptionalFigure("currency/m", least=0.0, most=1e9)
    pond_coil: OptionalFigure = OptionalFigure("currency/m", least=0.0, most=1e9)
    well_drilling: OptionalFigure = OptionalFigure("currency/m", least=0.0, most=1e9)
    well_pump: OptionalFigure = OptionalFigure("currency", least=0.0, most=1e12)
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
        """Return the cost of the plant before any incentive [currency].

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The loop.

        Raises
        ------
        InvalidInput
            If wells are priced per metre and have no depth.
        """
        return self._loop(ground_side) + self.trenching + self.equipment + self.distribution

    def unpriced(self, ground_side: GroundSide) -> tuple[str, ...]:
        """Return the names of the prices that a loop needs and that are left out.

        Parameters
        ----------
        ground_side : BoreField, TrenchField, Pond or Well
            The loop.
        """
        return tuple(name for name in ground_side.priced if getattr(self, name) is None)

    def _loop(self, side: GroundSide) -> float:
        """Return the cost that rises with the size of the loop [currency]."""
        cost = 0.0
        for name, amount in side.priced.items():
            price = getattr(self, name) or 0.0
            if amount is None and price > 0.0:
                allowed = "must be left out, or the ground side state its depth"
                raise InvalidInput("Installation", name, price, "currency/m", allowed)
            cost += price * (amount or 0.0)
        return cost

    def incentive(self, installed_cost: float) -> float:
        """Return the incentive [currency].

        Parameters
        ----------
        installed_cost : float
            Cost of the plant [currency].

        Raises
        ------
        InvalidInput
            If the incentive exceeds the cost of the plant.
        """
        if self.incentive_amount > installed_cost:
            allowed = f"must be at most the installed cost, {installed_cost:,.0f} currency"
            raise InvalidInput("Installation", "incentive_amount", self.incentive_amount, "currency", allowed)
        return self.incentive_amount + self.incentive_share * installed_cost


@dataclass(frozen=True, kw_only=True)
class Alternative(FacePart):
    """An alternative plant for the same heating, hot water and cooling, without a ground loop.

    Parameters
    ----------
    name : str
        Name in tables.
    efficiency : float or str
        Seasonal efficiency by the fuel's higher heating value [-]; for an air-source heat pump its seasonal
        COP, used in every hour.
    fuel : Fuel, optional
        Its fuel; electricity at the tariff if left out.
    cooling_cop : float or str, optional
        Seasonal COP of its air conditioner [-]; needed if the loads have cooling.
    first_cost : float or str, default 0
        Investment, including air conditioner and distribution [currency].
    maintenance : float or str, default 0
        Maintenance, the same each year [currency/year].

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
