"""What a heat pump draws from, as a design and its other parts know it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, ClassVar, Self

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Part, require

if TYPE_CHECKING:
    from loopdrift.parts.fluid.fluid import Fluid
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.hydraulics.channel import Liquid
    from loopdrift.parts.hydraulics.steps import Step
    from loopdrift.parts.hydraulics.turbulence import BoreFlow

Range = tuple[float, float]


class GroundSide(Part):
    """Base of everything that a heat pump can draw from.

    A subclass is a frozen dataclass. It has to say how the engine reads it (`for_engine`); the rest has
    defaults for a ground side without pipes, sizes or prices of its own. What a kind says, draws and takes
    on a site stands beside it, see `loopdrift.ground_sides.kind.Kind`.
    """

    branch: ClassVar[str] = "loop"
    """What the flow is shared among: bores, pipes, coils."""

    wall: ClassVar[str] = "bore wall"
    """What ``wall_degC`` is the temperature of."""

    sizes: ClassVar[Mapping[str, Range | None]] = {}
    """What can be sized, the usual first, and the range that is searched by default [m]; None where whole
    ground sides are compared, see `family`."""

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {self}>"

    @property
    def count(self) -> int:
        """Number of branches in parallel, which share the flow."""
        return 1

    @property
    def exchange_length(self) -> float | None:
        """Length of bore or pipe that exchanges heat [m]; None where there is none."""
        return None

    @property
    def priced(self) -> dict[str, float | None]:
        """Amounts by the names of the prices in `Installation`; None where an amount is unknown."""
        return {}

    @property
    def takes(self) -> dict[str, float]:
        """Land, water, pipe, trenches and bores that it takes, by the columns of a comparison."""
        return {}

    def sized(self, what: str, value: float) -> Self:
        """Return the same of another size.

        Parameters
        ----------
        what : str
            One of `sizes`.
        value : float
            The size [m].
        """
        return self.replace(**{what: value})

    def family(self) -> list[Self]:
        """Return the layouts among which sizing looks for the one with the fewest branches.

        Raises
        ------
        InvalidInput
            If there is no such family.
        """
        owner = type(self).__name__
        raise InvalidInput("Sizing", "among", None, "", f"must be given: a {owner} has no family of layouts")

    def flow_in_pipes(self, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
        """Return how the fluid flows in the pipe or the deepest bore.

        Parameters
        ----------
        ground : Ground
            The ground.
        fluid : Fluid
            The fluid in the loop.
        flow : float
            Total mass flow [kg/s].
        temperature : float
            Mean fluid temperature [degC].

        Raises
        ------
        InvalidInput
            If no pipes are known, or the temperature is outside the fluid's table.
        """
        allowed = "must have pipes that meet the ground or a pond"
        raise InvalidInput("Design", "ground_side", str(self), "", allowed)

    @property
    def has_known_pipes(self) -> bool:
        """Whether `flow_in_pipes` has an answer."""
        return False

    def flow_path(self, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Iterator[Step]:
        """Yield the flow through one branch, where it has a pressure drop of its own.

        Parameters
        ----------
        liquid : Liquid
            Density and viscosity of the fluid.
        flow : float
            Total mass flow [kg/s].
        bend_loss_coefficient : float
            Loss of the bend at the foot of a bore, in velocity heads [-].

        Raises
        ------
        InvalidInput
            If the pipes are not known.
        """
        yield from ()


def require_ground_side(value: object, *, owner: str, field: str = "ground_side") -> None:
    """Refuse what is no ground side, naming the kinds that are known.

    Parameters
    ----------
    value : object
        What was given.
    owner, field : str
        What it was given for.

    Raises
    ------
    InvalidInput
        If it is none.
    """
    require(value, tuple(GroundSide.__subclasses__()), owner=owner, field=field)
