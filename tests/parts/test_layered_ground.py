"""Ground in layers: means, searches whose means follow the bores, design files and wrong input."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import loopdrift as ld
from loopdrift.analysis.unusual import unusual

CLAY = ld.Layer(thickness=30.0, conductivity=1.0, volumetric_heat_capacity=2.4e6)
ROCK = ld.Layer(thickness=100.0, conductivity=3.4, volumetric_heat_capacity=2.2e6)
BORE = ld.Bore(depth=80.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
layers = st.builds(
    ld.Layer,
    thickness=st.floats(0.1, 60.0),
    conductivity=st.floats(0.5, 5.0),
    volumetric_heat_capacity=st.floats(1e6, 4e6),
)


def layered(*stack, top=2.0, bottom=82.0):
    return ld.Ground.layered(stack, top=top, bottom=bottom, temperature=10.0)


@given(st.lists(layers, min_size=1, max_size=6), st.floats(0.0, 50.0), st.floats(0.1, 200.0))
def test_means_are_those_of_slices(stack, top, length):
    """Midpoints of thin slices, looked up one by one."""
    ground = layered(*stack, top=top, bottom=top + length)
    upper = np.cumsum([0.0, *(each.thickness for each in stack)])[:-1]
    middles = top + length * (np.arange(4000) + 0.5) / 4000
    slices = [stack[place] for place in np.searchsorted(upper, middles, side="right") - 1]
    for name in ("conductivity", "volumetric_heat_capacity"):
        expected = np.mean([getattr(each, name) for each in slices])
        assert getattr(ground, name) == pytest.approx(expected, rel=6 * 10 / 4000)


def test_alike_layers_change_nothing(design):
    halves = [CLAY, CLAY.replace(thickness=5.0)]
    plain = ld.Ground(conductivity=1.0, volumetric_heat_capacity=2.4e6, temperature=10.0)
    runs = [design.replace(ground=ground).run(1).yearly for ground in (plain, layered(*halves))]
    assert runs[0].equals(runs[1])


@pytest.mark.parametrize("bottom", [40.0, 300.0])
def test_size_takes_the_mean_along_the_bores_it_finds(design, bottom):
    """Wherever the first mean was taken, and just holds: a metre less doesn't, in its own mean."""
    field = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    start = design.replace(ground_side=field, ground=layered(CLAY, ROCK, bottom=bottom))
    found = start.size("depth", years=2)
    assert found.holds and found.design.run(2).holds
    assert found.value == pytest.approx(36.95, rel=2e-3)  # from either start
    along = found.design.ground_side.mean_ground(found.design.ground)
    assert found.design.ground.conductivity == pytest.approx(along.conductivity, rel=2e-3)
    shorter = field.sized("depth", found.value - 1.0)
    nearly = start.replace(ground_side=shorter, ground=shorter.mean_ground(start.ground))
    assert not nearly.run(2).holds


def test_fewest_bores_each_in_their_own_mean(design):
    field = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    found = design.replace(ground_side=field, ground=layered(CLAY, ROCK, bottom=20.0)).size("bores", years=2)
    expected = field.mean_ground(layered(CLAY, ROCK, bottom=82.0))
    assert found.design.ground.conductivity == pytest.approx(expected.conductivity)


def test_inclined_bores_reach_less_deep(design):
    fan = ld.BoreField(BORE, positions=[[0.0, 0.0], [3.0, 0.0]], inclination=60.0, direction=[270.0, 90.0])
    ground = fan.mean_ground(layered(CLAY, ROCK))
    top, bottom = 1.0, 41.0  # cos 60 deg
    expected = ((30.0 - top) * 1.0 + (bottom - 30.0) * 3.4) / (bottom - top)
    assert ground.conductivity == pytest.approx(expected)


def test_a_mean_of_other_depths_is_pointed_out(design):
    field = ld.BoreField.grid(BORE, columns=2, rows=2, spacing=6.0)
    right = design.replace(ground_side=field, ground=layered(CLAY, ROCK))
    wrong = right.replace(ground=layered(CLAY, ROCK, bottom=30.0))
    assert not any(each.key == "ground.layers" for each in unusual(right))
    assert any(each.key == "ground.layers" for each in unusual(wrong))
    assert "mean of 2 layers" in str(right.run(1))


def test_files_keep_layers(design, tmp_path):
    design.replace(ground=layered(CLAY, ROCK)).write(tmp_path / "design.toml")
    again = ld.Design.read(tmp_path / "design.toml")
    assert again.ground == layered(CLAY, ROCK)
    text = (tmp_path / "design.toml").read_text()
    start = text.index("[ground]")
    ending = text.index("\n[", start + 10) + 1
    table = """[ground]
kind = "layers"
layers = [
  { thickness = "30 m", conductivity = 1.0, volumetric_heat_capacity = 2.4e6 },
  { thickness = 100, conductivity = "3.4 W/(m K)", volumetric_heat_capacity = 2.2e6 },
]
top = "2 m"
bottom = 82
temperature = 10.0

"""
    (tmp_path / "design.toml").write_text(text[:start] + table + text[ending:])
    assert ld.Design.read(tmp_path / "design.toml").ground == layered(CLAY, ROCK)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"layers": []}, "Ground.layers = []: must hold at least one layer"),
        ({"layers": CLAY}, "must be a Sequence"),
        ({"layers": [2.0]}, "Ground.layers = 2.0: must be a Layer"),
        ({"top": -1.0}, "Ground.top = -1.0 m: must be from 0 to 10000 m"),
        ({"bottom": "2 m"}, "Ground.bottom = 2.0 m: must be below the top, 2 m"),
        ({"bottom": "2 K"}, "Ground.bottom"),
        ({"bottom": float("nan")}, "Ground.bottom"),
    ],
)
def test_wrong_layers(wrong, said):
    given = {"layers": [CLAY, ROCK], "top": 2.0, "bottom": 82.0, "temperature": 10.0} | wrong
    with pytest.raises(ld.InvalidInput, match=re.escape(said)):
        ld.Ground.layered(given.pop("layers"), **given)


@pytest.mark.parametrize(
    "wrong", [{"thickness": 0.0}, {"conductivity": "2 m"}, {"volumetric_heat_capacity": 2.4}]
)
def test_wrong_layer(wrong):
    with pytest.raises(ld.InvalidInput, match=f"Layer.{next(iter(wrong))}"):
        CLAY.replace(**wrong)
