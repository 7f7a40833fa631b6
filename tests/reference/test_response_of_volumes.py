"""Response tests on a bore of finite volumes with known ground: what is found, and how honest its error is.

`finite_volume_bore` makes the tests and shares nothing with the engine. No package registry at hand has a
published record of a test whose ground is known otherwise; so these tests are the only ones.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest

import loopdrift as ld
from book import between, compare
from finite_volume_bore import HOUR, FiniteVolumeBore, heat_with_cut, noise, of_moving_water, rise

TRUE = FiniteVolumeBore()
TEMPERATURE = 11.0
STEP = 1 / 6  # h
HOURS = STEP * np.arange(1, round(76 / STEP) + 1)
START = 4.0  # h
HEAT = 55.0 * TRUE.depth
CUT = (30.0, 33.0)
FLOW = 0.5
BORE = ld.Bore(
    depth=TRUE.depth,
    buried_depth=TRUE.buried_depth,
    diameter=2 * TRUE.radius,
    grout_conductivity=1.3,  # not that which gives the true resistance
    pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07),
)


@functools.cache
def response():
    return TRUE.step_response(HOURS * HOUR)


def made(*, seed=None, cut=None, bore=BORE, speed=0.0, instants=False):
    """Return a test; water moves heat at a speed [m/s]; rows have mean heat, or that of the instant."""
    heat = heat_with_cut(HOURS, HEAT, start=START, cut=cut)
    step = response()
    if speed:
        step = step + of_moving_water(TRUE, HOURS * HOUR, speed)
    mean = TEMPERATURE + rise(step, heat / TRUE.depth)
    if seed is not None:
        rng = np.random.default_rng(seed)
        mean = mean + noise(rng, HOURS.size, white=0.03, lasting=0.03, hours=1.5, step=STEP)
    between = heat / (FLOW * 4190.0)
    first = np.append(0.0, HOURS) * HOUR
    return ld.ResponseTest(
        times=first,
        supply=np.append(TEMPERATURE, mean + between / 2),
        returned=np.append(TEMPERATURE, mean - between / 2),
        heat=np.append(0.0, heat),
        heat_is_mean=not instants,
        flow=FLOW,
        bore=bore,
        volumetric_heat_capacity=TRUE.heat_capacity,
    )


@pytest.mark.parametrize("instants", [False, True])
@pytest.mark.parametrize("cut", [None, CUT])
def test_the_fitted_bore_finds_the_ground_without_noise(cut, instants):
    """The fitted bore finds conductivity, resistance and temperature of a test without noise."""
    found = made(cut=cut, instants=instants).fit
    compare(found.conductivity, TRUE.conductivity, rtol=0.004, unit="W/(m K)")
    compare(found.resistance, TRUE.resistance, rtol=0.01, unit="m K/W")
    compare(found.temperature, TEMPERATURE, atol=0.03, unit="degC")


def test_a_bore_of_measured_resistance_finds_them_late():
    """A bore that stores no heat finds the ground from its late hours within the tenth that it states."""
    bore = ld.Bore(depth=120.0, buried_depth=2.0, diameter=0.14, resistance=0.05)
    test = made(bore=bore)
    compare(test.fit.conductivity, TRUE.conductivity, rtol=0.1, unit="W/(m K)")
    compare(test.fit.resistance, TRUE.resistance, rtol=0.1, unit="m K/W")


def test_the_straight_line_comes_near_from_below():
    """The straight line, which has no heat stored in the bore, finds less conductivity, and nears it late."""
    test = made()
    compare(test.line.conductivity, TRUE.conductivity, rtol=0.06, unit="W/(m K)")
    late = test.line_in(50.0, 76.0)
    compare(late.conductivity, TRUE.conductivity, rtol=0.03, unit="W/(m K)")
    by_begin = test.windows.loc["begin", "conductivity"].to_numpy()
    assert (np.diff(by_begin) > 0.0).all()


def kind(seed):
    """Return what is special in a try: a power cut in every second, rows of instants in every other pair."""
    return {"cut": CUT if seed % 2 else None, "instants": seed % 4 > 1}


@functools.cache
def tries(count=200):
    """Return errors in standard errors, shape (tries, 3)."""
    true = np.array([TRUE.conductivity, TRUE.resistance, TEMPERATURE])
    found = (made(seed=seed, **kind(seed)).fit for seed in range(count))
    return np.array(
        [
            (np.array([each.conductivity, each.resistance, each.temperature]) - true) / each.errors
            for each in found
        ]
    )


@pytest.mark.parametrize("place", range(3), ids=["conductivity", "resistance", "temperature"])
def test_the_true_value_lies_within_the_band(place):
    """True values lie within the 95 % band in 90 to 99 % of 200 tries with lasting noise and power cuts."""
    within = float((np.abs(tries()[:, place]) < 1.96).mean())
    between(100.0 * within, 90.0, 99.0, unit="%")


def test_moving_water_is_pointed_out_and_still_ground_is_not():
    flowing = made(seed=1, speed=4e-6)
    assert any("groundwater" in each.text for each in flowing.findings)
    early, late = flowing.growth
    assert late.conductivity > 1.04 * early.conductivity
    for seed in range(5):
        assert made(seed=seed, **kind(seed)).growth is None
