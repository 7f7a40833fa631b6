"""The ground side: the heat source of a heat pump, as a design and its other parts see it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, ClassVar, NamedTuple, Self

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Part, require

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from loopdrift.parts.fluid.fluid import Fluid
    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.hydraulics.channel import Liquid
    from loopdrift.parts.hydraulics.steps import Step
    from loopdrift.parts.hydraulics.turbulence import BoreFlow
    from loopdrift.parts.site_plan import SitePlan

Range = tuple[float, float]


LEAST_FAMILY = 12
"""Number of bores, trenches or coils up to which sizing looks, however few a design has."""


def largest_number(own: int) -> int:
    """Return the number of bores, trenches or coils up to which sizing looks: twice those of the design.

    Parameters
    ----------
    own : int
        Number that the design has.
    """
    return max(2 * own, LEAST_FAMILY)


class Measure(NamedTuple):
    """A quantity of a ground side of which sizing finds the smallest value.

    Parameters
    ----------
    unit : str
        Its unit.
    between : tuple of float
        The range that is searched by default, in that unit.
    resolution : float
        Resolution of the smallest value, in that unit.
    in_engine : bool
        Whether the engine varies it; otherwise the ground side does.
    """

    unit: str
    between: Range
    resolution: float
    in_engine: bool = True


class GroundSide(Part):
    """Base of every heat source that a heat pump can use: bores, trenches, ponds, wells.

    A subclass is a frozen dataclass. It must define how the engine reads it (`for_engine`); everything else
    has defaults for a ground side without pipes, sizes or prices. The kind's texts, charts and layouts on a
    site are separate, see `loopdrift.ground_sides.kind.Kind`.
    """

    branch: ClassVar[str] = "loop"
    """Name of one parallel branch of the flow: bore, pipe, coil."""

    wall: ClassVar[str] = "bore wall"
    """The surface whose temperature is ``wall_degC``."""

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {self}>"

    @property
    def count(self) -> int:
        """Number of parallel branches, which share the flow."""
        return 1

    @property
    def exchange_length(self) -> float | None:
        """Length of bore or pipe that exchanges heat [m]; None if there is none."""
        return None

    @property
    def arrangement(self) -> str:
        """How the branches are arranged, such as ``4 by 3``; empty if there is no word for it."""
        return ""

    @property
    def paths(self) -> Sequence[ArrayLike]:
        """Bores or pipes in plan, each as points of shape (n, 2) [m]; none if places are unknown."""
        return ()

    def mean_ground(self, ground: Ground) -> Ground:
        """Return ground with the mean properties of its layers along this ground side.

        Parameters
        ----------
        ground : Ground
            The ground; returned as it is if it has no layers or they make no difference.
        """
        return ground

    @property
    def priced(self) -> dict[str, float | None]:
        """Quantities by the name of their price in `Installation`; None if a quantity is unknown."""
        return {}

    @property
    def takes(self) -> dict[str, float]:
        """Land, water, pipe, trenches and bores that it needs, by column of a comparison."""
        return {}

    @property
    def sizes(self) -> Mapping[str, Measure | None]:
        """What can be sized, the usual first; None for a number, found by comparing layouts (`family`)."""
        return {}

    def size_of(self, what: str) -> float:
        """Return the present value of one of `sizes`, in its unit.

        Parameters
        ----------
        what : str
            One of `sizes`.
        """
        return float(getattr(self, what))

    def sized(self, what: str, value: float) -> Self:
        """Return a copy of another size.

        Parameters
        ----------
        what : str
            One of the measures in `sizes`.
        value : float
            The size, in the unit of the measure.
        """
        return self.replace(**{what: value})

    def family(self, plan: SitePlan | None = None) -> list[Self]:
        """Return the layouts among which sizing finds the one with the fewest branches.

        Parameters
        ----------
        plan : SitePlan, optional
            The plot that they must fit on, beside its house.

        Raises
        ------
        InvalidInput
            If there is no such family.
        """
        owner = type(self).__name__
        raise InvalidInput("Sizing", "among", None, "", f"must be given: a {owner} has no family of layouts")

    def flow_in_pipes(self, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
        """Return the flow in one pipe, or in the deepest bore.

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
        allowed = "must have pipes in the ground or in a pond"
        raise InvalidInput("Design", "ground_side", str(self), "", allowed)

    @property
    def has_known_pipes(self) -> bool:
        """Whether `flow_in_pipes` can be computed."""
        return False

    def flow_path(self, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Iterator[Step]:
        """Yield the flow through one branch, if the branch has a pressure drop.

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
    """Refuse anything but a ground side, with the names of the known kinds.

    Parameters
    ----------
    value : object
        The value given.
    owner, field : str
        What the value belongs to, for the message.

    Raises
    ------
    InvalidInput
        If it is not a ground side.
    """
    require(value, tuple(GroundSide.__subclasses__()), owner=owner, field=field)
