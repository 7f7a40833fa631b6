"""Loads shaped from months, bills, a peak or a total: sums and peaks are exact, and faults are named."""

from __future__ import annotations

import datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.basics.model_time import HOURS_OF_MONTHS, month_of_hours
from loopdrift.parts.loads.shapes import line_of_slope, line_to_peak, raised_to_peak

COLD = ld.Weather.sample("cold continental")
MILD = ld.Weather.sample("mild maritime")
MONTH = month_of_hours(start_month=1)
SUMS = [5200, 4600, 3800, 1900, 600, 60, 0, 20, 500, 1800, 3300, 4700]
PEAKS = [14.0, 13.6, 12.0, 9.1, 5.0, 1.4, 0.0, 0.8, 4.4, 8.7, 11.0, 13.1]


def by_month(series):
    return np.array([series[month == MONTH].sum() / 1e3 for month in range(1, 13)])


def peaks_by_month(series):
    return np.array([series[month == MONTH].max() / 1e3 for month in range(1, 13)])


@settings(max_examples=60, deadline=None)
@given(
    temperatures=st.lists(st.integers(-20, 20), min_size=2, max_size=60),
    peak=st.floats(1.0, 1e6),
    share=st.floats(0.0, 1.0),
)
def test_a_line_to_a_peak_meets_peak_and_sum(temperatures, peak, share):
    """From one hour of the peak to all hours of it, with any number of hours that are alike."""
    distance = np.array(temperatures, dtype=float)
    total = peak * (1.0 + share * (distance.size - 1))
    load = line_to_peak(distance, peak, total)
    assert_allclose(load.sum(), total, rtol=1e-9)
    assert load.max() == peak
    assert load.min() >= 0.0
    order = np.argsort(distance, kind="stable")
    assert (np.diff(load[order]) <= 1e-9 * peak).all()  # the colder hour never has the smaller load


@settings(max_examples=60, deadline=None)
@given(
    need=st.lists(st.floats(-30.0, 30.0), min_size=1, max_size=60),
    slope=st.floats(1.0, 1e4),
    total=st.floats(1.0, 1e7),
)
def test_a_line_of_a_slope_meets_its_sum(need, slope, total):
    need = np.array(need)
    load = line_of_slope(need, slope, total)
    assert_allclose(load.sum(), total, rtol=1e-9)
    both = (load > 0.0) & (load.max() > load)
    at = int(load.argmax())
    assert_allclose(load[at] - load[both], slope * (need[at] - need[both]), rtol=1e-6, atol=1e-6 * total)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.0, 30.0))
def test_a_raised_peak_keeps_every_days_sum(times):
    load = 100.0 * np.clip(15.0 - COLD.dry_bulb[:720], 0.0, None)
    raised = raised_to_peak(load, times * load.max(), "heating")
    if raised is None:
        assert times * load.max() > load.reshape(-1, 24).sum(axis=1).max()
        return
    assert raised.max() == times * load.max()
    assert_allclose(raised.reshape(-1, 24).sum(axis=1), load.reshape(-1, 24).sum(axis=1), rtol=1e-9)


def test_months_with_peaks_are_exact():
    loads = ld.Loads.from_months(
        COLD,
        heating_months=SUMS,
        heating_peaks=[f"{peak} kW" for peak in PEAKS],
        cooling_months=["0 kWh"] * 5 + ["0.3 MWh", 700, 500] + [0] * 4,
        cooling_peaks=[0] * 5 + [2500, "3 kW", 3000] + [0] * 4,
        hot_water_months=[260.0] * 12,
        hot_water_peaks=[1500.0] * 12,
    )
    assert_allclose(by_month(loads.heating), SUMS, rtol=1e-9, atol=1e-9)
    assert_allclose(peaks_by_month(loads.heating), PEAKS, rtol=1e-12, atol=1e-9)
    assert_allclose(by_month(loads.cooling)[5:8], [300.0, 700.0, 500.0], rtol=1e-9)
    assert_allclose(peaks_by_month(loads.cooling)[5:8], [2.5, 3.0, 3.0], rtol=1e-12)
    assert_allclose(by_month(loads.hot_water), 260.0, rtol=1e-9)
    assert_allclose(peaks_by_month(loads.hot_water), 1.5, rtol=1e-12)
    assert loads.shaped_from == "months and peaks"


@pytest.mark.parametrize("peak", [7.5, 10.0, 18.0])
def test_months_with_the_largest_hour_of_the_year(peak):
    """Below and above the largest hour of the sums alone: both are met exactly."""
    alone = ld.Loads.from_months(COLD, heating_months=SUMS).peak["heating"] / 1e3
    assert 7.5 < alone < 18.0
    loads = ld.Loads.from_months(COLD, heating_months=SUMS, heating_peak=f"{peak} kW")
    assert_allclose(by_month(loads.heating), SUMS, rtol=1e-9, atol=1e-9)
    assert_allclose(loads.heating.max() / 1e3, peak, rtol=1e-12)
    assert loads.shaped_from == "months and peak"
    assert f"largest hour of heating {peak:.3g} kW" in dict(loads.origin)["months"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"heating_peak": 100.0}, "must be at least"),
        ({"heating_peak": 1e6}, "W with these sums and this weather"),
        ({"heating_peak": 9e3, "heating_peaks": [f"{peak} kW" for peak in PEAKS]}, "without heating_peaks"),
        (
            {"heating_peak": 9e3, "heating_months": None, "cooling_months": SUMS},
            "come with heating_months",
        ),
    ],
)
def test_a_largest_hour_that_does_not_fit(given, said):
    with pytest.raises(ld.InvalidInput, match=said):
        ld.Loads.from_months(COLD, **({"heating_months": SUMS} | given))


def test_months_of_degree_hours_give_these_back():
    """A building that is a line over the outdoor temperature is found again from its twelve sums."""
    line = 250.0 * np.clip(16.0 - COLD.dry_bulb, 0.0, None)
    loads = ld.Loads.from_months(COLD, heating_months=by_month(line))
    assert_allclose(loads.heating, line, rtol=1e-6, atol=1e-3)
    assert loads.shaped_from == "months"


def test_bills_of_degree_hours_give_these_back():
    """Slope, base and hot water are found from bills in therms at an efficiency, by any reading periods."""
    line, water = 250.0 * np.clip(16.0 - COLD.dry_bulb, 0.0, None), 400.0
    heat = line + water
    ends = [20, 50, 83, 110, 145, 170, 204, 233, 262, 295, 330, 365]
    first, bills = datetime.date(2023, 1, 1), []
    for begin, end in zip([0, *ends], ends, strict=False):
        fuel = heat[24 * begin : 24 * end].sum() / 1e3 / 0.8
        days = (first + datetime.timedelta(days=begin), first + datetime.timedelta(days=end - 1))
        bills.append(ld.Bill(first=days[0], last=str(days[1]), amount=f"{fuel / 29.307107:.9f} therm"))
    loads = ld.Loads.from_bills(COLD, bills=bills, efficiency=0.8)
    assert_allclose(loads.heating, line, rtol=1e-5, atol=0.5)
    assert_allclose(loads.hot_water, water, rtol=1e-5)
    for begin, end in zip([0, *ends], ends, strict=False):
        hours = slice(24 * begin, 24 * end)
        found = loads.heating[hours].sum() + loads.hot_water[hours].sum()
        assert_allclose(found, heat[hours].sum(), rtol=1e-6)
    turned = ld.Loads.from_bills(MILD, bills=bills, efficiency=0.8, bills_weather=COLD)
    assert_allclose(turned.heating, 250.0 * np.clip(16.0 - MILD.dry_bulb, 0.0, None), rtol=1e-4, atol=1.0)
    peaked = ld.Loads.from_bills(COLD, bills=bills, efficiency=0.8, heating_peak="15 kW")
    assert peaked.heating.max() == 15e3
    assert_allclose(peaked.heating.sum(), loads.heating.sum(), rtol=1e-9)
    assert peaked.shaped_from == "bills and peak"


def bills_of_line(first, ends):
    """Return bills of a building that loses 200 W/K below 14 degC and needs 300 W for hot water."""
    daily = (200.0 * np.clip(14.0 - COLD.dry_bulb, 0.0, None) + 300.0).reshape(365, 24).sum(axis=1) / 1e3
    bills = []
    for end in ends:
        days = [first + datetime.timedelta(days=day) for day in range((end - first).days + 1)]
        places = [day.timetuple().tm_yday - 1 for day in days]  # of a year without a leap day
        bills.append(ld.Bill(first=first, last=end, amount=float(daily[places].sum())))
        first = end + datetime.timedelta(days=1)
    return bills, daily


@pytest.mark.parametrize(
    ("last", "said"),
    [
        (datetime.date(2023, 1, 9), None),
        (datetime.date(2023, 1, 15), "the bills cover 6 days more than a year: there, the mean of two years"),
        (datetime.date(2022, 12, 31), "9 days without a bill follow the signature"),
    ],
)
def test_bills_of_a_little_more_or_less_than_a_year(last, said):
    """Readings are seldom 365 days apart; the building's line gives the same year in any case."""
    ends = [datetime.date(2022, month, 9) for month in range(2, 13)]
    bills, daily = bills_of_line(datetime.date(2022, 1, 10), [*ends, last])
    loads = ld.Loads.from_bills(COLD, bills=bills, efficiency=1.0)
    found = (loads.heating + loads.hot_water).reshape(365, 24).sum(axis=1) / 1e3
    assert_allclose(found.sum(), daily.sum(), rtol=2e-3)
    assert_allclose(found, daily, atol=0.02 * daily.max())
    shaped = dict(loads.origin)["shaped"]
    assert (said in shaped) if said else ("year" not in shaped and "signature" not in shaped)


def test_a_known_sum_of_hot_water_that_bills_do_not_allow_is_said():
    bills, _ = bills_of_line(datetime.date(2022, 1, 1), [datetime.date(2022, m, 28) for m in range(1, 13)])
    told = dict(ld.Loads.from_bills(COLD, bills=bills, efficiency=1.0, hot_water_total="6 MWh").origin)
    assert "some bills are less than hot_water_total needs" in told["hot water"]
    told = dict(ld.Loads.from_bills(COLD, bills=bills, efficiency=1.0, hot_water_total="2.5 MWh").origin)
    assert "hot water" not in told


def test_bills_over_the_turn_of_the_year_and_of_a_leap_year():
    heat = np.array([30.0] * 365)
    first = datetime.date(2023, 9, 15)
    last = [datetime.date(2023, 12, 14), datetime.date(2024, 2, 28), datetime.date(2024, 3, 14)]
    last += [datetime.date(2024, 5, 1), datetime.date(2024, 7, 1), datetime.date(2024, 9, 14)]
    bills = []
    for end in last:
        bills.append(ld.Bill(first=first, last=end, amount=30.0 * ((end - first).days + 1)))
        first = end + datetime.timedelta(days=1)
    loads = ld.Loads.from_bills(MILD, bills=bills, efficiency=1.0)
    assert_allclose(loads.heating.sum() + loads.hot_water.sum(), 1e3 * (heat.sum() + 30.0), rtol=1e-9)


def test_a_peak_and_its_hours_are_exact():
    for weather, hours in ((COLD, 2100.0), (MILD, 700.0), (COLD, 8760.0)):
        loads = ld.Loads.from_peak(
            weather, heating_peak="9 kW", heating_full_load_hours=hours, hot_water_total=2000.0
        )
        assert loads.heating.max() == 9000.0
        assert_allclose(loads.heating.sum(), 9000.0 * hours, rtol=1e-9)
        assert_allclose(loads.hot_water.sum(), 2e6, rtol=1e-9)
    cooled = ld.Loads.from_peak(COLD, cooling_peak="2 ton", cooling_full_load_hours=150.0)
    assert_allclose(cooled.cooling.max(), 7033.7057, rtol=1e-6)
    assert COLD.dry_bulb[cooled.cooling > 0.0].min() > 15.0


def test_a_total_is_exact_and_ends_at_its_base():
    loads = ld.Loads.from_total(COLD, heating_total=17584.0, cooling_total=900.0)
    assert_allclose([loads.heating.sum(), loads.cooling.sum()], [17584e3, 900e3], rtol=1e-9)
    assert COLD.dry_bulb[loads.heating > 0.0].max() < 15.0
    assert COLD.dry_bulb[loads.cooling > 0.0].min() > 20.0


def test_shaped_loads_stay_shaped(tmp_path):
    loads = ld.Loads.from_total(MILD, heating_total=9000.0)
    loads.write(tmp_path / "loads.csv")
    again = ld.Loads.read(tmp_path / "loads.csv")
    assert again == loads and again.shaped_from == "total" and again.origin == loads.origin
    assert loads.scaled(heating_kWh=8000.0).shaped_from == "total"


TWELVE = [1.0] * 12
SPOILT = [
    (lambda: ld.Loads.from_months(COLD), ["heating_months = nothing", "or cooling_months"]),
    (lambda: ld.Loads.from_months(COLD, heating_months=[1.0] * 11), ["11 values", "twelve values in kWh"]),
    (
        lambda: ld.Loads.from_months(COLD, heating_months=SUMS, heating_peaks=[1e3 * p for p in PEAKS[::-1]]),
        ["heating_peaks[4] = 800.0 W", "from 806.452 W (in all hours of May) to 600000 W (in one)"],
    ),
    (lambda: ld.Loads.from_months(COLD, heating_peaks=TWELVE), ["left out without heating_months"]),
    (
        lambda: ld.Loads.from_months(COLD, heating_months=["3 m", *TWELVE[1:]]),
        ["heating_months[0]", "unit like kWh"],
    ),
    (lambda: ld.Loads.from_bills(COLD), ["bills = nothing", "or monthly_bills"]),
    (lambda: ld.Loads.from_bills(COLD, monthly_bills=TWELVE[:3]), ["twelve amounts, from January"]),
    (
        lambda: ld.Loads.from_bills(COLD, monthly_bills=["10 m3"] * 12, fuel="peat"),
        ["monthly_bills[0]", "a heating_value of peat in a unit like kWh/m3, or be in kWh"],
    ),
    (
        lambda: ld.Loads.from_bills(COLD, bills=[ld.Bill(first="2023-01-01", last="2023-06-30", amount=9.0)]),
        ["bills = 181 days", "must cover one year, 334 to 396 days"],
    ),
    (
        lambda: ld.Loads.from_bills(
            COLD,
            bills=[
                ld.Bill(first="2023-01-01", last="2023-06-30", amount=9.0),
                ld.Bill(first="2023-07-02", last="2023-12-31", amount=9.0),
            ],
        ),
        ["bills[1].first = 2023-07-02", "must be 2023-07-01, the day after the bill before"],
    ),
    (
        lambda: ld.Loads.from_bills(COLD, bills=[ld.Bill(first="2023-01-01", last="2024-02-05", amount=9.0)]),
        ["bills = 401 days", "must cover one year, 334 to 396 days"],
    ),
    (lambda: ld.Bill(first="2023-02-01", last="2023-01-01", amount=1.0), ["must not be before first"]),
    (lambda: ld.Bill(first="1/2/2023", last="2023-03-01", amount=1.0), ["must be a day like 2023-01-31"]),
    (
        lambda: ld.Loads.from_bills(COLD, monthly_bills=[900.0] * 6 + [100.0] * 6, heating_peak="1 W"),
        ["heating_peak = 1.0 W", "with these sums and this weather"],
    ),
    (lambda: ld.Loads.from_peak(COLD, heating_peak=9e3), ["heating_full_load_hours = nothing"]),
    (lambda: ld.Loads.from_peak(COLD), ["heating_peak = nothing:", "or cooling_peak"]),
    (
        lambda: ld.Loads.from_peak(COLD, heating_peak=9e3, heating_full_load_hours=9000),
        ["from 1 to 8760 h"],
    ),
    (
        lambda: ld.Loads.from_total(MILD, cooling_total=5.0, cooling_base=39.0),
        ["cooling_total = 5.0 kWh", "no hour is warmer than 39 degC"],
    ),
]


@pytest.mark.parametrize(("make", "parts"), SPOILT)
def test_what_does_not_fit_is_named(make, parts, says):
    with pytest.raises(ld.InvalidInput) as error:
        make()
    says(error, parts)


def test_hours_of_a_month_are_whole_days():
    assert all(hours % 24 == 0 for hours in HOURS_OF_MONTHS)
