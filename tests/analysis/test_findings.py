"""Findings: criteria that hold, limits that are broken, and warnings."""

import datetime

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.analysis.findings import drift, findings
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.words import change
from loopdrift.ground_sides.finding import Finding
from loopdrift.model.moment import moment


def look(run):
    return [finding.text for finding in findings(run) if not finding.holds]


def only(run, part):
    """Return the one finding that doesn't hold and contains `part`."""
    (text,) = [text for text in look(run) if part in text]
    return text


def test_all_holds(run):
    assert [finding.holds for finding in run.findings] == [True, True, True]
    assert str(run.findings[0]).startswith("holds: Lowest entering fluid temperature is ")
    assert str(Finding(False, "Something.")) == "WARNING: Something."


def test_below_the_lower_limit(design):
    run = design.replace(limits=ld.Limits(entering_fluid_min=9.0)).run(1)
    lowest = run.yearly["entering_fluid_min_degC"].min()
    text = only(run, "Lowest entering fluid")
    assert f"{both(9.0 - lowest, 'K', '.1f')} beyond the limit of 9.0 degC (48.2 degF)" in text
    hours = int((run.hourly["entering_fluid_degC"][running(run)] < 9.0).sum())
    assert only(run, "outside the limits").startswith(f"In {hours:,} hours (first in year 1), ")


def test_above_the_upper_limit(design):
    run = design.replace(limits=ld.Limits(entering_fluid_max=10.5)).run(1)
    highest = run.yearly["entering_fluid_max_degC"].max()
    assert f"{both(highest - 10.5, 'K', '.1f')} beyond the limit of 10.5 degC" in only(
        run, "Highest entering fluid"
    )
    hours = int((run.hourly["entering_fluid_degC"][running(run)] > 10.5).sum())
    assert only(run, "outside the limits").startswith(f"In {hours:,} hours")


def test_without_limits(design):
    run = design.replace(limits=ld.Limits()).run(1)
    assert look(run) == []
    assert [finding.text.endswith("; no limit is set.") for finding in run.findings] == [True, True, False]


def test_too_close_to_freezing(design):
    fluid = design.fluid.replace(freezing_point=0.0)
    run = design.replace(fluid=fluid, limits=ld.Limits(freezing_margin=5.0)).run(1)
    coldest = run.hourly["leaving_fluid_degC"][running(run)]
    hours = int((coldest < 5.0).sum())
    text = only(run, "Lowest leaving fluid")
    assert f"{both(coldest.min(), 'K', '.1f')} above the freezing point of 0.0 degC (32.0 degF)" in text
    assert text.endswith(f"The required margin is 5.0 K (9.0 degF); {hours:,} hours are below it.")


def test_outside_the_table(design):
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05],
        heating_capacity=[8000.0, 200.0],
        heating_range=(8.0, 20.0),
        cooling_cop=[6.0, -0.05],
    )
    run = design.replace(heat_pump=heat_pump).run(1)
    hours = int((run.hourly["entering_fluid_degC"][design.loads.heating > 0.0] < 8.0).sum())
    assert hours > 0
    assert only(run, "outside the heat pump's table").startswith(f"In {hours:,} hours (first in year 1), ")


def test_warmer_than_the_fluid_is_known(design):
    """Water is known up to 60 degC; heat that is rejected into hot ground takes it beyond."""
    hot = design.ground.replace(temperature=58.0)
    run = design.replace(ground=hot, fluid=ld.Fluid("water"), limits=ld.Limits()).run(1)
    warm = (run.hourly[["entering_fluid_degC", "leaving_fluid_degC"]] > 60.0).any(axis=1)
    hours = int((warm & (run.hourly["electricity_W"] > 0.0)).sum())
    assert 0 < hours < 8760 and not run.holds
    assert run.yearly["hours_fluid_too_warm"].tolist() == [hours]
    assert only(run, "60.0 degC (140.0 degF)").startswith(
        f"In {hours:,} hours (first in year 1), the fluid is above"
    )


def test_short_of_capacity(design):
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0], heating_capacity=[4000.0], cooling_cop=[6.0], cooling_capacity=[2000.0]
    )
    run = design.replace(heat_pump=heat_pump).run(1)
    heating, cooling = design.loads.heating, design.loads.cooling
    backup, unmet = np.clip(heating - 4000.0, 0.0, None), np.clip(cooling - 2000.0, 0.0, None)
    text = only(run, "capacity is below the load")
    hours = int(((backup > 0.0) | (unmet > 0.0)).sum())
    assert text.startswith(f"In {hours:,} hours (first in year 1), ")
    heat, cold = (both(watts.sum() / 1e3, "kWh", ",.0f") for watts in (backup, unmet))
    assert f"{heat} of back-up heat and {cold} of unmet" in text


def test_the_year_in_which_it_begins(design):
    """A limit between the lowest temperatures of two years is broken from the second year on."""
    first, second = design.run(2).yearly["entering_fluid_min_degC"]
    assert second < first
    run = design.replace(limits=ld.Limits(entering_fluid_min=(first + second) / 2)).run(2)
    assert " (first in year 2), " in only(run, "outside the limits")


def test_drift(design, run):
    moved = run.yearly["entering_fluid_mean_degC"].loc[2] - run.yearly["entering_fluid_mean_degC"].loc[1]
    assert moved < 0.0 and f"the mean fell {-moved:.2f} K" in drift(run)
    assert drift(run).endswith(f"In the last year, the mean fell {both(-moved, 'K', '.3f')}.")
    assert drift(design.run(1)) == "A run of one year shows no drift."


@pytest.mark.parametrize(
    ("kelvin", "tense", "words"),
    [
        (-1.634, "past", "fell 1.63 K (2.94 degF)"),
        (0.5, "present", "rises 0.50 K (0.90 degF)"),
        (-0.004, "past", "did not change"),
    ],
)
def test_changes(kelvin, tense, words):
    assert change(kelvin, tense=tense) == words


@pytest.mark.parametrize(
    ("start_month", "hour", "words"),
    [
        (1, 0, "1 January, 00:00 to 01:00"),
        (1, 8759, "31 December, 23:00 to 24:00"),
        (1, 24 * 59, "1 March, 00:00 to 01:00"),
        (3, 0, "1 March, 00:00 to 01:00"),
        (3, 8759, "28 February, 23:00 to 24:00"),
        (10, 24 * 92 + 7, "1 January, 07:00 to 08:00"),
        (12, 24 * (31 + 31 + 28), "1 March, 00:00 to 01:00"),
    ],
)
def test_moments(design, start_month, hour, words):
    run = ld.Run(
        design.replace(start_month=start_month),
        {},
        {},
        ld.RunError(0.0, 0.0, 0.0),
        ld.Judgement(True, (), None),
    )
    assert moment(run.design, 20, hour) == f"year 20, {words}"


@pytest.mark.parametrize("start_month", [1, 7, 10])
def test_the_worst_hour_is_dated_by_the_calendar_of_the_loads(design, start_month):
    """One day of heavy load at a known date is the coldest, whichever month the run begins in."""
    heating = np.zeros(8760)
    day = datetime.date(2001, 11, 17).timetuple().tm_yday - 1
    heating[24 * day + 6 : 24 * day + 9] = 7000.0
    run = design.replace(loads=ld.Loads(heating=heating), start_month=start_month).run(1)
    assert "17 November, 08:00 to 09:00" in run.findings[0].text


def test_degrees():
    assert both_degrees(-40.0) == "-40.0 degC (-40.0 degF)"
    assert both_degrees(100.0) == "100.0 degC (212.0 degF)"


def running(run):
    loads = run.design.loads
    return loads.heating + loads.cooling + loads.hot_water > 0.0


def test_the_extremes_are_the_hours(run):
    for which, pick in (("coldest", "idxmin"), ("hottest", "idxmax")):
        assert run.hour_of(which) == getattr(run.hourly["entering_fluid_degC"], pick)()
    assert_allclose(
        run.hourly["entering_fluid_degC"].loc[run.hour_of("coldest")],
        run.yearly["entering_fluid_min_degC"].min(),
        rtol=0,
    )
