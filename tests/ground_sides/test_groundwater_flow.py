"""Groundwater that flows past bores, in designs: what it does, what is said, and what is refused."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.reporting import report
from loopdrift.reporting.overview import facts

DEMO = files("loopdrift") / "demo"


@pytest.fixture(scope="module")
def still():
    return ld.Design.read(DEMO / "design.toml")


def wet(design, flux=2e-7, towards=90.0):
    return design.replace(ground=design.ground.replace(darcy_flux=flux, flow_direction=towards))


def test_water_ends_the_drift(still):
    lowest = {
        flux: wet(still, flux).run(20).yearly["entering_fluid_min_degC"].to_numpy() for flux in (0.0, 5e-7)
    }
    assert lowest[5e-7][-1] > lowest[0.0][-1] + 0.3
    assert abs(lowest[5e-7][-1] - lowest[5e-7][4]) < 0.02
    assert lowest[0.0][4] - lowest[0.0][-1] > 0.1


def test_printed_error_covers_the_stepper(still):
    """The error that a run states includes that of the response in moving ground."""
    run = wet(still).run(5)
    assert 0.0 < run.error.largest < 0.02


def test_said(still):
    stated = dict(facts(wet(still)))["groundwater"]
    assert "Darcy flux 2e-07 m/s (6.3" in stated and "towards 90 deg from north" in stated
    assert "groundwater" not in dict(facts(still))
    said = " ".join(str(wet(still).run(2)).split())
    assert "groundwater that flows at the given rate" in said
    assert "no groundwater flow" not in said
    page = " ".join(report.page(wet(still).run(2)).split())
    assert "its water flows as given" in page and "no groundwater flow" not in page
    assert "has no groundwater flow" in " ".join(report.page(still.run(2)).split())


def test_study_over_the_flux_has_the_runs_of_its_cases(still):
    fluxes = [0.0, 1e-8, 3e-7]
    found = ld.Study(still, vary={"ground.darcy_flux": fluxes}).run(2)
    for place, flux in enumerate(fluxes):
        alone = wet(still, flux, 0.0).run(2).yearly["entering_fluid_min_degC"].to_numpy()
        assert (found["entering_fluid_min_degC"].to_numpy()[..., place, :] == alone).all()


def test_read_from_a_design_file(tmp_path, still):
    path = tmp_path / "wet.toml"
    wet(still).write(path)
    read = ld.Design.read(path)
    assert (read.ground.darcy_flux, read.ground.flow_direction) == (2e-7, 90.0)


def test_units():
    ground = ld.Ground(
        conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0, darcy_flux="0.5 ft/day"
    )
    assert ground.darcy_flux == pytest.approx(0.5 * 0.3048 / 86400.0)


@pytest.mark.parametrize("demo", ["trenches", "pond", "well"])
def test_other_loops_need_still_ground(demo):
    design = ld.Design.read(DEMO / f"{demo}.toml")
    with pytest.raises(
        ld.InvalidInput, match=r"Ground.darcy_flux = 0.0000002 m/s: must be 0: groundwater flow"
    ):
        wet(design).run(1)


@pytest.mark.parametrize(
    ("given", "part"),
    [
        ({"darcy_flux": -1e-8}, "darcy_flux"),
        ({"darcy_flux": 1e-3}, "darcy_flux"),
        ({"darcy_flux": float("nan")}, "darcy_flux"),
        ({"flow_direction": 400.0}, "flow_direction"),
        ({"darcy_flux": "3 kg/s"}, "darcy_flux"),
    ],
)
def test_bad_values_are_named(given, part):
    with pytest.raises(ld.InvalidInput, match=f"Ground.{part}"):
        ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0, **given)


def test_what_is_not_supported_is_refused(still):
    ground, bore = wet(still).ground, still.ground_side.bores[0]
    with pytest.raises(ld.InvalidInput, match="uniform heat flux"):
        still.ground_side.g_function(ground, [1e7], uniform_heat_flux=True)
    leaning = ld.BoreField(bore, positions=[[0.0, 0.0], [8.0, 0.0]], inclination=10.0, direction=90.0)
    with pytest.raises(ld.InvalidInput, match=r"Ground.darcy_flux.*inclined bores"):
        leaning.g_function(ground, [1e7])
    many = ld.BoreField.grid(bore, columns=20, rows=20, spacing=6.0)
    with pytest.raises(ld.InvalidInput, match=r"BoreField.positions = 400 bores: must be at most"):
        many.g_function(ground, [1e7])


def test_the_cold_lies_downstream(still):
    """Beside the field the ground is warmer than in still ground, downstream colder, and the plume is far."""
    still_run, run = still.run(3), wet(still, 5e-7, 90.0).run(3)
    middle, depth = still.ground_side.positions.mean(axis=0), 60.0
    points = [[middle[0] + east, middle[1], depth] for east in (-20.0, 20.0, 40.0)]
    upstream, near, far = run.ground_temperature(points, years=3).to_numpy()[0]
    _, near_still, _ = still_run.ground_temperature(points, years=3).to_numpy()[0]
    undisturbed = still.ground.temperature + still.ground.gradient * depth
    assert abs(upstream - undisturbed) < 0.01
    assert near < near_still - 0.05 and far < undisturbed - 0.05
    assert run.far_field_radius(0.1) > 2.0 * still_run.far_field_radius(0.1)
    section = run.ground_map()
    assert section["x"].max() - middle[0] > 1.5 * (middle[0] - section["x"].min())


def test_heat_of_the_ground_is_that_extracted(still):
    heat = wet(still, 1e-6, 200.0).run(2).ground_heat()
    sources = heat["from_ground_kWh"] + heat["from_surface_kWh"] + heat["from_bores_kWh"]
    np.testing.assert_allclose(sources, heat["heat_extracted_kWh"], rtol=1e-4)


def test_heat_moves_slower_than_the_darcy_flux_suggests(still):
    """Water's heat capacity per volume is 4.18 MJ/(m3 K) (CRC Handbook, at 20 degC, from memory)."""
    velocity = wet(still, 1e-6, 90.0).ground.thermal_velocity
    expected = 1e-6 * 4.18e6 / still.ground.volumetric_heat_capacity
    np.testing.assert_allclose(velocity, [expected, 0.0], rtol=1e-3, atol=1e-18)


def test_direction_matters_and_a_turn_by_half_does_not(still):
    row = ld.BoreField(still.ground_side.bores[0], positions=[[0.0, 5.0 * i] for i in range(5)])
    times = np.array([1e7, 1e9])
    along, back, across = (
        row.g_function(wet(still, 5e-7, towards).ground, times) for towards in (0.0, 180.0, 90.0)
    )
    np.testing.assert_allclose(along, back, rtol=1e-6)
    assert (across < along).all()
