"""Bore fields as Python sees them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
BORE = ld.Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.10)
YEAR = 8760 * 3600.0
TIMES = np.array([3600.0, 30 * 86400.0, YEAR, 50 * YEAR])


def test_grid_counts_row_by_row() -> None:
    field = ld.BoreField.grid(BORE, columns=3, rows=2, spacing="20 ft")
    step = 20 * 0.3048
    assert field.count == 6
    assert_allclose(field.total_depth, 600.0)
    assert_allclose(field.positions, step * np.array([[0, 0], [1, 0], [2, 0], [0, 1], [1, 1], [2, 1]]))


def test_positions_take_units() -> None:
    field = ld.BoreField(BORE, positions=[["0 m", "0 ft"], ["10 ft", 5.0]])
    assert_allclose(field.positions, [[0.0, 0.0], [3.048, 5.0]])


def test_bores_that_overlap_are_named() -> None:
    with pytest.raises(ld.InvalidInput, match="bores 1 and 3"):
        ld.BoreField(BORE, positions=[[0.0, 0.0], [6.0, 0.0], [0.1, 0.0]])


@pytest.mark.parametrize("positions", [[], [1.0, 2.0], [[1.0, 2.0, 3.0]], [[[0.0, 0.0]]]])
def test_positions_are_pairs(positions: Any) -> None:
    with pytest.raises(ld.InvalidInput, match="positions"):
        ld.BoreField(BORE, positions=positions)


@pytest.mark.parametrize("count", [0, 2, 4])
def test_bores_go_with_positions(count: int) -> None:
    with pytest.raises(ld.InvalidInput, match="one for each of the 3 positions"):
        ld.BoreField([BORE] * count, positions=[[0.0, 0.0], [6.0, 0.0], [12.0, 0.0]])


def test_bores_differ_in_depth_and_top_only() -> None:
    places = [[0.0, 0.0], [6.0, 0.0]]
    field = ld.BoreField([BORE, BORE.replace(depth=80.0, buried_depth=1.0)], positions=places)
    assert_allclose(field.depths, [100.0, 80.0])
    with pytest.raises(ld.InvalidInput, match="resistance"):
        ld.BoreField([BORE, BORE.replace(resistance=0.2)], positions=places)


def test_order_makes_no_difference() -> None:
    random = np.random.default_rng(3)
    places = 7.0 * np.array([[i % 3, i // 3] for i in range(6)]) + random.uniform(0, 4, (6, 2))
    bores = [
        BORE.replace(depth=depth, buried_depth=buried_depth)
        for depth, buried_depth in random.uniform([60, 0], [150, 6], (6, 2))
    ]
    order = random.permutation(6)
    field = ld.BoreField(bores, positions=places)
    shuffled = ld.BoreField([bores[i] for i in order], positions=places[order])
    assert_allclose(field.g_function(GROUND, TIMES), shuffled.g_function(GROUND, TIMES), rtol=1e-12)


def test_equal_bores_given_one_by_one_are_one_bore() -> None:
    one = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    each = ld.BoreField([BORE] * 4, positions=one.positions)
    assert_allclose(each.g_function(GROUND, TIMES), one.g_function(GROUND, TIMES), rtol=1e-12)


def test_g_function_has_the_shape_of_its_times() -> None:
    field = ld.BoreField.grid(BORE, columns=2, rows=1, spacing=6.0)
    assert_allclose(
        field.g_function(GROUND, TIMES.reshape(2, 2)), field.g_function(GROUND, TIMES).reshape(2, 2)
    )


def test_bores_far_apart_are_alone() -> None:
    """After a year, heat has gone some 11 m: 300 m are beyond its reach."""
    alone = ld.BoreField(BORE, positions=[[0.0, 0.0]]).g_function(GROUND, TIMES[:3])
    two = ld.BoreField(BORE, positions=[[0.0, 0.0], [300.0, 0.0]]).g_function(GROUND, TIMES[:3])
    assert_allclose(two, alone, rtol=1e-5)


def built_design(field: ld.BoreField, share: float) -> ld.Design:
    """Return a design of built bores with this many times the flow and the loads of one bore."""
    loads = np.where(np.arange(8760) % 24 < 8, 4500.0, 0.0)
    return ld.Design(
        ground=GROUND,
        ground_side=field,
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.2),
        flow=0.3 * share,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),
        loads=ld.Loads(heating=share * loads),
    )


BUILT = BORE.replace(
    resistance=None,
    grout_conductivity=1.5,
    pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07),
)


def test_each_bore_has_its_share_of_the_flow() -> None:
    """Three bores out of each other's reach, with three times the flow and the loads, are one bore thrice."""
    alone = ld.BoreField(BUILT, positions=[[0.0, 0.0]])
    apart = ld.BoreField(BUILT, positions=[[0.0, 0.0], [300.0, 0.0], [600.0, 0.0]])
    one, three = (built_design(field, field.count).run(1).hourly for field in (alone, apart))
    for column in ("entering_fluid_degC", "wall_degC"):
        assert_allclose(three[column], one[column], rtol=0.0, atol=2e-3)


def test_no_built_bore_stands_for_the_others() -> None:
    """A deep and a short bore in either order give one run, from the first hours on."""
    bores = [BUILT.replace(depth=60.0), BUILT.replace(depth=180.0)]
    places = [[0.0, 0.0], [8.0, 0.0]]
    runs = [
        built_design(ld.BoreField(bores[::step], positions=places[::step]), 2.0).run(1).hourly
        for step in (1, -1)
    ]
    for column in ("entering_fluid_degC", "wall_degC"):
        assert_allclose(runs[0][column], runs[1][column], rtol=0.0, atol=1e-6)


def test_one_wall_temperature_takes_the_least_drop() -> None:
    """Uniform heat flux leaves the middle of a field coldest: its mean drop is larger after decades."""
    field = ld.BoreField.grid(BORE, columns=5, rows=5, spacing=6.0)
    wall = field.g_function(GROUND, TIMES)
    heat = field.g_function(GROUND, TIMES, uniform_heat_flux=True)
    assert np.all(heat > wall * (1 - 1e-5))
    assert heat[-1] > 1.05 * wall[-1]


def test_equality_and_replace() -> None:
    field = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    same = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    assert field == same
    assert hash(field) == hash(same)
    wider = field.replace(positions=2.0 * field.positions)
    deeper = field.replace(bore=BORE.replace(depth=120.0))
    assert wider != field
    assert deeper != field
    assert wider.bores == field.bores
    assert_allclose(wider.positions, 2.0 * field.positions)
    assert_allclose(deeper.total_depth, 480.0)
