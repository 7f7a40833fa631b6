"""Results of a log, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.analysis.learning.unknowns import Unknown, first_value
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import counted
from loopdrift.ground_sides.finding import Finding
from loopdrift.model.cautions import CAUTIONS

if TYPE_CHECKING:
    from loopdrift.analysis.learning.learned import Learned

_SEASONS = 10
"""Months of the year that must be in a log for all seasons to be there."""
_BEYOND = 2.0
"""Difference from the design that is reported, in standard errors."""


def in_lines(learned: Learned) -> str:
    """Return the result as text of several lines.

    Parameters
    ----------
    learned : Learned
        The result.
    """
    lines = [f"Log: {learned.log}.", ""]
    lines += [f"  {line}" for line in found_in_words(learned)]
    return "\n".join([*lines, "", *map(str, learned.findings), "", CAUTIONS])


def found_in_words(learned: Learned) -> list[str]:
    """Return what was found, one line for each number.

    Parameters
    ----------
    learned : Learned
        The result.
    """
    lines = []
    for each in learned.every:
        value, error = learned.values[each.name], learned.errors[each.name]
        own = first_value(learned.so_far, each)
        lines.append(
            f"{each.label}: {_shown(each, value)}, ± {_error(each, error)} (design: {_shown(each, own)})"
        )
        if each.path.endswith("grout_conductivity") and learned.resistance is not None:
            lines.append(f"bore resistance with it: {both(learned.resistance, 'm K/W', '.4f')}")
    return lines


def _shown(unknown: Unknown, value: float) -> str:
    if unknown.unit == "degC":
        return both_degrees(value)
    if unknown.unit == "J/(m3 K)":
        return both(1e-6 * value, "MJ/(m3 K)", ".2f")
    return both(value, unknown.unit, unknown.form) if unknown.unit else f"{value:{unknown.form}}"


def _error(unknown: Unknown, error: float) -> str:
    if unknown.unit in ("degC", "K"):
        return both(error, "K", ".2f")
    if unknown.unit == "J/(m3 K)":
        return both(1e-6 * error, "MJ/(m3 K)", ".2f")
    return both(error, unknown.unit, unknown.form) if unknown.unit else f"{error:{unknown.form}}"


def findings(learned: Learned) -> list[Finding]:
    """Return the findings about the result, the most serious first.

    Parameters
    ----------
    learned : Learned
        The result.
    """
    warnings = [*_doubts(learned), *learned.hidden, *_seasons(learned), *_departures(learned)]
    notes = [_noise(learned), _left_out(learned)]
    return [
        *(Finding(False, text) for text in warnings),
        *(Finding(False, text, matters=False) for text in notes),
    ]


def _doubts(learned: Learned) -> list[str]:
    found = []
    if not learned.fit.has_settled:
        found.append("The search didn't converge: the result is rough; choose other unknowns.")
    for each, at in zip(learned.every, learned.fit.searched, strict=True):
        ends = each.searched(each.least), each.searched(each.most)
        if min(abs(at - end) for end in ends) < 1e-9:
            found.append(
                f"The {each.label} is at the end of its range, {_shown(each, each.value(at))}: something "
                "else in the plant differs from the design, or the log doesn't determine it."
            )
    return found


def _seasons(learned: Learned) -> list[str]:
    seen, found = learned.seen, []
    if seen.months < _SEASONS:
        found.append(
            f"The log has rows with the heat pump running in only {counted(seen.months, 'month')} of the "
            "year: without the other seasons, stored heat can't be distinguished from conducted heat."
        )
    if seen.span < 1.5:
        found.append(
            f"The log spans {seen.span:.1f} years: the drift from year to year, which shows the ground far "
            "from the bores, is hardly in it."
        )
    return found


def _departures(learned: Learned) -> list[str]:
    found = []
    for each in learned.every:
        own, value = first_value(learned.so_far, each), learned.values[each.name]
        place = learned.every.index(each)
        error = float(np.sqrt(learned.fit.covariance[place, place]))
        apart = (each.searched(value) - each.searched(own)) / error
        if abs(apart) > _BEYOND:
            more = "above" if apart > 0.0 else "below"
            what = "zero" if not each.path else "the design"
            found.append(f"The {each.label} is {abs(apart):.1f} standard errors {more} {what}.")
    return found


def _noise(learned: Learned) -> str:
    left = learned.seen.measured - learned.fit.fitted
    noise = learned.fit.noise
    days = noise.correlation_time / 24.0
    share = f"{100.0 * noise.correlated:.0f} %"
    lasting = f", {share} of their variance correlated over {days:.0f} days" if noise.correlated else ""
    rms = both(float(np.sqrt(np.mean(left**2))), "K", ".2f")
    return (
        f"Residuals of the fit are {rms} rms in {left.size} means of the log{lasting}; the errors allow for "
        "that."
    )


def _left_out(learned: Learned) -> str:
    how = "as measured" if learned.log.heat is not None else "by the measured electricity"
    if learned.log.heat is None and learned.log.electricity is None:
        how = "those of the design, which real weather and use follow only on average"
    return (
        f"Loads are {how}. Errors are standard errors; they cover noise, loads and sensor, not a plant that "
        "differs from the design, a heat pump that differs from its table, or flowing groundwater."
    )
