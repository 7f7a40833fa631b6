"""The series of a run with dates, units and meanings."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld


def test_the_hours_of_a_run_get_dates(run):
    dated = run.hourly_from(2027)
    assert_array_equal(dated.to_numpy(), run.hourly.to_numpy())
    assert dated.index[0] == pd.Timestamp("2027-01-01 00:00")
    assert dated.index[-1] == pd.Timestamp("2028-12-31 23:00")
    assert dated.index.name == "hour_beginning"
    january = dated.loc["2028-01", "electricity_W"]
    assert_allclose(january, run.hourly.loc[2, "electricity_W"].iloc[:744])


def test_a_leap_day_is_left_out(run):
    index = run.hourly_from(2027).index
    expected = pd.date_range("2027-01-01", "2028-12-31 23:00", freq="h", unit="s")
    expected = expected[~((expected.month == 2) & (expected.day == 29))]
    assert_array_equal(index, expected)


@pytest.mark.parametrize("start_month", [3, 10])
def test_a_run_that_begins_later_in_the_year(design, start_month):
    index = design.replace(start_month=start_month).run(2).hourly_from(2023).index
    expected = pd.date_range(f"2023-{start_month:02d}-01", periods=2 * 8784, freq="h", unit="s")
    expected = expected[~((expected.month == 2) & (expected.day == 29))][: 2 * 8760]
    assert_array_equal(index, expected)


@pytest.mark.parametrize("year", [1899, 2201, 2027.5, "2027", True])
def test_a_year_out_of_range_is_refused(run, year):
    with pytest.raises(ld.InvalidInput, match=r"Run\.year"):
        run.hourly_from(year)


def test_tables_carry_their_units(run):
    assert run.hourly.attrs["units"]["entering_fluid_degC"] == "degC"
    assert run.hourly_from(2027).attrs["units"] == run.hourly.attrs["units"]
    for table in (run.hourly, run.yearly):
        units = table.attrs["units"]
        assert list(units) == list(table)
        for name, unit in units.items():
            assert unit in ("1", "h") or name.endswith(f"_{unit}"), name


def test_a_run_as_a_dataset(run):
    found = run.to_xarray()
    assert dict(found.sizes) == {"year": 2, "hour": 8760}
    entering = found["entering_fluid_degC"]
    assert entering.attrs == {"units": "degC", "long_name": "fluid entering the heat pump"}
    assert entering.sel(year=2, hour=99) == run.hourly.loc[(2, 99), "entering_fluid_degC"]
    assert_array_equal(found["seasonal_cop"], run.yearly["seasonal_cop"])
    assert all(variable.attrs["long_name"] for variable in found.variables.values())
    assert np.shares_memory(entering.to_numpy(), run.hourly["entering_fluid_degC"].to_numpy())
