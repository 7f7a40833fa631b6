"""Least squares over whole hourly runs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.learning.intervals import Intervals
from loopdrift.analysis.learning.unknowns import OFFSET, Unknown, first_value, with_values
from loopdrift.analysis.measured.noise import Estimate, generalised
from loopdrift.basics.errors import InvalidInput
from loopdrift.model.design import Design

Numbers = NDArray[np.float64]

_STEP = 0.01
"""Step of numerical derivatives, of the logarithm, or in K."""
_LARGEST = 0.5
"""Largest change in one round, of the logarithm; K for temperatures times ten."""
_ROUNDS = 12
_SETTLED = 0.1
"""Change, in standard errors, at which the search ends."""
_HALVINGS = 6


class Fitted(NamedTuple):
    """Result of the least squares."""

    searched: Numbers
    """The numbers in the coordinates of the search; see `Unknown`."""
    covariance: Numbers
    """Of these."""
    fitted: Numbers
    """Temperature that the sensor would show in each interval [degC]."""
    noise: Estimate
    has_settled: bool
    runs: int


def fit(
    design: Design,
    seen: Intervals,
    unknowns: Sequence[Unknown],
    tell: Callable[[int], object] | None,
) -> Fitted:
    """Find the numbers with which the hourly run reproduces the log.

    Rounds of generalised least squares: the derivatives are differences of whole hourly runs. The residuals
    give strength, correlated share and correlation time of the noise, which weights the intervals. What is
    known beforehand has a prior of its standard error.

    Parameters
    ----------
    design : Design
        The design, with the loads of the years so far.
    seen : Intervals
        The log.
    unknowns : sequence of Unknown
        What is to be found, and what is fitted with it.
    tell : callable or None
        Takes the number of runs done.

    Raises
    ------
    InvalidInput
        If no run near the design's own numbers is possible, such as where the fluid freezes.
    """
    model = _Model(design, seen, unknowns, tell)
    first = np.array([each.searched(first_value(design, each)) for each in unknowns])
    least, most = (
        np.array([each.searched(end) for each in unknowns for end in [getattr(each, name)]])
        for name in ("least", "most")
    )
    precision = np.array([each.known_within**-2.0 for each in unknowns])
    largest = np.array([_LARGEST if each.is_positive else 10.0 * _LARGEST for each in unknowns])
    here = np.clip(first, least, most)
    fitted = model.fitted(here)
    has_settled = False
    for _ in range(_ROUNDS):
        slopes = model.slopes(here, fitted)
        found = generalised(
            seen.middle, slopes, seen.measured - fitted, expected=first - here, precision=precision
        )
        step = np.clip(here + np.clip(found.values, -largest, largest), least, most) - here
        here, fitted = model.moved(here, step)
        has_settled = bool((np.abs(step) < _SETTLED * np.sqrt(np.diag(found.covariance))).all())
        if has_settled:
            break
    return Fitted(here, found.covariance, fitted, found, has_settled, model.runs)


class _Model:
    """Readings of the sensor, as a function of the numbers in a search."""

    def __init__(
        self,
        design: Design,
        seen: Intervals,
        unknowns: Sequence[Unknown],
        tell: Callable[[int], object] | None,
    ) -> None:
        self._design, self._seen, self._unknowns, self._tell = design, seen, unknowns, tell
        names = [each.name for each in unknowns]
        self._offset = names.index(OFFSET) if OFFSET in names else None
        self.runs = 0

    def fitted(self, searched: Numbers) -> Numbers:
        """Return what the sensor would show in each interval [degC]."""
        values = [each.value(at) for each, at in zip(self._unknowns, searched, strict=True)]
        design = with_values(self._design, self._unknowns, values)
        hourly, *_ = _core.run(design.for_engine(), design.demand, self._seen.years, None)
        self.runs += 1
        if self._tell is not None:
            self._tell(self.runs)
        shown = self._seen.of(hourly["entering_fluid_degC"])
        return shown if self._offset is None else shown + values[self._offset]

    def slopes(self, searched: Numbers, here: Numbers) -> Numbers:
        """Return derivatives of `fitted`, shape (intervals, numbers); `here` is its value."""
        columns = []
        for place in range(searched.size):
            if place == self._offset:
                columns.append(np.ones_like(here))
                continue
            direction = np.eye(searched.size)[place]
            try:
                columns.append((self.fitted(searched + _STEP * direction) - here) / _STEP)
            except InvalidInput:  # the fluid freezes on one side, or the range ends
                columns.append((here - self.fitted(searched - _STEP * direction)) / _STEP)
        return np.column_stack(columns)

    def moved(self, here: Numbers, step: Numbers) -> tuple[Numbers, Numbers]:
        """Return the numbers after a step and their readings; the step is halved until it can be run."""
        for _ in range(_HALVINGS):
            try:
                return here + step, self.fitted(here + step)
            except InvalidInput:
                step = 0.5 * step
        return here, self.fitted(here)
