"""How far results of loads that were shaped into hours may be from those of hourly loads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both
from loopdrift.basics.words import percent
from loopdrift.model.judgement import LABELS
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.loads.origin import Shaped

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.judgement import Judgement
    from loopdrift.model.run import Run

SHARES: dict[Shaped, float] = {
    "months and peaks": 0.20,
    "months and peak": 0.20,
    "months": 0.91,
    "bills and peak": 0.20,
    "bills": 0.70,
    "peak": 0.55,
    "total": 1.82,
}
"""Largest distance of the yearly lowest entering fluid temperature from that of the hourly loads, as a share
of how far the run with shaped loads is below the undisturbed ground, which is all that a user knows: in nine
cases, three invented buildings (one with a night's set-back and no limit of power, one of brick without
set-back, one school) in three invented climates, in runs of one year, in which the share is largest. Sums
don't show a set-back: without one, months alone are within 8 %, and the mornings after one can need twice
what degree hours give. A single largest hour shows that nearly as well as twelve.
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
        f"hourly loads by up to {percent(SHARES[shaped_from])} of its distance from the undisturbed ground"
    )


def distance(design: Design, lowest: float) -> float | None:
    """Return how far the lowest entering fluid temperature may be from that of hourly loads [K].

    Parameters
    ----------
    design : Design
        The design.
    lowest : float
        Its lowest entering fluid temperature [degC].

    Returns
    -------
    float or None
        The distance in either direction; None where the loads were hourly.
    """
    shaped_from = design.loads.shaped_from
    return None if shaped_from is None else SHARES[shaped_from] * abs(undisturbed(design) - lowest)


def distance_of_run(run: Run) -> float | None:
    """Return the distance for the lowest entering fluid temperature of a run [K].

    Parameters
    ----------
    run : Run
        The run.
    """
    return distance(run.design, float(run.yearly["entering_fluid_min_degC"].min()))


def beside_margin(design: Design, judgement: Judgement) -> str:
    """Return that the margin to a lower limit is less than the distance, in a sentence; empty if it isn't.

    Parameters
    ----------
    design : Design
        The design.
    judgement : Judgement
        Its judgement.
    """
    judged = [judgement[name] for name in ("entering_fluid_min", "freezing_margin")]
    known = sorted(
        (each for each in judged if each is not None and each.decides and each.holds),
        key=lambda each: each.margin,
    )
    coldest = next((each.actual for each in judged if each is not None), None)
    found = None if coldest is None else distance(design, coldest)
    if found is None or not known or known[0].margin >= found:
        return ""
    return (
        f"The margin to {LABELS[known[0].name]}, {known[0].apart()}, is less than the temperatures may be "
        f"off because the loads are shaped from {design.loads.shaped_from}: about {both(found, 'K', '.1f')}."
    )


def in_words(run: Run) -> str:
    """Return the distance in a sentence; empty where the loads were hourly.

    Parameters
    ----------
    run : Run
        The run.
    """
    found, shaped_from = distance_of_run(run), run.design.loads.shaped_from
    if found is None or shaped_from is None:
        return ""
    return (
        f"Loads shaped from {shaped_from}: about {both(found, 'K', '.1f')}. With hourly loads, the lowest "
        f"entering fluid temperature may be this much lower or higher ({percent(SHARES[shaped_from])} of its "
        "distance from the undisturbed ground, the most in invented buildings and climates)."
    )
