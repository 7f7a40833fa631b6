"""Pipes in trenches, straight or coiled."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.both_units import both
from loopdrift.basics.bounds import MOST_PIPES_IN_A_TRENCH
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range, WholeRange
from loopdrift.basics.part import Checked, Number, OptionalNumber, Part, require
from loopdrift.basics.series import instants
from loopdrift.basics.words import counted
from loopdrift.ground_sides.placement import placed, sides
from loopdrift.ground_sides.trench_field import layout
from loopdrift.parts.bore import Pipe
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.surface_wave import SurfaceWave
from loopdrift.parts.ground_side import GroundSide, Measure, largest_number
from loopdrift.parts.hydraulics.steps import Step, through_pipes
from loopdrift.parts.hydraulics.turbulence import BoreFlow, pipe_flow

if TYPE_CHECKING:
    from loopdrift.parts.fluid.fluid import Fluid
    from loopdrift.parts.hydraulics.channel import Liquid
    from loopdrift.parts.site_plan import SitePlan

USUAL_SPACING = 4.0
"""Distance between the centre lines of neighbouring trenches, if a design has none [m]; common practice, no
source."""

_IN_LINE = WholeRange(1, MOST_PIPES_IN_A_TRENCH)
"""Pipes side by side, or above each other."""

CLOSE = 2.0
"""Distance between the points of a field that must be on a plot [m]."""


@dataclass(frozen=True, kw_only=True)
class Coil(Part):
    """A coil: a pipe in consecutive rings along a trench, which may overlap.

    The return pipe is neglected.

    Parameters
    ----------
    diameter : float or str
        Diameter of the rings, between centre lines [m].
    pitch : float or str
        Distance between the centres of neighbouring rings [m].
    depth : float or str
        Depth of the centres below the surface [m].
    upright : bool, default False
        Whether the rings are vertical, along the trench; otherwise they are horizontal.

    Raises
    ------
    InvalidInput
        If a value is outside its range.
    """

    diameter: Number = Number()
    pitch: Number = Number()
    depth: Number = Number()
    upright: bool = False

    def __post_init__(self) -> None:
        require(self.upright, bool, owner="Coil", field="upright")
        super().__post_init__()


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class TrenchField(GroundSide):
    """Equal parallel trenches, with one to six straight pipes or one coil each, all pipes in parallel.

    All pipes have the same mean fluid temperature; their wall temperatures differ.

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    length : float or str
        Length of each trench and of each straight pipe [m].
    pipes : array_like, optional
        Axis of each straight pipe of a trench: distance from the trench's centre line and depth below the
        surface, shape (n, 2), n from 1 to 6, numbers [m] or text with units.
    coil : Coil, optional
        The coil of each trench. Give exactly one of `pipes` and `coil`.
    trenches : int, default 1
        Number of trenches.
    spacing : float or str, optional
        Distance between the centre lines of neighbouring trenches [m]; required for more than one.
    surface : SurfaceWave
        The yearly wave of the surface temperature.
    origin : tuple of float or str, default (0, 0)
        Where the centre line of the first trench begins in plan: x and y [m], x points east and y north. The
        others are to its right. It doesn't affect a run, except by the distances that a site requires.
    direction : float or str, default 0
        Azimuth of the trenches, clockwise from north, 0 to 360 [deg].

    Raises
    ------
    InvalidInput
        If pipes lie above the surface or overlap, or a value is outside its range.

    Notes
    -----
    Finite line sources parallel to the surface with mirror images (Claesson & Dunand 1983; Fontaine et al.
    2011; Lamarche 2019), or ring sources (Li et al. 2012; Xiong, Spitler & Fisher 2015), uniform heat flow
    along each pipe, equal mean fluid temperature in all pipes, solved in the Laplace domain. The surface
    temperature is that of the wave. Latent heat and higher conductivity of freezing soil are not modelled,
    nor are moisture migration, drying of the soil, and heat storage in pipe and fluid.

    Examples
    --------
    >>> field = TrenchField(
    ...     pipe=Pipe.sdr(11, outer_diameter=0.032),
    ...     length="200 ft",
    ...     pipes=[[-0.3, 1.5], [0.3, 1.5]],
    ...     trenches=4,
    ...     spacing=3.0,
    ...     surface=SurfaceWave(amplitude=12.0, coldest_day=31.0),
    ... )
    >>> round(field.total_length, 2)
    487.68
    """

    pipe: Pipe
    length: Number = Number()
    pipes: NDArray[np.float64] | None = None
    coil: Coil | None = None
    trenches: int = 1
    spacing: OptionalNumber = OptionalNumber()
    surface: SurfaceWave
    origin: Annotated[Checked[tuple[float, float]], layout.COORDINATE] = Checked(layout.place, (0.0, 0.0))
    direction: Annotated[Checked[float], layout.AZIMUTH] = Checked(layout.AZIMUTH.of, 0.0)

    def __post_init__(self) -> None:
        require(self.pipe, Pipe, owner="TrenchField", field="pipe")
        require(self.surface, SurfaceWave, owner="TrenchField", field="surface")
        require(self.trenches, int, owner="TrenchField", field="trenches")
        if (self.pipes is None) == (self.coil is None):
            given = "neither" if self.pipes is None else "both"
            raise InvalidInput("TrenchField", "pipes", given, "", "must be either pipes or a coil")
        if self.coil is not None:
            require(self.coil, Coil, owner="TrenchField", field="coil")
        else:
            object.__setattr__(self, "pipes", _axes(self.pipes))
        super().__post_init__()

    def _key(self) -> tuple[Any, ...]:
        axes = None if self.pipes is None else self.pipes.tobytes()
        place = (self.origin, self.direction)
        return (self.pipe, self.length, axes, self.coil, self.trenches, self.spacing, self.surface, place)

    def __eq__(self, other: object) -> bool:
        return self._key() == other._key() if isinstance(other, TrenchField) else NotImplemented

    def __hash__(self) -> int:
        return hash(self._key())

    @classmethod
    def rows(
        cls,
        pipe: Pipe,
        *,
        length: float | str,
        columns: Annotated[int, _IN_LINE],
        rows: Annotated[int, _IN_LINE] = 1,
        depth: Annotated[float | str, Range("m", above=0.0)],
        gap: Annotated[float | str, Range("m")],
        trenches: int = 1,
        spacing: float | str | None = None,
        surface: SurfaceWave,
        origin: Annotated[tuple[float, float], layout.COORDINATE] = (0.0, 0.0),
        direction: Annotated[float | str, layout.AZIMUTH] = 0.0,
    ) -> Self:
        """Return a field with evenly spaced straight pipes in each trench.

        Parameters
        ----------
        pipe : Pipe
            The pipe.
        length : float or str
            Length of each trench [m].
        columns, rows : int
            Pipes side by side, and rows above each other; by default one row.
        depth : float or str
            Depth of the lowest row [m].
        gap : float or str
            Distance between the axes of neighbouring pipes, in both directions [m].
        trenches : int, default 1
            Number of trenches.
        spacing : float or str, optional
            Distance between the centre lines of neighbouring trenches [m].
        surface : SurfaceWave
            The yearly wave of the surface temperature.
        origin : tuple of float or str, default (0, 0)
            Where the centre line of the first trench begins in plan: x and y [m].
        direction : float or str, default 0
            Azimuth of the trenches, clockwise from north [deg].

        Returns
        -------
        TrenchField
            The field.

        Raises
        ------
        InvalidInput
            As for the constructor.
        """
        for name, count in (("columns", columns), ("rows", rows)):
            _IN_LINE.of(count, owner="TrenchField", field=name)
        lowest, step = (
            units.to_si(value, "m", owner="TrenchField", field=name)
            for name, value in (("depth", depth), ("gap", gap))
        )
        across = step * (np.arange(columns) - (columns - 1) / 2.0)
        pipes = [[x, lowest - step * row] for row in range(rows) for x in across]
        return cls(
            pipe=pipe,
            length=length,
            pipes=np.array(pipes),
            trenches=trenches,
            spacing=spacing,
            surface=surface,
            origin=origin,
            direction=direction,
        )

    @property
    def _straight(self) -> NDArray[np.float64]:
        """Axes of the straight pipes of a trench; none with a coil."""
        return np.empty((0, 2)) if self.pipes is None else self.pipes

    branch = "pipe"
    wall = "outside of the pipes"

    @property
    def sizes(self) -> Mapping[str, Measure | None]:
        """Length of each trench, spacing if there are several, and number of trenches."""
        spacing = {} if self.spacing is None else {"spacing": Measure("m", (0.5, 10.0), 0.01)}
        return {"length": Measure("m", (10.0, 1000.0), 0.1), **spacing, "trenches": None}

    def family(self, plan: SitePlan | None = None) -> list[Self]:
        """Return the field with 1 to twice as many trenches, at least up to 12.

        On a plot, those that fit beside the house, where they lie then. A single trench has the usual spacing
        of 4 m.
        """
        spacing = USUAL_SPACING if self.spacing is None else self.spacing
        numbers = range(1, largest_number(self.trenches) + 1)
        family = [self.replace(trenches=number, spacing=spacing) for number in numbers]
        if plan is None:
            return family
        fitting = [placed for placed in (each.placed_on(plan) for each in family) if placed is not None]
        if not fitting:
            allowed = f"must have room for a trench of {self.length:g} m by {self.width:g} m"
            raise InvalidInput("Sizing", "plot", "{:g} by {:g}".format(*sides(plan)), "m", allowed)
        return fitting

    def placed_on(self, plan: SitePlan) -> Self | None:
        """Return the same trenches, side by side, on a plot beside its house; None if there is no room.

        Parameters
        ----------
        plan : SitePlan
            The plot.
        """
        points, end, other = layout.corners(self.length, self.across, CLOSE)
        found = placed(points, plan, CLOSE)
        if found is None:
            return None
        half = 0.5 * self.pipe.outer_diameter
        inset = 0.5 * self.width if self.coil is not None else half - float(self._straight[:, 0].min())
        origin, direction = layout.begin(found[0], found[end], found[other], inset)
        return self.replace(origin=origin, direction=direction)

    @property
    def middles(self) -> NDArray[np.float64]:
        """Distance of each trench's centre line from the first, shape (trenches,) [m]."""
        return (self.spacing or 0.0) * np.arange(self.trenches, dtype=np.float64)

    @property
    def paths(self) -> Sequence[NDArray[np.float64]]:
        """Pipes of each trench in plan, shape (n, 2) [m], with NaN between two pipes."""
        if self.coil is None:
            one = layout.straight(np.unique(self._straight[:, 0]), self.length)
        else:
            coil = self.coil
            one = layout.coiled(
                diameter=coil.diameter, pitch=coil.pitch, upright=coil.upright, rings=self.rings
            )
        return [self.in_plan(one + np.array([middle, 0.0])) for middle in self.middles]

    def in_plan(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return points given across and along the first trench in the coordinates of the site [m].

        Parameters
        ----------
        points : ndarray, shape (n, 2)
            The points [m].
        """
        return layout.in_plan(points, self.origin, self.direction)

    @property
    def count(self) -> int:
        """Number of pipes in parallel."""
        return self.trenches * (len(self._straight) if self.coil is None else 1)

    @property
    def rings(self) -> int:
        """Number of rings in each trench, 0 without coils."""
        return 0 if self.coil is None else int((self.length - self.coil.diameter) / self.coil.pitch) + 1

    @property
    def total_length(self) -> float:
        """Total length of all pipes [m]."""
        if self.coil is None:
            return self.count * self.length
        return self.trenches * self.rings * math.pi * self.coil.diameter

    @property
    def depth(self) -> float:
        """Depth of the deepest pipe, or of the centres of a coil's rings [m]."""
        return float(self._straight[:, 1].max()) if self.coil is None else self.coil.depth

    @property
    def bottom(self) -> float:
        """Depth of the lowest part of any pipe [m]."""
        if self.coil is not None and self.coil.upright:
            return self.depth + 0.5 * self.coil.diameter
        return self.depth

    def lowered(self, depth: float | str) -> Self:
        """Return the same pipes at another depth.

        Parameters
        ----------
        depth : float or str
            Depth of the deepest pipe, or of the centres of a coil's rings [m].

        Raises
        ------
        InvalidInput
            If a pipe would lie above the surface or too deep.
        """
        metres = units.to_si(depth, "m", owner="TrenchField", field="depth")
        if self.coil is not None:
            return self.replace(coil=self.coil.replace(depth=metres))
        return self.replace(pipes=self._straight + np.array([0.0, metres - self.depth]))

    @property
    def width(self) -> float:
        """Overall width of the pipes in a trench [m]."""
        if self.coil is None:
            return float(np.ptp(self._straight[:, 0])) + self.pipe.outer_diameter
        return self.pipe.outer_diameter + (0.0 if self.coil.upright else self.coil.diameter)

    @property
    def across(self) -> float:
        """Width of the rectangle that encloses all pipes [m]."""
        return self.width + (self.trenches - 1) * (self.spacing or 0.0)

    @property
    def land(self) -> float:
        """Area of the rectangle that encloses all pipes [m2]."""
        return self.length * self.across

    def __str__(self) -> str:
        text = f"{counted(self.trenches, 'trench')} of {both(self.length, 'm', '.1f')}, "
        if self.coil is None:
            text += f"{counted(len(self._straight), 'pipe')} in each, down to {both(self.depth, 'm', '.2f')}"
        else:
            lies = "upright" if self.coil.upright else "flat"
            text += (
                f"a coil of {counted(self.rings, 'ring')} in each, {lies} at {both(self.depth, 'm', '.2f')}"
            )
        text += f", {both(self.total_length, 'm')} of pipe in total"
        if self.trenches > 1:
            text += f", {both(self.spacing or 0.0, 'm', '.2f')} apart"
        return f"{text} on {both(self.land, 'm2')}"

    @property
    def variables(self) -> dict[str, str | None]:
        """The depth of straight pipes; a coil has its own depth."""
        return {"depth": "m"} if self.coil is None else {}

    def with_values(self, **values: Any) -> Self:
        """Return a copy with other values; the depth is applied first."""
        depth = values.pop("depth", None)
        field = self if depth is None else self.lowered(depth)
        return field.replace(**values) if values else field

    @property
    def exchange_length(self) -> float:
        """Total length of all pipes [m]."""
        return self.total_length

    @property
    def priced(self) -> dict[str, float | None]:
        """Metres of trench and of pipe."""
        return {"trench": self.trenches * self.length, "trench_pipe": self.total_length}

    @property
    def takes(self) -> dict[str, float]:
        """Land, pipe and trenches."""
        return {
            "land_m2": self.land,
            "pipe_m": self.total_length,
            "trench_m": self.trenches * self.length,
        }

    def flow_in_pipes(self, *, ground: Ground, fluid: Fluid, flow: float, temperature: float) -> BoreFlow:
        """Return the flow in each pipe."""
        return pipe_flow(self.pipe, fluid=fluid, flow=flow / self.count, temperature=temperature)

    @property
    def has_known_pipes(self) -> bool:
        """Always true."""
        return True

    def flow_path(self, liquid: Liquid, flow: float, bend_loss_coefficient: float) -> Iterator[Step]:
        """Yield the flow path through one of the pipes."""
        yield through_pipes(self.pipe, liquid, flow / self.count, self.total_length / self.count)

    def for_engine(self) -> dict[str, Any]:
        """Return the field as the engine reads it."""
        laid: dict[str, Any]
        if self.coil is None:
            laid = {"kind": "straight", "pipes": self._straight.tolist()}
        else:
            laid = {"kind": "coil", **self.coil.for_engine()}
        return {
            "kind": "trench field",
            "length": self.length,
            "trenches": self.trenches,
            "spacing": self.spacing,
            "pipe": self.pipe.for_engine(),
            "laid": laid,
            "surface": self.surface.for_engine(),
        }

    def response(self, ground: Ground, times: ArrayLike, *, resistance: float | str) -> NDArray[np.float64]:
        """Return the dimensionless step response of the field.

        Drop of the mean wall temperature of the pipes x 2 pi k / (mean heat extraction per metre of pipe).

        Parameters
        ----------
        ground : Ground
            The ground.
        times : array_like
            Times since the start of heat extraction, any shape, 1 s to 10,000 years [s].
        resistance : float or str
            Resistance between fluid and outer surface per metre of pipe, which determines the distribution of
            heat over the pipes [m K/W].

        Returns
        -------
        ndarray
            The response, the shape of `times`.

        Raises
        ------
        InvalidInput
            If a value is outside its range.
        """
        require(ground, Ground, owner="TrenchField", field="ground")
        at = instants(times, owner="TrenchField")
        per_metre = units.to_si(resistance, "m K/W", owner="TrenchField", field="resistance")
        found = _core.trench_response(self.for_engine(), ground.for_engine(), per_metre, at.ravel())
        return found.reshape(at.shape)


def _axes(pipes: Any) -> NDArray[np.float64]:
    """Return axes of pipes [m] as a read-only array of shape (n, 2)."""
    allowed = "must have shape (n, 2): position across the trench and depth"
    try:
        given = np.asarray(pipes)
    except ValueError:
        raise InvalidInput("TrenchField", "pipes", repr(pipes), "", allowed) from None
    if given.ndim != 2 or given.shape[1] != 2:
        raise InvalidInput("TrenchField", "pipes", f"shape {given.shape}", "", allowed)
    flat = [units.to_si(value, "m", owner="TrenchField", field="pipes") for value in given.ravel().tolist()]
    axes = np.array(flat).reshape(given.shape)
    axes.flags.writeable = False
    return axes
