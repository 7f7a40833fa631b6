"""Bores: hole, pipes and grout, or a measured resistance instead."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import Number, OptionalNumber, Part, require
from loopdrift.basics.words import Shown
from loopdrift.parts.constructors import register
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground

POLYETHYLENE_CONDUCTIVITY = 0.40
"""Thermal conductivity of polyethylene [W/(m K)]; common practice, no source, checked like the two below in
tests/reference/test_second_sources_bore.py."""

SMOOTH_ROUGHNESS = 1.5e-6
"""Roughness of drawn tubing [m]; Moody (1944), from memory."""

_RATIO = Range(above=2.0)
"""Outer diameter over wall thickness of a pipe that is open inside [-]."""

GROUT_HEAT_CAPACITY = 3.4e6
"""Volumetric heat capacity of a water-rich grout [J/(m3 K)]; common practice, no source."""


@dataclass(frozen=True, kw_only=True)
class Pipe(Part):
    """A round pipe.

    Parameters
    ----------
    outer_diameter : float or str
        Outer diameter [m].
    wall_thickness : float or str
        Wall thickness [m].
    conductivity : float or str, default 0.40
        Thermal conductivity of the wall [W/(m K)]; the default is polyethylene (common practice, no source).
    roughness : float or str, default 1.5e-6
        Roughness of the inside [m]; the default is drawn tubing (Moody 1944, from memory).

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, or the pipe isn't open inside.

    Examples
    --------
    >>> Pipe(outer_diameter="42.2 mm", wall_thickness=0.0038).conductivity
    0.4
    """

    outer_diameter: Number = Number()
    wall_thickness: Number = Number()
    conductivity: Number = Number(default=POLYETHYLENE_CONDUCTIVITY)
    roughness: Number = Number(default=SMOOTH_ROUGHNESS)

    @classmethod
    def sdr(
        cls,
        dimension_ratio: Annotated[float, _RATIO],
        *,
        outer_diameter: float | str,
        conductivity: float | str = POLYETHYLENE_CONDUCTIVITY,
        roughness: float | str = SMOOTH_ROUGHNESS,
    ) -> Pipe:
        """Return a pipe given by its standard dimension ratio, outer diameter / wall thickness.

        Parameters
        ----------
        dimension_ratio : float
            Outer diameter / wall thickness [-], such as 11 or 13.6.
        outer_diameter : float or str
            Outer diameter [m].
        conductivity : float or str, default 0.40
            Thermal conductivity of the wall [W/(m K)].
        roughness : float or str, default 1.5e-6
            Roughness of the inside [m].

        Returns
        -------
        Pipe
            The pipe; the standards round its wall to 0.1 mm or 0.001 in.

        Raises
        ------
        InvalidInput
            If a value is outside the range that the engine accepts.

        Examples
        --------
        >>> Pipe.sdr(11, outer_diameter=0.032).wall_thickness
        0.0029090909090909093
        """
        ratio = _RATIO.of(dimension_ratio, owner="Pipe", field="dimension_ratio")
        diameter = units.to_si(outer_diameter, "m", owner="Pipe", field="outer_diameter")
        return cls(
            outer_diameter=diameter,
            wall_thickness=diameter / ratio,
            conductivity=conductivity,
            roughness=roughness,
        )


register(Pipe, {"wall thickness": Pipe, "SDR": Pipe.sdr})


class Pipes(Part):
    """Base of the pipe arrangements in a bore."""

    kind: ClassVar[str]
    """Name of the arrangement in the engine and in design files."""

    def __post_init__(self) -> None:
        for name in ("pipe", "inner", "outer"):
            if hasattr(self, name):
                require(getattr(self, name), Pipe, owner=type(self).__name__, field=name)
        super().__post_init__()

    def for_engine(self) -> dict[str, Any]:
        """Return the pipes as the engine reads them: plain numbers and dictionaries."""
        values = super().for_engine()
        return {
            name: value.for_engine() if isinstance(value, Pipe) else value for name, value in values.items()
        }


@dataclass(frozen=True, kw_only=True)
class UTube(Pipes):
    """Two legs on either side of the bore's axis.

    Parameters
    ----------
    pipe : Pipe
        The pipe of both legs.
    shank_spacing : float or str
        Shank spacing from centre to centre: distance between the axes of the legs [m].

    Raises
    ------
    InvalidInput
        If the legs overlap.
    """

    kind = "U-tube"

    pipe: Pipe
    shank_spacing: Number = Number()


@dataclass(frozen=True, kw_only=True)
class DoubleUTube(Pipes):
    """Two U-tubes in parallel, crossed: the legs of each loop are opposite each other.

    Parameters
    ----------
    pipe : Pipe
        The pipe of all four legs.
    shank_spacing : float or str
        Shank spacing from centre to centre: distance between the axes of the two legs of one loop, which
        stand opposite across the bore's axis [m].

    Raises
    ------
    InvalidInput
        If neighbouring legs overlap.
    """

    kind = "double U-tube"

    pipe: Pipe
    shank_spacing: Number = Number()


@dataclass(frozen=True, kw_only=True)
class Coaxial(Pipes):
    """A pipe inside a pipe, both concentric with the bore; the outer one may fill the hole.

    Parameters
    ----------
    inner : Pipe
        The inner pipe.
    outer : Pipe
        The outer pipe; its roughness applies to the whole gap.

    Raises
    ------
    InvalidInput
        If no fluid can flow between the pipes.
    """

    kind = "coaxial"

    inner: Pipe
    outer: Pipe


for _arrangement in (UTube, DoubleUTube, Coaxial):
    register(_arrangement, {_arrangement.kind: _arrangement})


@dataclass(frozen=True, kw_only=True)
class BoreResistance(Shown):
    """Thermal resistances between fluid and bore wall, per metre of bore, with the flow they depend on.

    Parameters
    ----------
    local : float
        From fluid to the wall's mean temperature at one depth, all legs alike [m K/W]; the measured value if
        the resistance was measured.
    internal : float or None
        Between the fluid flowing down and the fluid flowing up [m K/W]; None if the resistance was measured.
    effective : float
        Over the whole bore, from the mean of entering and leaving fluid to the wall [m K/W].
    reynolds : float or None
        Reynolds number in each leg, or in the gap of a coaxial bore [-]; None if the resistance was measured.
    regime : {"laminar", "transitional", "turbulent"} or None
        Regime of that flow.
    film_coefficient : float or None
        Film coefficient of that flow on the pipe wall that faces the ground [W/(m2 K)].
    inner_reynolds : float or None
        Reynolds number in the inner pipe of a coaxial bore [-].
    inner_regime : {"laminar", "transitional", "turbulent"} or None
        Regime of that flow.
    """

    local: float
    internal: float | None
    effective: float
    reynolds: float | None
    regime: Literal["laminar", "transitional", "turbulent"] | None
    film_coefficient: float | None
    inner_reynolds: float | None
    inner_regime: Literal["laminar", "transitional", "turbulent"] | None


@dataclass(frozen=True, kw_only=True)
class Bore(Part):
    """One bore, defined either by pipes and grout or by a measured resistance.

    Parameters
    ----------
    depth : float or str
        Active depth: length over which heat is exchanged, along the bore if it is inclined [m].
    buried_depth : float or str
        Depth of the upper end of the active length below the surface, along the bore if it is inclined [m]:
        0, or at least a twentieth of the bore's radius.
    diameter : float or str
        Diameter of the hole [m].
    pipes : UTube or DoubleUTube or Coaxial, optional
        The pipes and their arrangement.
    grout_conductivity : float or str, optional
        Thermal conductivity of the grout [W/(m K)]; given with `pipes`.
    grout_heat_capacity : float or str, optional
        Volumetric heat capacity of the grout [J/(m3 K)]; with `pipes` 3.4e6 unless given (common practice, no
        source).
    heat_capacity_inside : bool, optional
        Whether fluid, pipes and grout store heat in the first hours; with `pipes` true unless given.
    resistance : float or str, optional
        Measured effective resistance between fluid and bore wall [m K/W], instead of pipes and grout; the
        bore then stores no heat.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, the pipes don't fit into the hole, or the
        bore is defined in neither or both of the two ways.

    Examples
    --------
    >>> Bore(depth="300 ft", buried_depth=2.0, diameter=0.15, resistance=0.10).resistance
    0.1
    """

    depth: Number = Number()
    buried_depth: Number = Number()
    diameter: Number = Number()
    pipes: UTube | DoubleUTube | Coaxial | None = None
    grout_conductivity: OptionalNumber = OptionalNumber()
    grout_heat_capacity: OptionalNumber = OptionalNumber()
    heat_capacity_inside: bool | None = None
    resistance: OptionalNumber = OptionalNumber()

    def __post_init__(self) -> None:
        if self.resistance is not None:
            self._refuse_beside_resistance()
        else:
            self._require_construction()
            if self.grout_heat_capacity is None:
                object.__setattr__(self, "grout_heat_capacity", GROUT_HEAT_CAPACITY)
            if self.heat_capacity_inside is None:
                object.__setattr__(self, "heat_capacity_inside", True)
            require(self.heat_capacity_inside, bool, owner="Bore", field="heat_capacity_inside")
        super().__post_init__()

    @property
    def pipe_count(self) -> float:
        """Number of pipes side by side at each depth; NaN if they are not known."""
        if self.pipes is None:
            return math.nan
        return 4.0 if isinstance(self.pipes, DoubleUTube) else 2.0

    def _refuse_beside_resistance(self) -> None:
        for name in ("pipes", "grout_conductivity", "grout_heat_capacity", "heat_capacity_inside"):
            value = getattr(self, name)
            if value is not None:
                allowed = "must be left out if resistance is given, which covers everything inside the bore"
                raise InvalidInput("Bore", name, value, "", allowed)

    def _require_construction(self) -> None:
        if not isinstance(self.pipes, UTube | DoubleUTube | Coaxial):
            allowed = "must be a UTube, DoubleUTube or Coaxial, unless a measured resistance is given"
            raise InvalidInput("Bore", "pipes", repr(self.pipes), "", allowed)
        if self.grout_conductivity is None:
            raise InvalidInput("Bore", "grout_conductivity", None, "W/(m K)", "must be given with pipes")

    def for_engine(self) -> dict[str, Any]:
        """Return the bore as the engine reads it: plain numbers, text and dictionaries."""
        inside: dict[str, Any]
        if self.pipes is None:
            inside = {"kind": "measured", "resistance": self.resistance}
        else:
            inside = {
                "kind": "built",
                "pipes": {"kind": self.pipes.kind, **self.pipes.for_engine()},
                "grout_conductivity": self.grout_conductivity,
                "grout_heat_capacity": self.grout_heat_capacity,
                "heat_capacity_inside": self.heat_capacity_inside,
            }
        return {
            "depth": self.depth,
            "buried_depth": self.buried_depth,
            "diameter": self.diameter,
            "inside": inside,
        }

    def change_in_engine(self, names: tuple[str, ...]) -> Callable[[Any, float], Any] | None:
        """Return a function that changes a number of the bore, of its grout, or its resistance."""
        name, *deeper = names
        form = self.for_engine()
        if deeper or not (name in form or name in form["inside"]):
            return None
        if name in form:
            return lambda form, value: form | {name: value}
        return lambda form, value: form | {"inside": form["inside"] | {name: value}}

    def resistance_at(
        self, *, ground: Ground, fluid: Fluid, flow: float | str, temperature: float | str
    ) -> BoreResistance:
        """Return the thermal resistances of the bore at one flow and fluid temperature.

        Parameters
        ----------
        ground : Ground
            The ground around the bore.
        fluid : Fluid
            The fluid in the loop.
        flow : float or str
            Flow through this one bore [kg/s]; a volume flow is that of the fluid at `temperature`.
        temperature : float or str
            Temperature at which the fluid's properties are evaluated [degC].

        Returns
        -------
        BoreResistance
            Local, internal and effective resistance [m K/W], and the flow.

        Raises
        ------
        InvalidInput
            If the flow isn't above 0 kg/s.

        Notes
        -----
        Local and internal resistance by multipoles of order 10 [1]_, effective resistance for a uniform wall
        temperature [2]_, and film coefficients by Gnielinski [3]_ [4]_ [5]_.

        References
        ----------
        .. [1] Claesson, J., & Hellstrom, G. (2011). Multipole method to calculate borehole thermal
           resistances in a borehole heat exchanger. HVAC&R Research 17, 895-911.
        .. [2] Hellstrom, G. (1991). Ground heat storage: thermal analyses of duct storage systems. Thesis,
           Lund.
        .. [3] Gnielinski, V. (1976). New equations for heat and mass transfer in turbulent pipe and channel
           flow. International Chemical Engineering 16, 359-368.
        .. [4] Gnielinski, V. (2009). Heat transfer coefficients for turbulent flow in concentric annular
           ducts. Heat Transfer Engineering 30, 431-436.
        .. [5] Gnielinski, V. (2013). On heat transfer in tubes. International Journal of Heat and Mass
           Transfer 63, 134-140.
        """
        require(ground, Ground, owner="Bore", field="ground")
        if not hasattr(fluid, "for_engine"):
            raise InvalidInput("Bore", "fluid", repr(fluid), "", "must be a Fluid")
        at = units.to_si(temperature, "degC", owner="Bore", field="temperature")
        found = _core.bore_resistances(
            self.for_engine(),
            ground.for_engine(),
            fluid.for_engine(),
            flow=units.mass_flow(flow, lambda: fluid.density_at(at), owner="Bore", field="flow"),
            temperature=at,
        )
        film, inner = found["film"], found["inner_film"]
        return BoreResistance(
            local=found["local"],
            internal=found["internal"],
            effective=found["effective"],
            reynolds=None if film is None else film["reynolds"],
            regime=None if film is None else film["regime"],
            film_coefficient=None if film is None else film["coefficient"],
            inner_reynolds=None if inner is None else inner["reynolds"],
            inner_regime=None if inner is None else inner["regime"],
        )


USUAL_PIPE = Pipe.sdr(11, outer_diameter=0.032)
"""Pipe of a loop if a design has none of its kind; common practice, no source."""
