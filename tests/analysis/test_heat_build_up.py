"""Heat build-up and recovery: what they add up to, and what they refuse."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.basics.words import percent


@pytest.fixture(scope="module")
def found(run: ld.Run) -> ld.HeatBuildUp:
    return run.heat_build_up()


def test_the_years_are_those_of_a_long_run(design: ld.Design, run: ld.Run, found: ld.HeatBuildUp) -> None:
    yearly = found.yearly
    assert len(yearly) == 100 and found.years == 2
    names = [name for name in yearly if name in run.yearly]
    assert {"heat_extracted_kWh", "entering_fluid_min_degC", "drift_mean_K"} < set(names)
    assert_allclose(yearly.loc[[1, 2], names], run.yearly[names], rtol=1e-6, atol=1e-5)
    assert_array_equal(yearly["imbalance_kWh"], yearly["heat_extracted_kWh"] - yearly["heat_rejected_kWh"])
    assert_allclose(yearly["imbalance_share"] * yearly["heat_extracted_kWh"], yearly["imbalance_kWh"])
    assert design.run(100).heat_build_up().final == found.final


def test_drift_goes_its_way_to_the_end(found: ld.HeatBuildUp) -> None:
    means = found.yearly["entering_fluid_mean_degC"]
    assert (means.diff().iloc[1:] < 0.0).all() and found.final["mean"] < means.iloc[-1]
    settled = found.settled_year
    assert settled is not None and 2 < settled < 100
    done = (means - means[1]) / found.final_drift["mean"]
    assert done[settled - 1] < 0.9 <= done[settled]


def test_it_reads(found: ld.HeatBuildUp) -> None:
    text = str(found)
    assert (
        text.startswith("Of the ")
        and "million Btu) extracted from the ground in year 2" in text
        and "is not returned" in text
    )
    assert f"{found.final_drift['min']:+.2f} K" in text
    assert text.endswith(f"90 % of the drift of the mean is complete in year {found.settled_year}.")


def test_a_warming_ground_is_told_as_such(design: ld.Design) -> None:
    found = design.replace(loads=ld.Loads(cooling=1000.0)).run(1).heat_build_up()
    assert (found.yearly["imbalance_share"] == -1.0).all()
    assert found.final_drift["mean"] > 0.1
    assert "million Btu) rejected to the ground in year 1" in str(found)
    assert "or 100 % remains there" in str(found)


def test_without_loads_nothing_builds_up(design: ld.Design) -> None:
    idle = design.replace(loads=ld.Loads()).run(1)
    found = idle.heat_build_up()
    assert found.is_balanced and found.settled_year is None
    assert (found.yearly["imbalance_share"] == 0.0).all()
    assert_allclose([found.final[which] for which in ("min", "mean", "max")], 10.0, atol=1e-9)
    assert str(found).endswith("does not drift.")
    recovery = idle.recovery(1)
    assert recovery.recovered.isna().all() and str(recovery).endswith("the bore wall is still undisturbed.")


def test_loads_of_several_years_are_taken_together(design: ld.Design, found: ld.HeatBuildUp) -> None:
    """The same year three times over is the same; years that differ end where their mean heat leads."""
    series = design.loads.for_engine()
    thrice = ld.Loads(**{name: np.tile(values, 3) for name, values in series.items()})
    same = design.replace(loads=thrice).run(1).heat_build_up()
    assert same.period == 3 and len(same.yearly) == 99
    for which in ("min", "mean", "max"):
        assert_allclose(same.final[which], found.final[which], atol=2e-3)
    assert same.settled_year is not None and same.settled_year % 3 == 0
    uneven = ld.Loads(**{name: np.concatenate([0.75 * v, v, 1.25 * v]) for name, v in series.items()})
    mixed = design.replace(loads=uneven).run(1).heat_build_up()
    assert_allclose(mixed.final["mean"], found.final["mean"], atol=0.05)
    assert mixed.final["min"] < found.final["min"] - 0.5


def test_a_longer_run_than_whole_periods(design: ld.Design) -> None:
    loads = ld.Loads(**{name: np.tile(values, 40) for name, values in design.loads.for_engine().items()})
    found = design.replace(loads=loads).run(81).heat_build_up()
    assert found.years == 81 and len(found.yearly) == 80
    assert "million Btu) extracted from the ground in year 80" in str(found)


def test_loads_that_do_not_repeat_have_no_end(design: ld.Design) -> None:
    loads = ld.Loads(heating=np.full(51 * 8760, 100.0))
    with pytest.raises(ld.InvalidInput, match=r"Loads.years = 51: must be at most 50"):
        design.replace(loads=loads).run(1).heat_build_up()


def test_what_freezes_in_the_long_run_is_refused(design: ld.Design) -> None:
    """A fluid that is liquid for two years, but not for a hundred."""
    coldest = design.run(2).yearly["leaving_fluid_min_degC"].min()
    freezing = ld.Fluid.constant(
        density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=coldest - 0.05
    )
    run = design.replace(fluid=freezing).run(2)
    with pytest.raises(ld.InvalidInput, match=r"Fluid\.freezing_point = "):
        run.heat_build_up()


def test_recovery_comes_closer_each_year(run: ld.Run) -> None:
    found = run.recovery(5)
    assert isinstance(found.wall, pd.Series) and found.wall.index.tolist() == [1, 2, 3, 4, 5]
    assert found.working < found.undisturbed == pytest.approx(10.0)
    assert_allclose(found.working, run.hourly["wall_degC"].loc[2].mean(), atol=1e-5)
    assert found.recovered.is_monotonic_increasing
    assert 0.5 < found.recovered[1] < found.recovered[5] < 1.0
    shown = f"{percent(found.recovered[2])} after 2 years, {percent(found.recovered[5])} after 5 years."
    assert shown in str(found) and "below undisturbed" in str(found)


def test_a_run_that_begins_in_july_stops_in_june(design: ld.Design) -> None:
    july = design.replace(start_month=7)
    found = july.run(2).recovery(1)
    assert_allclose(found.working, july.run(2).hourly["wall_degC"].loc[2].mean(), atol=1e-5)
    assert abs(found.wall[1] - design.run(2).recovery(1).wall[1]) > 1e-3


@pytest.mark.parametrize("rest", [0, -1, 99, 2.5, True, "1"])
def test_years_of_rest_are_checked(run: ld.Run, rest: object) -> None:
    with pytest.raises(ld.InvalidInput, match=r"Run\.rest"):
        run.recovery(rest)
