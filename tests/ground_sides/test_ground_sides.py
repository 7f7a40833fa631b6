"""What every kind of ground side owes the stepper: one suite over all of them."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift.reporting import overview

HOURS = np.arange(8760)
SEASON = np.cos(2 * np.pi * (HOURS / 8760 - 0.06))
CLIMATE = ld.Weather.sample("cold continental")
FLUID = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=2e-3, freezing_point=-20.0
)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)


def bores() -> ld.BoreField:
    tube = ld.UTube(pipe=PIPE, shank_spacing=0.07)
    bore = ld.Bore(depth=90.0, buried_depth=2.0, diameter=0.15, grout_conductivity=1.5, pipes=tube)
    return ld.BoreField.grid(bore, columns=2, rows=2, spacing=6.0)


def trenches() -> ld.TrenchField:
    wave = ld.SurfaceWave.from_weather(CLIMATE)
    return ld.TrenchField(
        pipe=PIPE, length=90.0, pipes=[[-0.3, 1.8], [0.3, 1.8]], trenches=4, spacing=4.0, surface=wave
    )


def pond() -> ld.Pond:
    return ld.Pond.basin(
        area=5000.0, depth=3.6, bank_slope=3.0, pipe=PIPE, circuits=6, length=90.0, weather=CLIMATE
    )


def well(distance: float | None = None) -> ld.Well:
    aquifer = ld.Aquifer(temperature=9.0, thickness=12.0, transmissivity=2e-3, storativity=2e-4)
    return ld.Well(
        aquifer=aquifer,
        diameter=0.3,
        sustained_yield=4.0,
        lift=12.0,
        pump_efficiency=0.5,
        flow=1.4,
        effectiveness=0.8,
        return_distance=distance,
        lowest_discharge=3.0,
    )


SIDES = {
    "bores": bores(),
    "trenches": trenches(),
    "pond": pond(),
    "well": well(),
    "pair of wells": well(25.0),
}
LINEAR = ["bores", "trenches", "well", "pair of wells"]
each_side = pytest.mark.parametrize("name", SIDES)


def design(name: str, **changes) -> ld.Design:
    parts = {
        "ground": ld.Ground(conductivity=1.8, volumetric_heat_capacity=2.4e6, temperature=8.0),
        "ground_side": SIDES[name],
        "fluid": FLUID,
        "flow": 1.5,
        "heat_pump": ld.HeatPump.from_curves(heating_cop=[3.6, 0.08], cooling_cop=[7.0, -0.09]),
        "loads": ld.Loads(
            heating=np.clip(8e3 * SEASON, 0, None) * (HOURS % 24 < 18),
            cooling=np.clip(-4e3 * SEASON, 0, None),
        ),
        "limits": ld.Limits(entering_fluid_min=-5.0, entering_fluid_max=35.0),
    }
    return ld.Design(**{**parts, **changes})


@each_side
def test_heat_balances_in_every_hour(name: str) -> None:
    one = design(name)
    hourly = one.run(2).hourly
    building = np.tile(one.loads.heating - one.loads.cooling, 2)
    heat = hourly["heat_extracted_W"]
    # A well's pump heats nobody.
    heat_pump = hourly["electricity_W"] - hourly.get("electricity_well_W", 0.0)
    assert_allclose(heat + heat_pump, building, rtol=1e-9, atol=1e-6)
    difference = hourly["entering_fluid_degC"] - hourly["leaving_fluid_degC"]
    assert_allclose(1.5 * 4000.0 * difference, heat, rtol=1e-9, atol=1e-6)


@each_side
def test_every_hour_has_numbers(name: str) -> None:
    assert np.isfinite(design(name).run(1).hourly.to_numpy()).all()


@each_side
def test_more_heat_is_colder_fluid(name: str) -> None:
    heating = np.clip(8e3 * SEASON, 0, None)
    little, much = (
        design(name, loads=ld.Loads(heating=scale * heating)).run(1).yearly["entering_fluid_min_degC"].iloc[0]
        for scale in (0.5, 1.0)
    )
    assert much < little - 0.1


@pytest.mark.parametrize("name", LINEAR)
def test_the_drop_is_linear_in_the_heat(name: str) -> None:
    """With constant efficiencies twice the load is twice the drop; a pond's water knows no such law."""
    heat_pump = ld.HeatPump.from_curves(heating_cop=[4.0], cooling_cop=[5.0])

    def fluid(scale: float) -> np.ndarray:
        running = np.where(HOURS % 24 < 18, SEASON, 0.0)
        loads = ld.Loads(
            heating=scale * np.clip(running, 0, None), cooling=scale * np.clip(-running, 0, None)
        )
        return design(name, loads=loads, heat_pump=heat_pump).run(2).hourly["entering_fluid_degC"].to_numpy()

    rest = fluid(1e-6)
    assert_allclose(fluid(3000.0) - rest, 2.0 * (fluid(1500.0) - rest), atol=1e-6)


def test_any_number_of_threads_gives_the_same_bits(printed_by_threads) -> None:
    script = (
        "import hashlib; import test_ground_sides as t\n"
        "runs = [t.design(name).run(2).hourly.to_numpy().tobytes() for name in t.SIDES]\n"
        "print(hashlib.sha256(b''.join(runs)).hexdigest())"
    )
    assert len(printed_by_threads(script)) == 1


@each_side
def test_a_study_finds_what_a_run_finds(name: str) -> None:
    found = ld.Study(design(name), vary={"flow": [1.4, 1.5]}).run(years=2)
    coldest = found["entering_fluid_min_degC"].isel(flow=1).to_numpy()
    assert_array_equal(coldest, design(name).run(2).yearly["entering_fluid_min_degC"])


@each_side
def test_a_design_file_gives_the_design_back(name: str, tmp_path) -> None:
    design(name).write(tmp_path / "design.toml")
    again = ld.Design.read(tmp_path / "design.toml")
    assert again.ground_side == SIDES[name]
    assert_array_equal(
        again.run(1).hourly["entering_fluid_degC"], design(name).run(1).hourly["entering_fluid_degC"]
    )


@each_side
def test_run_and_design_tell_of_themselves(name: str) -> None:
    import matplotlib.pyplot as plt

    run = design(name).run(1)
    assert str(SIDES[name]).split(",")[0] in " ".join(str(run).split())
    assert "rule of thumb" in overview.overview(run.design)
    for kind in run.kinds:
        plt.close(run.plot(kind, units="IP").figure)


BAD = {
    "no flow": (lambda name: design(name, flow=0.0), ["Design.flow = 0 kg/s", "from 0.001"]),
    "flow in K": (lambda name: design(name, flow="2 K"), ["Design.flow = 2 K"]),
    "no horizon": (lambda name: design(name).run(0), ["years = 0"]),
    "no such chart": (lambda name: design(name).run(1).plot("map"), ["Run.kind = 'map'", "horizon"]),
    "no such size": (lambda name: design(name).size("area"), ["Sizing.what = 'area'"]),
    "frozen": (
        lambda name: design(
            name,
            fluid=ld.Fluid.constant(
                density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=2e-3, freezing_point=15.0
            ),
        ),
        ["Fluid.freezing_point = 15 degC", "undisturbed"],
    ),
    "no cooling": (
        lambda name: design(name, heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0])),
        ["HeatPump.cooling_cop = nothing"],
    ),
}


@each_side
@pytest.mark.parametrize("case", BAD)
def test_bad_input_names_field_value_and_cure(name: str, case: str) -> None:
    do, words = BAD[case]
    with pytest.raises(ld.InvalidInput) as caught:
        do(name)
    for word in words:
        assert word in str(caught.value)
