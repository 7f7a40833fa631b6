"""Samples of unknowns, bands and probabilities."""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from numpy.testing import assert_allclose, assert_array_equal
from scipy import stats

import loopdrift as ld
from loopdrift.analysis.study import band, broken_probability
from loopdrift.analysis.study.dataset import NOT_RUN
from loopdrift.analysis.study.statistics import missing_in_words, missing_share

UNKNOWN = {
    "ground.conductivity": stats.uniform(1.8, 0.6),
    "ground.temperature": stats.norm(10.0, 0.5),
    "ground.volumetric_heat_capacity": stats.lognorm(0.1, scale=2.2e6),
}


def test_a_latin_hypercube_has_one_sample_in_each_row_and_column() -> None:
    table = ld.Samples(UNKNOWN, count=40).table()
    for name, distribution in UNKNOWN.items():
        strata = np.floor(40 * distribution.cdf(table[name])).astype(int)
        assert_array_equal(np.sort(strata), np.arange(40))


def test_sobol_points_are_balanced() -> None:
    table = ld.Samples(UNKNOWN, count=64, method="sobol").table()
    for name, distribution in UNKNOWN.items():
        strata = np.floor(64 * distribution.cdf(table[name])).astype(int)
        assert_array_equal(np.sort(strata), np.arange(64))


@pytest.mark.parametrize("method", ["latin hypercube", "sobol", "sensitivity"])
def test_the_seed_decides(method: str) -> None:
    first, again, other = (ld.Samples(UNKNOWN, 8, method, seed).table() for seed in (1, 1, 2))
    assert first.equals(again) and not first.equals(other)


def test_indices_of_a_sum_are_the_shares_of_its_variance() -> None:
    """Analytic: of a x + b y the variance is a^2 var(x) + b^2 var(y); of x y with means 0 it is all joint."""
    pair = {"x": stats.norm(0.0, 1.0), "y": stats.norm(0.0, 2.0)}
    samples = ld.Samples(pair, count=4096, method="sensitivity")
    table = samples.table()
    added = samples.indices(3.0 * table["x"] + table["y"])
    assert_allclose(added["first_order"], [9 / 13, 4 / 13], atol=0.01)
    assert_allclose(added["total"], [9 / 13, 4 / 13], atol=0.01)
    joint = samples.indices(table["x"] * table["y"])
    assert_allclose(joint["first_order"], [0.0, 0.0], atol=0.05)
    assert_allclose(joint["total"], [1.0, 1.0], atol=0.1)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"distributions": {}}, "must map names to distributions"),
        ({"distributions": {"depth": stats.norm}}, "must be frozen"),
        ({"distributions": {"depth": 3.0}}, "must be frozen"),
        ({"method": "random"}, "must be one of latin hypercube"),
        ({"count": 1}, "must be a whole number from 2"),
        ({"count": 12, "method": "sobol"}, "must be a power of two"),
        ({"count": 12, "method": "sensitivity"}, "must be a power of two"),
    ],
)
def test_samples_that_make_no_sense_are_refused(arguments: dict, said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        ld.Samples(**{"distributions": UNKNOWN, "count": 8, **arguments})
    assert said in str(refusal.value)


def test_indices_need_all_their_values() -> None:
    samples = ld.Samples(UNKNOWN, count=4, method="sensitivity")
    with pytest.raises(ld.InvalidInput, match="1 of 20 not finite"):
        samples.indices([np.nan, *range(19)])
    with pytest.raises(ld.InvalidInput, match="one value for each of 20 samples"):
        samples.indices([1.0])
    with pytest.raises(ld.InvalidInput, match="must differ"):
        samples.indices(np.ones(20))
    with pytest.raises(ld.InvalidInput, match="must be sensitivity"):
        ld.Samples(UNKNOWN, count=4).indices([1.0])


@pytest.fixture(scope="module")
def found(design: ld.Design) -> xr.Dataset:
    return ld.Study(design, samples=ld.Samples(UNKNOWN, count=16)).run(2)


def test_a_study_of_samples(design: ld.Design, found: xr.Dataset) -> None:
    assert dict(found.sizes) == {"case": 16, "year": 2}
    assert_array_equal(
        found["ground.conductivity"], ld.Samples(UNKNOWN, count=16).table()["ground.conductivity"]
    )
    ground = {name.removeprefix("ground."): found[name].to_numpy()[5] for name in UNKNOWN}
    run = design.replace(ground=design.ground.replace(**ground)).run(2)
    assert_array_equal(found["entering_fluid_min_degC"][5], run.yearly["entering_fluid_min_degC"])


def test_bands_are_quantiles_by_year(found: xr.Dataset) -> None:
    table = band(found, "entering_fluid_max_degC", quantiles=(0.0, 0.5, 1.0))
    values = found["entering_fluid_max_degC"].to_numpy()
    assert_array_equal(table.index, [1, 2])
    assert_allclose(table, np.array([values.min(0), np.median(values, 0), values.max(0)]).T, rtol=1e-14)
    with pytest.raises(ld.InvalidInput, match="must be one of entering_fluid_min_degC"):
        band(found, "wall_degC")


def test_probability_counts_what_was_broken_and_what_cannot_be_run() -> None:
    dataset = xr.Dataset(
        {
            "limits_broken": (("case", "year"), [[0, 0, 0], [0, 2, 0], [0, 0, 1], [np.nan] * 3]),
            "failure": ("case", ["", "", "", "froze"]),
        },
        {"year": [1, 2, 3]},
    )
    assert broken_probability(dataset).to_dict() == {1: 0.25, 2: 0.5, 3: 0.75}


def test_a_case_that_freezes_counts_from_that_year_on() -> None:
    """And those that were not run, because the study was stopped, don't count at all."""
    dataset = xr.Dataset(
        {
            "limits_broken": (("case", "year"), [[0, 0, 0], [0, np.nan, np.nan], [np.nan] * 3, [np.nan] * 3]),
            "failure": ("case", ["", "froze", "no such ground", NOT_RUN]),
            "failure_year": ("case", [np.nan, 2, np.nan, np.nan]),
        },
        {"year": [1, 2, 3]},
    )
    assert_allclose(broken_probability(dataset), [1 / 3, 2 / 3, 2 / 3], rtol=1e-15)
    assert_allclose(missing_share(dataset), [1 / 3, 2 / 3, 2 / 3], rtol=1e-15)
    said = "3 of 4 samples incomplete: 1 can't be run, 1 freezes, in year 2, 1 not run"
    assert missing_in_words(dataset, "sample") == said
    assert missing_in_words(dataset.isel(case=[0])) == ""


def test_the_year_and_hour_of_freezing_are_those_of_the_run(design: ld.Design) -> None:
    cold = design.replace(fluid=design.fluid.replace(freezing_point=3.0))
    found = ld.Study(cold, vary={"heating_scale": [0.1, 1.2], "ground.conductivity": [-1.0, 2.0]}).run(3)
    scaled = cold.loads.with_series(heating=1.2 * cold.loads.heating)
    with pytest.raises(ld.FluidFreezes) as freezes:
        cold.replace(loads=scaled).run(3)
    case = found.isel({"heating_scale": 1, "ground.conductivity": 1})
    assert (case["failure_year"], case["failure_hour"]) == (freezes.value.year, freezes.value.hour)
    assert case["failure"] == str(freezes.value)
    others = found["failure_year"].to_numpy()[[0, 0, 1], [0, 1, 0]]
    assert np.isnan(others).all()


def test_the_years_before_freezing_stay(design: ld.Design) -> None:
    """They are those of the design alone with a fluid that stays liquid, whatever else is in the study."""
    years = 4
    short = design.ground_side.replace(bore=design.ground_side.bores[0].replace(depth=60.0))
    liquid = design.replace(ground_side=short, limits=ld.Limits(freezing_margin=0.0))
    alone = liquid.run(years).yearly
    lowest = alone["leaving_fluid_min_degC"].to_numpy()
    assert lowest[2] < lowest[1] < lowest[0]
    point = 0.5 * (lowest[1] + lowest[2])
    found = ld.Study(liquid, vary={"fluid.freezing_point": [point, -10.0]}).run(years)
    frozen = found.isel({"fluid.freezing_point": 0})
    assert (frozen["failure_year"], frozen["failure"] != "") == (3, True)
    for name in ("entering_fluid_min_degC", "electricity_kWh", "limits_broken"):
        values = frozen[name].to_numpy()
        assert_allclose(values[:2], alone[name].to_numpy()[:2], rtol=0, err_msg=name)
        assert np.isnan(values[2:]).all(), name
    assert missing_share(found).to_list() == [0.0, 0.0, 0.5, 0.5]
