"""Uncertainty of a response test, for studies of designs."""

from __future__ import annotations

import dataclasses

import numpy as np

from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.study import Samples


def with_temperature_error(found: FoundGround, error: float) -> FoundGround:
    """Return what was found with a given undisturbed temperature, with the effect of its standard error.

    Parameters
    ----------
    found : FoundGround
        What was found.
    error : float
        Standard error of the undisturbed temperature [K].
    """
    by_temperature = np.array([0.0, -1.0 / found.heat, 1.0])
    more = error**2 * np.outer(by_temperature, by_temperature)
    return dataclasses.replace(found, covariance=found.covariance + more)


def samples(
    found: FoundGround, count: int, heat_error: float, offset: float, resistance: bool, seed: int
) -> Samples:
    """Return what was found as samples; see `ResponseTest.samples`.

    Parameters
    ----------
    found : FoundGround
        What was found.
    count : int
        Number of samples.
    heat_error : float
        Standard error of the measured heat, as a share of it [-].
    offset : float
        Undisturbed temperature in the middle of the bore less that of the ground's surface [K].
    resistance : bool
        Whether the bore's resistance varies too.
    seed : int
        Seed.
    """
    from scipy import stats

    # In the logarithms of conductivity and resistance; a meter that reads too much raises the first and
    # lowers the second by its share.
    scale = np.array([found.conductivity, found.resistance, 1.0])
    meter = np.array([1.0, -1.0, 0.0])
    covariance = found.covariance / np.outer(scale, scale) + heat_error**2 * np.outer(meter, meter)
    spread = np.sqrt(np.diag(covariance))
    kept = [place for place in range(3) if spread[place] > 0.0 and (resistance or place != 1)]
    every = (
        ("ground.conductivity", stats.lognorm(spread[0], scale=found.conductivity)),
        ("ground_side.bore.resistance", stats.lognorm(spread[1], scale=found.resistance)),
        ("ground.temperature", stats.norm(found.temperature - offset, spread[2])),
    )
    correlation = (covariance / np.outer(spread, spread))[np.ix_(kept, kept)]
    return Samples(dict(every[place] for place in kept), count=count, seed=seed, correlation=correlation)
