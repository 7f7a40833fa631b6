"""Ground that warms, in designs: studies, sizes and phases, what is said, and what is refused."""

from __future__ import annotations

import re
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import loopdrift as ld
from loopdrift.analysis.unusual import unusual
from loopdrift.ground_sides.bore_field import rules
from loopdrift.reporting import report
from loopdrift.reporting.overview import facts

DEMO = files("loopdrift") / "demo"
HOURS = 8760
RATE = ld.Warming(rate=0.3)


def warm(design, warming=RATE):
    return design.replace(ground=design.ground.replace(warming=warming))


@pytest.fixture(scope="module")
def trenches():
    return ld.Design.read(DEMO / "trenches.toml")


@pytest.fixture(params=["bores", "trenches"])
def still(request, design, trenches):
    return design if request.param == "bores" else trenches


def test_no_warming_changes_no_bit(still):
    plain = still.run(2)
    for nothing in (ld.Warming(), ld.Warming(values=[0.0, 0.0, 0.0], interval="1 year")):
        run = warm(still, nothing).run(2)
        assert run.hourly.equals(plain.hourly)
        assert run.yearly.equals(plain.yearly)
        assert run.error == plain.error


def test_a_straight_series_is_a_rate(still):
    rate = warm(still, ld.Warming(rate=0.4)).run(3).hourly["entering_fluid_degC"]
    for interval in (730.0, 1000.0, HOURS):
        count = int(np.ceil(3 * HOURS / interval)) + 1
        values = 0.4 * interval / HOURS * np.arange(count)
        series = warm(still, ld.Warming(values=values, interval=interval)).run(3)
        np.testing.assert_allclose(series.hourly["entering_fluid_degC"], rate, rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("of", ["bores", "trenches"])
@settings(max_examples=6, deadline=None)
@given(
    rates=st.lists(st.floats(-0.5, 0.5), min_size=1, max_size=11),
    values=st.lists(st.floats(-1.0, 5.0), min_size=3, max_size=3),  # much colder, the trenches freeze
)
@example(rates=[-0.5], values=[-1.0, -1.0, -1.0])
def test_side_by_side_in_a_study_as_alone(design, trenches, of, rates, values):
    base = design if of == "bores" else trenches
    series = ld.Warming(values=values, interval=HOURS)
    warmings = [None, series, *(ld.Warming(rate=rate) for rate in rates)]
    found = ld.Study(base, vary={"ground.warming": warmings}).run(2)
    for place, warming in enumerate(warmings):
        alone = warm(base, warming).run(2).yearly
        for name in ("entering_fluid_min_degC", "entering_fluid_mean_degC", "electricity_kWh"):
            assert (found[name].to_numpy()[place] == alone[name].to_numpy()).all()


def test_study_over_the_rate(design):
    rates = ["-0.1 K/year", "0.3 K/decade"]
    found = ld.Study(warm(design), vary={"ground.warming.rate": rates}).run(2)
    for place, rate in enumerate(rates):
        alone = warm(design, ld.Warming(rate=rate)).run(2).yearly["entering_fluid_mean_degC"].to_numpy()
        assert (found["entering_fluid_mean_degC"].to_numpy()[place] == alone).all()


def test_wall_limit_in_a_study_knows_the_warming(design):
    """The margin of the bore wall is that of the run's own wall temperatures."""
    limited = warm(design, ld.Warming(rate=-0.5)).replace(limits=ld.Limits(wall_min=0.0))
    run = limited.run(4)
    lowest = run.hourly["wall_degC"].min()
    assert lowest == pytest.approx(float(run.judgement["wall_min"].actual), abs=1e-9)
    found = ld.Study(limited, vary={"flow": [0.5]}).run(4)
    assert found["margin_K"].to_numpy()[0] == pytest.approx(lowest, abs=1e-9)


def test_size_with_cooling_ground_needs_more(design):
    sizes = {
        rate: warm(design, ld.Warming(rate=rate)).size("depth", years=10).value for rate in (-0.2, 0.0, 0.2)
    }
    assert sizes[-0.2] > 1.02 * sizes[0.0] > 1.04 * sizes[0.2]
    assert sizes[0.0] == design.size("depth", years=10).value


def test_phases_warm_on(design):
    """The ground warms through the phases of a plant as it does for a plant that stays the same."""
    warmed = warm(design, ld.Warming(rate=0.3, values=[0.0, 1.0, 0.5, 0.7], interval=HOURS))
    named = warmed.then(2, limits=ld.Limits(entering_fluid_min=-5.0)).run(3)
    for name in ("entering_fluid_degC", "wall_degC"):
        np.testing.assert_allclose(named.hourly[name], warmed.run(3).hourly[name], rtol=0.0, atol=1e-6)
    found, still = (each.then(2, flow=0.6).run(3).hourly["wall_degC"].iloc[-1] for each in (warmed, design))
    assert found - still == pytest.approx(1.6, abs=0.1)


def test_said(design):
    warmed = warm(design, ld.Warming(rate=0.03))
    stated = dict(facts(warmed))["warming"]
    assert stated.startswith("the undisturbed ground warms by 0.03 K/a (0.054 degF/a)")
    assert "warming" not in dict(facts(design))
    said = " ".join(str(warmed.run(3)).split())
    assert "the given change of the undisturbed temperature" in said
    assert "Without the plant, the mean temperature of the ground rose 0.06 K (0.11 degF)" in said
    said = " ".join(str(design.run(3)).split())
    assert "an undisturbed temperature that is the same in all years" in said
    assert "Without the plant" not in said
    page = " ".join(report.page(warmed.run(3)).split())
    assert "warms by 0.03 K/a" in page and "same in all years" not in page


@pytest.mark.parametrize(("rate", "stands_out"), [(0.03, False), (-0.05, False), (0.3, True), (-0.2, True)])
def test_unusual_rates_are_pointed_out(design, rate, stands_out):
    found = [str(each) for each in unusual(warm(design, ld.Warming(rate=rate)))]
    said = [text for text in found if text.startswith("ground.warming.rate")]
    assert len(said) == stands_out
    if rate == 0.3:
        assert 'write "0.3 K/decade"' in said[0]


def test_build_up_and_recovery_are_those_of_the_loads(design):
    """A century of the loads, in ground that doesn't warm; the series may be shorter than a century."""
    warmed = warm(design, ld.Warming(values=[0.0, 1.0, 2.0], interval=HOURS))
    run, plain = warmed.run(2), design.run(2)
    assert run.heat_build_up().final == plain.heat_build_up().final
    assert run.recovery(3).recovered.equals(plain.recovery(3).recovered)
    ending = "This leaves out that the ground itself warms or cools."
    assert str(run.heat_build_up()) == f"{plain.heat_build_up()} {ending}"
    assert str(run.recovery(3)) == f"{plain.recovery(3)} {ending}"


def test_critical_hour_counts_from_the_ground_of_that_hour(design):
    """The parts of the departure that explain a length add up, with the ground as it is by then."""
    long = design.replace(ground_side=design.ground_side.sized("depth", 190.0))
    departures = {}
    for name, each in {"still": long, "cooler": warm(long, ld.Warming(rate=-0.5))}.items():
        (rule,) = (rule for rule in rules.rules(each, each.ground_side, each.run(6)) if "hour" in str(rule))
        said = str(rule).partition("In the critical hour")[2]
        assert "with the fluid" in said and "below the undisturbed ground:" in said
        whole, *parts = (float(number) for number in re.findall(r"([-\d.]+) K \(", said.partition(". ")[0]))
        assert sum(parts) == pytest.approx(whole, abs=0.2)
        departures[name] = whole
    # The ground is 2.5 K to 3 K colder in the last winter; the fluid's distance from it hardly changes.
    assert departures["cooler"] == pytest.approx(departures["still"], abs=0.4)


@pytest.mark.parametrize(
    ("demo", "said"),
    [
        ("pond", "must not be given: a pond follows its weather"),
        ("well", "must not be given: the water of a well keeps the temperature of its aquifer"),
    ],
)
def test_other_loops_refuse_it(demo, said):
    design = ld.Design.read(DEMO / f"{demo}.toml")
    with pytest.raises(ld.InvalidInput, match=rf"Ground.warming = given: {said}"):
        warm(design)


def test_short_series_are_refused(design):
    short = warm(design, ld.Warming(values=[0.0, 0.1], interval="1 year"))
    assert short.run(1).years == 1
    said = r"Warming.values = 2 values: must be at least 4 for a run of 3 years"
    with pytest.raises(ld.InvalidInput, match=said):
        short.run(3)
    case = ld.Study(short, vary={"flow": [0.5]}).run(3)
    assert np.isnan(case["entering_fluid_min_degC"].to_numpy()).all()
