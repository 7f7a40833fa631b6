"""Outlines of house and plot: which points they hold, and which outlines are none."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import loopdrift as ld
from loopdrift.parts.site_plan import area, inside

L_SHAPE = [[0, 0], [30, 0], [30, 10], [10, 10], [10, 25], [0, 25]]
U_SHAPE = [[0, 0], [30, 0], [30, 20], [20, 20], [20, 5], [10, 5], [10, 20], [0, 20]]


def test_inside_an_l():
    plan = ld.SitePlan(property_lines=L_SHAPE, house=[["0 ft", "0 ft"], ["10 ft", "0 ft"], ["0 ft", "10 ft"]])
    points = [[5, 20], [20, 20], [20, 5], [-1, 5], [1, 1]]
    assert plan.outside_property(points).tolist() == [False, True, False, True, False]
    assert plan.below_house(points).tolist() == [False, False, False, False, True]
    assert area(plan.property_lines) == 30 * 10 + 10 * 15


def test_a_notch_is_outside():
    """Its top edges lie on one line without touching."""
    plan = ld.SitePlan(property_lines=U_SHAPE)
    assert plan.outside_property([[15, 12], [5, 12], [25, 12]]).tolist() == [True, False, False]
    assert area(plan.property_lines) == 30 * 20 - 10 * 15


@given(st.integers(3, 9), st.floats(0.0, 6.0), st.lists(st.floats(0.05, 0.95), min_size=5, max_size=5))
def test_points_within_a_convex_outline(corners, turned, shares):
    """A mean of corners lies inside; that beyond a corner, seen from the centre, lies outside."""
    angles = turned + 2.0 * np.pi * np.arange(corners) / corners
    outline = 10.0 * np.column_stack([np.cos(angles), np.sin(angles)])
    ring = ld.SitePlan(property_lines=outline).property_lines
    within = np.array([share * 0.999 * outline[place % corners] for place, share in enumerate(shares)])
    assert inside(ring, within).all()
    assert not inside(ring, 1.01 * outline).any()


@pytest.mark.parametrize(
    ("plot", "said"),
    [
        ([[0, 0], [1, 0]], "from 3 to 1,000 corners"),
        ([[0, 0], [1, 1], [1, 0], [0, 1]], "must not cross or touch itself"),
        ([[0, 0], [1, 0], [2, 0]], "must enclose an area"),
        ([[0, 0], [1, 0], [1, "two"]], "SitePlan.property_lines"),
        ([[0, 0], [1, 0], [1, 2, 3]], "x and y of each corner"),
        ([[0, 0], [1, 0], [1, float("nan")]], "SitePlan.property_lines"),
        ([[0, 0], [1, 0], [1, 1e6]], "SitePlan.property_lines"),
        ("plot", "x and y of each corner"),
        (5, "x and y of each corner"),
    ],
)
def test_bad_outlines_are_refused(plot, said, says):
    with pytest.raises(ld.InvalidInput) as error:
        ld.SitePlan(property_lines=plot)
    says(error, [said])


def test_a_design_file_holds_it(design, tmp_path):
    planned = design.replace(site=ld.SitePlan(property_lines=L_SHAPE, house=[[0, 0], [4, 0], [4, 4]]))
    planned.write(tmp_path / "design.toml")
    assert ld.Design.read(tmp_path / "design.toml") == planned
