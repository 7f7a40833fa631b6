"""Steps without a value, filled where they are few."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.series import Series

LONGEST_STRAIGHT = 3.0
"""Longest gap that is filled by a straight line [h]; common practice, no source."""
_DAYS_AROUND = 14
_LISTED = 6


class Gap(NamedTuple):
    """Steps in a row without a value; the last step is followed by the first."""

    first: int
    length: int


class Filled(NamedTuple):
    """A series without gaps, and what was filled."""

    values: Series
    gaps: list[Gap]


def gaps(missing: NDArray[np.bool_]) -> list[Gap]:
    """Return the runs of true steps, in a circle.

    Parameters
    ----------
    missing : numpy.ndarray
        Which steps have no value.
    """
    if not missing.any() or missing.all():
        return [Gap(0, missing.size)] if missing.any() else []
    edges = np.diff(missing.astype(np.int8), prepend=missing[-1])
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    if ends[0] <= begins[0]:
        ends = np.concatenate([ends[1:], [ends[0] + missing.size]])
    return [Gap(int(a), int(b - a)) for a, b in zip(begins, ends, strict=True)]


def fill(values: Series, step: int, found: list[Gap]) -> Series:
    """Return a series whose gaps are filled.

    A gap of up to three hours is a straight line between its neighbours. In a longer one, each step has the
    mean of the same time of the day before and of the day after, or of the nearest days that have a value.
    Both are common practice, no source.

    Parameters
    ----------
    values : numpy.ndarray
        Values of whole years, NaN where there is none.
    step : int
        Length of a step [s].
    found : list of Gap
        The gaps, as `gaps` gives them.

    Examples
    --------
    >>> hours = np.tile([1.0, 2.0, 4.0, 8.0], 6)
    >>> hours[1] = np.nan
    >>> float(fill(hours, 3600, gaps(np.isnan(hours)))[1])
    2.5
    """
    filled, size = values.copy(), values.size
    per_day = 86_400 // step
    for gap in found:
        at = (gap.first + np.arange(gap.length)) % size
        before, after = values[(gap.first - 1) % size], values[(gap.first + gap.length) % size]
        if gap.length * step <= LONGEST_STRAIGHT * 3600.0:
            filled[at] = before + (after - before) * np.arange(1, gap.length + 1) / (gap.length + 1)
            continue
        sides = np.full((2, gap.length), np.nan)
        for side, sign in enumerate((-1, 1)):
            for day in range(1, _DAYS_AROUND + 1):
                other = values[(at + sign * day * per_day) % size]
                sides[side] = np.where(np.isnan(sides[side]), other, sides[side])
        known = ~np.isnan(sides)
        straight = before + (after - before) * np.arange(1, gap.length + 1) / (gap.length + 1)
        total = np.where(known, sides, 0.0).sum(axis=0)
        filled[at] = np.where(known.any(axis=0), total / np.maximum(known.sum(axis=0), 1), straight)
    return filled


def in_words(found: list[Gap], step: int, when: Callable[[int], str]) -> str:
    """Return gaps with their beginnings and lengths, such as ``5 March 04:00 (2 h)``.

    Parameters
    ----------
    found : list of Gap
        The gaps.
    step : int
        Length of a step [s].
    when : callable
        Gives the time of a step in words.
    """
    shown = [f"{when(gap.first)} ({gap.length * step / 3600.0:g} h)" for gap in found[:_LISTED]]
    more = f" and {len(found) - _LISTED} more" if len(found) > _LISTED else ""
    return f"{', '.join(shown)}{more}"
