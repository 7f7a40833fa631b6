"""The quantities of a design for its installer: pipes, grout, fluid, flows and pressures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.numbers import number_within
from loopdrift.basics.words import InALine
from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.quantities import Built, PipeLength, inside_area
from loopdrift.model.clearance import clearances, misplaced
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.fluid.concentrate import Dose, dose
from loopdrift.parts.hydraulics.channel import Liquid
from loopdrift.parts.hydraulics.piping import CLOSE_BEND
from loopdrift.parts.hydraulics.pump import GRAVITY

if TYPE_CHECKING:
    from loopdrift.model.design import Design

GROUT_SURPLUS = 0.25
"""Grout ordered beyond the net volume, as a share of it [-]; common practice, no source."""

PURGE_VELOCITY = 0.6
"""Velocity that carries air out of pipes while purging [m/s], 2 ft/s; common practice, no source."""


class PartDrop(NamedTuple):
    """Flow and pressure drop in one part of the loop at the design flow.

    Parameters
    ----------
    part : str
        The part.
    pressure_drop : float
        Pressure drop [Pa].
    """

    part: str
    pressure_drop: float


class Duty(NamedTuple):
    """The point at which the circulation pump has to work.

    Parameters
    ----------
    temperature : float
        Fluid temperature [degC].
    flow : float
        Volume flow [m3/s].
    pressure : float
        Pressure difference [Pa].
    head : float
        Head [m of the fluid].
    power : float
        Electric power of the design's pump [W].
    parts : tuple of PartDrop
        Pressure drop by part.
    """

    temperature: float
    flow: float
    pressure: float
    head: float
    power: float
    parts: tuple[PartDrop, ...]


class Purge(NamedTuple):
    """Flow that purges the air from all circuits at once, and the pressure it takes.

    Parameters
    ----------
    temperature : float
        Fluid temperature [degC].
    flow : float
        Volume flow in total [m3/s].
    pressure : float
        Pressure difference without the heat pump and other apparatus [Pa].
    slowest : str
        Part in which the fluid has just the velocity required.
    each : float
        Volume flow that purges one circuit alone, with its laterals but without mains [m3/s].
    slowest_of_each : str
        Part of a circuit in which the fluid then has just the velocity required.
    """

    temperature: float
    flow: float
    pressure: float
    slowest: str
    each: float
    slowest_of_each: str


@dataclass(frozen=True)
class Quantities(InALine):
    """What a design is built of and filled with.

    Parameters
    ----------
    built : Built
        Places, pipes and amounts of the ground side.
    pipes : tuple of PipeLength
        All known pipes: those of the ground side, and mains and laterals of the piping.
    grout_surplus : float
        Grout ordered beyond the net volume, as a share of it [-].
    fluid_dose : Dose or None
        Antifreeze and water for the volume of all known pipes; None without antifreeze.
    circuit_flow : float
        Volume flow of one circuit at the undisturbed temperature [m3/s].
    duty : Duty or None
        The pump's duty point; None without piping.
    purge : Purge or None
        The purge flow; None if no pipes are known.
    notes : tuple of str
        What these numbers don't include, and what is wrong about the places, in sentences.
    """

    built: Built
    pipes: tuple[PipeLength, ...]
    grout_surplus: float
    fluid_dose: Dose | None
    circuit_flow: float
    duty: Duty | None
    purge: Purge | None
    notes: tuple[str, ...]

    @property
    def fluid_volume(self) -> float:
        """Volume of the fluid in all known pipes [m3]."""
        return math.fsum(pipe.volume for pipe in self.pipes)

    @property
    def grout(self) -> float | None:
        """Volume of grout to order, with the surplus [m3]; None if unknown."""
        return None if self.built.grout is None else (1.0 + self.grout_surplus) * self.built.grout


def quantities(design: Design, *, grout_surplus: float | str = GROUT_SURPLUS) -> Quantities:
    """Return the quantities of a design for its installer.

    Parameters
    ----------
    design : Design
        The design.
    grout_surplus : float or str, default 0.25
        Grout ordered beyond the net volume, as a share of it [-] (common practice, no source).

    Raises
    ------
    InvalidInput
        If the surplus is not from 0 to 3.
    """
    surplus = number_within(grout_surplus, "", owner="Quantities", field="grout_surplus", least=0.0, most=3.0)
    kind = kind_of(design.ground_side)
    built = kind.built(design)
    pipes = (*built.pipes, *_of_piping(design))
    volume = math.fsum(pipe.volume for pipe in pipes)
    beside = design.site, design.ground_side.paths, built.places.noun
    notes = [*misplaced(*beside), *map(str, clearances(*beside)), *built.notes]
    if design.piping is None:
        notes.append("The design has no piping: headers, fittings and the pump's duty point are unknown.")
    elif design.piping.mains:
        notes.append("Mains are those on the way to the farthest circuit, as the piping lists them.")
    notes.append("The fluid in the heat pump and other apparatus is not included.")
    return Quantities(
        built=built,
        pipes=pipes,
        grout_surplus=surplus,
        fluid_dose=dose(design.fluid, volume) if volume > 0.0 else None,
        circuit_flow=design.flow / design.fluid.density_at(undisturbed(design)) / design.ground_side.count,
        duty=_duty(design),
        purge=_purge(design, built, pipes),
        notes=tuple(notes),
    )


def _of_piping(design: Design) -> Iterator[PipeLength]:
    """Yield the mains, and the laterals of all circuits."""
    if design.piping is None:
        return
    for runs, pieces in ((design.piping.mains, 1), (design.piping.laterals, design.ground_side.count)):
        for run in runs:
            yield PipeLength(
                part=run.name,
                pipe=run.pipe,
                pieces=pieces,
                length=run.length,
                area=inside_area(run.pipe),
                flow_share=run.flow_share / pieces,
                loss_coefficient=run.loss_coefficient,
            )


def _duty(design: Design) -> Duty | None:
    side = design.ground_side
    if design.piping is None or not (side.has_known_pipes or side.exchange_length is None):
        return None
    temperature = design.piping.design_temperature(design.limits)
    lost = design.pressure_drop()["pressure_drop_Pa"]
    density = Liquid.at(design.fluid, temperature).density
    return Duty(
        temperature=temperature,
        flow=design.flow / density,
        pressure=float(lost.sum()),
        head=float(lost.sum()) / (density * GRAVITY),
        power=design.pump_power,
        parts=tuple(PartDrop(str(name), float(value)) for name, value in lost.items()),
    )


def _purge(design: Design, built: Built, pipes: tuple[PipeLength, ...]) -> Purge | None:
    """Return the flow at which the fluid is nowhere slower than the purge velocity.

    All flows in the loop are proportional to the total flow, so the slowest part determines it.
    """
    if not built.pipes:
        return None
    temperature = undisturbed(design)
    liquid = Liquid.at(design.fluid, temperature)
    slowest = min(pipes, key=lambda pipe: pipe.flow_share / pipe.area)
    flow = PURGE_VELOCITY * slowest.area / slowest.flow_share
    pressure = math.fsum(_pressures(design, liquid, liquid.density * flow))
    laterals = () if design.piping is None else pipes[len(pipes) - len(design.piping.laterals) :]
    widest = min((*built.pipes, *laterals), key=lambda pipe: pipe.flow_share / pipe.area)
    each = PURGE_VELOCITY * widest.area / widest.flow_share / design.ground_side.count
    return Purge(temperature, flow, pressure, slowest.part, each, widest.part)


def _pressures(design: Design, liquid: Liquid, flow: float) -> Iterator[float]:
    """Yield the pressure drop of each part but the apparatus [Pa]."""
    side = design.ground_side
    if design.piping is None:
        yield from (step.pressure_drop for step in side.flow_path(liquid, flow, CLOSE_BEND))
        return
    steps = design.piping.steps(side, liquid=liquid, flow=flow)
    yield from (step.pressure_drop for step in steps if step.flow is not None)
