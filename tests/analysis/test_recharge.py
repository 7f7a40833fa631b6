"""The smallest recharge that limits the drift: it holds, less doesn't, and infeasible cases are reported."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.basics.both_units import both
from loopdrift.basics.words import change

YEARS = 6
HOURS = 24 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def drift(design: ld.Design, monthly: np.ndarray | float = 0.0, years: int = YEARS) -> float:
    """Greatest distance of a year's mean entering fluid from the first year's, by a run [K]."""
    series = design.loads.for_engine()
    series["recharge"] = series["recharge"] + np.repeat(np.broadcast_to(monthly, 12), HOURS)
    means = design.replace(loads=ld.Loads(**series)).run(years).yearly["entering_fluid_mean_degC"]
    moved = (means - means[1]).to_numpy()
    return float(moved[np.abs(moved).argmax()])


@pytest.fixture(scope="module")
def cooling_heavy(design: ld.Design) -> ld.Design:
    loads = ld.Loads(heating=design.loads.cooling[::-1], cooling=design.loads.heating[::-1])
    return design.replace(loads=loads)


def test_the_least_recharge_of_a_cooling_ground(design: ld.Design) -> None:
    found = design.find_recharge(0.25, years=YEARS)
    assert found.holds and found.drift_without == drift(design) < -0.25
    assert -0.25 <= found.drift == drift(design, found.monthly) < -0.245
    assert drift(design, (1.0 - 2e-2) * found.monthly) < -0.25
    assert found.runs <= 9
    assert_allclose(found.yearly, (found.monthly @ HOURS) / 1e3)
    assert_array_equal(found.design.loads.recharge, np.repeat(found.monthly, HOURS))
    assert_array_equal(found.design.loads.heating, design.loads.heating)
    said = str(found)
    assert f"With {both(found.yearly, 'kWh')} a year added to the loop" in said
    assert f"without recharge, it {change(found.drift_without, tense='present')} in {YEARS} years" in said


def test_the_months_are_those_without_much_heating(design: ld.Design) -> None:
    found = design.find_recharge(0.25, years=YEARS)
    by_month = design.loads.monthly()["heating_kWh"].loc[1]
    quiet = (by_month < 0.5 * by_month.max()).to_numpy()
    assert 4 <= quiet.sum() <= 8
    assert_array_equal(found.monthly > 0.0, quiet)
    assert len(set(found.monthly[quiet])) == 1
    even = ld.Loads(heating=1500.0)
    everywhere = design.replace(loads=even).find_recharge(0.1, years=YEARS)
    assert everywhere.holds and len(set(everywhere.monthly)) == 1


def test_a_profile_is_scaled(design: ld.Design) -> None:
    profile = [0, 0, 1, 2, 3, 4, 4, 3, 2, 1, 0, 0]
    found = design.find_recharge("0.45 delta_degF", years=YEARS, profile=profile, most="2 kW")
    assert found.holds
    assert_allclose(found.limit, 0.25)
    assert_allclose(found.monthly, found.monthly.max() * np.array(profile) / 4.0)
    assert found.drift == drift(design, found.monthly)
    assert drift(design, found.monthly * (1.0 - 4.1 / found.monthly.max())) < -0.25


def test_a_warming_ground_gives_heat_away(cooling_heavy: ld.Design) -> None:
    found = cooling_heavy.find_recharge(0.25, years=YEARS)
    assert found.holds and found.drift_without > 0.25 >= found.drift > 0.24
    assert found.yearly < 0.0 and (found.monthly <= 0.0).all()
    assert "removed from the loop" in str(found)
    by_month = cooling_heavy.loads.monthly()["cooling_kWh"].loc[1]
    assert_array_equal(found.monthly < 0.0, by_month < 0.5 * by_month.max())


def test_recharge_comes_beside_what_is_there(design: ld.Design) -> None:
    series = design.loads.for_engine()
    some = design.replace(loads=ld.Loads(**series | {"recharge": np.full(8760, 100.0)}))
    more = some.find_recharge(0.25, years=YEARS, profile=np.ones(12), most=2000.0)
    whole = design.find_recharge(0.25, years=YEARS, profile=np.ones(12), most=2000.0)
    assert more.holds and whole.holds
    assert_allclose(more.monthly + 100.0, whole.monthly, atol=4.0)


def test_none_is_needed(design: ld.Design) -> None:
    found = design.find_recharge(3.0, years=YEARS)
    assert found.holds and not found.monthly.any() and found.runs == 1
    assert found.drift == found.drift_without and found.design == design
    assert str(found).startswith("With no recharge, the yearly mean entering fluid temperature falls ")


def test_it_says_that_nothing_holds(design: ld.Design) -> None:
    """One range ends too early; one drift is less than what the start in undisturbed ground brings."""
    short = design.find_recharge(0.25, years=YEARS, most=100.0)
    assert not short.holds and short.monthly.max() == 100.0
    assert short.drift == drift(design, short.monthly) < -0.25
    assert str(short).startswith("No recharge in the range keeps")
    tight = design.find_recharge(1e-3, years=YEARS)
    assert not tight.holds and 1e-3 < abs(tight.drift) < abs(tight.drift_without)
    assert "Nearest: with " in str(tight)


def test_a_fluid_that_freezes_without(design: ld.Design) -> None:
    coldest = design.run(1).yearly["leaving_fluid_min_degC"].min()
    fluid = ld.Fluid.constant(
        density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=coldest - 0.1
    )
    freezing = design.replace(fluid=fluid, limits=design.limits.replace(freezing_margin=0.0))
    found = freezing.find_recharge(0.3, years=YEARS, most=2000.0)
    assert found.holds and found.drift_without == -math.inf
    assert "without recharge, it falls until the fluid freezes" in str(found)
    with pytest.raises(
        ld.InvalidInput, match=r"Recharge.most = None W: must be given where the fluid freezes"
    ):
        freezing.find_recharge(0.3, years=YEARS)


def test_progress_counts_runs(design: ld.Design) -> None:
    told: list[int] = []
    found = design.find_recharge(0.3, years=2, progress=told.append)
    assert told == list(range(1, found.runs + 1))


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"drift": 0.0}, "Recharge.drift = 0.0 K: must be above 0"),
        ({"drift": "1 kg"}, "must be a number with a unit like K"),
        ({"years": 1}, "must be at least 2"),
        ({"years": 101}, "must be a whole number from 1 to 100"),
        ({"most": -5.0}, "Recharge.most = -5.0 W: must be above 0"),
        ({"most": "5 m"}, "must be a number with a unit like W"),
        ({"profile": [1.0] * 11}, "must be 12 numbers"),
        ({"profile": [0.0] * 12}, "must be 12 numbers"),
        ({"profile": [-1.0] + [1.0] * 11}, "must be 12 numbers"),
        ({"profile": [float("nan")] * 12}, "must be 12 numbers"),
        ({"profile": "summer"}, "must be numbers"),
        ({"progress": 3}, "must be true, false or callable with a number of runs"),
    ],
)
def test_what_makes_no_sense_is_refused(design: ld.Design, arguments: dict, said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        design.find_recharge(**{"drift": 1.0, "years": 2, **arguments})
    assert said in str(refusal.value)
