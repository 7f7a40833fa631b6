"""Runs in ground that warms against superposition written here.

With a COP that doesn't depend on temperature, the heat follows from the loads alone. The fluid is then the
ground's temperature, its change, the convolution of the heat with the field's response, and the resistance.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.linalg import solve_banded
from scipy.signal import fftconvolve
from scipy.special import erfc

import loopdrift as ld
from book import compare

YEARS = 3
HOURS = 8760
COP = 4.0
CAPACITY_FLOW = 0.5 * 4000.0  # W/K
END = np.arange(1, YEARS * HOURS + 1.0)
MONTHLY = np.round(3.0 * np.sin(np.arange(12 * YEARS + 1) / 5.0) + np.arange(12 * YEARS + 1) / 20.0, 3)

WARMINGS = {
    "rate": ld.Warming(rate="0.3 K/year"),
    "series": ld.Warming(values=MONTHLY, interval="1 month"),
    "both": ld.Warming(rate=-0.1, values=MONTHLY, interval=730.0),
}


def change(name):
    """Change of the ground at the end of each hour [K]."""
    of_rate = {"rate": 0.3, "series": 0.0, "both": -0.1}[name] * END / HOURS
    return of_rate + (0.0 if name == "rate" else np.interp(END, 730.0 * np.arange(len(MONTHLY)), MONTHLY))


@pytest.fixture(scope="module")
def plant(design):
    heat_pump = ld.HeatPump.from_curves(heating_cop=[COP], cooling_cop=[COP])
    ground = design.ground.replace(gradient=0.02)
    return design.replace(heat_pump=heat_pump, ground=ground)


def drops(response, heat):
    """Superpose the response to constant heat [K/W] of the heat of each hour [W]."""
    return fftconvolve(np.diff(response, prepend=0.0), heat)[: len(heat)]


def extracted(design):
    asked = design.demand
    of_year = asked["heating"] * (1.0 - 1.0 / COP) - asked["cooling"] * (1.0 + 1.0 / COP)
    return np.tile(of_year, YEARS)


@pytest.mark.parametrize("name", list(WARMINGS))
def test_bores(plant, name):
    """Entering fluid and wall of bores."""
    field = plant.ground_side
    warm = plant.replace(ground=plant.ground.replace(warming=WARMINGS[name]))
    run = warm.run(YEARS)
    response = field.g_function(plant.ground, 3600.0 * END) / (2.0 * np.pi * 2.0 * field.total_depth)
    heat = extracted(plant)
    wall = 10.0 + 0.02 * (2.0 + 50.0) + change(name) - drops(response, heat)
    fluid = wall - 0.1 / field.total_depth * heat + 0.5 * heat / CAPACITY_FLOW
    compare(run.hourly["wall_degC"], wall, rtol=0.0, atol=1e-4, unit="degC", what="wall")
    compare(run.hourly["entering_fluid_degC"], fluid, rtol=0.0, atol=1e-4, unit="degC", what="fluid")
    assert run.error.exponentials < 1e-6


@pytest.mark.parametrize("name", ["rate", "series"])
def test_trenches(plant, name):
    """Entering fluid of trenches: the season of the first year, measured without loads, and the change."""
    field = ld.TrenchField.rows(
        ld.Pipe.sdr(11, outer_diameter=0.032),
        length=50.0,
        columns=2,
        depth=1.5,
        gap=0.6,
        trenches=4,
        spacing=3.0,
        surface=ld.SurfaceWave(amplitude=10.0, coldest_day=30.0),
    )
    still = plant.replace(ground_side=field)
    warm = still.replace(ground=plant.ground.replace(warming=WARMINGS[name]))
    without, found = (each.run(YEARS).hourly["entering_fluid_degC"] for each in (still, warm))
    # The heat is the same, so the fluid moves with the ground, up to what its film does with the temperature.
    np.testing.assert_allclose(found - without, change(name), atol=1e-4)


def test_error_check_knows_the_change(plant):
    """The printed error of a built bore, whose film follows the warmer fluid, stays that of still ground."""
    bore = ld.Bore(
        depth=100.0,
        buried_depth=2.0,
        diameter=0.15,
        pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07),
        grout_conductivity=1.5,
    )
    built = plant.replace(ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0))
    warm = built.replace(ground=plant.ground.replace(warming=WARMINGS["both"]))
    errors = [each.run(YEARS).error for each in (built, warm)]
    assert errors[1].exponentials < max(1e-6, 2.0 * errors[0].exponentials)


def test_share_of_a_warming_surface_that_reaches_a_depth():
    """The equation of the guide, 4 i2erfc(x), against implicit finite differences of the half-space."""
    guide = (Path(__file__).parents[2] / "python" / "docs" / "guides" / "warming.md").read_text()
    names: dict[str, Any] = {"np": np, "erfc": erfc}
    exec(re.search(r"(?ms)^def share.*?^    return .*?$", guide)[0], names)  # as printed
    diffusivity, years, steps = 1e-6, 40, 2000
    depths = np.linspace(0.0, 400.0, 1601)
    step = years * HOURS * 3600.0 / steps
    reach = diffusivity * step / (depths[1] - depths[0]) ** 2
    bands = np.full((3, len(depths)), -reach)
    bands[1] = 1.0 + 2.0 * reach
    bands[1, [0, -1]], bands[0, 1], bands[2, -2] = 1.0, 0.0, 0.0
    warmed = np.zeros(len(depths))
    for place in range(1, steps + 1):
        warmed[0] = place / steps
        warmed = solve_banded((1, 1), bands, warmed)
    at = np.searchsorted(depths, [2.0, 10.0, 30.0, 60.0, 102.0])
    compare(names["share"](depths[at], diffusivity, years), warmed[at], rtol=0.0, atol=5e-4, what="share")


def test_ground_temperatures(plant):
    """Far from the bores, the ground is what it would be without them."""
    warm = plant.replace(ground=plant.ground.replace(warming=WARMINGS["series"]))
    run, still = warm.run(YEARS), plant.run(YEARS)
    far, near = [500.0, 500.0, 40.0], [1.0, 0.5, 40.0]
    moved = change("series")
    for year, hour in ((1, 0), (2, 4000), (3, 8759)):
        at = (year - 1) * HOURS + hour
        found = run.ground_temperature([far, near], years=year, hour=hour).to_numpy()[0]
        without = still.ground_temperature([far, near], years=year, hour=hour).to_numpy()[0]
        compare(found[0], 10.8 + moved[at], rtol=0.0, atol=1e-6, unit="degC", what="far ground")
        # The same heat cools the ground alike.
        compare(found[1] - without[1], moved[at], rtol=0.0, atol=1e-6, unit="K", what="near ground")
    assert run.far_field_radius(0.1) == pytest.approx(still.far_field_radius(0.1), abs=1e-3)
