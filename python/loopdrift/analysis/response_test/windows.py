"""How the results of a response test change with the part of the record that is used."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.response_test.gaps import LEAST_HOURS

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.analysis.response_test.record import Record

_HOUR = 3600.0
_WINDOWS = 8
_BEYOND = 3.0
"""Growth that counts as significant, in standard errors."""
_LEAST_GROWTH = 0.1
"""Least relative growth of conductivity that is a sign of groundwater; heat in the bore makes less."""


def moved(line: FoundGround, line_in: Callable[[float, float], FoundGround]) -> pd.DataFrame:
    """Return the straight line's results as its window moves; see `ResponseTest.windows`.

    Parameters
    ----------
    line : FoundGround
        The result in the usual window.
    line_in : callable
        Takes start and end of a window [h], and returns its result.
    """
    import pandas as pd

    begin, end = line.begin, line.end
    length = end - begin
    tried = [("end", begin, begin + share * length) for share in np.linspace(0.3, 1.0, _WINDOWS)]
    tried += [("begin", begin + share * length, end) for share in np.linspace(0.0, 0.7, _WINDOWS)]
    rows = []
    for which, first, last in tried:
        found = line_in(first, last)
        conductivity, resistance, _ = found.errors
        rows.append((which, first, last, found.conductivity, conductivity, found.resistance, resistance))
    names = ["begin_h", "end_h", "conductivity", "conductivity_error", "resistance", "resistance_error"]
    return pd.DataFrame(rows, columns=["moved", *names]).set_index("moved")


def growth(
    record: Record, fit_between: Callable[..., FoundGround], temperature: float
) -> tuple[FoundGround, FoundGround] | None:
    """Return fits to either half of the heat, if conductivity grows; see `ResponseTest.growth`.

    Parameters
    ----------
    record : Record
        The record.
    fit_between : callable
        Takes start and end [s] and a known undisturbed temperature [degC], as `ResponseTest.fit_between`.
    temperature : float
        Undisturbed temperature of the fit to the whole record [degC].
    """
    half = 0.5 * (record.start + record.end)
    if half - record.start < 1.5 * LEAST_HOURS * _HOUR:
        return None
    early = fit_between(None, half)
    late = fit_between(half, record.end, temperature)
    grown = late.conductivity - early.conductivity
    error = float(np.hypot(early.errors[0], late.errors[0]))
    is_sign = grown > _BEYOND * error and grown > _LEAST_GROWTH * early.conductivity
    return (early, late) if is_sign else None
