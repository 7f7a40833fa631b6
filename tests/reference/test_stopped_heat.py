"""Recovery and steady state against superposition of the stopped heat and of steady line sources.

References: superposition in time (Carslaw & Jaeger 1959, Duhamel's theorem; from memory), written out with
the g-function, which has references of its own; and the steady continuous point source, q / (4 pi k r)
(Carslaw & Jaeger 1959, 10.2; from memory), integrated along segments of the bores and their mirror images,
whose heat is solved for so that all have one temperature.
"""

from __future__ import annotations

import numpy as np
import pytest

import loopdrift as ld
from book import compare

HOUR, YEAR = 3600.0, 8760 * 3600.0
HEAT, COP = 900.0, 4.0


def design(columns: int = 1, **changes: object) -> ld.Design:
    """Bores that give the same heat in every hour, whatever their temperature."""
    bore = ld.Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.1)
    parts = {
        "ground": ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0),
        "ground_side": ld.BoreField.grid(bore, columns=columns, rows=1, spacing=5.0),
        "fluid": ld.Fluid.constant(
            density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-40.0
        ),
        "flow": 0.4 * columns,
        "heat_pump": ld.HeatPump.from_curves(heating_cop=[COP]),
        "loads": ld.Loads(heating=HEAT * columns * COP / (COP - 1.0)),
    }
    return ld.Design(**parts | changes)


def kelvins(design: ld.Design, g: np.ndarray | float) -> np.ndarray | float:
    """Temperature drop of the wall for a g-function with all the heat [K]."""
    field = design.ground_side
    return HEAT * field.count * g / (2 * np.pi * design.ground.conductivity * field.total_depth)


@pytest.mark.parametrize("columns", [1, 4])
def test_constant_heat_that_stops(columns: int) -> None:
    base = design(columns)
    found = base.run(15).recovery(10)
    since = np.arange(1, 11) * YEAR
    field, ground = base.ground_side, base.ground
    g = field.g_function(ground, 15 * YEAR + since) - field.g_function(ground, since)
    compare(found.wall, 10.0 - kelvins(base, g), rtol=0, atol=2e-4, unit="degC", what="wall")
    hours = HOUR * np.arange(14 * 8760 + 1, 15 * 8760 + 1)
    working = 10.0 - kelvins(base, field.g_function(ground, hours)).mean()
    compare(found.working, working, rtol=0, atol=2e-4, unit="degC", what="wall while working")
    compare(
        found.recovered, (found.wall - working) / (10.0 - working), rtol=0, atol=2e-4, what="recovered share"
    )


def test_seasonal_heat_that_stops_in_a_summer() -> None:
    """The run begins in July; its heat is superposed hour by hour."""
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    loads = ld.Loads(
        heating=np.clip(4000.0 * season, 0.0, None), recharge=np.where(season < -0.5, 700.0, 0.0)
    )
    base = design(3, loads=loads, start_month=7)
    run = base.run(3)
    found = run.recovery(2)
    heat = np.concatenate([run.hourly["heat_extracted_W"], np.zeros(2 * 8760)])
    g = base.ground_side.g_function(base.ground, HOUR * np.arange(1, len(heat) + 1))
    pulses = np.diff(g, prepend=0.0)
    for year, wall in found.wall.items():
        hours = (3 + year) * 8760
        drop = heat[:hours] @ pulses[hours - 1 :: -1] / (2 * np.pi * 2.0 * base.ground_side.total_depth)
        compare(wall, 10.0 - drop, rtol=0, atol=1e-4, unit="degC")


def steady_g(field: ld.BoreField, segments: int = 48) -> float:
    """Drop of the wall x 2 pi k over the mean heat per metre, in the steady state, for equal bores."""
    bore = field.bores[0]
    edges = bore.buried_depth + 0.5 * bore.depth * (1 - np.cos(np.pi * np.arange(segments + 1) / segments))
    begin, end, middle = edges[:-1], edges[1:], 0.5 * (edges[:-1] + edges[1:])

    def potential(distance: float) -> np.ndarray:
        """4 pi k x temperature in the middle of each segment for a unit of heat per metre of each other."""

        def line(low: np.ndarray, high: np.ndarray) -> np.ndarray:
            z = middle[:, None]
            return np.arcsinh((high - z) / distance) - np.arcsinh((low - z) / distance)

        return line(begin, end) - line(-end, -begin)

    apart = np.linalg.norm(field.positions[:, None] - field.positions, axis=2)
    blocks = [[potential(max(distance, bore.diameter / 2)) for distance in row] for row in apart]
    heat = np.linalg.solve(np.block(blocks) / (4 * np.pi), np.ones(segments * field.count))
    return float(2 * np.pi / (heat.reshape(-1, segments).mean(axis=0) @ (end - begin) / bore.depth))


@pytest.mark.parametrize("columns", [1, 4])
def test_the_steady_state_is_that_of_steady_sources(columns: int) -> None:
    base = design(columns)
    found = base.run(1).heat_build_up()
    fluid = HEAT * (0.1 / 100.0 - 0.5 / (0.4 * 4000.0))
    for which in ("min", "mean", "max"):
        drop = 10.0 - fluid - found.final[which]
        compare(drop, kelvins(base, steady_g(base.ground_side)), rtol=1e-3, what=which, unit="K")


@pytest.mark.parametrize("columns", [1, 6])
def test_the_year_of_90_percent_is_that_of_the_response(columns: int) -> None:
    base = design(columns)
    found = base.run(1).heat_build_up()
    months = (np.arange(100 * 12 * 4) + 0.5) * YEAR / (12 * 4)
    yearly = base.ground_side.g_function(base.ground, months).reshape(100, -1).mean(axis=1)
    steady = base.ground_side.g_function(base.ground, 10_000 * YEAR)
    done = (yearly - yearly[0]) / (steady - yearly[0])
    expected = int(np.argmax(done >= 0.9)) + 1
    assert done.max() > 0.9 and expected > 1
    assert found.settled_year == expected
    compare(
        found.final_drift["mean"], -kelvins(base, steady - yearly[0]), rtol=2e-3, unit="K", what="mean drift"
    )


def test_where_it_ends_does_not_hang_on_where_the_longer_run_ends() -> None:
    """With a heat pump whose COP follows the fluid: from 100 years and from half of them."""
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    base = design(
        6,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[3.5, 0.08]),
        loads=ld.Loads(heating=np.clip(18e3 * season, 0.0, None)),
    )
    whole, half = base.run(100), base.run(50)
    found = whole.heat_build_up()
    left = found.final["mean"] - half.yearly["entering_fluid_mean_degC"].iloc[-1]
    from loopdrift.analysis import heat_build_up

    compare(
        heat_build_up._rest_of_drift(half, 1),
        left,
        rtol=0,
        atol=0.01 * abs(found.final_drift["mean"]),
        unit="K",
    )
