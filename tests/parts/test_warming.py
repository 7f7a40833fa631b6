"""A warming of the ground: rate and series, units, files and wrong input."""

import pickle
import re
import tomllib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

import loopdrift as ld
from loopdrift.files.json_schema import schema

HOURS = 8760
STEPS = ld.Warming(values=[0.0, 0.5, -1.0, -1.0], interval=1000.0)


def ground(warming):
    return ld.Ground(
        conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0, gradient=0.02, warming=warming
    )


def test_rates_in_any_unit():
    for rate in ("0.03 K/year", "0.3 K/decade", "0.054 degF/a", "0.0025 K/month"):
        assert ld.Warming(rate=rate).rate == pytest.approx(0.03)
    assert ld.Warming(values=[0.0, 1.0], interval="1 month").interval == 730.0


@given(
    st.lists(st.floats(-30.0, 30.0), min_size=2, max_size=30),
    st.floats(1.0, 1e4),
    st.floats(-0.5, 0.5),
    st.lists(st.floats(0.0, 1.0), max_size=20),
)
def test_straight_lines_between_the_values(values, interval, rate, shares):
    warming = ld.Warming(rate=rate, values=values, interval=interval)
    times = np.array(shares) * warming.end
    expected = np.interp(times, interval * np.arange(len(values)), values) + rate * times / HOURS
    np.testing.assert_allclose(warming.at(times), expected, atol=1e-9)


def test_mean_of_a_year():
    assert ld.Warming(rate=0.1).mean(1) == pytest.approx(0.05, rel=2e-4)
    assert ld.Warming(rate=0.1).mean(7) - ld.Warming(rate=0.1).mean(3) == pytest.approx(0.4)
    with pytest.raises(ld.InvalidInput, match=r"Warming.hours = 17520.0 h: must be from 0 to 8760 h"):
        ld.Warming(values=[0.0, 1.0], interval="1 year").mean(2)


def test_in_words():
    assert str(ld.Warming(rate=0.03)) == "the undisturbed ground warms by 0.03 K/a (0.054 degF/a)"
    assert "cools by 0.1 K/a" in str(ld.Warming(rate=-0.1))
    changes = "from -1.00 K (-1.80 degF) to +0.50 K (+0.90 degF) in 0.342 years, as given"
    assert str(STEPS) == f"the undisturbed ground changes {changes}"
    assert str(STEPS.replace(rate=0.03)).endswith(f"and changes more {changes}")
    assert repr(ld.Warming(rate=0.03)) == "Warming(rate=0.03)"


@pytest.mark.parametrize("warming", [ld.Warming(rate=0.03), STEPS, STEPS.replace(rate=-0.02)])
def test_files_and_copies_keep_it(design, tmp_path, warming):
    warm = design.replace(ground=ground(warming))
    warm.write(tmp_path / "warm.toml")
    assert ld.Design.read(tmp_path / "warm.toml").ground == warm.ground
    assert pickle.loads(pickle.dumps(warm.ground)) == warm.ground
    table = tomllib.loads((tmp_path / "warm.toml").read_text())["ground"]
    of_ground = {"$ref": "#/$defs/Ground", "$defs": schema(ld.Design)["$defs"]}
    assert not list(Draft202012Validator(of_ground).iter_errors(table))
    table["warming"]["speed"] = 1.0
    assert list(Draft202012Validator(of_ground).iter_errors(table))


@pytest.mark.parametrize(
    "table",
    [
        'warming = { rate = "0.03 K/year" }',
        'warming = { values = [0, 0.25, 0.5], interval = "10 years" }',
    ],
)
@pytest.mark.parametrize("kind", ["properties", "layers", "soil"])
def test_read_from_each_kind_of_ground(design, tmp_path, table, kind):
    design.write(tmp_path / "design.toml")
    text = (tmp_path / "design.toml").read_text()
    start = text.index("[ground]")
    end = text.index("\n[", start + 1)
    keys = {
        "properties": "conductivity = 2.0\nvolumetric_heat_capacity = 2e6",
        "layers": "layers = [{ thickness = 50, conductivity = 2, volumetric_heat_capacity = 2e6 }]\ntop = 2\n"
        "bottom = 102",
        "soil": 'soil = "moist sand"',
    }[kind]
    ground = f'[ground]\nkind = "{kind}"\ntemperature = 10.0\n{keys}\n{table}\n'
    (tmp_path / "design.toml").write_text(text[:start] + ground + text[end:])
    warming = ld.Design.read(tmp_path / "design.toml").ground.warming
    assert warming.at(20 * HOURS) == pytest.approx(0.6 if "rate" in table else 0.5)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"rate": 0.6}, "Warming.rate = 0.6 K/a: must be from -0.5 to 0.5 K/a"),
        ({"rate": "1 K/month"}, "Warming.rate = 1 K/month (12 K/a): must be from -0.5 to 0.5 K/a"),
        ({"rate": float("nan")}, "Warming.rate"),
        ({"rate": "3 m"}, "Warming.rate"),
        ({"rate": None}, "Warming.rate"),
        ({"values": [0.0, 0.1]}, "Warming.interval = nothing: values and interval must be given together"),
        ({"interval": 730.0}, "Warming.values = nothing: values and interval must be given together"),
        ({"values": [0.3], "interval": 730.0}, "Warming.values = one value: must be none or at least two"),
        ({"values": 0.3, "interval": 730.0}, "must be a list of numbers in K"),
        ({"values": [[0.3, 0.2]], "interval": 730.0}, "must be a list of numbers in K"),
        ({"values": [0.0, "warm"], "interval": 730.0}, "must be numbers in K"),
        ({"values": [0.0, True], "interval": 730.0}, "must be numbers in K"),
        ({"values": [0.0, 0.1, float("nan")], "interval": 730.0}, "Warming.values = NaN K: value 3: must be"),
        ({"values": [0.0, float("inf")], "interval": 730.0}, "Warming.values = inf K: value 2: must be"),
        ({"values": [0.0, -40.0], "interval": 730.0}, "Warming.values = -40 K: value 2: must be from -30 to"),
        ({"values": [0.0, 0.1], "interval": 0.0}, "Warming.interval = 0 h: must be from 1 to 876000 h"),
        ({"values": [0.0, 0.1], "interval": -5.0}, "Warming.interval = -5 h"),
        ({"values": [0.0, 0.1], "interval": float("inf")}, "Warming.interval"),
        ({"values": [0.0, 0.1], "interval": "3 K"}, "Warming.interval"),
        ({"values": np.zeros(1_000_001), "interval": 1.0}, "must be at most 1,000,000"),
    ],
)
def test_wrong_warming(wrong, said):
    with pytest.raises(ld.InvalidInput, match=re.escape(said)):
        ld.Warming(**wrong)


@pytest.mark.parametrize("hours", [-1.0, [0.0, 3000.1], "soon"])
def test_times_it_does_not_know(hours):
    with pytest.raises(ld.InvalidInput, match=r"Warming.hours"):
        STEPS.at(hours)


def test_ground_takes_no_other_warming():
    with pytest.raises(ld.InvalidInput, match=r"Ground.warming = 0.03: must be a Warming"):
        ground(0.03)
