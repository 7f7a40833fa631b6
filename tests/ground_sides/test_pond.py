"""Ponds as Python sees them, and properties that their runs have."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift import plots
from loopdrift.reporting import overview

GROUND = ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.4e6, temperature=8.0)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
COLD = ld.Weather.sample("cold continental")
FLUID = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=2e-3, freezing_point=-15.0
)
HOURS = np.arange(8760)
SEASON = np.cos(2 * np.pi * (HOURS / 8760 - 0.06))
LOADS = ld.Loads(heating=np.clip(12e3 * SEASON, 0, None), cooling=np.clip(-5e3 * SEASON, 0, None))


def pond(**changes):
    return ld.Pond(
        **{
            "bathymetry": [[0.0, 5000.0], [2.0, 3500.0], ["4 m", 1500.0]],
            "pipe": PIPE,
            "circuits": 6,
            "length": 90.0,
            "weather": COLD,
            **changes,
        }
    )


def basin(**changes):
    shape = {"area": 5000.0, "depth": 3.5, "bank_slope": 3.0}
    return ld.Pond.basin(**{**shape, "pipe": PIPE, "circuits": 6, "length": 90.0, "weather": COLD, **changes})


def design(side=None, **changes) -> ld.Design:
    parts = {
        "ground": GROUND,
        "ground_side": side or pond(),
        "fluid": FLUID,
        "flow": 1.8,
        "heat_pump": ld.HeatPump.from_curves(heating_cop=[3.6, 0.08], cooling_cop=[7.0, -0.09]),
        "loads": LOADS,
        "limits": ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=35.0),
    }
    return ld.Design(**{**parts, **changes})


def weather(**changes) -> ld.Weather:
    even = {"dry_bulb": 12.0, "relative_humidity": 60.0, "ghi": 0.0, "wind_speed": 3.0}
    series = {name: np.full(8760, value) for name, value in even.items()}
    return ld.Weather(**{**series, "latitude": 0.0, **changes})


def test_heat_closes_in_every_hour() -> None:
    hourly = design(pond(inflow=0.5, inflow_temperature="48 degF")).run(2).hourly
    gained = hourly[["heat_from_above_W", "heat_from_ground_W", "heat_from_inflow_W"]].sum(axis=1)
    gained -= hourly["heat_extracted_W"]
    stored = 1e3 * np.diff(hourly["stored_kWh"])
    assert hourly["ice_m"].max() > 0.1
    assert_allclose(stored, gained[1:], rtol=1e-9, atol=1e-9 * gained.abs().max())


def test_ice_and_water_keep_their_bounds() -> None:
    hourly = design().run(2).hourly
    ice = hourly["ice_m"].to_numpy()
    assert ice.min() == 0.0 and 0.2 < ice.max() < 1.5
    assert hourly["wall_degC"].min() >= 0.0
    # While ice lies on the pond its upper side is at or below freezing, and water below it is not.
    assert hourly["water_surface_degC"][ice > 0.0].max() <= 0.0
    assert hourly["water_surface_degC"][ice == 0.0].min() >= 0.0


def test_melted_ice_is_the_ice_that_grew() -> None:
    """Over a year without load that begins and ends without ice, what is gained is stored in water."""
    run = design(loads=ld.Loads(), start_month=8).run(1).hourly
    ice = run["ice_m"].to_numpy()
    assert ice[0] == ice[-1] == 0.0
    grown, melted = np.clip(np.diff(ice), 0, None).sum(), np.clip(-np.diff(ice), 0, None).sum()
    assert_allclose(grown, melted, rtol=1e-12)
    gained = run[["heat_from_above_W", "heat_from_ground_W"]].to_numpy()[1:].sum() / 1e3
    stored = run["stored_kWh"].iloc[-1] - run["stored_kWh"].iloc[0]
    assert_allclose(gained, stored, rtol=1e-9, atol=1e-6)


def test_water_follows_the_airs_year_with_lag() -> None:
    water = design(loads=ld.Loads()).run(1).hourly["wall_degC"].to_numpy()

    def harmonic(values: np.ndarray) -> complex:
        return complex(2.0 / 8760 * np.sum(values * np.exp(-2j * np.pi * HOURS / 8760)))

    ratio = harmonic(water) / harmonic(COLD.dry_bulb)
    lag = -np.angle(ratio) * 365 / (2 * np.pi)
    # A stirred metre lags by about a day and a half; the sun, which warms it too, comes before the air.
    assert 1.0 < lag < 60.0
    assert 0.2 < abs(ratio) < 1.0


def test_a_year_without_load_is_like_the_next() -> None:
    water = design(loads=ld.Loads()).run(2).hourly["wall_degC"].to_numpy()
    assert_allclose(water[8760:], water[:8760], atol=0.05)


def test_water_lies_near_4_degrees_below_the_ice() -> None:
    hourly = design(loads=ld.Loads()).run(1).hourly
    thickest = hourly["ice_m"].argmax()
    assert 2.5 < hourly["wall_degC"].iloc[thickest] < 4.5


def test_building_heat_is_the_waters_heat_and_electricity_each_hour() -> None:
    hourly = design().run(1).hourly
    building = LOADS.heating - LOADS.cooling
    assert_allclose(hourly["heat_extracted_W"] + hourly["electricity_W"], building, rtol=1e-9, atol=1e-6)
    difference = hourly["entering_fluid_degC"] - hourly["leaving_fluid_degC"]
    assert_allclose(1.8 * 4000.0 * difference, hourly["heat_extracted_W"], rtol=1e-9, atol=1e-6)


def test_more_coil_brings_the_fluid_nearer_to_the_water() -> None:
    short, long = (design(pond(length=length)).run(1).yearly for length in (60.0, 120.0))
    assert long["entering_fluid_min_degC"].min() > short["entering_fluid_min_degC"].min() + 0.1


def test_a_bathymetry_has_its_volume() -> None:
    assert_allclose(pond().volume, 2 * (5000 + 3500) / 2 + 2 * (3500 + 1500) / 2)
    assert_allclose(basin(bank_slope=0.0).volume, 5000 * 3.5)
    radius = np.sqrt(5000 / np.pi)
    cone = np.pi / 9 * (radius**3 - (radius - 10.5) ** 3)
    assert_allclose(basin().volume, cone, rtol=1e-3)


def test_equality() -> None:
    assert pond() == pond() and hash(pond()) == hash(pond())
    assert pond() != pond(circuits=7)
    assert pond() != pond(weather=weather())


def test_a_design_file_gives_the_pond_back(tmp_path) -> None:
    design().write(tmp_path / "pond.toml")
    assert ld.Design.read(tmp_path / "pond.toml").ground_side == pond()


def test_weather_is_written_as_it_is_read(tmp_path) -> None:
    COLD.write(tmp_path / "weather.csv")
    assert ld.Weather.read(tmp_path / "weather.csv") == COLD


def test_sizing_finds_the_shortest_coils() -> None:
    loads = ld.Loads(heating=np.clip(30e3 * SEASON, 0, None))
    sized = design(loads=loads, limits=ld.Limits(entering_fluid_min=-3.0)).size(years=1)
    assert sized.what == "length" and sized.holds
    shorter = sized.design.replace(ground_side=pond(length=sized.value - 0.2)).run(1)
    assert shorter.yearly["hours_outside_limits"].sum() > 0


def test_a_study_varies_coils_and_light() -> None:
    vary = {"circuits": [4, 6], "extinction_depth": [0.5, "6 ft"]}
    found = ld.Study(design(), vary=vary).run(years=1)
    coldest = found["entering_fluid_min_degC"].isel(year=0)
    one = design(pond(circuits=6, extinction_depth="6 ft")).run(1).yearly
    assert_array_equal(coldest.to_numpy()[1, 1], one["entering_fluid_min_degC"].iloc[0])


def test_ice_is_told() -> None:
    run = design(basin(area=2000.0, depth=2.5)).run(2)
    days = (run.hourly["ice_m"] > 0.0).sum() / 48.0
    assert any(
        f"Ice covers the pond for {days:.3g} days in a mean year" in str(each) for each in run.findings
    )


def test_overview_and_summary_tell_the_pond() -> None:
    text = overview.overview(design())
    for words in ("a pond of 5,000 m2", "per coil", "from fluid to water", "1 acre"):
        assert words in " ".join(text.split())
    run = design().run(1)
    assert run.error.steps > 0.0 and run.error.film > 0.0
    assert run.error.largest == run.error.steps + run.error.film < 3.0
    words = f"Numerical error: up to about {run.error.steps:.1g} K"
    assert words in " ".join(str(run).split())


def test_a_study_has_what_only_ponds_tell() -> None:
    """As the run tells it, by year, also where it goes on from files; a study of bores has none of it."""
    found = ld.Study(design(), vary={"circuits": [4, 6]}).run(2)
    run = design(pond(circuits=4)).run(2)
    hourly = run.hourly.groupby(level="year")
    expected = {
        "ice_max_m": hourly["ice_m"].max(),
        "hours_with_ice": (run.hourly["ice_m"] > 0.0).groupby(level="year").sum(),
        "water_at_coils_min_degC": hourly["wall_degC"].min(),
        "water_at_coils_max_degC": hourly["wall_degC"].max(),
        "coil_surface_min_degC": hourly["coil_surface_degC"].min(),
        "hours_coil_frozen": (run.hourly["coil_surface_degC"] < 0.0).groupby(level="year").sum(),
    }
    for name, values in expected.items():
        assert_array_equal(run.yearly[name], values, err_msg=name)
        assert_array_equal(found[name].sel(circuits=4), values, err_msg=name)
        assert found[name].attrs["units"] and found[name].attrs["long_name"]
    assert found["ice_max_m"].min() > 0.1


def test_a_study_of_ponds_goes_on_from_its_files(tmp_path) -> None:
    study = ld.Study(design(), vary={"circuits": [4, 6]})
    first = study.run(1, store=tmp_path / "ponds")
    again = study.run(1, store=tmp_path / "ponds")
    assert "ice_max_m" in again
    assert first.identical(again)


@pytest.mark.parametrize("units", ["SI", "IP"])
def test_the_profile_is_drawn(units) -> None:
    import matplotlib.pyplot as plt

    ax = plots.pond_profile(pond(), units=units)
    assert ("[m]" if units == "SI" else "[ft]") in ax.get_ylabel()
    plt.close(ax.figure)


BAD = {
    "one row": (partial(pond, bathymetry=[[0, 5000]]), ["Pond.bathymetry = 1 rows", "from 2 to"]),
    "no rows": (partial(pond, bathymetry=5), ["Pond.bathymetry", "rows of a depth and an area"]),
    "ragged": (
        partial(pond, bathymetry=[[0, 5000], [3]]),
        ["Pond.bathymetry", "rows of a depth and an area"],
    ),
    "below the surface": (
        partial(pond, bathymetry=[[1, 5e3], [3, 1e3]]),
        ["= 1 m", "must be 0, the surface"],
    ),
    "depths fall": (partial(pond, bathymetry=[[0, 5e3], [3, 2e3], [2, 1e3]]), ["= 2 m", "row 3"]),
    "areas grow": (partial(pond, bathymetry=[[0, 5e3], [3, 6e3]]), ["= 6000 m2", "row 2", "above it"]),
    "puddle": (partial(pond, bathymetry=[[0, 5], [3, 1]]), ["= 5 m2", "from 20 to"]),
    "shallow": (partial(pond, bathymetry=[[0, 5e3], [0.5, 1e3]]), ["= 0.5 m", "from 1 to 60 m"]),
    "depth in kg": (partial(pond, bathymetry=[[0, 5e3], ["3 kg", 1e3]]), ["= 3 kg", "unit like m"]),
    "no coil": (partial(pond, circuits=0), ["Pond.circuits = 0", "from 1 to 10000"]),
    "coils by halves": (partial(pond, circuits=2.5), ["Pond.circuits = 2.5", "an int"]),
    "no length": (partial(pond, length=0), ["Pond.length = 0 m", "from 1 to 5000 m"]),
    "ink": (partial(pond, extinction_depth=0.01), ["Pond.extinction_depth = 0.01 m"]),
    "inflow without temperature": (partial(pond, inflow=1.0), ["Pond.inflow_temperature = nothing"]),
    "boiling inflow": (partial(pond, inflow=1.0, inflow_temperature=90), ["= 90 degC", "from 0 to 40 degC"]),
    "weather as text": (partial(pond, weather="cold"), ["Pond.weather = 'cold'", "must be a Weather"]),
    "no pipe": (partial(pond, pipe=0.032), ["Pond.pipe = 0.032", "must be a Pipe"]),
    "no wind": (
        lambda: pond(weather=ld.Weather(dry_bulb=np.zeros(8760), relative_humidity=np.full(8760, 50.0))),
        ["Weather.ghi = nothing", "for a pond"],
    ),
    "no latitude": (partial(pond, weather=weather(latitude=None)), ["Weather.latitude = nothing"]),
    "banks meet": (partial(basin, bank_slope=20), ["Pond.bank_slope = 20", "meet above the bottom"]),
    "no area": (partial(basin, area=-1), ["Pond.area = -1", "above 0 m2"]),
    "no depth": (partial(basin, depth=0), ["Pond.depth = 0", "above 0 m"]),
    "depth of a size": (lambda: design().size("depth"), ["Sizing.what = 'depth'", "one of length"]),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_names_field_value_and_cure(case: str) -> None:
    do, words = BAD[case]
    with pytest.raises(ld.InvalidInput) as caught:
        do()
    for word in words:
        assert word in str(caught.value)
