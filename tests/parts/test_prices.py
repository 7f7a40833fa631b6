"""Tariffs, fuels and costs: against plain loops, and what adds up. All prices are invented."""

import matplotlib
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots
from loopdrift.basics.words import percent
from loopdrift.parts.prices.prices import GROUND_SOURCE

matplotlib.use("Agg")
import matplotlib.pyplot as plt

WEEK = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
LENGTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
EVENING = ld.Period(price=0.41, hours=(16, 21), days="workdays")
SUMMER_EVENING = ld.Period(price=0.55, hours=(15, 20), months=(6, 9))
WINTER_NIGHT = ld.Period(price=0.09, hours=(22, 6), months=(11, 3))
SUNDAY_REST = ld.Period(price=0.12, days="weekend")
TARIFF = ld.Tariff(
    price=0.21,
    periods=[SUMMER_EVENING, EVENING, WINTER_NIGHT, SUNDAY_REST],
    tiers=[ld.Tier(above=300.0, surcharge=0.05), ld.Tier(above=700.0, surcharge=-0.02)],
    monthly=9.0,
    escalation=0.03,
    carbon=0.35,
)
GAS = ld.Fuel(name="natural gas", price="1.20 currency/therm", monthly=11.0, escalation=0.02, carbon=0.19)
FURNACE = ld.Alternative(name="gas furnace", efficiency=0.95, fuel=GAS, cooling_cop=3.2, first_cost=9e3)
AIR = ld.Alternative(name="air-source heat pump", efficiency=2.5, cooling_cop=3.5, first_cost=12e3)
PRICES = ld.Prices(
    electricity=TARIFF,
    alternatives=[FURNACE, AIR],
    installation=ld.Installation(drilling=50.0, equipment=8e3, incentive_amount=2e3),
    discount_rate=0.04,
    first_weekday="Thursday",
)


@pytest.fixture(scope="module")
def small_run(design):
    """Three years from October with hot water, back-up heat and unmet cooling."""
    loads = design.loads
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05], heating_capacity=[4500.0], cooling_cop=[6.0], cooling_capacity=[2500.0]
    )
    asked = ld.Loads(heating=loads.heating, cooling=loads.cooling, hot_water=250.0)
    return design.replace(heat_pump=heat_pump, loads=asked, start_month=10).run(3)


@pytest.fixture(scope="module")
def cost(small_run):
    return small_run.cost(PRICES)


def price_of(tariff, month, weekday, hour):
    """What one kWh of an hour costs, said as plainly as can be."""
    for period in tariff.periods:
        first, end = period.hours
        hours = range(first, end) if first < end else [*range(first, 24), *range(0, end)]
        begin, last = period.months
        months = range(begin, last + 1) if begin <= last else [*range(begin, 13), *range(1, last + 1)]
        days = {"all days": range(7), "workdays": range(5), "weekend": (5, 6)}[period.days]
        if hour in hours and month in months and weekday in days:
            return period.price
    return tariff.price


def bill(tariff, energy, start_month, first_weekday):
    """Return cost by year of hourly energy [kWh], counted hour by hour and month by month."""
    years, weekday, at = [], WEEK.index(first_weekday), iter(energy.tolist())
    for year in range(len(energy) // 8760):
        amount = 0.0
        for place in range(12):
            month = (start_month - 1 + place) % 12 + 1
            used = 0.0
            for _ in range(LENGTHS[month - 1]):
                for hour in range(24):
                    kwh = next(at)
                    amount += kwh * price_of(tariff, month, weekday, hour)
                    used += kwh
                weekday = (weekday + 1) % 7
            amount += sum(tier.surcharge * max(used - tier.above, 0.0) for tier in tariff.tiers)
        years.append(amount * (1.0 + tariff.escalation) ** year)
    return years


def test_bills_of_a_run_against_a_plain_loop(small_run, cost):
    drawn = small_run.hourly["electricity_W"].to_numpy() / 1000.0
    expected = bill(TARIFF, drawn, 10, "Thursday")
    assert_allclose(cost.by_year("energy_cost")[GROUND_SOURCE], expected, rtol=1e-11)


@pytest.mark.parametrize("seed", range(4))
def test_random_tariffs_against_a_plain_loop(design, seed):
    random = np.random.default_rng(seed)

    def span(least, most):
        first, last = random.choice(np.arange(least, most + 1), 2, replace=False)
        return int(first), int(last)

    tariff = ld.Tariff(
        price=random.uniform(0.05, 0.5),
        periods=[
            ld.Period(
                price=random.uniform(0.0, 0.8),
                hours=span(0, 24),
                months=span(1, 12),
                days=str(random.choice(["all days", "workdays", "weekend"])),
            )
            for _ in range(4)
        ],
        tiers=[ld.Tier(above=random.uniform(0.0, 900.0), surcharge=random.uniform(-0.1, 0.2))],
        escalation=random.uniform(-0.05, 0.05),
    )
    month, weekday = int(random.integers(1, 13)), str(random.choice(WEEK))
    heating = random.uniform(0.0, 6e3, 8760)
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0])
    run = design.replace(loads=ld.Loads(heating=heating), heat_pump=heat_pump, start_month=month).run(2)
    found = run.cost(
        ld.Prices(
            electricity=tariff,
            alternatives=[ld.Alternative(name="element", efficiency=1.0)],
            first_weekday=weekday,
        )
    ).by_year("energy_cost")
    assert_allclose(
        found[GROUND_SOURCE], bill(tariff, run.hourly["electricity_W"].to_numpy() / 1e3, month, weekday)
    )
    asked = np.tile(np.roll(heating, -24 * sum(LENGTHS[: month - 1])), 2) / 1e3
    assert_allclose(found["element"], bill(tariff, asked, month, weekday))


def test_hourly_carbon_follows_the_calendar(small_run):
    factor = np.random.default_rng(1).uniform(0.0, 0.8, 8760)
    prices = PRICES.replace(electricity=TARIFF.replace(carbon=factor))
    drawn = small_run.hourly["electricity_W"].to_numpy() / 1000.0
    october = 24 * sum(LENGTHS[:9])
    expected = [
        sum(kwh * factor[(october + hour) % 8760] for hour, kwh in enumerate(year))
        for year in drawn.reshape(3, 8760).tolist()
    ]
    found = small_run.cost(prices).by_year("carbon_kg")[GROUND_SOURCE]
    assert_allclose(found, expected, rtol=1e-11)


# What adds up -----------------------------------------------------------------------------------------------


def test_all_plants_deliver_what_the_run_did(small_run, cost):
    yearly = small_run.yearly
    assert yearly["backup_kWh"].min() > 10.0
    assert yearly["unmet_cooling_kWh"].min() > 10.0
    for plant in (GROUND_SOURCE, "gas furnace", "air-source heat pump"):
        heat, cold = (cost.by_year(f"{kind}_kWh")[plant] for kind in ("heat", "cold"))
        assert_allclose(heat, yearly["heating_kWh"] + yearly["backup_kWh"], rtol=1e-9)
        assert_allclose(cold, yearly["cooling_kWh"], rtol=1e-9)
    bought = cost.by_year("electricity_kWh")
    assert_allclose(bought[GROUND_SOURCE], yearly["electricity_kWh"], rtol=1e-12)
    heat, cold = cost.by_year("heat_kWh")[GROUND_SOURCE], cost.by_year("cold_kWh")[GROUND_SOURCE]
    assert_allclose(bought["gas furnace"], cold / 3.2, rtol=1e-12)
    assert_allclose(cost.by_year("fuel_kWh")["gas furnace"], heat / 0.95, rtol=1e-12)
    assert_allclose(bought["air-source heat pump"], heat / 2.5 + cold / 3.5, rtol=1e-12)


def test_energy_money_and_carbon_add_up(cost):
    yearly = cost.yearly
    parts = yearly[["energy_cost", "fixed_cost", "maintenance_cost"]].sum(axis="columns")
    assert_allclose(yearly["cost"], parts, rtol=1e-12)
    carbon = 0.35 * yearly["electricity_kWh"] + 0.19 * yearly["fuel_kWh"]
    assert_allclose(yearly["carbon_kg"], carbon, rtol=1e-11)
    rise = 1.03 ** np.arange(3)
    assert_allclose(cost.by_year("fixed_cost")[GROUND_SOURCE], 12 * 9.0 * rise, rtol=1e-12)
    gas = 12 * 11.0 * 1.02 ** np.arange(3)
    assert_allclose(cost.by_year("fixed_cost")["gas furnace"], 12 * 9.0 * rise + gas, rtol=1e-12)


def test_choosing_is_the_difference_of_present_costs(cost):
    summary = cost.summary
    own = summary.loc[GROUND_SOURCE]
    for name in ("gas furnace", "air-source heat pump"):
        other = summary.loc[name]
        difference = other["present_cost"] - own["present_cost"]
        assert_allclose(other["net_present_value"], difference, rtol=1e-10)
        assert_allclose(other["extra_first_cost"], own["first_cost"] - other["first_cost"], rtol=1e-12)
    assert_allclose(own["installed_cost"], 50.0 * 200.0 + 8e3, rtol=1e-12)
    assert_allclose(own["first_cost"], own["installed_cost"] - 2e3, rtol=1e-12)


@settings(max_examples=25, deadline=None)
@given(scale=st.floats(0.1, 10.0))
def test_twice_the_prices_cost_twice(small_run, cost, scale):
    periods = [period.replace(price=scale * period.price) for period in TARIFF.periods]
    tiers = [tier.replace(surcharge=scale * tier.surcharge) for tier in TARIFF.tiers]
    scaled = TARIFF.replace(price=scale * TARIFF.price, periods=periods, tiers=tiers)
    found = small_run.cost(PRICES.replace(electricity=scaled)).by_year("energy_cost")[GROUND_SOURCE]
    assert_allclose(found, scale * cost.by_year("energy_cost")[GROUND_SOURCE], rtol=1e-10)


def test_what_changes_no_price_changes_no_bill(small_run, cost):
    """A tier without surcharge, a period at the price of the other hours, a period cut in two."""
    early, late = EVENING.replace(hours=(16, 18)), EVENING.replace(hours=(18, 21))
    same = TARIFF.replace(
        periods=[SUMMER_EVENING, early, late, WINTER_NIGHT, SUNDAY_REST, ld.Period(price=0.21)],
        tiers=[*TARIFF.tiers, ld.Tier(above=100.0, surcharge=0.0)],
    )
    found = small_run.cost(PRICES.replace(electricity=same)).by_year("energy_cost")
    assert_allclose(found, cost.by_year("energy_cost"), rtol=1e-11)


def test_drift_is_the_energy_at_one_price(design):
    """Without tiers and periods the drift of cost is that of electricity, whatever the escalation."""
    run = design.replace(loads=ld.Loads(heating=design.loads.heating)).run(8)
    found = run.cost(ld.Prices(electricity=ld.Tariff(price=0.3, escalation=0.05)))
    electricity = run.yearly["electricity_kWh"]
    assert_allclose(found.drift, electricity.loc[8] / electricity.loc[1] - 1.0, rtol=1e-9)
    assert found.drift > 0.001
    column = found.by_year("energy_cost_at_first_prices")[GROUND_SOURCE]
    assert_allclose(column, 0.3 * electricity, rtol=1e-11)


@pytest.mark.parametrize("rate", [0.0, 0.07])
def test_levelised_cost_pays_everything(small_run, rate):
    found = small_run.cost(PRICES.replace(discount_rate=rate))
    useful = found.by_year("heat_kWh") + found.by_year("cold_kWh")
    factor = (1 + rate) ** -np.arange(1, 4)
    for plant, row in found.summary.iterrows():
        paid = (row["levelised_cost_per_kWh"] * useful[plant] * factor).sum()
        assert_allclose(paid, row["present_cost"], rtol=1e-12)


# Fuels ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fuel", "expected"),
    [
        # A therm is 100,000 Btu of 1055.06 J: 29.3072 kWh.
        ({"name": "natural gas", "price": "1.0 currency/therm"}, 1 / 29.307222),
        ({"name": "natural gas", "price": "1.0 currency/m3", "heating_value": "36 MJ/m3"}, 0.1),
        ({"name": "propane", "price": 0.09}, 0.09),
        # 3.785412 L a gallon; 10 kWh a litre
        ({"name": "fuel oil", "price": "3 currency/gallon", "heating_value": "10 kWh/L"}, 3 / 37.85412),
        ({"name": "wood pellets", "price": "300 currency/tonne", "heating_value": "5 kWh/kg"}, 0.06),
        ({"name": "straw", "price": "0.2 currency/kg", "heating_value": "4 kWh/kg"}, 0.05),
    ],
)
def test_prices_of_fuels(fuel, expected):
    assert_allclose(ld.Fuel(**fuel).price_per_kWh, expected, rtol=2e-5)


def test_known_heating_values_turn_prices():
    from loopdrift.parts.prices import HEATING_VALUES

    for name, (value, unit) in HEATING_VALUES.items():
        each = unit.removeprefix("kWh/")
        assert_allclose(ld.Fuel(name=name, price=f"2 currency/{each}").price_per_kWh, 2 / value, rtol=1e-12)


# What is said and written -----------------------------------------------------------------------------------


def test_files_keep_the_prices(design, tmp_path):
    priced = design.replace(prices=PRICES)
    priced.write(tmp_path / "house.toml")
    again = ld.Design.read(tmp_path / "house.toml")
    assert again.prices == PRICES
    assert again.for_engine() == design.for_engine()


def test_a_file_in_words(design, tmp_path):
    design.write(tmp_path / "house.toml")
    with (tmp_path / "house.toml").open("a") as file:
        file.write(
            """
[prices]
discount_rate = "4 percent"
currency = "crowns"
first_weekday = "Sunday"

[prices.electricity]
price = "0.21 currency/kWh"
carbon = [0.4, 0.3]

[[prices.electricity.periods]]
price = 0.41
hours = [16, 21]
days = "workdays"

[[prices.electricity.tiers]]
above = 300
surcharge = 0.05

[prices.installation]
drilling = "15 currency/ft"
incentive_share = "30 percent"

[[prices.alternatives]]
name = "oil boiler"
efficiency = 0.85
cooling_cop = 3.0
fuel = { name = "fuel oil", price = "3.1 currency/gallon" }
"""
        )
    prices = ld.Design.read(tmp_path / "house.toml").prices
    assert prices.first_weekday == "Sunday"
    assert prices.electricity.carbon == (0.4, 0.3)
    assert prices.electricity.periods == (ld.Period(price=0.41, hours=(16, 21), days="workdays"),)
    assert_allclose(prices.installation.drilling, 15 / 0.3048, rtol=1e-12)
    assert prices.alternatives[0].fuel.name == "fuel oil"


def test_a_price_follows_the_heating_value():
    fuel = ld.Fuel(name="gas of the house", price="1 currency/m3", heating_value="10 kWh/m3")
    assert_allclose(fuel.price_per_kWh, 0.1, rtol=1e-12)
    assert_allclose(fuel.replace(heating_value="8 kWh/m3").price_per_kWh, 0.125, rtol=1e-12)


def test_one_part_is_as_good_as_a_sequence_of_one():
    tier = ld.Tier(above=600.0, surcharge=0.04)
    assert ld.Tariff(price=0.2, tiers=tier) == ld.Tariff(price=0.2, tiers=[tier])


def test_run_says_what_it_costs(design, command, tmp_path):
    priced = design.replace(prices=PRICES.replace(currency="crowns"))
    priced.write(tmp_path / "house.toml")
    code, out, err = command("run", tmp_path / "house.toml", "--years", "2", "--out", tmp_path / "results")
    assert (code, err) == (0, "")
    assert max(map(len, out.partition("wrote")[0].splitlines())) <= 100
    said = " ".join(out.split())
    cost = priced.run(2).cost()
    assert "Costs in crowns at the given prices, for 2 years at a discount rate of 4 % a year." in said
    row = cost.summary.loc["gas furnace"]
    assert f"Against gas furnace: first cost {row['extra_first_cost']:+,.0f}, saving in year 1" in said
    assert f"net present value {row['net_present_value']:+,.0f}." in said
    assert f"differs from that of year 1 by {percent(cost.drift, '+.1f')}." in said
    written = pd.read_csv(tmp_path / "results" / "cost.csv").set_index(["plant", "year"])
    assert_allclose(written["cost"], cost.yearly["cost"], rtol=1e-12)
    assert (tmp_path / "results" / "cost.png").exists()


def test_words_for_what_never_pays(design):
    dear = PRICES.replace(electricity=ld.Tariff(price=9.0), alternatives=[FURNACE])
    text = " ".join(str(design.run(1).cost(dear)).split())
    assert "no payback" in text
    assert "drift" not in text
    free = dear.replace(installation=ld.Installation(drilling=0.0))
    furnace = free.replace(alternatives=[FURNACE.replace(first_cost=0.0)])
    assert "no initial advantage and higher costs from year 1" in " ".join(
        str(design.run(1).cost(furnace)).split()
    )


def test_a_ground_source_that_is_dearer_each_year_pays_nothing_back(design):
    """Cheaper at first by 2,000, dearer by more each year: no payback of 0 years."""
    run = design.run(3)
    dear = PRICES.replace(
        electricity=ld.Tariff(price=1.0),
        installation=ld.Installation(drilling=0.0),
        alternatives=[FURNACE.replace(first_cost=2_000.0)],
        discount_rate=0.0,
    )
    row = run.cost(dear).summary.loc[FURNACE.name]
    assert row["extra_first_cost"] == -2_000.0 and row["first_year_saving"] < -1_000.0
    assert np.isnan(row["simple_payback_years"])
    assert 0.0 < row["advantage_lasts_years"] < 2.0
    said = " ".join(str(run.cost(dear)).split())
    assert f"use up the initial advantage in {row['advantage_lasts_years']:.1f} years" in said
    cheap = dear.replace(electricity=ld.Tariff(price=0.0))
    assert run.cost(cheap).summary.loc[FURNACE.name, "simple_payback_years"] == 0.0
    assert "nothing to pay back; net" in " ".join(str(run.cost(cheap)).split())


def test_a_price_that_is_left_out_is_named(design):
    bored = PRICES.replace(installation=ld.Installation(equipment=9_000.0))
    assert "No price is given for drilling; the first cost excludes it." in str(design.run(1).cost(bored))
    for known in (ld.Installation(drilling=0.0), ld.Installation(drilling=50.0)):
        assert "No price" not in str(design.run(1).cost(PRICES.replace(installation=known)))


def test_prices_given_stand_before_the_designs(design):
    run = design.replace(prices=PRICES).run(1)
    assert run.cost(PRICES.replace(discount_rate=0.1)).prices.discount_rate == 0.1
    assert run.cost().prices is PRICES


def test_chart(cost):
    axes = cost.plot()
    assert axes.get_ylabel() == "Yearly cost without first cost [currency/year]"
    assert axes.get_xlabel() == "Year of operation"
    assert [line.get_label() for line in axes.lines] == list(cost.summary.index)
    for line in axes.lines:
        assert_allclose(line.get_ydata(), cost.by_year("cost")[line.get_label()])
    _, given = plt.subplots()
    assert plots.cost(cost.by_year("cost"), currency="crowns", ax=given) is given
    assert given.get_ylabel().endswith("[crowns/year]")
    plt.close("all")


def test_what_the_loop_costs_grows_with_it():
    """Bores, trenches, coils and wells by their lengths, one set of prices for all; the rest stays."""
    prices = ld.Installation(
        drilling=50.0,
        each_bore=400.0,
        trench=40.0,
        trench_pipe=3.0,
        pond_coil=5.0,
        well_drilling=120.0,
        well_pump=2_500.0,
        trenching=1_000.0,
        equipment=9_000.0,
        distribution=500.0,
    )
    rest = 1_000.0 + 9_000.0 + 500.0
    bore = ld.Bore(depth=80.0, buried_depth=1.0, diameter=0.15, resistance=0.1)
    bores = ld.BoreField.grid(bore, columns=3, rows=1, spacing=6.0)
    assert_allclose(prices.installed_cost(bores), rest + 3 * (80 * 50.0 + 400.0), rtol=1e-12)

    pipe = ld.Pipe.sdr(11, outer_diameter=0.032)
    wave = ld.SurfaceWave(amplitude=10.0, coldest_day=30)
    pipes = [[-0.3, 1.5], [0.3, 1.5]]
    trenches = ld.TrenchField(length=60.0, trenches=4, spacing=3.0, pipe=pipe, pipes=pipes, surface=wave)
    assert_allclose(prices.installed_cost(trenches), rest + 4 * 60 * (40.0 + 2 * 3.0), rtol=1e-12)
    longer = trenches.replace(length=90.0)
    extra = prices.installed_cost(longer) - prices.installed_cost(trenches)
    assert_allclose(extra, 4 * 30 * (40.0 + 2 * 3.0), rtol=1e-12)

    shape = {"area": 5000.0, "depth": 3.5, "bank_slope": 3.0, "pipe": pipe}
    coils = ld.Pond.basin(**shape, circuits=6, length=90.0, weather=ld.Weather.sample("cold continental"))
    assert_allclose(prices.installed_cost(coils), rest + 6 * 90 * 5.0, rtol=1e-12)

    aquifer = ld.Aquifer(temperature=10.5, thickness=12.0, transmissivity=2e-3, storativity=2e-4)
    alone = ld.Well(
        aquifer=aquifer,
        diameter=0.3,
        depth="100 ft",
        sustained_yield=5.0,
        lift=14.0,
        pump_efficiency=0.5,
        lowest_discharge=3.0,
    )
    pair = alone.replace(return_distance=60.0)
    assert_allclose(prices.installed_cost(alone), rest + 30.48 * 120.0 + 2_500.0, rtol=1e-12)
    assert_allclose(prices.installed_cost(pair), rest + 2 * 30.48 * 120.0 + 2_500.0, rtol=1e-12)
    assert not any(prices.unpriced(side) for side in (bores, trenches, coils, pair))
    nothing = ld.Installation(each_bore=400.0)
    needed = {
        bores: "drilling",
        trenches: "trench trench_pipe",
        coils: "pond_coil",
        pair: "well_drilling well_pump",
    }
    for side, names in needed.items():
        assert nothing.unpriced(side) == tuple(names.split())
    nothing_by_length = ld.Installation(well_pump=2_500.0)
    assert_allclose(nothing_by_length.installed_cost(alone.replace(depth=None)), 2_500.0, rtol=1e-12)
