"""How far results of loads that were shaped into hours may be from those of hourly loads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.loads.origin import Shaped

if TYPE_CHECKING:
    from loopdrift.model.run import Run

SHARES: dict[Shaped, float] = {
    "months and peaks": 0.17,
    "months": 0.46,
    "bills and peak": 0.20,
    "bills": 0.40,
    "peak": 0.35,
    "total": 0.63,
}
"""Largest distance of the yearly lowest entering fluid temperature from that of the hourly loads, as a share
of its own distance from the undisturbed ground: in nine cases, three invented buildings (one with a night's
set-back and no limit of power, one of brick without set-back, one school) in three invented climates.
tests/reference/test_loads_beside_hourly_ones.py repeats the worst of them."""


def share(shaped_from: Shaped) -> str:
    """Return how far loads shaped from something may be off before a run, in a sentence.

    Parameters
    ----------
    shaped_from : str
        What they were shaped from, as `Loads.shaped_from` has it.
    """
    return (
        f"{shaped_from}: the lowest entering fluid temperature of invented buildings was off that of their "
        f"hourly loads by up to {SHARES[shaped_from]:.0%} of its distance from the undisturbed ground"
    )


def distance(run: Run) -> float | None:
    """Return how far the lowest entering fluid temperature may be from that of hourly loads [K].

    Parameters
    ----------
    run : Run
        The run.

    Returns
    -------
    float or None
        The distance in either direction; None where the loads were hourly.
    """
    shaped_from = run.design.loads.shaped_from
    if shaped_from is None:
        return None
    lowest = float(run.yearly["entering_fluid_min_degC"].min())
    return SHARES[shaped_from] * abs(undisturbed(run.design) - lowest)


def in_words(run: Run) -> str:
    """Return the distance in a sentence; empty where the loads were hourly.

    Parameters
    ----------
    run : Run
        The run.
    """
    found, shaped_from = distance(run), run.design.loads.shaped_from
    if found is None or shaped_from is None:
        return ""
    return (
        f"Loads shaped from {shaped_from}: about {both(found, 'K', '.1f')}. With hourly loads, the lowest "
        f"entering fluid temperature may be this much lower or higher ({SHARES[shaped_from]:.0%} of its "
        "distance from the undisturbed ground, the most in invented buildings and climates)."
    )
