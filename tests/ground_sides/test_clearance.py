"""Distances from house and property lines: the least, against what the site requires."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.analysis.findings import findings
from loopdrift.charts.outlines import nearest_edge
from loopdrift.model.clearance import along, clearances
from loopdrift.reporting.overview import overview

PLOT = [[-10.0, -5.0], [30.0, -5.0], [30.0, 20.0], [-10.0, 20.0]]
HOUSE = [[0.0, 9.0], [12.0, 9.0], [12.0, 18.0], [0.0, 18.0]]


@given(st.floats(-20.0, 40.0), st.floats(-20.0, 40.0))
def test_distance_is_the_least_over_the_outline(x, y):
    """Points along the outline, 1 cm apart, come no closer and nearly as close."""
    edges = zip(PLOT, np.roll(PLOT, -1, axis=0), strict=True)
    outline = np.concatenate([np.linspace(first, second, 4001) for first, second in edges])
    found = nearest_edge(np.array([[x, y]]), PLOT)
    least = np.hypot(*(outline - [x, y]).T).min()
    assert found.distances[0] <= least + 1e-9
    assert_allclose(found.distances[0], least, atol=0.01)
    assert_allclose(np.hypot(*(found.feet[0] - [x, y])), found.distances[0])


@pytest.fixture(scope="module")
def placed(design):
    """Bores at (0, 0) and (6, 0): 5 m from the southern property line, 9 m from the house."""
    site = {"property_lines": PLOT, "house": HOUSE}

    def placed(**required):
        return design.replace(site=ld.SitePlan(**site, **required))

    return placed


def test_least_distances_are_listed(placed):
    text = " ".join(overview(placed()).split())
    assert "Bore 1 is 5.0 m (16 ft) from the property lines, the least distance." in text
    assert "Bore 1 is 9.0 m (30 ft) from the house, the least distance." in text


def test_required_distances_are_judged(placed):
    run = placed(distance_to_property_lines="20 ft", distance_to_house=3.0).run(1)
    found = {finding.text: finding.holds for finding in findings(run) if "required distance" in finding.text}
    assert list(found.values()) == [False, True]
    assert "5.0 m (16 ft) from the property lines, less than the required distance of 6.1 m" in next(
        iter(found)
    )


def test_a_distance_just_kept_holds(placed):
    site = placed(distance_to_property_lines=5.0).site
    assert [each.holds for each in clearances(site, [[[0.1, 0.0]], [[0.2, 0.0]]], "bore")] == [True, True]


def test_an_inclined_bore_is_measured_along_its_whole_length(design, placed):
    """30 degrees to the south, 102 m long: 51 m away from its upper end, beyond the line."""
    bore = design.ground_side.bores[0]
    leaning = ld.BoreField(bore, positions=[[0.0, 60.0]], inclination=[30.0], direction=[180.0])
    site = ld.SitePlan(property_lines=[[-10.0, 5.0], [40.0, 5.0], [40.0, 80.0], [-10.0, 80.0]])
    found = design.replace(ground_side=leaning, site=site).quantities().built.places.rows[0][-1]
    assert_allclose(found, 60.0 - 51.0 - 5.0, atol=1e-9)


def test_trenches_are_named_by_their_number(design):
    field = ld.TrenchField.rows(
        ld.Pipe.sdr(11, outer_diameter=0.032),
        **{"length": 25.0, "columns": 2, "rows": 2, "depth": 1.8, "gap": 0.6, "trenches": 3, "spacing": 4.0},
        surface=ld.SurfaceWave(amplitude=10.0, coldest_day=20),
    )
    site = ld.SitePlan(property_lines=[[-2.0, -1.0], [9.5, -1.0], [9.5, 22.0], [-2.0, 22.0]])
    notes = design.replace(ground_side=field, site=site).quantities().notes
    assert notes[0] == "Trenches 1, 2, 3 lie partly or wholly outside the property lines."
    longer = site.replace(property_lines=[[-2.0, -1.0], [9.5, -1.0], [9.5, 30.0], [-2.0, 30.0]])
    notes = design.replace(ground_side=field, site=longer).quantities().notes
    assert notes[0] == "Trench 1 is 1.0 m (3.3 ft) from the property lines, the least distance."


def test_points_along_a_path_are_close():
    points = along([[0.0, 0.0], [0.0, 3.2], [np.nan, np.nan], [5.0, 0.0], [5.0, 0.1]])
    assert np.isfinite(points).all() and len(points) == 4 + 6
    first = np.sort(points[points[:, 0] == 0.0, 1])
    assert np.diff(first).max() <= 0.5


def test_a_distance_without_an_outline_is_refused(says):
    with pytest.raises(ld.InvalidInput) as error:
        ld.SitePlan(property_lines=PLOT, distance_to_house=3.0)
    says(error, ["SitePlan.house", "must be given for distance_to_house"])


def test_a_stated_distance_decides(placed):
    """In a run, in its yearly findings and in the report's margins; a distance that isn't stated doesn't."""
    assert placed().run(1).holds
    kept = placed(distance_to_property_lines=4.0, distance_to_house=3.0).run(1)
    assert kept.holds and kept.judgement.deciding.name == placed().run(1).judgement.deciding.name
    near = placed(distance_to_property_lines=6.0).run(1)
    assert not near.holds
    (broken,) = near.judgement.broken
    assert (broken.name, broken.actual, broken.margin) == ("distance_to_property_lines", 5.0, -1.0)
    assert "Limits exceeded: the required distance to the property lines." in str(near)


def test_a_loop_outside_is_a_negative_distance(placed):
    outside = placed(distance_to_property_lines=1.0).replace(
        site=ld.SitePlan(property_lines=[[0, 2], [9, 2], [9, 9], [0, 9]], distance_to_property_lines=1.0)
    )
    assert_allclose(outside.run(1).judgement["distance_to_property_lines"].actual, -2.0)
    assert "is 2.0 m (6.6 ft) beyond the property lines, less than" in " ".join(overview(outside).split())


def test_sizes_studies_and_runs_agree(design, placed):
    """What doesn't keep its distance holds in none of them."""
    near = placed(distance_to_property_lines=6.0)
    sized = near.size("depth", years=1)
    assert not sized.holds
    assert "1.00 m (3.28 ft) beyond the required distance to the property lines in all years" in str(sized)
    assert placed(distance_to_property_lines=5.0).size("depth", years=1).holds
    shifted = ld.BoreField(design.ground_side.bores[0], positions=[[0.0, 2.0], [6.0, 2.0]])
    among = near.size("bores", among=[design.ground_side, shifted], years=1)
    assert among.holds and among.design.ground_side == shifted
    study = ld.Study(near, vary={"ground_side": [design.ground_side, shifted]}).run(years=1)
    assert study["limits_broken"].isel(year=0).to_numpy().tolist() == [1.0, 0.0]


def test_trenches_are_laid_within_the_plot(design):
    """Sizing gives the trenches a place that keeps the distances, turned as the plot is."""
    field = ld.TrenchField.rows(
        ld.Pipe.sdr(11, outer_diameter=0.032),
        **{"length": 25.0, "columns": 2, "rows": 2, "depth": 1.8, "gap": 0.6, "trenches": 3, "spacing": 4.0},
        surface=ld.SurfaceWave(amplitude=10.0, coldest_day=20),
    )
    angle = np.radians(20.0)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    corners = (
        np.array([[0.0, 0.0], [60.0, 0.0], [60.0, 30.0], [0.0, 30.0]]) @ turn + [100.0, -40.0]
    ).tolist()
    site = ld.SitePlan(property_lines=corners, distance_to_property_lines=2.0)
    laid = field.replace(trenches=13).placed_on(site)
    assert laid.direction not in (0.0, 90.0) and laid.origin != (0.0, 0.0)
    (least,) = clearances(site, laid.paths, "trench")
    assert least.distance >= 2.0 - 1e-6
    lengths = [np.hypot(*np.diff(path[:2], axis=0)[0]) for path in laid.paths]
    assert_allclose(lengths, 25.0)
    middles = np.array([0.5 * (path[0] + path[3]) for path in laid.paths])
    assert_allclose(np.hypot(*np.diff(middles, axis=0).T), 4.0)
    assert field.replace(trenches=20).placed_on(site) is None
    base = design.replace(ground_side=field, site=site)
    assert not base.run(1).holds, "at the origin, outside the property"
    sized = base.size("trenches", years=1)
    assert sized.judgement["distance_to_property_lines"].holds


def test_a_plant_that_changes_keeps_its_distances_too(placed):
    near = placed(distance_to_property_lines=6.0)
    run = near.then(2, flow=1.1 * near.flow).run(2)
    assert not run.judgement.holds
    assert [each.name for each in run.judgement.broken] == ["distance_to_property_lines"]
