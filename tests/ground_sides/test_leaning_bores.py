"""Leaning bores through every door; their physics is in reference/test_inclined_bores.py."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld
from loopdrift import plots
from loopdrift.model.key_figures import undisturbed
from loopdrift.reporting import report
from loopdrift.reporting.overview import overview

DEMO = Path(ld.__file__).parent / "demo"
BORE = ld.Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.10)
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0, gradient=0.03)
PAD = [[0.0, 0.0], [1.0, 0.0], [-1.0, 0.0]]
YEAR = 8760 * 3600.0


@pytest.fixture(scope="module")
def design() -> ld.Design:
    return ld.Design.read(DEMO / "fan.toml")


@pytest.fixture(scope="module")
def run(design: ld.Design) -> ld.Run:
    return design.run(1)


def field(**changes) -> ld.BoreField:
    return ld.BoreField(
        BORE, **{"positions": PAD, "inclination": [0, 30, 30], "direction": [0, 90, 270], **changes}
    )


def test_feet_lie_where_the_compass_says() -> None:
    lean = ld.BoreField(BORE, positions=[[1.0, 2.0]] * 1, inclination=30.0, direction="0.5 turn")
    assert_allclose(lean.feet, [[1.0, 2.0 - 52.0]])
    assert_allclose(field().feet, [[0.0, 0.0], [53.0, 0.0], [-53.0, 0.0]], atol=1e-12)
    assert_allclose(field().land, (106.0 + 0.15) * 0.15)
    assert "inclined by 0 to 30 deg, 1.00 m (3.28 ft) apart at the surface" in str(field())


def test_one_angle_serves_all_bores() -> None:
    parallel = field(inclination="0.25 rad", direction=45)
    assert_allclose(parallel.inclination, [np.degrees(0.25)] * 3)
    assert parallel.replace(positions=PAD[:2]).count == 2
    assert parallel == field(inclination=[np.degrees(0.25)] * 3, direction=[45] * 3)
    assert hash(parallel) == hash(field(inclination=np.degrees(0.25), direction=np.full(3, 45.0)))
    assert parallel != field(inclination="0.25 rad", direction=46)


def test_vertical_bores_are_the_same_to_the_bit_whatever_their_direction() -> None:
    grid = ld.BoreField.grid(BORE, columns=3, rows=2, spacing=6.0)
    turned = grid.replace(inclination=0.0, direction=np.arange(6.0))
    assert_array_equal(grid.g_function(GROUND, [YEAR]), turned.g_function(GROUND, [YEAR]))


def test_leaning_bores_end_in_shallower_ground() -> None:
    """The gradient is 0.03 K/m, and the middle of a bore 54 m along it."""
    design = ld.Design.read(DEMO / "fan.toml").replace(ground=GROUND)
    for inclination in (0.0, 60.0):
        leaning = design.replace(ground_side=field(positions=PAD[:1], inclination=inclination, direction=0))
        middle = 54.0 * np.cos(np.radians(inclination))
        assert_allclose(undisturbed(leaning), 10.0 + 0.03 * middle)


def test_a_fan_does_better_the_wider_it_is() -> None:
    late = [20 * YEAR]
    answers = [field(inclination=[0, by, by]).g_function(GROUND, late)[0] for by in (0.0, 1e-6, 10.0, 30.0)]
    assert_allclose(answers[1], answers[0], rtol=1e-4)
    assert answers[1] > answers[2] > answers[3]


def test_a_design_is_written_and_read(design: ld.Design, tmp_path: Path) -> None:
    design.write(tmp_path / "fan.toml")
    again = ld.Design.read(tmp_path / "fan.toml")
    assert again.ground_side == design.ground_side
    upright = design.replace(ground_side=design.ground_side.replace(inclination=0.0, direction=0.0))
    upright.write(tmp_path / "upright.toml")
    assert "inclination" not in (tmp_path / "upright.toml").read_text()


def test_check_and_chart_tell_how_bores_lean(design: ld.Design, run: ld.Run) -> None:
    assert "inclined by 0 to 25 deg" in overview(design)
    axes = run.plot("layout")
    assert axes.get_title(loc="left") == "5 bores, 75 m long"
    drawn = [line.get_xydata() for line in axes.lines]
    assert len(drawn) == 4
    assert_allclose(drawn[0], [[1.0, 1.0], [23.861, 23.861]], atol=1e-3)
    low, high = axes.get_xlim()
    assert low < -23.9
    assert high > 23.9


def test_layout_draws_vertical_bores_as_points() -> None:
    axes = plots.layout(ld.BoreField(BORE, positions=[(0.0, 0.0), (6.0, 0.0)]))
    assert not axes.lines
    assert axes.get_title(loc="left").endswith("deep")


def test_bores_of_a_fan_are_sized(design: ld.Design) -> None:
    """They may be shorter than vertical ones on the same pad."""
    fan = design.size("depth", years=5)
    upright = design.replace(ground_side=design.ground_side.replace(inclination=0.0)).size("depth", years=5)
    assert fan.holds
    assert upright.holds
    assert fan.value < 0.9 * upright.value
    assert_array_equal(fan.design.ground_side.inclination, design.ground_side.inclination)
    with pytest.raises(ld.InvalidInput, match="inclined bores"):
        design.size("bores", years=5)


def test_inclination_varies_in_a_study(design: ld.Design) -> None:
    found = ld.Study(design, vary={"inclination": [0, "15 deg", 70]}).run(years=2)
    coldest = found["entering_fluid_min_degC"].sel(year=2).to_numpy()
    assert coldest[0] < coldest[1]
    assert "from 0 to 60 deg" in str(found["failure"].to_numpy()[2])
    assert found["inclination"].attrs["units"] == "deg"
    own = design.replace(ground_side=design.ground_side.replace(inclination=15.0)).run(2)
    assert coldest[1] == own.yearly["entering_fluid_min_degC"].loc[2]


def test_the_report_tells_how_bores_lean(run: ld.Run) -> None:
    assert "inclined by 0 to 25°" in report.page(run)


def test_the_ground_around_leaning_bores_is_not_told(run: ld.Run) -> None:
    asks = (
        run.ground_map,
        run.ground_section,
        run.ground_heat,
        lambda: run.far_field_radius("0.1 K"),
        lambda: run.ground_temperature([[1.0, 2.0, 3.0]]),
    )
    for ask in asks:
        with pytest.raises(ld.InvalidInput, match=r"BoreField.inclination = 25.*vertical bores"):
            ask()


def test_vertical_bores_are_compared_in_usual_steps(design: ld.Design) -> None:
    """The step of a drill pad is no distance of vertical bores."""
    from loopdrift.ground_sides.bore_field import on_site

    _, step = on_site.usual_bore(design.ground_side)
    assert step == on_site.USUAL_SPACING
