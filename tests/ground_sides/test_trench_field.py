"""Trench fields as Python sees them, and properties that their runs have."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift import plots
from loopdrift.parts.ground import soils
from loopdrift.reporting import overview

GROUND = ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.4e6, temperature=10.0)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
WAVE = ld.SurfaceWave(amplitude=10.0, coldest_day=31.0)
FLUID = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-15.0
)
HOURS = np.arange(8760)
SEASON = np.cos(2 * np.pi * (HOURS / 8760 - 0.06))


def straight(**changes):
    return ld.TrenchField(
        **{
            "pipe": PIPE,
            "length": 60.0,
            "pipes": [[-0.3, 1.6], [0.3, 1.6]],
            "trenches": 3,
            "spacing": 3.0,
            "surface": WAVE,
            **changes,
        }
    )


def coiled(**changes):
    coil = ld.Coil(**{"diameter": 0.8, "pitch": 0.6, "depth": 1.6, **changes})
    return straight(pipes=None, coil=coil)


def design(field=None, **changes) -> ld.Design:
    parts = {
        "ground": GROUND,
        "ground_side": field or straight(),
        "fluid": FLUID,
        "flow": 0.9,
        "heat_pump": ld.HeatPump.from_curves(heating_cop=[3.6, 0.08], cooling_cop=[7.0, -0.09]),
        "loads": ld.Loads(heating=np.clip(5e3 * SEASON, 0, None), cooling=np.clip(-2e3 * SEASON, 0, None)),
        "limits": ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=35.0),
    }
    return ld.Design(**{**parts, **changes})


FIELDS = {"straight": straight(), "flat": coiled(), "upright": coiled(upright=True)}


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS)
def test_building_heat_is_ground_heat_and_electricity_each_hour(field: ld.TrenchField) -> None:
    one = design(field)
    hourly = one.run(2).hourly
    building = np.tile(one.loads.heating - one.loads.cooling, 2)
    assert_allclose(hourly["heat_extracted_W"] + hourly["electricity_W"], building, rtol=1e-9, atol=1e-6)
    difference = hourly["entering_fluid_degC"] - hourly["leaving_fluid_degC"]
    assert_allclose(0.9 * 4000.0 * difference, hourly["heat_extracted_W"], rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS)
def test_the_run_knows_its_error(field: ld.TrenchField) -> None:
    error = design(field).run(5).error
    assert 0.0 < error.exponentials < 1e-4
    assert 0.0 < error.tabulation < 1e-4
    assert error.largest < 2e-3


def test_a_field_without_load_shows_the_wave() -> None:
    for field in (straight(), coiled()):
        run = design(field, loads=ld.Loads()).run(1)
        expected = WAVE.temperature(GROUND, depth=1.6, hours=HOURS + 1)
        assert_allclose(run.hourly["entering_fluid_degC"], expected, atol=1e-9)
        assert_allclose(run.hourly["wall_degC"], expected, atol=1e-9)


def test_an_upright_ring_shows_the_mean_of_its_depths() -> None:
    run = design(coiled(upright=True), loads=ld.Loads()).run(1)
    depths = 1.6 + 0.4 * np.cos(2 * np.pi * np.arange(40) / 40)
    expected = np.mean([WAVE.temperature(GROUND, depth=depth, hours=HOURS + 1) for depth in depths], axis=0)
    assert_allclose(run.hourly["entering_fluid_degC"], expected, atol=1e-9)


def test_a_run_that_begins_in_october_begins_in_octobers_ground() -> None:
    january = design(loads=ld.Loads()).run(1).hourly["entering_fluid_degC"].to_numpy()
    october = design(loads=ld.Loads(), start_month=10).run(1).hourly["entering_fluid_degC"].to_numpy()
    assert_allclose(october, np.roll(january, -6552), atol=1e-12)


def test_the_drop_is_linear_in_the_heat() -> None:
    """With constant efficiencies and a film of one temperature twice the load is twice the drop."""
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0], cooling_cop=[5.0])

    def drop(scale: float) -> np.ndarray:
        loads = ld.Loads(heating=scale * np.clip(SEASON, 0, None), cooling=scale * np.clip(-SEASON, 0, None))
        run = design(loads=loads, heat_pump=heat_pump).run(3)
        return (rest - run.hourly["entering_fluid_degC"]).to_numpy()

    rest = design(loads=ld.Loads(), heat_pump=heat_pump).run(3).hourly["entering_fluid_degC"]
    assert_allclose(drop(3000.0), 2.0 * drop(1500.0), atol=1e-8)


def test_trenches_far_apart_are_alone() -> None:
    one = design(
        straight(trenches=1, spacing=None), flow=0.3, loads=ld.Loads(heating=1e3 * (SEASON + 1))
    ).run(3)
    three = design(straight(spacing=900.0), flow=0.9, loads=ld.Loads(heating=3e3 * (SEASON + 1))).run(3)
    assert_allclose(three.hourly["entering_fluid_degC"], one.hourly["entering_fluid_degC"], atol=1e-6)


@pytest.mark.parametrize("change", [{"length": 90.0}, {"spacing": 5.0}])
def test_a_larger_field_is_warmer_in_its_worst_hour(change: dict[str, float]) -> None:
    loads = ld.Loads(heating=np.clip(5e3 * SEASON, 0, None))
    small, large = (design(field, loads=loads).run(3).yearly for field in (straight(), straight(**change)))
    assert large["entering_fluid_min_degC"].min() > small["entering_fluid_min_degC"].min()


def test_any_number_of_threads_gives_the_same_bits(printed_by_threads) -> None:
    script = (
        "import hashlib; import test_trench_field as t\n"
        "fields = [t.straight(trenches=7), t.coiled(), t.coiled(upright=True)]\n"
        "runs = [t.design(field).run(2).hourly.to_numpy().tobytes() for field in fields]\n"
        "print(hashlib.sha256(b''.join(runs)).hexdigest())"
    )
    assert len(printed_by_threads(script)) == 1


def test_rows_count_from_the_lowest() -> None:
    field = ld.TrenchField.rows(PIPE, length="100 ft", columns=2, rows=2, depth="6 ft", gap=0.5, surface=WAVE)
    assert_allclose(
        field.pipes, [[-0.25, 1.8288], [0.25, 1.8288], [-0.25, 1.3288], [0.25, 1.3288]], rtol=1e-12
    )
    assert_allclose(field.total_length, 4 * 30.48)
    assert_allclose(field.lowered(2.0).pipes[:, 1], [2.0, 2.0, 1.5, 1.5])


def test_a_coil_has_its_rings() -> None:
    field = coiled()
    assert field.rings == 99
    assert_allclose(field.total_length, 3 * 99 * np.pi * 0.8)
    assert_allclose(field.lowered(2.0).coil.depth, 2.0)
    assert_allclose(field.land, 60.0 * (0.8 + 0.032 + 6.0))


def test_equality() -> None:
    assert straight() == straight()
    assert hash(straight()) == hash(straight())
    assert straight() != straight(spacing=3.5)
    assert straight() != coiled()


def test_response_is_that_of_the_run() -> None:
    """A step of heat of one watt per metre through a heat pump that takes no electricity to speak of."""
    heat_pump = ld.HeatPump.from_curves(heating_cop=[1e3])
    step = design(
        straight(surface=ld.SurfaceWave(amplitude=0.0, coldest_day=0.0)),
        heat_pump=heat_pump,
        loads=ld.Loads(heating=np.full(8760, 360.0)),
        limits=ld.Limits(),
    ).run(2)
    fluid = 0.5 * (step.hourly["entering_fluid_degC"] + step.hourly["leaving_fluid_degC"])
    heat = step.hourly["heat_extracted_W"].to_numpy() / 360.0
    resistance = float((step.hourly["wall_degC"] - fluid).to_numpy()[0] / heat[0])
    times = 3600.0 * np.array([1, 10, 100, 1000, 17520])
    g = straight().response(GROUND, times, resistance=resistance)
    drops = 10.0 - step.hourly["wall_degC"].to_numpy()[[0, 9, 99, 999, 17519]]
    assert_allclose(drops, heat[0] * g / (2 * np.pi * 1.5), rtol=2e-4)


def test_the_wave_of_a_weather_is_its_harmonic() -> None:
    weather = ld.Weather(dry_bulb=9.0 - 11.0 * np.cos(2 * np.pi * ((HOURS + 0.5) / 8760 - 25.0 / 365.0)))
    wave = ld.SurfaceWave.from_weather(weather)
    assert_allclose([wave.amplitude, wave.coldest_day], [11.0, 25.0], rtol=1e-12)
    north = ld.SurfaceWave.from_weather(ld.Weather.sample("cold continental"))
    assert 5.0 < north.amplitude < 25.0
    assert 5.0 < north.coldest_day < 50.0


@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS)
def test_a_design_file_gives_the_field_back(field: ld.TrenchField, tmp_path) -> None:
    design(field).write(tmp_path / "farm.toml")
    assert ld.Design.read(tmp_path / "farm.toml").ground_side == field


def test_a_design_file_may_count_rows_and_take_the_wave_from_weather(tmp_path) -> None:
    design().write(tmp_path / "farm.toml")
    text = (tmp_path / "farm.toml").read_text()
    head, _, rest = text.partition("[ground_side]")
    rest = rest[rest.index("[fluid]") :]
    table = """[ground_side]
kind = "trench rows"
columns = 2
depth = "6 ft"
gap = 0.5
length = 60
trenches = 2
spacing = 3
pipe = { kind = "SDR", dimension_ratio = 11, outer_diameter = 0.032 }
surface = { kind = "weather", weather = { kind = "sample", name = "cold continental" } }

"""
    (tmp_path / "farm.toml").write_text(head + table + rest)
    field = ld.Design.read(tmp_path / "farm.toml").ground_side
    assert field.count == 4
    assert_allclose(field.depth, 1.8288)
    assert field.surface == ld.SurfaceWave.from_weather(ld.Weather.sample("cold continental"))


def test_sizing_finds_the_shortest_trenches_and_the_least_spacing() -> None:
    sized = design().size(years=2)
    assert sized.what == "length" and sized.holds
    assert sized.design.ground_side == straight(length=sized.value)
    shorter = design(straight(length=sized.value - 0.1001)).run(2)
    assert shorter.yearly["hours_outside_limits"].sum() > 0
    assert "trenches of" in str(sized)
    closer = design(straight(length=1.15 * sized.value)).size("spacing", years=2)
    assert closer.holds and closer.value < 3.0


def test_a_study_varies_depth_length_and_spacing() -> None:
    vary = {"depth": [1.2, "6 ft"], "length": [50.0, 80.0], "ground_side.spacing": [2.0, 4.0]}
    found = ld.Study(design(), vary=vary).run(years=1)
    coldest = found["entering_fluid_min_degC"].isel(year=0)
    assert coldest.shape == (2, 2, 2)
    one = design(straight(length=80.0, spacing=4.0).lowered("6 ft")).run(1).yearly
    assert_array_equal(coldest.to_numpy()[1, 1, 1], one["entering_fluid_min_degC"].iloc[0])


def test_frozen_soil_is_told() -> None:
    cold = design(straight(length=25.0), limits=ld.Limits(freezing_margin=0.0)).run(1)
    hours = int((cold.hourly["wall_degC"] < 0.0).sum())
    assert hours > 0
    assert any(f"In {hours:,} hours" in finding.text and "soil" in finding.text for finding in cold.findings)
    warm = design(straight(length=300.0)).run(1)
    assert not any("soil" in finding.text for finding in warm.findings)


def test_the_overview_tells_trenches_and_pipes() -> None:
    text = " ".join(overview.overview(design()).split())
    for words in ("3 trenches of 60.0 m (197 ft)", "per pipe", "from fluid to soil"):
        assert words in text


@pytest.mark.parametrize("units", ["SI", "IP"])
@pytest.mark.parametrize("field", FIELDS.values(), ids=FIELDS)
def test_plan_and_section_are_drawn(field: ld.TrenchField, units) -> None:
    import matplotlib.pyplot as plt

    for draw, axis in ((plots.trench_layout, "along the trenches"), (plots.trench_section, "Depth")):
        ax = draw(field, units=units)
        assert axis in ax.get_ylabel() and ("[m]" if units == "SI" else "[ft]") in ax.get_ylabel()
        plt.close(ax.figure)


# What is done, and what the message must say.
BAD = {
    "no pipes": (partial(straight, pipes=None), ["TrenchField.pipes = neither", "either pipes or a coil"]),
    "pipes and coil": (partial(straight, coil=ld.Coil(diameter=0.8, pitch=0.6, depth=1.5)), ["= both"]),
    "above the surface": (partial(straight, pipes=[[0, -1.5]]), ["-1.5 m", "above the surface"]),
    "on the surface": (partial(straight, pipes=[[0, 0.01]]), ["0.01 m", "pipe 1", "above 0.016 m"]),
    "too deep": (partial(straight, pipes=[[0, "90 ft"]]), ["27.432 m", "up to 20 m"]),
    "far across": (partial(straight, pipes=[[30, 1.5]]), ["30 m", "from -20 to 20 m"]),
    "overlap": (partial(straight, pipes=[[0, 1.5], [0.02, 1.5]]), ["0.02 m", "pipes 1 and 2", "0.032 m"]),
    "trenches overlap": (partial(straight, spacing=0.5), ["TrenchField.spacing = 0.5 m", "0.632 m"]),
    "seven pipes": (partial(straight, pipes=[[0, 1 + i / 9] for i in range(7)]), ["= 7", "from 1 to 6"]),
    "shape": (partial(straight, pipes=[0, 1.5]), ["TrenchField.pipes = shape (2,)", "shape (n, 2)"]),
    "ragged": (partial(straight, pipes=[[0, 1.5], [1]]), ["TrenchField.pipes", "shape (n, 2)"]),
    "no length": (partial(straight, length=0), ["TrenchField.length = 0 m", "from 1 to 5000 m"]),
    "length in kg": (partial(straight, length="60 kg"), ["TrenchField.length = 60 kg", "unit like m"]),
    "no trench": (partial(straight, trenches=0), ["TrenchField.trenches = 0", "from 1 to 100"]),
    "trenches by halves": (partial(straight, trenches=2.5), ["TrenchField.trenches = 2.5", "an int"]),
    "no spacing": (
        partial(straight, spacing=None),
        ["TrenchField.spacing = nothing", "more than one trench"],
    ),
    "no pipe": (partial(straight, pipe=0.032), ["TrenchField.pipe = 0.032", "must be a Pipe"]),
    "no wave": (partial(straight, surface=12.0), ["TrenchField.surface = 12.0", "must be a SurfaceWave"]),
    "wave in degrees": (
        partial(WAVE.replace, amplitude=-3),
        ["SurfaceWave.amplitude = -3 K", "from 0 to 50 K"],
    ),
    "day of a long year": (partial(WAVE.replace, coldest_day=400), ["SurfaceWave.coldest_day = 400 d"]),
    "weather as text": (partial(ld.SurfaceWave.from_weather, "cold"), ["must be a Weather"]),
    "coil out of the ground": (
        partial(coiled, upright=True, depth=0.4),
        ["Coil.depth = 0.4 m", "above 0.416 m"],
    ),
    "coil too tight": (partial(coiled, pitch=0.025), ["Coil.pitch = 0.025 m", "outer diameter of the pipe"]),
    "coil without end": (
        lambda: straight(length=4000, pipes=None, coil=ld.Coil(diameter=0.8, pitch=0.1, depth=1.5)),
        ["Coil.pitch = 0.1 m", "at most 1000 rings"],
    ),
    "coil wider than spacing": (
        lambda: straight(spacing=0.8, pipes=None, coil=ld.Coil(diameter=0.8, pitch=0.6, depth=1.5)),
        ["TrenchField.spacing = 0.8 m", "0.832 m"],
    ),
    "coil longer than trench": (
        lambda: straight(length=2.0, pipes=None, coil=ld.Coil(diameter=2.5, pitch=0.6, depth=1.5)),
        ["Coil.diameter = 2.5 m", "length of the trench, 2 m"],
    ),
    "upright by words": (partial(coiled, upright="yes"), ["Coil.upright = 'yes'", "must be a bool"]),
    "depth of a size": (lambda: design().size("depth"), ["Sizing.what = 'depth'", "length, spacing"]),
    "spacing of one": (
        lambda: design(straight(trenches=1, spacing=None)).size("spacing", years=1),
        ["Sizing.what = 'spacing'", "must be one of length, trenches"],
    ),
    "ground side": (lambda: design(3.0), ["Design.ground_side = 3.0", "must be a BoreField or a Pond"]),
    "negative resistance": (
        lambda: straight().response(GROUND, [3600.0], resistance=-1),
        ["resistance = -1 m K/W", "from 0 to 100 m K/W"],
    ),
    "warm freezing": (
        lambda: design(
            ground=GROUND.replace(temperature=-14.9),
            limits=ld.Limits(),
            fluid=ld.Fluid.constant(
                density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-5.0
            ),
        ),
        ["Fluid.freezing_point", "undisturbed ground"],
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_names_field_value_and_cure(case: str) -> None:
    do, words = BAD[case]
    with pytest.raises(ld.InvalidInput) as caught:
        do()
    for word in words:
        assert word in str(caught.value)


def test_soils_lie_in_their_ranges_and_conduct_better_when_wet() -> None:
    for name, soil in soils.SOILS.items():
        low, high = soil.conductivity_range
        assert low <= soil.conductivity <= high, name
        assert ld.Ground.of_soil(name, temperature=10.0).conductivity == soil.conductivity
    for kind in ("clay", "sand", "gravel"):
        assert soils.SOILS[f"wet {kind}"].conductivity > soils.SOILS[f"dry {kind}"].conductivity
    with pytest.raises(ld.InvalidInput, match="one of dry clay"):
        ld.Ground.of_soil("cheese", temperature=10.0)


def test_pipes_lose_pressure_along_the_trench_and_are_told_by_their_flow() -> None:
    piping = ld.Piping(pump=ld.Pump(efficiency=0.4))
    one = design(piping=piping)
    lost = one.pressure_drop().loc["pipes"]
    each, inner = 0.9 / 6.0, 0.032 * 9.0 / 11.0
    assert_allclose(lost["reynolds"], 4.0 * each / (np.pi * inner * 1e-3))
    longer = design(straight(length=120.0), piping=piping).pressure_drop().loc["pipes"]
    assert_allclose(longer["pressure_drop_Pa"], 2.0 * lost["pressure_drop_Pa"])
    assert "flow in each pipe is turbulent" in overview.overview(one)
    assert any("flow in each pipe" in finding.text for finding in one.run(1).findings)


def test_a_study_tells_when_the_soil_freezes() -> None:
    """As the wall of a run has it, but for what the exponentials lose."""
    side = straight()
    cold = design(side, ground=GROUND.replace(temperature=4.0))
    run, found = cold.run(2), ld.Study(cold, vary={"spacing": [side.spacing]}).run(2)
    walls = run.hourly["wall_degC"].groupby(level="year")
    assert_allclose(run.yearly["soil_at_pipes_min_degC"], walls.min(), atol=1e-5)
    frozen = (run.hourly["wall_degC"] < 0.0).groupby(level="year").sum()
    assert frozen.min() > 10
    assert_allclose(run.yearly["hours_soil_frozen"], frozen, atol=1)
    for name in ("soil_at_pipes_min_degC", "hours_soil_frozen"):
        assert_array_equal(found[name].isel(spacing=0), run.yearly[name])
