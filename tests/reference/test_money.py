"""Money against ``numpy-financial``, and a case worked by hand.

All prices are invented.
"""

import numpy as np
import numpy_financial as npf
import pytest

import loopdrift as ld
from book import compare
from loopdrift.analysis.cost.economics import advantage_lasts, levelised_cost, present_value, simple_payback
from loopdrift.parts.prices.prices import GROUND_SOURCE

FURNACE = ld.Alternative(
    name="furnace",
    efficiency=0.80,
    fuel=ld.Fuel(name="natural gas", price=0.05, monthly=10.0, escalation=0.10, carbon=0.20),
    first_cost=4_000.0,
    maintenance=100.0,
)
PRICES = ld.Prices(
    electricity=ld.Tariff(price=0.20, monthly=5.0, carbon=[0.40, 0.30]),
    alternatives=[FURNACE],
    installation=ld.Installation(
        drilling=30.0,
        each_bore=500.0,
        trenching=1_000.0,
        equipment=2_000.0,
        incentive_share="30 percent",
        maintenance=50.0,
    ),
    discount_rate=0.05,
)


@pytest.fixture(scope="module")
def cost(design):
    """Two years of 1 kW of heat, met with a COP of 4 by two bores of 100 m."""
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0])
    return design.replace(heat_pump=heat_pump, loads=ld.Loads(heating=1_000.0)).run(2).cost(PRICES)


def test_a_case_worked_by_hand(cost):
    # Energy of a year: 1 kW x 8760 h = 8760 kWh of heat; 8760 / 4 = 2190 kWh of electricity;
    # 8760 / 0.8 = 10,950 kWh of gas.
    yearly = cost.yearly
    for plant in (GROUND_SOURCE, "furnace"):
        compare(yearly.loc[plant]["heat_kWh"], 8_760.0, rtol=1e-12, unit="kWh", what="heat")
        compare(yearly.loc[plant]["cold_kWh"], 0.0, atol=0, unit="kWh", what="cold")
    ground, furnace = yearly.loc[GROUND_SOURCE], yearly.loc["furnace"]
    compare(ground["electricity_kWh"], 2_190.0, rtol=1e-12, unit="kWh", what="electricity, ground source")
    compare(furnace["electricity_kWh"], 0.0, atol=0, unit="kWh", what="electricity, furnace")
    compare(furnace["fuel_kWh"], 10_950.0, rtol=1e-12, unit="kWh", what="fuel")
    # Ground: 2190 x 0.20 = 438 of energy, 12 x 5 = 60 of charges, 50 of upkeep: 548 each year.
    compare(ground["energy_cost"], 438.0, rtol=1e-12, unit="currency", what="energy, ground source")
    compare(ground["fixed_cost"], 60.0, rtol=1e-12, unit="currency", what="charges, ground source")
    compare(ground["cost"], 548.0, rtol=1e-12, unit="currency", what="yearly cost, ground source")
    # Furnace: 10,950 x 0.05 = 547.50 of gas, 12 x 10 = 120 of gas charges, both 10 % more in year 2;
    # 60 of electricity charges, 100 of upkeep: 827.50, then 667.50 x 1.1 + 160 = 894.25.
    compare(furnace["energy_cost"], [547.5, 602.25], rtol=1e-12, unit="currency", what="energy, furnace")
    compare(
        furnace["energy_cost_at_first_prices"],
        547.5,
        rtol=1e-12,
        unit="currency",
        what="energy at first prices",
    )
    compare(furnace["fixed_cost"], [180.0, 192.0], rtol=1e-12, unit="currency", what="charges, furnace")
    compare(furnace["cost"], [827.5, 894.25], rtol=1e-12, unit="currency", what="yearly cost, furnace")
    # Carbon: 2190 x 0.4 = 876 and 2190 x 0.3 = 657 kg; 10,950 x 0.2 = 2190 kg.
    compare(
        ground["carbon_kg"], [876.0, 657.0], rtol=1e-12, unit="kg", what="carbon of each year, ground source"
    )
    compare(furnace["carbon_kg"], 2_190.0, rtol=1e-12, unit="kg", what="carbon, furnace")
    compare(cost.summary["carbon_kg"], [1_533.0, 4_380.0], rtol=1e-12, unit="kg", what="carbon of all years")
    # First cost: 200 m x 30 + 2 x 500 + 1000 + 2000 = 10,000, of which 30 % are paid by others: 7000.
    own, other = cost.summary.loc[GROUND_SOURCE], cost.summary.loc["furnace"]
    compare(
        own[["installed_cost", "incentive", "first_cost"]].astype(float),
        [10_000, 3_000, 7_000],
        unit="currency",
        what="first cost",
    )
    # Present cost: 7000 + 548 / 1.05 + 548 / 1.1025; 4000 + 827.5 / 1.05 + 894.25 / 1.1025.
    compare(
        own["present_cost"],
        7_000 + 521.904762 + 497.052154,
        rtol=1e-9,
        unit="currency",
        what="present cost, ground source",
    )
    compare(
        other["present_cost"],
        4_000 + 788.095238 + 811.111111,
        rtol=1e-9,
        unit="currency",
        what="present cost, furnace",
    )
    # 3000 more at first; 279.50 and 346.25 saved; 3000 / 279.5 = 10.7335 years.
    compare(other["extra_first_cost"], 3_000.0, rtol=1e-12, unit="currency", what="extra first cost")
    compare(other["first_year_saving"], 279.5, rtol=1e-12, unit="currency", what="saving of the first year")
    compare(other["simple_payback_years"], 10.7334526, rtol=1e-8, unit="years", what="simple payback")
    # -3000 + 279.5 / 1.05 + 346.25 / 1.1025 = -3000 + 266.190476 + 314.058957
    compare(other["net_present_value"], -2_419.750567, rtol=1e-9, unit="currency", what="net present value")
    # Heat discounted: 8760 / 1.05 + 8760 / 1.1025 = 8342.857143 + 7945.578231 = 16,288.435374 kWh;
    # 8018.956916 / 16,288.435374.
    compare(own["levelised_cost_per_kWh"], 0.492309834, rtol=1e-8, unit="currency/kWh", what="levelised cost")
    compare(cost.drift, 0.0, atol=1e-12, unit="K")


def test_net_present_value_of_a_run(cost):
    saving = cost.by_year("cost")["furnace"] - cost.by_year("cost")[GROUND_SOURCE]
    expected = npf.npv(PRICES.discount_rate, [-3_000.0, *saving])
    compare(cost.summary.loc["furnace", "net_present_value"], expected, rtol=1e-12, unit="currency")


@pytest.mark.parametrize("seed", range(20))
def test_present_value(seed):
    random = np.random.default_rng(seed)
    amounts, rate = random.normal(0.0, 1e3, random.integers(1, 60)), random.uniform(0.0, 0.3)
    compare(
        present_value(amounts, rate), npf.npv(rate, [0.0, *amounts]), rtol=1e-10, atol=1e-7, unit="currency"
    )


@pytest.mark.parametrize("rate", [0.01, 0.04, 0.12])
@pytest.mark.parametrize("years", [1, 20, 50])
def test_levelised_cost_is_an_annuity(rate, years):
    """With the same energy each year it pays a loan of the present cost back in equal parts."""
    energy, present_cost = 12_000.0, 35_000.0
    found = levelised_cost(present_cost, np.full(years, energy), rate)
    compare(found, -npf.pmt(rate, years, present_cost) / energy, rtol=1e-10, unit="currency/kWh")


@pytest.mark.parametrize("years", [3, 12])
def test_payback_is_the_horizon_without_return(years):
    """An extra cost that is paid back in n years has an internal rate of return of 0 over n years."""
    extra = 6_000.0
    saving = extra / years
    compare(simple_payback(extra, saving), years, rtol=1e-12, unit="years")
    compare(npf.irr([-extra, *[saving] * years]), 0.0, atol=1e-9)


@pytest.mark.parametrize(
    ("extra", "savings", "payback", "lasts"),
    [
        (100.0, [20.0, 20.0], 5.0, np.nan),  # dearer at first, cheaper after
        (100.0, [0.0, 0.0], np.inf, np.nan),
        (100.0, [-1.0, -1.0], np.inf, np.nan),  # dearer at first and after
        (-100.0, [5.0, 5.0], 0.0, np.inf),  # cheaper at first and after
        (-100.0, [0.0, 0.0], 0.0, np.inf),
        (0.0, [0.0, 0.0], 0.0, np.inf),
        (-100.0, [-40.0] * 5, np.nan, 2.5),  # cheaper at first, dearer after: 20 are left after two years
        (-100.0, [-40.0] * 2, np.nan, np.inf),
        (-100.0, [30.0, -60.0, -100.0], np.nan, 2.7),  # 130, 70, then 70 of 100
        (0.0, [-5.0, -5.0], np.nan, 0.0),
        (0.0, [5.0, -20.0], np.nan, 1.25),
    ],
)
def test_payback_of_all_signs(extra, savings, payback, lasts):
    compare(simple_payback(extra, savings), payback, unit="years", what="payback")
    compare(advantage_lasts(extra, savings), lasts, unit="years", what="how long the advantage lasts")


@pytest.mark.parametrize("seed", range(10))
def test_where_the_advantage_is_used_up_nothing_is_left(seed):
    """The net present value without discounting, of the years until then, is zero."""
    random = np.random.default_rng(seed)
    extra, savings = -random.uniform(0.0, 1e3), random.normal(-100.0, 80.0, 40)
    whole, part = divmod(advantage_lasts(extra, savings), 1.0)
    until = [*savings[: int(whole)], part * savings[int(whole)]]
    compare(npf.npv(0.0, [-extra, *until]), 0.0, atol=1e-9, unit="currency")
