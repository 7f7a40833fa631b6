"""Wells as Python sees them, and properties that their runs have."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.special import exp1

import loopdrift as ld
from loopdrift import plots
from loopdrift.reporting import overview, report
from loopdrift.reporting.html import rounded

GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.5e6, temperature=10.5)
AQUIFER = ld.Aquifer(temperature=10.5, thickness=12.0, transmissivity=2e-3, storativity=2e-4)
FLUID = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=2e-3, freezing_point=-15.0
)
HOURS = np.arange(8760)
SEASON = np.cos(2 * np.pi * (HOURS / 8760 - 0.06))
LOADS = ld.Loads(heating=np.clip(12e3 * SEASON, 0, None), cooling=np.clip(-5e3 * SEASON, 0, None))
CURVES = ld.HeatPump.from_curves(heating_cop=[3.6, 0.08], cooling_cop=[7.0, -0.09])


def well(**changes):
    return ld.Well(
        **{
            "aquifer": AQUIFER,
            "diameter": 0.3,
            "sustained_yield": 5.0,
            "lift": 14.0,
            "pump_efficiency": 0.5,
            "flow": 1.5,
            "effectiveness": 0.8,
            "lowest_discharge": 3.0,
            **changes,
        }
    )


def design(side=None, **changes) -> ld.Design:
    parts = {
        "ground": GROUND,
        "ground_side": side or well(),
        "fluid": FLUID,
        "flow": 1.4,
        "heat_pump": CURVES,
        "loads": LOADS,
        "limits": ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=35.0),
    }
    return ld.Design(**{**parts, **changes})


def test_building_heat_is_the_wells_heat_and_electricity_each_hour() -> None:
    hourly = design(well(return_distance=30.0)).run(2).hourly
    building = np.tile(LOADS.heating - LOADS.cooling, 2)
    heat = hourly["heat_extracted_W"]
    compressor = hourly["electricity_W"] - hourly["electricity_well_W"]
    assert_allclose(heat + compressor, building, rtol=1e-9, atol=1e-6)
    assert_allclose(
        1.4 * 4000.0 * (hourly["entering_fluid_degC"] - hourly["leaving_fluid_degC"]),
        heat,
        rtol=1e-9,
        atol=1e-6,
    )
    assert_allclose(
        1.5 * 4200.0 * (hourly["wall_degC"] - hourly["discharge_degC"]), heat, rtol=1e-9, atol=1e-6
    )


def test_the_exchanger_has_its_effectiveness() -> None:
    hourly = design().run(1).hourly
    smaller = min(1.5 * 4200.0, 1.4 * 4000.0)
    expected = 0.8 * smaller * (hourly["wall_degC"] - hourly["leaving_fluid_degC"])
    assert_allclose(hourly["heat_extracted_W"], expected, rtol=1e-9, atol=1e-6)


def test_without_exchanger_the_fluid_is_the_wells_water() -> None:
    direct = design(well(flow=None, effectiveness=None), fluid=ld.Fluid("water"))
    hourly = direct.run(1).hourly
    # Resistance and the fluid's kelvins per watt, which cancel here, are tables of their own.
    assert_allclose(hourly["entering_fluid_degC"], 10.5, atol=1e-5)


def test_to_a_surface_body_the_well_keeps_its_temperature() -> None:
    hourly = design().run(2).hourly
    assert_array_equal(hourly["wall_degC"], 10.5)


def test_the_level_is_the_sum_of_all_pumping() -> None:
    """Against scipy's well function, each start and stop by itself, with recovery and the return well."""
    by_day = ld.Loads(heating=np.where(HOURS % 24 < 14, LOADS.heating, 0.0))
    run = design(well(return_distance=50.0), loads=by_day).run(1).hourly
    pumping = (run["heat_extracted_W"] != 0.0).to_numpy(dtype=float)
    steps = np.diff(pumping, prepend=0.0)
    starts = np.flatnonzero(steps)
    assert starts.size > 100
    flow = 1.5 / 999.97 / (4 * np.pi * AQUIFER.transmissivity)
    for hour in (0, 100, 3000, 5000, 8759):
        past = starts[starts <= hour]
        times = 3600.0 * (hour + 1 - past)
        u = AQUIFER.storativity / (4 * AQUIFER.transmissivity * times)
        each = exp1(0.15**2 * u) - exp1(50.0**2 * u)
        expected = flow * np.sum(steps[past] * each)
        assert_allclose(run["drawdown_m"].iloc[hour], expected, rtol=1e-4, atol=1e-4)


def test_the_pump_lifts_water_out_of_the_drawdown() -> None:
    run = design().run(1)
    pumping = run.hourly["heat_extracted_W"] != 0.0
    head = 14.0 + run.hourly["drawdown_m"]
    expected = np.where(pumping, 9.80665 * 1.5 * head / 0.5, 0.0)
    assert_allclose(run.hourly["electricity_well_W"], expected, rtol=1e-12)
    assert_allclose(run.yearly["electricity_well_kWh"], expected.sum() / 1e3, rtol=1e-12)


def test_the_pumps_electricity_is_in_every_figure_once() -> None:
    """Compressor, circulation pump and the well's pump add up in hours, years, COP, costs and the report."""
    prices = ld.Prices(electricity=ld.Tariff(price=0.2, carbon=0.3))
    run = design(pump_power=150.0, prices=prices).run(2)
    hourly, yearly = run.hourly, run.yearly
    building = np.tile(LOADS.heating - LOADS.cooling, 2)
    compressor = building - hourly["heat_extracted_W"]
    circulation = np.where(building != 0.0, 150.0, 0.0)
    expected = compressor + circulation + hourly["electricity_well_W"]
    assert_allclose(hourly["electricity_W"], expected, rtol=1e-9, atol=1e-6)
    by_year = hourly.groupby(level="year")[["electricity_W", "electricity_well_W"]].sum() / 1e3
    assert_allclose(yearly["electricity_kWh"], by_year["electricity_W"], rtol=1e-12)
    assert_allclose(yearly["electricity_well_kWh"], by_year["electricity_well_W"], rtol=1e-12)
    delivered = yearly["heating_kWh"] + yearly["cooling_kWh"]
    assert_allclose(yearly["seasonal_cop"], delivered / by_year["electricity_W"], rtol=1e-12)
    bill = run.cost().yearly.loc["ground source"]
    assert_allclose(bill["electricity_kWh"], yearly["electricity_kWh"], rtol=1e-12)
    assert_allclose(bill["energy_cost"], 0.2 * yearly["electricity_kWh"], rtol=1e-12)
    without = delivered.sum() / (yearly["electricity_kWh"] - yearly["electricity_well_kWh"]).sum()
    assert f"with it and {without:.2f} without it" in " ".join(map(str, run.findings))
    page = report.page(run)
    assert "incl. well pump [kWh]" in page
    assert f"<td>{rounded(yearly['electricity_well_kWh'].iloc[0])}</td>" in page


UNIT = ld.HeatPump.from_curves(
    heating_cop=[3.6, 0.08],
    heating_capacity=[11e3, 280.0],
    cooling_cop=[7.0, -0.09],
    cooling_capacity=[13e3, -80.0],
)


def test_the_pump_runs_as_long_as_the_compressor() -> None:
    """350 W of hot water in every hour keep the unit, and the pump, running for minutes and not the year."""
    loads = ld.Loads(
        heating=LOADS.heating * (HOURS % 24 < 8), hot_water=np.full(8760, 350.0), cooling=LOADS.cooling
    )
    runs = {
        stops: design(well(return_distance=30.0, pump_stops=stops), heat_pump=UNIT, loads=loads).run(2)
        for stops in (True, False)
    }
    hourly = runs[True].hourly
    asked = runs[True].design.demand
    heat = np.tile(asked["heating"] + asked["hot_water"], 2) - hourly["backup_W"]
    cold = np.tile(asked["cooling"], 2) - hourly["unmet_cooling_W"]
    entering = hourly["entering_fluid_degC"]
    share = (heat / (11e3 + 280.0 * entering) + cold / (13e3 - 80.0 * entering)).clip(upper=1.0)
    assert_allclose(hourly["well_flow_kg_per_s"], 1.5 * share, rtol=1e-5)
    # While it runs the exchanger and the discharge see the full flow.
    running = hourly["heat_extracted_W"] / share
    smaller = min(1.5 * 4200.0, 1.4 * 4000.0)
    assert_allclose(0.8 * smaller * (hourly["wall_degC"] - hourly["leaving_fluid_degC"]), running, rtol=1e-4)
    assert_allclose(1.5 * 4200.0 * (hourly["wall_degC"] - hourly["discharge_degC"]), running, rtol=1e-4)
    building = heat - cold
    compressor = hourly["electricity_W"] - hourly["electricity_well_W"] - hourly["backup_W"]
    assert_allclose(hourly["heat_extracted_W"] + compressor, building, rtol=1e-9, atol=1e-5)
    pumped, always = (run.yearly["water_pumped_m3"] for run in runs.values())
    assert_allclose(
        pumped, hourly["well_flow_kg_per_s"].groupby(level="year").sum() * 3600.0 / 999.97, rtol=1e-9
    )
    assert_allclose(always, 8760 * 3600.0 * 1.5 / 999.97, rtol=1e-12)
    assert pumped.max() < 0.35 * always.min()
    power = 9.80665 * hourly["well_flow_kg_per_s"] * (14.0 + hourly["drawdown_m"]) / 0.5
    assert_allclose(hourly["electricity_well_W"], power, rtol=1e-9)
    # What returns does so by volume.
    arrivals = [int(np.argmax(run.hourly["wall_degC"] != 10.5)) for run in runs.values()]
    volumes = [
        run.hourly["well_flow_kg_per_s"].to_numpy()[:arrival].sum()
        for run, arrival in zip(runs.values(), arrivals, strict=True)
    ]
    assert arrivals[0] > 2 * arrivals[1] > 0
    assert_allclose(volumes[0], volumes[1], rtol=0.02)


def test_only_a_pair_of_wells_has_an_error() -> None:
    alone, pair = (design(side).run(2) for side in (well(), well(return_distance=20.0)))
    assert alone.error.largest == 0.0
    assert "the model itself is the only approximation" in " ".join(str(alone).split())
    assert 1e-3 < pair.error.steps == pair.error.largest < 0.5
    assert "has one temperature in each pumping interval" in " ".join(str(pair).split())


def test_steady_heat_returns_along_its_streamlines() -> None:
    """Against a convolution of the shares of streamlines, hour by hour; the run has a mean of each 24 h."""
    pair = well(return_distance=30.0)
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0])
    loads = ld.Loads(heating=np.full(8760, 12e3))
    run = design(pair, heat_pump=heat_pump, loads=loads).run(2).hourly
    assert_allclose(run["heat_extracted_W"], 9e3, rtol=1e-9)
    fall = 9e3 / (1.5 * 4200.0)
    hours = np.arange(2 * 8760)
    share = np.diff(pair.returned_share(GROUND, 3600.0 * hours), prepend=0.0)
    given = np.zeros(hours.size)
    returned = np.zeros(hours.size)
    for hour in hours:
        given[hour] = share[1 : hour + 1] @ returned[:hour][::-1]
        returned[hour] = given[hour] - fall
    assert given.min() < -1.0
    by_day = given.reshape(-1, 24).mean(axis=1)
    assert_allclose(run["wall_degC"][::24] - 10.5, by_day, atol=0.02)


def test_pumping_less_delays_what_returns() -> None:
    """The water of an idle hour stays where it is: half the pumping takes twice the time."""
    pair = well(return_distance=20.0)
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0])

    def water(heating: np.ndarray) -> np.ndarray:
        run = design(pair, heat_pump=heat_pump, loads=ld.Loads(heating=heating)).run(1)
        return run.hourly["wall_degC"].to_numpy()

    always, half = (water(heating) for heating in (np.full(8760, 12e3), np.where(HOURS % 2 == 0, 12e3, 0.0)))
    first_always, first_half = (int(np.argmax(water < 10.5)) for water in (always, half))
    assert_allclose(first_half, 2 * first_always, atol=2)
    assert_allclose(half[2 * first_always + 100], always[first_always + 50], atol=1e-9)


def test_breakthrough_has_its_closed_form() -> None:
    pair = well(return_distance=60.0)
    water = 999.97 * 4200.0
    expected = np.pi / 3 * 2.5e6 / water * 12.0 * 60.0**2 / (1.5 / 999.97)
    assert_allclose(pair.breakthrough_time(GROUND), expected, rtol=1e-12)
    times = expected * np.array([[0.0, 0.99], [1.0, 1.5]])
    share = pair.returned_share(GROUND, times)
    assert share.shape == (2, 2)
    assert_array_equal(share.ravel()[:3], 0.0)
    assert share[1, 1] > 0.2


def test_findings_tell_discharge_level_water_and_return() -> None:
    quality = [ld.WaterLimit(substance="iron", measured=0.5, limit=0.2, unit="mg/L")]
    pair = well(return_distance=15.0, lowest_discharge=9.5, available_drawdown=0.5, quality=quality)
    text = " ".join(map(str, design(pair).run(2).findings))
    for words in (
        "discharge is below the minimum of",
        "0.50 m (1.6 ft) is available",
        "iron 0.5 of 0.2 mg/L",
        "breakthrough of returned water occurs after",
        "the well's water becomes up to",
        "seasonal COP is",
    ):
        assert words in text, words
    assert "No water analysis is given" in " ".join(map(str, design().run(1).findings))


def test_permits_are_named() -> None:
    assert "groundwater" in str(design().run(1)) and "permits" in str(design().run(1))


def test_a_design_file_gives_the_well_back(tmp_path) -> None:
    quality = [ld.WaterLimit(substance="chloride", measured=40, limit=300, unit="mg/L")]
    for side in (well(), well(return_distance="200 ft", flow="20 gal/min", quality=quality)):
        design(side).write(tmp_path / "well.toml")
        assert ld.Design.read(tmp_path / "well.toml").ground_side == side


def test_a_study_varies_distance_and_effectiveness() -> None:
    vary = {"return_distance": [20.0, "200 ft"], "effectiveness": [0.6, 0.8]}
    found = ld.Study(design(well(return_distance=30.0)), vary=vary).run(years=1)
    coldest = found["entering_fluid_min_degC"].isel(year=0).to_numpy()
    assert coldest.shape == (2, 2)
    assert (np.diff(coldest, axis=1) > 0.0).all()
    one = design(well(return_distance="200 ft", effectiveness=0.6)).run(1).yearly
    assert_array_equal(coldest[1, 0], one["entering_fluid_min_degC"].iloc[0])


def test_a_study_has_what_only_wells_tell() -> None:
    """As the run tells it, by year, with unit and meaning; nothing where the loop is no well."""
    bores = ld.BoreField.grid(
        ld.Bore(depth=120.0, buried_depth=1.0, diameter=0.15, resistance=0.1), columns=2, rows=1, spacing=6.0
    )
    pair = well(return_distance=15.0, lowest_discharge=9.0)
    found = ld.Study(design(), cases=[{"ground_side": side} for side in (pair, bores)]).run(2)
    run = design(pair).run(2)
    hourly = run.hourly
    for name in ("electricity_well_kWh", "drawdown_max_m", "well_water_min_degC", "discharge_min_degC"):
        assert_array_equal(found[name][0], run.yearly[name], err_msg=name)
        assert np.isnan(found[name][1]).all()
        assert found[name].attrs["units"] in ("kWh", "m", "degC") and found[name].attrs["long_name"]
    pumped = hourly[hourly["heat_extracted_W"] != 0.0]
    years = pumped.groupby(level="year")
    assert_array_equal(run.yearly["discharge_min_degC"], years["discharge_degC"].min())
    assert_array_equal(run.yearly["discharge_max_degC"], years["discharge_degC"].max())
    assert_array_equal(run.yearly["well_water_max_degC"], years["wall_degC"].max())
    assert_array_equal(run.yearly["drawdown_max_m"], hourly.groupby(level="year")["drawdown_m"].max())
    cold = (pumped["discharge_degC"] < 9.0).groupby(level="year").sum()
    assert_array_equal(found["hours_discharge_too_cold"][0], cold)
    arrived = (pumped["wall_degC"] != 10.5).groupby(level="year").sum()
    assert_array_equal(found["hours_after_breakthrough"][0], arrived)
    assert cold.sum() > 0 and 0 < arrived[1] < arrived[2]


def test_overview_tells_the_well() -> None:
    text = " ".join(overview.overview(design()).split())
    for words in ("a well of 1.50 kg/s", "through a heat exchanger"):
        assert words in text


@pytest.mark.parametrize("units", ["SI", "IP"])
def test_streamlines_are_drawn(units) -> None:
    import matplotlib.pyplot as plt

    ax = plots.well_streamlines(well(return_distance=60.0), units=units)
    assert ("[m]" if units == "SI" else "[ft]") in ax.get_ylabel()
    plt.close(ax.figure)
    assert "layout" not in design().run(1).kinds


def aquifer(**changes):
    return AQUIFER.replace(**changes)


BAD = {
    "frozen aquifer": (partial(aquifer, temperature=-2), ["Aquifer.temperature = -2 degC", "from 0.5"]),
    "thin aquifer": (partial(aquifer, thickness=0), ["Aquifer.thickness = 0 m"]),
    "tight aquifer": (partial(aquifer, transmissivity=0), ["Aquifer.transmissivity = 0 m2/s"]),
    "storativity": (partial(aquifer, storativity=2), ["Aquifer.storativity = 2", "to 0.5"]),
    "thickness in kg": (partial(aquifer, thickness="3 kg"), ["Aquifer.thickness = 3 kg", "unit like m"]),
    "no aquifer": (partial(well, aquifer=3.0), ["Well.aquifer = 3.0", "an Aquifer"]),
    "more than it gives": (partial(well, flow=9.0), ["Well.flow = 9 kg/s", "sustained yield, 5 kg/s"]),
    "flow without exchanger": (partial(well, effectiveness=None), ["Well.effectiveness = nothing"]),
    "exchanger without flow": (partial(well, flow=None), ["Well.flow = nothing", "together"]),
    "perfect exchanger": (partial(well, effectiveness=1.0), ["Well.effectiveness = 1", "to 0.99"]),
    "pump": (partial(well, pump_efficiency=1.5), ["Well.pump_efficiency = 1.5", "to 1"]),
    "needle": (partial(well, diameter=0.001), ["Well.diameter = 0.001 m"]),
    "lift": (partial(well, lift=-1), ["Well.lift = -1 m"]),
    "warm discharge": (
        partial(well, lowest_discharge=12),
        ["Well.lowest_discharge = 12 degC", "below the aquifer's temperature, 10.5 degC"],
    ),
    "return into itself": (
        partial(well, diameter=3.0, return_distance=2.0),
        ["Well.return_distance = 2 m", "diameter, 3 m"],
    ),
    "yield in K": (partial(well, sustained_yield="5 K"), ["Well.sustained_yield = 5 K"]),
    "quality as text": (partial(well, quality="good"), ["Well.quality = 'good'", "must be a WaterLimit"]),
    "quality as number": (partial(well, quality=[7]), ["Well.quality = 7", "a WaterLimit"]),
    "negative iron": (
        partial(ld.WaterLimit, substance="iron", measured=-1, limit=1, unit="mg/L"),
        ["WaterLimit.measured = -1", "must be at least 0"],
    ),
    "nothing returns": (lambda: well().breakthrough_time(GROUND), ["Well.return_distance = nothing"]),
    "brine in the ground": (
        lambda: design(well(flow=None, effectiveness=None)).run(1),
        ["Fluid.freezing_point = -15 degC", "must be that of water"],
    ),
    "direct flow beyond the yield": (
        lambda: design(well(flow=None, effectiveness=None, sustained_yield=1.0), fluid=ld.Fluid("water")).run(
            1
        ),
        ["Well.flow = 1.4 kg/s", "sustained yield, 1 kg/s"],
    ),
    "size": (lambda: design().size("depth"), ["Sizing.what = 'depth'", "must be one of flow, effectiveness"]),
    "time before": (
        lambda: AQUIFER.drawdown(1.0, distance=0.1, times=[0.0]),
        ["Aquifer.times = 0.0 s", "above 0 s"],
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_names_field_value_and_cure(case: str) -> None:
    do, words = BAD[case]
    with pytest.raises(ld.InvalidInput) as caught:
        do()
    for word in words:
        assert word in str(caught.value)
