"""What stands between the building and the loop: distribution and hot water, in runs."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

HOURS = np.arange(8760)
SEASON = np.cos(2 * np.pi * HOURS / 8760)
SIDE = ld.EnteringLoadCorrection(reference=35.0, between=(15.0, 60.0), cop=[-0.05])
COLD_SIDE = ld.EnteringLoadCorrection(reference=18.0, between=(10.0, 30.0), cop=[0.05])


def design(**changes: object) -> ld.Design:
    bore = ld.Bore(depth=90.0, buried_depth=1.5, diameter=0.15, resistance=0.1)
    parts: dict[str, object] = {
        "ground": ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0),
        "ground_side": ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        "fluid": ld.Fluid.constant(
            density=1030.0, heat_capacity=3800.0, conductivity=0.45, viscosity=0.004, freezing_point=-40.0
        ),
        "flow": 0.7,
        "heat_pump": ld.HeatPump.from_curves(
            heating_cop=[4.0, 0.08],
            cooling_cop=[7.0, -0.09],
            heating_entering_load=SIDE,
            cooling_entering_load=COLD_SIDE,
        ),
        "loads": ld.Loads(
            heating=6e3 * np.clip(SEASON, 0, None), cooling=5e3 * np.clip(-SEASON - 0.3, 0, None)
        ),
    }
    return ld.Design(**{**parts, **changes})


def tank(**changes: object) -> ld.HotWater:
    return ld.HotWater(
        **{"daily_volume": 0.2, "volume": "300 L", "desuperheater_cooling_share": 0.12, **changes}
    )


def test_the_ground_is_spared_what_hot_water_takes_in_cooling() -> None:
    plain = design().run(1)
    run = design(hot_water=tank(heater="element")).run(1)
    assert run.design.tank is not None
    recovered = run.design.tank["desuperheater_in_cooling_W"]
    hourly = run.hourly
    made = hourly["heat_extracted_W"] + hourly["electricity_W"] - hourly["hot_water_element_W"]
    rooms = run.design.loads.heating - run.design.loads.cooling
    assert_allclose(made, rooms + run.design.demand["hot_water"] + recovered, rtol=1e-9, atol=1e-6)
    assert recovered.sum() > 100e3
    rejected = [each.yearly["heat_rejected_kWh"].iloc[0] for each in (plain, run)]
    assert_allclose(rejected[0] - rejected[1], recovered.sum() / 1000.0, rtol=0.05)
    assert hourly["tank_degC"].between(50.0 - 1e-9, 60.0 + 1e-9).all()


def test_a_year_of_hot_water_adds_up() -> None:
    for heater in ("heat pump", "element"):
        run = design(hot_water=tank(heater=heater, desuperheater_heating_share=0.1)).run(2)
        columns = run.design.tank
        assert columns is not None
        made = sum(
            columns[name].sum()
            for name in (
                "desuperheater_in_heating_W",
                "desuperheater_in_cooling_W",
                "heat_pump_W",
                "element_W",
            )
        )
        stored = 988.0 * 4181.0 * 0.3 / 3600.0 * (columns["temperature_degC"][-1] - 50.0)
        assert_allclose(made, columns["drawn_W"].sum() + columns["lost_W"].sum() + stored, rtol=1e-9)
        drawn = 365 * 0.2 * 988.0 * 4181.0 * (42.0 - 10.0) / 3.6e6
        assert_allclose(columns["drawn_W"].sum() / 1000.0, drawn, rtol=1e-6)
        element = columns["element_W"].sum() / 1000.0
        assert_allclose(run.yearly["hot_water_element_kWh"], element, rtol=1e-9)
        assert (element > 0.0) == (heater == "element")


def test_cooler_water_makes_a_better_heat_pump() -> None:
    weather = ld.Weather.sample("cold continental")
    floor = ld.WaterDistribution(weather, return_water=32.0, mild_return_water=25.0, cold_day=-15.0)
    radiators = ld.WaterDistribution(weather, return_water=50.0, mild_return_water=35.0, cold_day=-15.0)
    cops = [design(distribution=each).run(2).yearly["seasonal_cop"].iloc[-1] for each in (floor, radiators)]
    assert cops[0] > cops[1] + 0.4
    at_reference = ld.AirDistribution(heating_air=35.0, cooling_air=18.0)
    runs = [design().run(1), design(distribution=at_reference).run(1)]
    assert_allclose(runs[0].hourly["entering_fluid_degC"], runs[1].hourly["entering_fluid_degC"], rtol=1e-12)


def test_fans_carry_their_share() -> None:
    run = design(distribution=ld.AirDistribution(fan_share=0.05)).run(1)
    hourly, loads = run.hourly, run.design.loads
    inside = hourly["heat_extracted_W"] + hourly["electricity_W"]
    assert_allclose(inside, loads.heating - loads.cooling, rtol=1e-9, atol=1e-6)
    assert_allclose(run.yearly["distribution_kWh"].iloc[0], hourly["distribution_W"].sum() / 1000.0)


def test_electricity_and_cop_have_one_boundary_in_run_study_and_cost() -> None:
    """Everything that the plant buys, and all the heat and cold that it delivers for that."""
    small = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.08],
        heating_capacity=[4.5e3],
        cooling_cop=[7.0, -0.09],
        heating_entering_load=SIDE,
        cooling_entering_load=COLD_SIDE,
    )
    prices = ld.Prices(electricity=ld.Tariff(price=0.2))
    whole = design(
        heat_pump=small,
        hot_water=tank(heater="element", desuperheater_heating_share=0.1),
        distribution=ld.AirDistribution(heating_air=32.0, cooling_air=20.0, fan_share=0.03),
        pump_power=90.0,
        prices=prices,
    )
    run = whole.run(2)
    hourly, yearly, columns = run.hourly, run.yearly, whole.tank
    assert columns is not None
    assert min(yearly[f"{part}_kWh"].min() for part in ("backup", "distribution", "hot_water_element")) > 50.0
    asked = whole.demand
    made = asked["heating"] + asked["hot_water"] + columns["desuperheater_in_cooling_W"] - asked["cooling"]
    made = np.tile(made, 2) - hourly["backup_W"] + hourly["unmet_cooling_W"]
    circulation = 90.0 * np.tile(asked["heating"] + asked["hot_water"] + asked["cooling"] > 0.0, 2)
    parts = hourly["backup_W"] + hourly["distribution_W"] + hourly["hot_water_element_W"] + circulation
    compressor = hourly["electricity_W"] - parts
    assert_allclose(hourly["heat_extracted_W"] + compressor, made, rtol=1e-9, atol=1e-5)
    bought = hourly["electricity_W"].to_numpy().reshape(2, -1).sum(axis=1) / 1e3
    delivered = sum(yearly[f"{name}_kWh"] for name in ("heating", "cooling", "backup", "hot_water_element"))
    given = (asked["heating"] + asked["hot_water"] + columns["desuperheater_in_cooling_W"]).sum() / 1e3
    assert_allclose(yearly["heating_kWh"] + yearly["backup_kWh"], given, rtol=1e-9)
    assert_allclose(yearly["electricity_kWh"], bought, rtol=1e-12)
    assert_allclose(yearly["seasonal_cop"], delivered / bought, rtol=1e-12)
    found = ld.Study(whole, vary={"depth": [80.0]}).run(2)
    for name in ("electricity_kWh", "seasonal_cop"):
        alone = whole.replace(
            ground_side=whole.ground_side.replace(bore=whole.ground_side.bores[0].replace(depth=80.0))
        ).run(2)
        assert_allclose(found[name].to_numpy()[0], alone.yearly[name], rtol=0, atol=0)
    cost = run.cost().yearly.loc["ground source"]
    assert_allclose(cost["electricity_kWh"], yearly["electricity_kWh"], rtol=1e-12)


def test_an_element_does_not_raise_the_cop() -> None:
    cops = [
        design(hot_water=tank(heater=heater, desuperheater_cooling_share=0.0))
        .run(1)
        .yearly["seasonal_cop"]
        .iloc[0]
        for heater in ("element", "heat pump")
    ]
    plain = design().run(1).yearly["seasonal_cop"].iloc[0]
    assert cops[0] < cops[1] < plain


def test_the_plant_follows_the_month_in_which_the_run_begins() -> None:
    run = design(hot_water=tank(heater="element"), start_month=7).run(1)
    assert run.design.tank is not None
    july = 181 * 24
    columns = run.design.tank["element_W"]
    assert_allclose(run.hourly["hot_water_element_W"], np.roll(columns, -july))


def test_a_study_varies_the_plant_as_single_runs_do() -> None:
    waters = [tank(), tank(daily_volume=0.4, heater="element")]
    found = ld.Study(design(hot_water=waters[0]), vary={"hot_water": waters, "depth": [70.0, 90.0]}).run(1)
    for place, water in enumerate(waters):
        base = design(hot_water=water)
        for column, depth in enumerate((70.0, 90.0)):
            field = base.ground_side.replace(bore=base.ground_side.bores[0].replace(depth=depth))
            alone = base.replace(ground_side=field).run(1).yearly["electricity_kWh"].iloc[0]
            assert found["electricity_kWh"].to_numpy()[place, column, 0] == alone
    shares = ld.Study(design(hot_water=waters[0]), vary={"desuperheater_cooling_share": [0.0, 0.1, 0.9]}).run(
        1
    )
    assert "from 0 to 0.3" in str(shares["failure"].to_numpy()[2])
    rejected = shares["heat_rejected_kWh"].to_numpy()[:2, 0]
    assert rejected[1] < rejected[0]


def test_a_plant_is_read_from_its_file_again(tmp_path) -> None:
    weather = ld.Weather(dry_bulb=5.0 - 20.0 * SEASON / 3.0, latitude=48.2)
    for distribution in (
        ld.AirDistribution(fan_share=0.03),
        ld.WaterDistribution(weather, return_water=32.0, mild_return_water=25.0, cold_day=-15.0),
    ):
        written = design(distribution=distribution, hot_water=tank(heater="element"))
        written.write(tmp_path / "design.toml")
        assert ld.Design.read(tmp_path / "design.toml") == written
    assert (tmp_path / "design-weather.csv").exists()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: tank(draws=[1.0]), r"HotWater\.draws = 1 values with the sum 1: must be 24 shares"),
        (lambda: tank(draws="often"), r"HotWater\.draws = 'often'"),
        (lambda: tank(heater="gas"), r"HotWater\.heater = 'gas': must be heat pump or element"),
        (lambda: tank(set_point=40.0), r"HotWater\.set_point = 40 degC: must be at least use_temperature"),
        (lambda: tank(volume="-1 L"), r"HotWater\.volume = -1 L \(-0\.001 m3\): must be from 0\.01"),
        (
            lambda: tank(desuperheater_cooling_share=0.4),
            r"HotWater\.desuperheater_cooling_share = 0\.4: must be from 0 to 0\.3",
        ),
        (
            lambda: ld.AirDistribution(fan_share=0.5),
            r"AirDistribution\.fan_share = 0\.5: must be from 0 to 0\.3",
        ),
        (
            lambda: ld.AirDistribution(heating_air=200.0),
            r"AirDistribution\.heating_air = 200 degC: must be from",
        ),
        (
            lambda: ld.WaterDistribution(
                ld.Weather.sample("cold continental"),
                return_water=25.0,
                mild_return_water=35.0,
                cold_day=-9.0,
            ),
            r"WaterDistribution\.return_water = 25 degC: must be at least mild_return_water, 35 degC",
        ),
        (
            lambda: ld.WaterDistribution(3, return_water=35, mild_return_water=25, cold_day=-9),  # type: ignore[arg-type]
            r"WaterDistribution\.weather = 3: must be a Weather",
        ),
        (
            lambda: ld.WaterDistribution(
                ld.Weather.sample("cold continental"),
                return_water=35.0,
                mild_return_water=25.0,
                cold_day=16.0,
            ),
            r"WaterDistribution\.cold_day = 16 degC: must be below mild_day, 15 degC",
        ),
        (lambda: design(hot_water=0.2), r"Design\.hot_water = 0\.2: must be a HotWater"),
        (
            lambda: design(hot_water=tank(), loads=ld.Loads(hot_water=300.0)),
            r"Loads\.hot_water = 300 W: must be left out with HotWater",
        ),
        (
            lambda: design(
                heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0], cooling_cop=[5.0]),
                distribution=ld.WaterDistribution(
                    ld.Weather.sample("cold continental"),
                    return_water=35.0,
                    mild_return_water=25.0,
                    cold_day=-15.0,
                ),
            ),
            r"Design\.distribution = water: must be left out: the heat pump's curves",
        ),
    ],
)
def test_bad_input_is_named(make, message) -> None:
    with pytest.raises(ld.InvalidInput, match=message):
        make()
