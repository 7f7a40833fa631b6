"""Bores on plots that lie askew, and at a distance from their edges."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.distance import pdist

import loopdrift as ld
from loopdrift.charts.outlines import nearest_edge
from loopdrift.ground_sides.bore_field.arrangement import on_plot
from loopdrift.ground_sides.placement import placed

RECTANGLE = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 12.0], [0.0, 12.0]])
GRID = 6.0 * np.array([[x, y] for y in range(3) for x in range(6)])


def turned(points, degrees):
    angle = np.radians(degrees)
    return points @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]]) + [5.0, 7.0]


@pytest.mark.parametrize("degrees", [0.0, 3.0, 30.0, 45.0, 133.0])
def test_a_field_that_fills_a_plot_finds_its_place_at_any_angle(degrees):
    plan = ld.SitePlan(property_lines=turned(RECTANGLE, degrees))
    found = placed(GRID, plan, 1.5)
    assert found is not None
    assert_allclose(np.sort(pdist(found)), np.sort(pdist(GRID)), atol=1e-9)
    most = max(each.arrangement.count for each in on_plot(plan, 6.0, 1000))
    assert most == len(GRID)


@pytest.mark.parametrize("degrees", [0.0, 30.0])
def test_required_distances_are_kept(degrees):
    wide = RECTANGLE * [1.2, 1.5] - 3.0
    house = np.array([[10.0, 14.0], [20.0, 14.0], [20.0, 15.0], [10.0, 15.0]])
    outlines = {"property_lines": turned(wide, degrees), "house": turned(house, degrees)}
    plan = ld.SitePlan(**outlines, distance_to_property_lines="3 m")
    found = placed(GRID, plan, 1.5)
    assert found is not None
    assert_allclose(nearest_edge(found, plan.property_lines).distances.min(), 3.0, atol=1e-5)
    assert placed(GRID, plan.replace(distance_to_property_lines=3.01), 1.5) is None
    assert placed(GRID, plan.replace(distance_to_house=3.0), 1.5) is None


def test_a_turned_field_is_called_like_an_upright_one(design):
    bore = design.ground_side.bores[0]
    upright, askew = (ld.BoreField(bore, positions=points) for points in (GRID, turned(GRID, 30.0)))
    assert askew.arrangement == upright.arrangement == "6 by 3"
    assert_allclose(askew.land, upright.land)
    assert_allclose(askew.takes["land_m2"], upright.takes["land_m2"])
    row = ld.BoreField(bore, positions=turned(GRID[:6], 30.0))
    assert str(row).endswith("6.00 m (19.7 ft) apart")
