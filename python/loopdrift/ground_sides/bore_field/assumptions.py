"""What a run takes for granted about bores, and what each assumption is worth.

The figures are examples: `tests/reference/test_assumptions.py` computes each of them.
"""

from __future__ import annotations

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.parts.bore import DoubleUTube

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


def assumptions(field: BoreField) -> str:
    """Return what is assumed of a field of bores, in a sentence.

    Parameters
    ----------
    field : BoreField
        The field.
    """
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
