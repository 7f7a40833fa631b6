"""Flow and pressure drop in a pipe or gap."""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopdrift.basics.words import Shown
from loopdrift.parts.bore import Coaxial, Pipe
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.hydraulics.friction import Regime, annulus_shape, friction_factor, regime


@dataclass(frozen=True)
class Liquid:
    """Fluid properties that friction depends on, at one temperature.

    Parameters
    ----------
    density : float
        Density [kg/m3].
    viscosity : float
        Dynamic viscosity [Pa s].
    """

    density: float
    viscosity: float

    @classmethod
    def at(cls, fluid: Fluid, temperature: float) -> Liquid:
        """Return a fluid's density and viscosity at a temperature.

        Parameters
        ----------
        fluid : Fluid
            The fluid.
        temperature : float
            Temperature [degC].

        Raises
        ------
        InvalidInput
            If the temperature is outside the fluid's table, such as below its freezing point.
        """
        row = fluid.properties([temperature]).iloc[0]
        return cls(float(row["density_kg_per_m3"]), float(row["viscosity_Pa_s"]))


@dataclass(frozen=True, kw_only=True)
class Flow(Shown):
    """Flow in one pipe or gap.

    Parameters
    ----------
    mass_flow : float
        Mass flow [kg/s].
    velocity : float
        Mean velocity [m/s].
    reynolds : float
        Reynolds number on the hydraulic diameter [-].
    regime : {"laminar", "transitional", "turbulent"}
        Regime of the flow.
    pressure_drop : float
        Pressure lost by friction and fittings [Pa].
    """

    mass_flow: float
    velocity: float
    reynolds: float
    regime: Regime
    pressure_drop: float


@dataclass(frozen=True)
class Channel:
    """A pipe, or the gap between two pipes.

    Parameters
    ----------
    area : float
        Cross-section [m2].
    hydraulic_diameter : float
        4 x cross-section / wetted perimeter [m].
    roughness : float
        Roughness of the wall [m].
    shape : float, default 1
        Factor from the Reynolds number to that of a round pipe with the same friction [-].
    """

    area: float
    hydraulic_diameter: float
    roughness: float
    shape: float = 1.0

    @classmethod
    def inside(cls, pipe: Pipe) -> Channel:
        """Return the inside of a pipe.

        Parameters
        ----------
        pipe : Pipe
            The pipe.
        """
        diameter = pipe.outer_diameter - 2.0 * pipe.wall_thickness
        return cls(math.pi * diameter**2 / 4.0, diameter, pipe.roughness)

    @classmethod
    def gap(cls, pipes: Coaxial) -> Channel:
        """Return the gap between the pipes of a coaxial bore.

        Parameters
        ----------
        pipes : Coaxial
            The pipes.
        """
        inside = pipes.inner.outer_diameter
        outside = pipes.outer.outer_diameter - 2.0 * pipes.outer.wall_thickness
        area = math.pi * (outside**2 - inside**2) / 4.0
        return cls(area, outside - inside, pipes.outer.roughness, annulus_shape(inside / outside))

    def flow(self, liquid: Liquid, mass_flow: float, *, length: float, loss_coefficient: float) -> Flow:
        """Return velocity, regime and pressure drop of a mass flow.

        dp = (f L / D + K) rho v2 / 2 (Darcy-Weisbach), with f of fully developed flow.

        Parameters
        ----------
        liquid : Liquid
            Density and viscosity.
        mass_flow : float
            Mass flow [kg/s]; without flow there is no pressure drop.
        length : float
            Length of the flow path [m].
        loss_coefficient : float
            Sum K of the loss coefficients of bends and fittings [-].
        """
        if mass_flow == 0.0:
            return Flow(mass_flow=0.0, velocity=0.0, reynolds=0.0, regime="laminar", pressure_drop=0.0)
        velocity = mass_flow / (liquid.density * self.area)
        reynolds = liquid.density * velocity * self.hydraulic_diameter / liquid.viscosity
        relative_roughness = self.roughness / self.hydraulic_diameter
        friction = friction_factor(reynolds, relative_roughness, shape=self.shape)
        lost = friction * length / self.hydraulic_diameter + loss_coefficient
        return Flow(
            mass_flow=mass_flow,
            velocity=velocity,
            reynolds=reynolds,
            regime=regime(reynolds),
            pressure_drop=lost * liquid.density * velocity**2 / 2.0,
        )
