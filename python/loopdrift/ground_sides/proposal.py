"""A loop that the designer proposes for a site."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Self, TypeVar

from loopdrift.basics import units
from loopdrift.basics.part import FacePart, OptionalFigure, require, require_name
from loopdrift.model.design import Design
from loopdrift.parts.constructors import register
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground_side import GroundSide, require_ground_side
from loopdrift.parts.hydraulics.piping import Piping
from loopdrift.parts.limits import Limits
from loopdrift.parts.plant.heat_pump import HeatPump

if TYPE_CHECKING:
    from typing import Any

D = TypeVar("D", bound=Design)

_OF_THE_BUILDING = ("loads", "limits", "prices", "distribution", "hot_water")
"""Parts of a design that a comparison takes from the design that is compared."""


@dataclass(frozen=True, kw_only=True)
class Proposal(FacePart):
    """A loop that the designer proposes, to be compared with those that are found.

    It is run as it stands, with the building, limits and prices of the design that is compared. What is
    omitted is that of the design too, and the ground that of the site, if it states one for this kind.

    Parameters
    ----------
    name : str
        Its name in the comparison.
    ground_side : BoreField, TrenchField, Pond or Well
        The loop.
    ground : Ground, optional
        The ground.
    fluid : Fluid, optional
        The fluid.
    flow : float or str, optional
        Total flow of the loop [kg/s], or a volume flow as text.
    heat_pump : HeatPump, optional
        The heat pump.
    pump_power : float or str, optional
        Electric power of the circulation pump [W].
    piping : Piping, optional
        Pipes and pump.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type, or a value is outside its range.
    """

    name: str
    ground_side: GroundSide
    ground: Ground | None = None
    fluid: Fluid | None = None
    flow: float | str | None = None
    heat_pump: HeatPump | None = None
    pump_power: OptionalFigure = OptionalFigure("W", least=0.0, most=1e7)
    piping: Piping | None = None
    _source: Design | None = field(default=None, init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        require_name(self.name, owner="Proposal")
        require_ground_side(self.ground_side, owner="Proposal")
        kinds = {"ground": Ground, "fluid": Fluid, "heat_pump": HeatPump, "piping": Piping}
        for name, kind in kinds.items():
            if getattr(self, name) is not None:
                require(getattr(self, name), kind, owner="Proposal", field=name)
        if self.flow is not None:
            units.mass_flow(self.flow, lambda: units.WATER_DENSITY, owner="Proposal", field="flow")

    @classmethod
    def of_design(cls, design: Design, *, name: str) -> Self:
        """Return the loop of a design, with its ground, fluid, flow, heat pump, pump and piping.

        Parameters
        ----------
        design : Design
            The design.
        name : str
            Name in the comparison.

        Raises
        ------
        InvalidInput
            If an argument is of the wrong type.
        """
        require(design, Design, owner="Proposal", field="design")
        made = cls(
            name=name,
            ground_side=design.ground_side,
            ground=design.ground,
            fluid=design.fluid,
            flow=design.flow,
            heat_pump=design.heat_pump,
            pump_power=None if design.pump_power_follows else design.pump_power,
            piping=design.piping,
        )
        object.__setattr__(made, "_source", design)
        return made

    def stated_otherwise(self, design: Design) -> list[str]:
        """Return what the proposal's own design states, other than a design, and is not used with it.

        Parameters
        ----------
        design : Design
            The design that is compared.
        """
        if self._source is None:
            return []
        pairs = {name: (getattr(self._source, name), getattr(design, name)) for name in _OF_THE_BUILDING}
        return [
            name.replace("_", " ")
            for name, (own, used) in pairs.items()
            if own not in (None, Limits()) and own != used
        ]

    def for_building(self, design: D, ground: Ground) -> D:
        """Return a design with this loop instead of its own.

        Parameters
        ----------
        design : Design
            The design.
        ground : Ground
            The ground, if the proposal states none.

        Raises
        ------
        InvalidInput
            If the loop doesn't go together with the rest of the design.
        """
        stated = {
            field: getattr(self, field)
            for field in ("fluid", "flow", "heat_pump", "pump_power", "piping")
            if getattr(self, field) is not None
        }
        changes: dict[str, Any] = {"ground_side": self.ground_side, "ground": self.ground or ground, **stated}
        if self.piping is not None and self.pump_power is None:
            changes["pump_power"] = None  # follows from the piping
        return design.replace(**changes)


register(Proposal, {"parts": Proposal})
