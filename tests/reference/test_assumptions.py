"""What the stated assumptions are worth: groundwater by moving finite line sources, the rest by runs.

A moving line source in an infinite medium is the still one times exp(U x / 2a - U^2 / (16 a^2 s^2)) under the
integral over s = 1 / sqrt(4 a t) (Carslaw & Jaeger 1959, section 10.3, from memory); the mean over the depth
of finite sources with mirror images is that of Claesson & Javed 2011. None of it is the engine's.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import erf

import loopdrift as ld
from book import at_most, compare
from loopdrift.ground_sides.bore_field import assumptions as stated
from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.pond.kind import INFLOW_LOSS
from loopdrift.ground_sides.trench_field.kind import SOIL_LOSS
from loopdrift.reporting.overview import facts

DEMO = Path(ld.__file__).parent / "demo"
DEPTH, TOP, RADIUS = 100.0, 2.0, 0.075
CONDUCTIVITY, CAPACITY, WATER_CAPACITY = 2.0, 2.3e6, 4.19e6
DIFFUSIVITY = CONDUCTIVITY / CAPACITY
TWENTY_YEARS = 20 * 8760 * 3600.0


def ierf(x: float) -> float:
    """Integral of the error function from 0."""
    return float(x * erf(x) - (1.0 - np.exp(-x * x)) / np.sqrt(np.pi))


def fall(x: float, y: float, flux: float) -> float:
    """Fall of the mean temperature along a bore by one at (-x, -y), for each W/m [K m/W]."""
    velocity, a = flux * WATER_CAPACITY / CAPACITY, DIFFUSIVITY
    square = x * x + y * y

    def integrand(log_s: float) -> float:
        s = np.exp(log_s)
        moved = np.exp(-square * s * s - (velocity / (4.0 * a * s)) ** 2 + velocity * x / (2.0 * a))
        along = (
            2.0 * ierf(DEPTH * s)
            + 2.0 * ierf((DEPTH + 2.0 * TOP) * s)
            - ierf(2.0 * (DEPTH + TOP) * s)
            - ierf(2.0 * TOP * s)
        )
        return float(moved * along / (DEPTH * s))

    ends = -0.5 * np.log(4.0 * a * TWENTY_YEARS), np.log(6.0 / np.sqrt(square))
    return float(quad(integrand, *ends, limit=300)[0] / (4.0 * np.pi * CONDUCTIVITY))


def mean_fall(flux: float) -> float:
    """Mean over 3 x 4 bores 5 m apart, each with 5 W/m [K]."""
    places = [(5.0 * i, 5.0 * j) for i in range(4) for j in range(3)]
    pairs = [(a[0] - b[0] if a != b else RADIUS, a[1] - b[1]) for a in places for b in places]
    return 5.0 * sum(fall(x, y, flux) for x, y in pairs) / len(places)


def test_groundwater() -> None:
    compare(
        mean_fall(0.0) - mean_fall(1e-7),
        stated.GROUNDWATER_GAIN,
        rtol=0.1,
        unit="K",
        what="gain by groundwater",
    )


def test_still_ground_is_that_of_the_engine() -> None:
    """The reference without groundwater agrees with the engine's field of uniform heat flux."""
    bore = ld.Bore(depth=DEPTH, buried_depth=TOP, diameter=2.0 * RADIUS, resistance=0.1)
    ground = ld.Ground(conductivity=CONDUCTIVITY, volumetric_heat_capacity=CAPACITY, temperature=10.0)
    field = ld.BoreField.grid(bore, columns=4, rows=3, spacing=5.0)
    engine = (
        field.g_function(ground, [TWENTY_YEARS], uniform_heat_flux=True)[0]
        * 5.0
        / (2.0 * np.pi * CONDUCTIVITY)
    )
    compare(mean_fall(0.0), engine, rtol=0.01, unit="K", what="field at rest")


def lowest(design: ld.Design, years: int) -> float:
    return float(design.run(years).yearly["entering_fluid_min_degC"].iloc[-1])


def test_even_ground_and_equal_flow() -> None:
    demo = ld.Design.read(DEMO / "design.toml")
    ground, base = demo.ground, lowest(demo, 20)
    poorer = demo.replace(ground=ground.replace(conductivity=0.9 * ground.conductivity))
    compare(
        base - lowest(poorer, 20), stated.CONDUCTIVITY_LOSS, rtol=0.25, unit="K", what="lower conductivity"
    )
    compare(
        base - lowest(demo.replace(flow=0.8 * demo.flow), 20),
        stated.LAMINAR_LOSS,
        rtol=0.5,
        unit="K",
        what="laminar flow",
    )
    more_flow = abs(lowest(demo.replace(flow=1.2 * demo.flow), 20) - base)
    at_most(more_flow, 0.1, unit="K", what="a fifth more flow")


def test_double_u_in_series() -> None:
    demo = ld.Design.read(DEMO / "design.toml")
    bore, flow = demo.ground_side.bores[0], demo.flow / demo.ground_side.count
    double = bore.replace(pipes=ld.DoubleUTube(pipe=bore.pipes.pipe, shank_spacing=0.075))
    parallel, series = (
        double.resistance_at(ground=demo.ground, fluid=demo.fluid, flow=each, temperature=2.0)
        for each in (flow, 2.0 * flow)
    )
    assert parallel.regime == "laminar"
    compare(series.effective / parallel.effective, stated.SERIES_RESISTANCE, rtol=0.1, what="pipes in series")


def test_soil_of_trenches() -> None:
    demo = ld.Design.read(DEMO / "trenches.toml")
    ground = demo.ground
    poorer = demo.replace(ground=ground.replace(conductivity=0.8 * ground.conductivity))
    compare(lowest(demo, 5) - lowest(poorer, 5), SOIL_LOSS, rtol=0.5, unit="K", what="poorer soil")


def test_groundwater_in_a_pond() -> None:
    demo = ld.Design.read(DEMO / "pond.toml")
    fed = demo.replace(ground_side=demo.ground_side.replace(inflow=5.0, inflow_temperature=8.0))
    compare(lowest(demo, 5) - lowest(fed, 5), INFLOW_LOSS, rtol=0.5, unit="K", what="inflow")


@pytest.mark.parametrize("name", ["design", "trenches", "pond", "well"])
def test_every_kind_states_its_assumptions(name: str) -> None:
    demo = ld.Design.read(DEMO / f"{name}.toml")
    said = " ".join(str(demo.run(1)).split())
    assert f"Assumptions: {kind_of(demo.ground_side).assumptions(demo)}." in said
    assert dict(facts(demo))["assumptions"] == kind_of(demo.ground_side).assumptions(demo)
