"""The fluid temperatures at which a design's resistances are shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift import _core
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.model.key_figures import undisturbed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from loopdrift.model.design import Design
    from loopdrift.parts.bore import Pipe


def temperatures_of_interest(design: Design) -> list[float]:
    """Return the undisturbed temperature and, if set, the minimum entering fluid temperature [degC]."""
    lowest = design.limits.entering_fluid_min
    return [undisturbed(design), *([] if lowest is None else [lowest])]


def pipe_resistances(design: Design, pipe: Pipe, surroundings: str) -> Iterator[tuple[str, str]]:
    """Yield flow regime and resistance of a pipe or coil at each temperature of interest.

    Parameters
    ----------
    design : Design
        The design.
    pipe : Pipe
        Its pipe.
    surroundings : str
        What surrounds it.
    """
    for temperature in temperatures_of_interest(design):
        found = _core.pipe_resistance(
            pipe.for_engine(),
            design.fluid.for_engine(),
            design.flow / design.ground_side.count,
            temperature,
        )
        film = found["film"]
        yield (
            "resistance",
            f"at {both_degrees(temperature)} {film['regime']} flow, Reynolds number "
            f"{film['reynolds']:,.0f}; {both(found['local'], 'm K/W', '.4f')} from fluid to {surroundings}",
        )
