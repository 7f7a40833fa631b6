"""What a run takes for granted about its ground side, and what each assumption is worth.

The figures are examples: `tests/reference/test_assumptions.py` computes each of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.parts.bore import DoubleUTube

if TYPE_CHECKING:
    from loopdrift.model.design import Design

GROUNDWATER_GAIN = 3.0
"""Nearer to undisturbed that groundwater brings bore walls [K]: 1e-7 m/s, year 20, 12 bores of 100 m 5 m
apart, 5 W/m of net yearly heat, ground of 2 W/(m K)."""

CONDUCTIVITY_LOSS = 0.8
"""Colder that the demo's bores are at year 20 with 10 % less conductivity [K]."""

LAMINAR_LOSS = 1.5
"""Colder that they are at year 20 with a fifth less flow, which is laminar in the coldest hours [K]."""

SERIES_RESISTANCE = 0.6
"""Resistance of the demo's bore with a double U in series over that in parallel, where half the flow is
laminar [-]."""

TRENCH_SOIL_LOSS = 0.5
"""Colder that the demo's trenches are in year 5 with a fifth less conductivity [K]."""

POND_INFLOW_LOSS = 0.5
"""Colder that the demo's pond is in year 5 with 5 kg/s of groundwater at 8 degC [K]."""


def assumptions(design: Design) -> str:
    """Return what is assumed of a design's ground side, in a sentence.

    Parameters
    ----------
    design : Design
        The design.
    """
    field = design.ground_side
    if isinstance(field, BoreField):
        return _of_bores(field)
    if isinstance(field, TrenchField):
        loss = both(TRENCH_SOIL_LOSS, "K", "g")
        return (
            "no groundwater and no rain that carries heat (both bring the soil nearer to undisturbed); even "
            "soil whose moisture neither moves, dries nor freezes (a fifth less conductivity is about "
            f"{loss} colder in the demo's trenches); the same flow in every pipe"
        )
    if isinstance(field, Pond):
        loss = both(POND_INFLOW_LOSS, "K", "g")
        return (
            "water of one temperature at each depth; no groundwater but the inflow that is "
            f"given (5 kg/s at {both_degrees(8.0)} make the demo's pond about {loss} colder); no snow on the "
            "ice, which would keep it thinner; the same flow in every coil"
        )
    return (
        "an even, confined aquifer without flow of its own (flow carries what is returned toward the well "
        "or away from it; half the transmissivity doubles the drawdown); a well without losses in its "
        "screen; no other wells nearby"
    )


def _of_bores(field: BoreField) -> str:
    gain, loss, laminar = (
        both(value, "K", "g") for value in (GROUNDWATER_GAIN, CONDUCTIVITY_LOSS, LAMINAR_LOSS)
    )
    text = (
        f"no groundwater flow (1e-7 m/s, some {both(3.0, 'm')} a year, would bring 3 x 4 bores "
        f"{both(5.0, 'm')} apart about {gain} nearer to undisturbed ground at year 20, with "
        f"{both(5.0, 'W/m')} of net yearly "
        "heat); even ground at all depths "
        f"(10 % less conductivity is about {loss} colder at year 20 in the demo); the same flow in every "
        f"bore, also where depths differ (a fifth less is about {laminar} colder where it turns laminar, "
        "next to nothing where it stays turbulent)"
    )
    if any(isinstance(bore.pipes, DoubleUTube) for bore in field.bores):
        share = f"{1.0 - SERIES_RESISTANCE:.0%}"
        text += (
            "; both U-tubes of a bore in parallel (in series each carries twice the flow: up to "
            f"{share} less resistance where half the flow is laminar, and several times the pressure drop)"
        )
    return text
