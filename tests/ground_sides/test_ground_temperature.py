"""The ground around a field after a run: its temperature, and where the heat came from."""

import pickle

import numpy as np
import pytest
from matplotlib import pyplot as plt
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots
from loopdrift.basics.errors import InvalidInput

GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.0, gradient=0.025)


@pytest.fixture(autouse=True)
def close_figures():
    yield
    plt.close("all")


def bore(depth, stores):
    inside = (
        {
            "grout_conductivity": 1.5,
            "pipes": ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07),
        }
        if stores
        else {"resistance": 0.1}
    )
    return ld.Bore(depth=depth, buried_depth=2.0, diameter=0.15, **inside)


@pytest.fixture(scope="module", params=["equal", "unequal", "storing", "unequal and storing"])
def busy(request, design):
    """A run whose heat changes much from hour to hour, in ground with a gradient."""
    stores = "storing" in request.param
    depths = [70.0, 80.0, 90.0, 100.0] if "unequal" in request.param else [85.0] * 4
    field = ld.BoreField(
        [bore(depth, stores) for depth in depths], positions=[[0, 0], [5, 0], [0, 6], [5, 7]]
    )
    hours = np.arange(8760)
    swing = 6000.0 * np.cos(2 * np.pi * hours / 8760) + 5000.0 * np.random.default_rng(3).normal(size=8760)
    loads = ld.Loads(heating=np.clip(swing, 0.0, None), cooling=np.clip(-0.5 * swing, 0.0, None))
    return design.replace(ground=GROUND, ground_side=field, loads=loads, flow=1.2).run(2)


def along(depth):
    """Places and weights along a bore that serve the ends, where the heat is greatest."""
    lengths = 1.4 ** np.minimum(np.arange(24), 23 - np.arange(24))
    edges = np.concatenate([[0.0], np.cumsum(lengths)]) / lengths.sum()
    points, weights = np.polynomial.legendre.leggauss(4)
    width = np.diff(edges)[:, None]
    return (depth * (edges[:-1, None] + width * (points + 1.0) / 2.0)).ravel(), (
        width * weights / 2.0
    ).ravel()


@pytest.mark.parametrize(("year", "hour"), [(2, 8759), (1, 8759), (2, 4111), (1, 30)])
def test_the_walls_have_the_temperature_of_the_run(busy, year, hour):
    field = busy.design.ground_side
    angles = 0.3 + np.pi / 2 * np.arange(4)
    means, expected = [], []
    wall = busy.hourly["wall_degC"].loc[year, hour]
    middle = np.average(2.0 + field.depths / 2.0, weights=field.depths)
    for (x, y), depth in zip(field.positions, field.depths, strict=True):
        down, weights = along(depth)
        ring = [
            (x + 0.075 * np.cos(angle), y + 0.075 * np.sin(angle), 2.0 + z) for angle in angles for z in down
        ]
        found = busy.ground_temperature(ring, years=year, hour=hour).to_numpy().reshape(4, -1)
        means.append(found.mean(axis=0) @ weights)
        # The drop is the same for all bores, the undisturbed temperature is not.
        expected.append(wall + GROUND.gradient * (2.0 + depth / 2.0 - middle))
    assert_allclose(means, expected, rtol=0.0, atol=0.01)
    assert_allclose(np.average(means, weights=field.depths), wall, rtol=0.0, atol=0.002)


def test_the_ground_is_undisturbed_far_away_and_at_the_surface(busy):
    found = busy.ground_temperature([[400.0, 0.0, 50.0], [0.0, 0.0, 600.0], [2.0, 1.0, 0.0]])
    assert_allclose(found[0], [10.0 + 0.025 * 50.0, 10.0 + 0.025 * 600.0, 10.0], rtol=0.0, atol=1e-9)


def test_heat_comes_from_ground_surface_and_bores(busy):
    table = busy.ground_heat()
    gross = (busy.yearly["heat_extracted_kWh"] + busy.yearly["heat_rejected_kWh"]).cumsum()
    net = (busy.yearly["heat_extracted_kWh"] - busy.yearly["heat_rejected_kWh"]).cumsum()
    assert_allclose(table["heat_extracted_kWh"], net, rtol=1e-12)
    parts = table["from_ground_kWh"] + table["from_surface_kWh"] + table["from_bores_kWh"]
    assert_allclose((parts - net) / gross, 0.0, atol=1e-4)
    assert (table["from_surface_kWh"] / gross).abs().min() > 1e-4


@pytest.fixture(scope="module")
def lone(design):
    field = ld.BoreField(bore(40.0, False), positions=[[3.0, -2.0]])
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    loads = ld.Loads(heating=np.clip(2000.0 * season, 0.0, None))
    return design.replace(ground=GROUND, ground_side=field, loads=loads, flow=0.4).run(3)


def test_heat_from_the_ground_is_the_integral_of_its_temperature(lone):
    """Analytic: heat capacity x change of temperature, over rings and layers around one bore."""
    radii, layers = np.geomspace(0.05, 60.0, 160), np.linspace(0.0, 90.0, 181)
    places = np.column_stack([3.0 + radii, np.full(160, -2.0)])
    points = np.column_stack([np.repeat(places, 181, axis=0), np.tile(layers, 160)])
    change = GROUND.temperature + GROUND.gradient * points[:, 2] - lone.ground_temperature(points)[0]
    rings = 2.0 * np.pi * radii[:, None] * change.to_numpy().reshape(160, 181)
    heat = GROUND.volumetric_heat_capacity * np.trapezoid(np.trapezoid(rings, layers, axis=1), radii)
    assert_allclose(lone.ground_heat()["from_ground_kWh"].loc[3], heat / 3.6e6, rtol=2e-3)


def test_far_field_radius_is_where_the_change_is_the_threshold(lone):
    for threshold, unit in ((0.05, "K"), (0.2, "K"), (0.2 * 1.8, "delta_degF")):
        radius = lone.far_field_radius(f"{threshold} {unit}")
        kelvins = threshold / (1.8 if "F" in unit else 1.0)
        found = lone.ground_temperature([[3.0 + radius, -2.0, 22.0]]).item()
        assert_allclose(found - (10.0 + 0.025 * 22.0), -kelvins, rtol=2e-3)
    assert lone.far_field_radius(0.05, year=1) < lone.far_field_radius(0.05, year=3)
    assert lone.far_field_radius(20.0) == 0.0


def test_maps_and_sections_are_their_points(busy):
    x, y, depths = [-4.0, 0.0, 0.05, 0.2, 3.0], [-1.0, 0.0, 6.5], [0.0, 1.0, 50.0, 85.0]
    plan = busy.ground_map(year=1, depth="50 m", x=x, y=y, hour=12)
    points = [[east, north, 50.0] for north in y for east in x]
    assert_allclose(plan.to_numpy().ravel(), busy.ground_temperature(points, years=1, hour=12)[0])
    section = busy.ground_section(y="0 m", x=x, depths=depths)
    points = [[east, 0.0, down] for down in depths for east in x]
    assert_allclose(section.to_numpy().ravel(), busy.ground_temperature(points)[0])


def test_arrays_are_labelled(run):
    points = run.ground_temperature([[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]], years=[1, 2])
    assert points.dims == ("year", "point")
    assert points["year"].to_numpy().tolist() == [1, 2]
    assert_allclose([points[name].to_numpy() for name in ("x", "y", "depth")], [[1, 4], [2, 5], [3, 6]])
    plan, section = run.ground_map(), run.ground_section(year=1)
    assert (plan.dims, plan.shape) == (("y", "x"), (200, 200))
    assert (section.dims, section.shape) == (("depth", "x"), (200, 200))
    assert (int(plan["year"]), float(plan["depth"])) == (2, 52.0)
    assert (int(section["year"]), float(section["y"])) == (1, 0.0)
    for found in (points, plan, section):
        assert found.attrs == {"units": "degC", "long_name": "ground temperature"}
        assert {found[name].attrs["units"] for name in ("x", "y", "depth")} == {"m"}
    assert list(run.ground_heat().index) == [1, 2]


def test_a_run_is_pickled_without_the_ground(run):
    before = run.ground_temperature([[1.0, 0.0, 50.0]])
    again = pickle.loads(pickle.dumps(run))
    assert before.identical(again.ground_temperature([[1.0, 0.0, 50.0]]))


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda run: run.ground_temperature([[1.0, 2.0]]), r"points = array of shape \(1, 2\)"),
        (lambda run: run.ground_temperature([[1.0, 2.0, -3.0]]), r"depth = -3 m: must be from 0"),
        (lambda run: run.ground_temperature([[1.0, 2.0, np.nan]]), r"depth = NaN m: must be from 0"),
        (lambda run: run.ground_temperature([["a", 2.0, 1.0]]), "must be numbers in m"),
        (lambda run: run.ground_temperature([[1.0, 2.0, 3.0]], years=[1, 3]), "years = 3: must be a whole"),
        (
            lambda run: run.ground_temperature([[1.0, 2.0, 3.0]], years="all"),
            "years = 'all': must be a whole",
        ),
        (lambda run: run.ground_temperature([[1.0, 2.0, 3.0]], hour=8760), "hour = 8760: must be a whole"),
        (lambda run: run.ground_map(year=0), "year = 0: must be a whole number from 1 to 2"),
        (lambda run: run.ground_map(year=True), "year = True"),
        (lambda run: run.ground_map(depth="3 kg"), "depth = 3 kg"),
        (lambda run: run.ground_map(depth=-1.0), "depth = -1 m"),
        (lambda run: run.ground_map(x=3.0), r"x = array of shape \(\)"),
        (lambda run: run.ground_map(x=np.arange(3000), y=np.arange(3000)), "number of points = 9000000"),
        (lambda run: run.ground_section(depths=[[1.0]]), r"depths = array of shape \(1, 1\)"),
        (lambda run: run.ground_section(y=1e9), "y = 1000000000 m"),
        (lambda run: run.far_field_radius(0.0), "threshold = 0.0 K: must be at least"),
        (lambda run: run.far_field_radius("1 m"), "threshold = 1 m"),
        (lambda run: plots.ground_map(run.ground_section()), "must have dimensions y and x"),
        (lambda run: plots.ground_section(run.ground_map()), "must have dimensions depth and x"),
        (lambda run: plots.ground_map(run.ground_map(), units="metric"), "must be SI or IP"),
        (lambda run: plots.ground_frames(run, "nowhere", years=[]), "years = none"),
    ],
)
def test_bad_questions_are_refused(run, ask, message):
    with pytest.raises(InvalidInput, match=message):
        ask(run)


@pytest.mark.parametrize(
    ("units", "unit", "length", "scale"), [("SI", "°C", "m", 1.0), ("IP", "°F", "ft", 1.0 / 0.3048)]
)
def test_charts(run, units, unit, length, scale):
    field, points = run.design.ground_side, np.linspace(-5.0, 11.0, 9)
    plan = plots.ground_map(run.ground_map(x=points, y=points), field=field, units=units)
    assert (plan.get_xlabel(), plan.get_ylabel()) == (f"x [{length}]", f"y [{length}]")
    assert_allclose(plan.get_xlim(), [-5.0 * scale, 11.0 * scale])
    assert_allclose(plan.lines[0].get_xdata(), scale * field.positions[:, 0])
    assert plan.figure.axes[1].get_ylabel() == f"Ground temperature [{unit}]"
    section = plots.ground_section(
        run.ground_section(x=points, depths=[0.0, 50.0, 120.0]), field=field, units=units
    )
    assert section.get_ylabel() == f"Depth [{length}]"
    assert_allclose(section.get_ylim(), [120.0 * scale, 0.0])
    assert len(section.lines) == 2


def test_frames_share_their_colours(run, tmp_path):
    files = plots.ground_frames(run, tmp_path / "film", years=[1, 2])
    assert [file.name for file in files] == ["ground-year-001.png", "ground-year-002.png"]
    images = [plt.imread(file) for file in files]
    assert images[0].shape == images[1].shape
    assert np.abs(images[0] - images[1]).max() > 0.1
    bar = slice(int(0.87 * images[0].shape[1]), None)
    assert_allclose(images[0][40:, bar], images[1][40:, bar])
