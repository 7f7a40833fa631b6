"""Flow in the pipes of a ground side, what it takes of pipe and land, and how many sizes are tried."""

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.parts.bore import USUAL_PIPE
from loopdrift.parts.plant.heat_pump import RATING_POINTS

GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
FLUID = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
)
PIPE = ld.Pipe(outer_diameter=0.032, wall_thickness=0.003)
AQUIFER = ld.Aquifer(temperature=10.5, thickness=12.0, transmissivity=2e-3, storativity=2e-4)
WAVE = ld.SurfaceWave(amplitude=10.0, coldest_day=31.0)


def trenches(**changes):
    pipes = {"length": 60.0, "pipes": [[-0.3, 1.6], [0.3, 1.6]], "trenches": 3, "spacing": 3.0}
    return ld.TrenchField(pipe=PIPE, surface=WAVE, **{**pipes, **changes})


def test_the_flow_of_a_pond_is_shared_by_its_coils():
    """Re = 4 m / (pi d mu) of one coil's share."""
    pond = ld.Pond(
        bathymetry=[[0.0, 5000.0], [4.0, 1500.0]],
        pipe=PIPE,
        circuits=6,
        length=90.0,
        weather=ld.Weather.sample("cold continental"),
    )
    found = pond.flow_in_pipes(ground=GROUND, fluid=FLUID, flow=1.8, temperature=5.0)
    assert found.reynolds == pytest.approx(4.0 * 0.3 / (np.pi * 0.026 * 1e-3), rel=1e-12)


def test_unequal_bores_show_the_deepest_and_take_the_sum_of_their_lengths():
    pipes = ld.UTube(pipe=PIPE, shank_spacing=0.07)
    short = ld.Bore(depth=60.0, buried_depth=1.0, diameter=0.15, pipes=pipes, grout_conductivity=1.5)
    deep = short.replace(depth=200.0, buried_depth=3.0)
    field = ld.BoreField([short, deep], positions=[[0.0, 0.0], [6.0, 0.0]])
    state = {"ground": GROUND, "fluid": FLUID, "temperature": 5.0}
    alone = deep.resistance_at(flow=0.25, **state)
    assert field.flow_in_pipes(flow=0.5, **state).resistance == pytest.approx(alone.effective, rel=1e-12)
    assert field.takes["bored_m"] == pytest.approx(60.0 + 1.0 + 200.0 + 3.0)
    assert field.takes["pipe_m"] == pytest.approx(2.0 * field.takes["bored_m"])


@pytest.mark.parametrize(("trenches_now", "most"), [(1, 12), (3, 12), (8, 16)])
def test_sizing_tries_every_number_of_trenches_to_twice_as_many(trenches_now, most):
    family = trenches(trenches=trenches_now).family()
    assert [each.trenches for each in family] == list(range(1, most + 1))


@pytest.mark.parametrize("degrees", [0.0, 30.0])
def test_trenches_that_just_fit_a_plot_lie_within_it(degrees):
    field = trenches()
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.array([[cos, sin], [-sin, cos]])
    width = field.across
    corners = np.array([[0.0, 0.0], [60.0, 0.0], [60.0, width], [0.0, width]]) * 1.001
    placed = field.placed_on(ld.SitePlan(property_lines=corners @ turn))
    assert placed is not None
    points = np.concatenate(placed.paths)
    points = points[~np.isnan(points[:, 0])] @ turn.T
    assert points.min() > -1e-6
    assert points[:, 0].max() < 60.07
    assert points[:, 1].max() < width * 1.001 + 1e-6


def test_no_heat_exchanger_is_sized_beyond_all_the_heat():
    well = ld.Well(
        aquifer=AQUIFER,
        diameter=0.3,
        sustained_yield=5.0,
        lift=14.0,
        pump_efficiency=0.5,
        flow=1.5,
        effectiveness=0.8,
        lowest_discharge=3.0,
    )
    least, most = well.sizes["effectiveness"].between
    assert 0.0 < least < most < 1.0


def test_rating_points_are_those_of_the_standard_in_fahrenheit():
    """ISO 13256-1, ground-loop heat pumps: 32 degF heating and 77 degF cooling; from memory."""
    fahrenheit = {mode: 1.8 * value + 32.0 for mode, value in RATING_POINTS.items()}
    assert fahrenheit == {"heating": pytest.approx(32.0), "cooling": pytest.approx(77.0)}


def test_the_usual_pipe_has_the_wall_of_its_series():
    """32 mm of SDR 11 has 2.9 to 3.0 mm (EN 12201-2, from memory); SDR 13.6 has 2.4."""
    assert USUAL_PIPE.wall_thickness == pytest.approx(2.95e-3, rel=0.02)


def test_a_pipe_that_is_hardly_open_is_still_a_pipe():
    assert ld.Pipe(outer_diameter=0.020, wall_thickness=0.0094).wall_thickness == 0.0094
