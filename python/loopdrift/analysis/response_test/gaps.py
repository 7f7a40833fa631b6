"""Gaps between the rows of a logger: a record whose heat is known at all times."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.response_test.record import Record
from loopdrift.basics.errors import InvalidInput

Numbers = NDArray[np.float64]
InGaps = Literal["on", "off"]

LEAST_HOURS = 6.0
"""Least length of a test [h]."""
_HOUR = 3600.0
_GAP = 2.5
"""Time between two rows that is a gap, in usual times between rows."""


def without_gaps(
    times: Numbers,
    supply: Numbers,
    returned: Numbers,
    *,
    heat: Numbers | None,
    flow: Numbers | None,
    fluid_heat_capacity: float,
    means: bool,
    in_gaps: InGaps | None,
) -> Record:
    """Return the record of a logger's rows; see `ResponseTest` for the arguments.

    Parameters
    ----------
    times : ndarray
        Times [s].
    supply, returned : ndarray
        Temperatures [degC].
    heat : ndarray or None
        Heat given to the bore [W].
    flow : ndarray or None
        Mass flow [kg/s].
    fluid_heat_capacity : float
        Heat capacity of the fluid [J/(kg K)].
    means : bool
        Whether heat is a mean since the row before.
    in_gaps : {"on", "off"} or None
        What the heater did in gaps.

    Raises
    ------
    InvalidInput
        If there is a gap and nothing says what the heater did, no heat, or too short a test.
    """
    stopped = np.zeros(times.size, dtype=bool) if flow is None else flow == 0.0
    if heat is None:
        assert flow is not None
        heat = np.where(stopped, 0.0, flow * fluid_heat_capacity * (supply - returned))
    elif np.nanmean(supply - returned) < 0.0 and np.nanmin(heat) >= 0.0:
        heat = -heat  # a logger that counts heat extracted
    known = ~np.isnan(heat)
    # A pipe without flow doesn't have the temperature of the bore.
    supply, returned = (np.where(stopped, np.nan, each)[known] for each in (supply, returned))
    times, heat = times[known], heat[known]
    length = (times[-1] - times[0]) / _HOUR if times.size > 2 else 0.0
    if length < LEAST_HOURS or not np.abs(heat).max() > 0.0:
        allowed = f"must be other than 0 in rows over at least {LEAST_HOURS:g} h"
        raise InvalidInput("ResponseTest", "heat", f"{times.size} rows over {length:.1f} h", "", allowed)
    usual = float(np.median(np.diff(times)))
    gaps = np.flatnonzero(np.diff(times) > _GAP * usual)
    if gaps.size and in_gaps is None:
        first = times[gaps[0]] / _HOUR
        value = f"{gaps.size} gaps, the first from {first:.2f} to {times[gaps[0] + 1] / _HOUR:.2f} h"
        allowed = "must be 'on' if the heater ran in gaps between rows, or 'off' if it didn't"
        raise InvalidInput("ResponseTest", "in_gaps", value, "", allowed)
    if gaps.size and in_gaps == "off":
        added = np.concatenate([times[gaps] + usual, times[gaps + 1] - usual])
        order = np.argsort(np.concatenate([times, added]), kind="stable")
        nothing = np.full(added.size, np.nan)
        times, heat, supply, returned = (
            np.concatenate([each, more])[order]
            for each, more in ((times, added), (heat, 0.0 * added), (supply, nothing), (returned, nothing))
        )
    return Record(times - times[0], supply, returned, heat, means)
