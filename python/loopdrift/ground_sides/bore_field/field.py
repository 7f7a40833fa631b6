"""Bores and their positions."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.both_units import both
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range, number_within, whole_number
from loopdrift.basics.part import require
from loopdrift.basics.series import instants
from loopdrift.basics.words import counted, span
from loopdrift.ground_sides.bore_field.around import layers
from loopdrift.ground_sides.bore_field.arrangement import on_plot
from loopdrift.ground_sides.bore_field.layout import (
    IN_LINE,
    Placed,
    check_alike,
    check_spacing,
    checked_angles,
    checked_positions,
    one_or_each,
    sides_of_rectangles,
    unit_grid,
)
from loopdrift.parts.bore import Bore
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground_side import GroundSide, Measure, largest_number
from loopdrift.parts.hydraulics.steps import Step, through_bore
from loopdrift.parts.hydraulics.turbulence import BoreFlow, bore_flow

if TYPE_CHECKING:
    from loopdrift.parts.fluid.fluid import Fluid
    from loopdrift.parts.hydraulics.channel import Liquid
    from loopdrift.parts.site_plan import SitePlan

USUAL_SPACING = 6.0
"""Spacing of bores if a design has none [m]; common practice, no source."""

MOST_ON_PLOT = 1000
"""Largest number of bores that is tried on a plot."""


@dataclass(frozen=True, eq=False, init=False, repr=False)
class BoreField(Placed, GroundSide):
    """A field of vertical or inclined bores.

    Parameters
    ----------
    bore : Bore or sequence of Bore
        The bore at all positions, or one for each; these may differ only in depth and buried depth.
    positions : array_like
        x and y of each bore at the surface, shape (n, 2), numbers [m] or text with units. Bores must not
        overlap.
    inclination : float, str or sequence, default 0
        Angle between bore and vertical, one for all positions or one for each, 0 to 60 [deg].
    direction : float, str or sequence, default 0
        Azimuth of the inclined bore, one for all positions or one for each, clockwise from north, 0 to 360
        [deg]; x points east and y north.

    Raises
    ------
    InvalidInput
        If bores overlap or meet below the surface, differ in more than depth, buried depth and inclination,
        or don't match the number of positions; or if any is inclined and there are more than 60.

    Notes
    -----
    Depth and buried depth of a bore are measured along it: an inclined bore is less deep than a vertical one.

    A bore is a line on its axis, at least 20 radii deep. Up to a depth of 278 radii, such as a pile of 20 m
    with a diameter of 0.6 m, its segments grow more slowly toward the middle, so that none is much shorter
    than the radius, and the printed error includes up to 2 % of the response for that. No heat is exchanged
    within a third of a radius of the surface, where a wall of uniform temperature would draw unbounded heat.

    Examples
    --------
    >>> bore = Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.10)
    >>> BoreField(bore, positions=[["0 ft", "0 ft"], ["20 ft", "0 ft"]]).count
    2
    >>> fan = BoreField(bore, positions=[[0, 0], [1, 0]], inclination=25.0, direction=[270.0, 90.0])
    >>> fan.feet[:, 0].round(1)
    array([-43.1,  44.1])
    """

    bores: tuple[Bore, ...]
    positions: NDArray[np.float64]
    inclination: NDArray[np.float64]
    direction: NDArray[np.float64]

    def __init__(
        self,
        bore: Bore | Sequence[Bore],
        *,
        positions: Annotated[ArrayLike, Range("m")],
        inclination: float | str | ArrayLike = 0.0,
        direction: float | str | ArrayLike = 0.0,
    ) -> None:
        places = checked_positions(positions)
        bores = tuple(bore) if isinstance(bore, Sequence) else (bore,)
        check_alike(bores)
        if len(bores) not in (1, len(places)):
            raise InvalidInput(
                "BoreField",
                "bore",
                len(bores),
                "",
                f"must be one, or one for each of the {len(places)} positions",
            )
        object.__setattr__(self, "bores", bores)
        object.__setattr__(self, "positions", places)
        for name, angles in (("inclination", inclination), ("direction", direction)):
            object.__setattr__(self, name, checked_angles(angles, name, len(places)))
        self.__post_init__()

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, BoreField):
            return NotImplemented
        return self.bores == other.bores and all(map(np.array_equal, self._places, other._places))

    def __hash__(self) -> int:
        return hash((self.bores, *(array.tobytes() for array in self._places)))

    @classmethod
    def grid(
        cls,
        bore: Bore,
        *,
        columns: Annotated[int, IN_LINE],
        rows: Annotated[int, IN_LINE],
        spacing: Annotated[float | str, Range("m", above=0.0)],
    ) -> Self:
        """Return equal bores on a rectangular grid, numbered row by row from the origin.

        Parameters
        ----------
        bore : Bore
            The bore at all positions.
        columns, rows : int
            Bores along x and along y.
        spacing : float or str
            Spacing of the bores, equal in both directions [m].

        Returns
        -------
        BoreField
            The field.

        Raises
        ------
        InvalidInput
            If a count isn't from 1 to 1000, or the bores would overlap.
        """
        require(bore, Bore, owner="BoreField", field="bore")
        places = unit_grid(columns, rows)
        step = units.to_si(spacing, "m", owner="BoreField", field="spacing")
        check_spacing(step, bore.diameter)
        return cls(bore, positions=step * places)

    branch = "bore"
    wall = "bore wall"

    @property
    def paths(self) -> Sequence[ArrayLike]:
        """Upper and lower end of each bore in plan [m]."""
        return list(np.stack([self.positions, self.feet], axis=1))

    @property
    def sizes(self) -> Mapping[str, Measure | None]:
        """Depth of all bores, their spacing, and their number."""
        return {
            "depth": Measure("m", (20.0, 300.0), 0.1),
            "spacing": Measure("m", (3.0, 15.0), 0.01),
            "bores": None,
        }

    def size_of(self, what: str) -> float:
        """Return depth of the deepest bore, spacing [m], or number of bores."""
        return {"depth": float(self.depths.max()), "spacing": self.spacing, "bores": float(self.count)}[what]

    def __str__(self) -> str:
        low, high = self.depths.min(), self.depths.max()
        depths = both(low, "m", ".1f") if low == high else f"{low:.1f} to {both(high, 'm', '.1f')}"
        text = f"{counted(self.count, 'bore')} of {depths}, {both(self.total_depth, 'm')} in total"
        if self.leans:
            text += f", inclined by {span(self.inclination)} deg"
        if self.count == 1:
            return text
        apart = f"{text}, {both(self.spacing, 'm', '.2f')} apart"
        if self.leans:
            return f"{apart} at the surface, below {both(self.land, 'm2')}"
        is_in_line = self.extent.min() == 0.0
        if is_in_line:
            return apart
        shape = f"in {self.arrangement} " if self.sides is None and self.arrangement else ""
        return f"{apart} {shape}on {both(self.land, 'm2')}"

    @classmethod
    def rectangles(cls, bore: Bore, *, spacing: float | str, most: int, longest: float = 3.0) -> list[Self]:
        """Return all rectangular grids of equal bores and all single rows, in ascending order of bores.

        Parameters
        ----------
        bore : Bore
            The bore at all positions.
        spacing : float or str
            Spacing of the bores [m].
        most : int
            Maximum number of bores.
        longest : float, default 3
            Maximum ratio of columns to rows [-], for two rows or more.

        Returns
        -------
        list of BoreField
            The fields. For equal numbers of bores, the field closest to a square comes first and the single
            row last: six bores give 3 x 2, then 6 x 1.

        Raises
        ------
        InvalidInput
            If a number is out of range, or the bores would overlap.
        """
        most = whole_number(most, 1, owner="BoreField", field="most")
        ratio = number_within(longest, "", owner="BoreField", field="longest", least=1.0)
        sides = sides_of_rectangles(most, ratio)
        return [cls.grid(bore, columns=columns, rows=rows, spacing=spacing) for rows, columns in sides]

    def spaced(self, spacing: float | str) -> Self:
        """Return the same layout with another spacing.

        Parameters
        ----------
        spacing : float or str
            Distance between the closest two bores at the surface [m].

        Raises
        ------
        InvalidInput
            If the bores would overlap or meet below the surface, or there is only one.
        """
        step = units.to_si(spacing, "m", owner="BoreField", field="spacing")
        if self.count == 1:
            raise InvalidInput(
                "BoreField", "spacing", step, "m", "must be omitted: a single bore has no spacing"
            )
        check_spacing(step, max(bore.diameter for bore in self.bores))
        return self.replace(positions=step * (self.positions / self.spacing))

    @property
    def exchange_length(self) -> float:
        """Total active depth of all bores [m]."""
        return self.total_depth

    @property
    def priced(self) -> dict[str, float | None]:
        """Metres of active bore, and number of bores."""
        return {"drilling": self.total_depth, "each_bore": float(self.count)}

    @property
    def takes(self) -> dict[str, float]:
        """Land, with half the spacing around the outer bores; pipe, bores and drilled length."""
        step = self.spacing if self.count > 1 else USUAL_SPACING
        length, width = self.extent + step
        bored = self.total_depth + math.fsum(bore.buried_depth for bore in self.bores) * self.count / len(
            self.bores
        )
        return {
            "land_m2": float(length * width),
            "pipe_m": self.bores[0].pipe_count * bored,
            "bores": float(self.count),
            "bored_m": bored,
        }

    @property
    def children(self) -> dict[str, Any]:
        """The bore; if depths differ, the first."""
        return {"bore": self.bores[0]}

    @property
    def variables(self) -> dict[str, str | None]:
        """Positions and inclinations; columns and rows of a full grid of equal bores."""
        sides: dict[str, str | None] = {} if self.sides is None else {"columns": None, "rows": None}
        return {"spacing": "m", "positions": None, "inclination": "deg", "direction": "deg", **sides}

    def with_values(self, **values: Any) -> Self:
        """Return a copy with other `variables`: columns and rows first, at the original spacing."""
        field = self
        counts = {name: values.pop(name) for name in ("columns", "rows") if name in values}
        if counts:
            sides = self.sides
            if sides is None:
                allowed = "can be varied only for a rectangular grid of equal vertical bores"
                raise InvalidInput("BoreField", ", ".join(counts), "other than its own", "", allowed)
            columns, rows = sides
            grid = {"columns": columns, "rows": rows} | counts
            field = self.grid(self.bores[0], **grid, spacing=self.spacing)
        for name, value in sorted(values.items()):
            field = field.spaced(value) if name == "spacing" else field.replace(**{name: value})
        return field

    def with_child(self, name: str, change: Callable[[Any], Any]) -> Self:
        """Return a copy with every bore changed."""
        bores = [change(bore) for bore in self.bores]
        return self.replace(bore=bores[0] if len(bores) == 1 else bores)

    def change_in_engine(self, names: tuple[str, ...]) -> Callable[[Any, float], Any] | None:
        """Return a function that changes the spacing, or a number of every bore."""
        name, *deeper = names
        if name == "spacing" and self.count > 1:
            places = self.positions / self.spacing
            diameter = max(bore.diameter for bore in self.bores)

            def space(form: Any, spacing: float) -> Any:
                check_spacing(spacing, diameter)
                return form | {"positions": (spacing * places + 0.0).tolist()}

            return space
        changes = [bore.change_in_engine(tuple(deeper)) for bore in self.bores] if deeper else []
        known = [change for change in changes if change is not None]
        if name != "bore" or not known or len(known) < len(changes):
            return None

        def alter(form: Any, value: float) -> Any:
            bores = zip(known, form["bores"], strict=True)
            return form | {"bores": [change(bore, value) for change, bore in bores]}

        return alter

    def sized(self, what: str, value: float) -> Self:
        """Return the field with other depths or another spacing [m]."""
        if what == "spacing":
            return self.spaced(value)
        return self.with_child("bore", lambda bore: bore.replace(depth=value))

    def family(self, plan: SitePlan | None = None) -> list[Self]:
        """Return arrangements of the field's bore at its spacing, in ascending order of bores.

        Rows and rectangles with up to twice as many bores, at least up to 12; on a plot, also L and U shapes,
        with as many bores as fit beside the house. A single bore has the usual spacing of 6 m.
        """
        if len(self.bores) > 1 or self.leans:
            allowed = "must be given for a design with unequal or inclined bores"
            raise InvalidInput("Sizing", "among", None, "", allowed)
        bore = self.bores[0]
        spacing = self.spacing if self.count > 1 else USUAL_SPACING
        if plan is None:
            return self.rectangles(bore, spacing=spacing, most=largest_number(self.count))
        found = on_plot(plan, spacing, MOST_ON_PLOT)
        if not found:
            raise InvalidInput("Sizing", "plot", repr(plan), "", "must have room for a bore")
        return [type(self)(bore, positions=each.positions) for each in found]

    def mean_ground(self, ground: Ground) -> Ground:
        """Return ground with the mean properties of its layers along the bores."""
        return layers.mean_ground(self, ground)

    def flow_in_pipes(self, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
        """Return the flow in the deepest bore."""
        return bore_flow(
            max(self.bores, key=lambda bore: bore.depth),
            ground=ground,
            fluid=fluid,
            flow=flow / self.count,
            temperature=temperature,
        )

    @property
    def has_known_pipes(self) -> bool:
        """Whether the deepest bore is described by its pipes."""
        return max(self.bores, key=lambda bore: bore.depth).pipes is not None

    def flow_path(self, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Iterator[Step]:
        """Yield the flow path through the bore that reaches deepest."""
        deepest = max(self.bores, key=lambda bore: bore.depth + bore.buried_depth)
        yield through_bore(deepest, liquid, flow / self.count, bend_loss_coefficient)

    def for_engine(self) -> dict[str, Any]:
        """Return the field as the engine reads it: one bore for all positions, or one for each."""
        return {
            "kind": "bore field",
            "bores": [bore.for_engine() for bore in self.bores],
            "positions": self.positions.tolist(),
            "leans": [
                {"inclination": inclination, "direction": direction}
                for inclination, direction in self._engine_leans().tolist()
            ],
        }

    def _engine_leans(self) -> NDArray[np.float64]:
        """Return inclination and direction of each bore, shape (count, 2); no rows if all are vertical."""
        angles = np.column_stack([self.inclination, self.direction])
        return angles if angles.any() else angles[:0]

    def replace(self, **changes: Any) -> Self:
        """Return a copy with another `bore`, or other `positions` or inclinations.

        Parameters
        ----------
        **changes
            `bore`, `positions`, `inclination` and `direction`, as for the constructor.
        """
        return type(self)(**{**self.arguments(), **changes})

    def arguments(self) -> dict[str, Any]:
        """Return the constructor's arguments for this field; values that all bores share are given once."""
        alike = all(bore == self.bores[0] for bore in self.bores)
        given = {"bore": self.bores[0] if alike else self.bores, "positions": self.positions}
        if not self.leans:
            return given
        angles = {"inclination": self.inclination, "direction": self.direction}
        return given | {name: one_or_each(values) for name, values in angles.items()}

    def g_function(
        self, ground: Ground, times: ArrayLike, *, uniform_heat_flux: bool = False
    ) -> NDArray[np.float64]:
        """Return the dimensionless step response of the field.

        g = drop of the bore wall temperature x 2 pi k / (mean heat extraction per metre of the field) [-].

        Parameters
        ----------
        ground : Ground
            The ground around the bores.
        times : array_like
            Times since the start of heat extraction, any shape, 1 s to 10,000 years [s].
        uniform_heat_flux : bool, default False
            Equal heat extraction per metre of every bore, with g the mean over the field; otherwise a uniform
            wall temperature of all bores, as for a parallel connection.

        Returns
        -------
        ndarray
            g, the shape of `times`.

        Raises
        ------
        InvalidInput
            If a time is outside its range; with groundwater, if bores are inclined or too many, or their heat
            flux is uniform.

        Notes
        -----
        Finite line sources with mirror images (Claesson & Javed 2011), 24 graded segments per bore, uniform
        wall temperature (Cimmino & Bernier 2014), solved in the Laplace domain. g doesn't include the inside
        of the bores. For fields of up to 144 bores of equal depth and 80 of unequal depth, the results agree
        within 0.05 % with the dense solution of these equations from 6 h to 100 years. For inclined bores,
        the segments are inclined line sources (Cui, Yang & Fang 2006, Lamarche 2011, from memory), and the
        equations are solved without reduction. With groundwater, sources move (Carslaw & Jaeger 1959, section
        10.7; Molina-Giraldo et al. 2011, from memory), and the results agree within 0.1 % with a dense
        solution for fluxes up to 2e-6 m/s.

        Examples
        --------
        >>> ground = Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
        >>> bore = Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.10)
        >>> field = BoreField.grid(bore, columns=10, rows=10, spacing=6.0)
        >>> field.g_function(ground, [20 * 8760 * 3600.0]).round(2)
        array([36.03])
        """
        require(ground, Ground, owner="BoreField", field="ground")
        at = instants(times, owner="BoreField")
        sources = np.array([[bore.depth, bore.buried_depth, bore.diameter / 2.0] for bore in self.bores])
        values = _core.g_function(
            ground.for_engine(), sources, self.positions, self._engine_leans(), at.ravel(), uniform_heat_flux
        )
        return values.reshape(at.shape)
