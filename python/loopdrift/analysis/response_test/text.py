"""Results of a response test in words and as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from loopdrift.ground_sides.finding import Finding

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.analysis.response_test.response_test import ResponseTest

_BEYOND = 2.0
"""Difference between two results that counts, in standard errors."""
_CLOSE = 0.05
"""Difference that doesn't matter, relative."""
_SHORT = 50.0
"""Length of a test that is usual [h]; common practice, no source."""


def side_by_side(test: ResponseTest) -> pd.DataFrame:
    """Return both methods side by side, one column each with its standard errors.

    Parameters
    ----------
    test : ResponseTest
        The test.
    """
    import pandas as pd

    columns = {}
    for found in (test.line, test.fit):
        conductivity, resistance, temperature = found.errors
        columns[found.method] = [
            found.conductivity,
            conductivity,
            found.resistance,
            resistance,
            found.temperature,
            temperature,
            found.begin,
            found.end,
        ]
    rows = [
        "conductivity [W/(m K)]",
        "its standard error",
        "bore resistance [m K/W]",
        "its standard error",
        "undisturbed temperature [degC]",
        "its standard error",
        "from [h]",
        "to [h]",
    ]
    return pd.DataFrame(columns, index=rows)


def summary(test: ResponseTest) -> str:
    """Return both results and the findings, a line each.

    Parameters
    ----------
    test : ResponseTest
        The test.
    """
    return "\n".join([str(test.line), str(test.fit), *map(str, findings(test))])


def findings(test: ResponseTest) -> list[Finding]:
    """Return the findings about a test, the most serious first.

    Parameters
    ----------
    test : ResponseTest
        The test.
    """
    line, fit = test.line, test.fit
    found: list[str] = []
    growth = test.growth
    if growth is not None:
        early, late = growth
        found.append(
            f"Conductivity grows with the window: {early.conductivity:.2f} W/(m K) from the first half of "
            f"the heat, {late.conductivity:.2f} W/(m K) from the second. That is a sign of moving "
            "groundwater, which a single conductivity can't describe: a longer test would find more."
        )
    broken = test.record.first_break
    if broken is not None:
        found.append(
            f"The heat wasn't steady at {broken / 3600.0:.1f} h. The straight line assumes that it was; "
            "the fitted bore has the heat of every row."
        )
    if test.bore.pipes is None:
        found.append(
            "The bore is known by depth and diameter alone, so the heat stored in it is left out: that makes "
            "conductivity and resistance up to a tenth too low. With pipes and grout, the fitted bore has it."
        )
    if fit.grout_conductivity is not None and not 0.21 < fit.grout_conductivity < 9.5:
        found.append(
            f"No grout gives this bore its resistance: at the limit, a conductivity of "
            f"{fit.grout_conductivity:.2g} W/(m K). Pipes, their spacing or the flow aren't as given."
        )
    if fit.end - line.begin < _SHORT - 20.0:
        found.append(
            f"The heat lasted {test.record.end / 3600.0 - test.record.start / 3600.0:.0f} h; "
            f"{_SHORT:.0f} h or more are usual (common practice, no source)."
        )
    # R = ... - ln(1/C) / (4 pi k): a change of the assumed heat capacity moves R alone.
    moved = np.log(1.2) / (4.0 * np.pi * fit.conductivity)
    scope = (
        "The standard errors cover the noise of the logger, also where it lasts, and nothing else. A heat "
        "meter that reads 3 % too much makes the conductivity 3 % too high; a heat capacity of the ground "
        f"20 % above the one assumed makes the resistance {moved:.4f} m K/W too low."
    )
    warnings = (Finding(False, text) for text in found)
    return [_departure(test), *warnings, Finding(False, scope, matters=False)]


def _departure(test: ResponseTest) -> Finding:
    line, fit = test.line, test.fit
    apart = line.conductivity - fit.conductivity
    error = float(np.hypot(line.errors[0], fit.errors[0]))
    share = abs(apart) / fit.conductivity
    both = f"{line.conductivity:.2f} and {fit.conductivity:.2f} W/(m K)"
    if abs(apart) <= _BEYOND * error or share <= 0.5 * _CLOSE:
        return Finding(True, f"Straight line and fitted bore agree: {both}, {100.0 * share:.1f} % apart.")
    which = (
        "It assumes steady heat and a line for the bore; the fitted bore models both as they are and is "
        "the one to use."
    )
    if test.bore.pipes is None:
        which = "It assumes steady heat; the fitted bore has the heat of every row."
    more = "more" if apart > 0.0 else "less"
    text = (
        f"The straight line finds {100.0 * share:.0f} % {more} conductivity than the fitted bore ({both}), "
        f"{abs(apart) / error:.1f} standard errors apart. {which}"
    )
    return Finding(False, text)
