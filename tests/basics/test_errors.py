"""Errors carry what happened in fields, cross processes and say it in one line."""

import pickle

import pytest

import loopdrift as ld

ERRORS = [
    ld.FluidFreezes(year=2, hour=51, temperature=-10.25, freezing_point=-9.75),
    ld.UnknownName("Study", "name", "grond.x", "is nothing in this design", ["ground.x", "flow"]),
    ld.UnknownKey("house.toml", "ground.condctivity", "2", ["conductivity", "temperature"]),
    ld.InvalidDesignFile("house.toml", "ground.conductivity", -1.0, "W/(m K)", "must be from 0.1 to 20"),
    ld.InvalidFile("loads.csv", 3, "heating_kW", "x", "must be a number"),
    ld.NotConverged(17),
]


@pytest.mark.parametrize("error", ERRORS, ids=lambda error: type(error).__name__)
def test_an_error_is_the_same_in_another_process(error):
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is type(error)
    assert (str(again), vars(again)) == (str(error), vars(error))


def test_a_frozen_fluid_says_when_and_how_cold(design):
    cold = design.replace(fluid=design.fluid.replace(freezing_point=8.0), limits=ld.Limits())
    with pytest.raises(ld.FluidFreezes) as caught:
        cold.run(1)
    frozen = caught.value
    assert (frozen.year, frozen.freezing_point) == (1, 8.0)
    warm = design.replace(limits=ld.Limits()).run(1).hourly["leaving_fluid_degC"]
    assert frozen.hour == (warm < 8.0).to_numpy().argmax()
    assert frozen.temperature == pytest.approx(warm.iloc[frozen.hour], abs=1e-9)
    assert f"{frozen.temperature:.2f} degC in year 1, hour {frozen.hour}" in str(frozen)


def test_other_faults_of_a_freezing_point_are_not_a_frozen_fluid(design):
    with pytest.raises(ld.InvalidInput, match="below the undisturbed ground") as caught:
        design.replace(fluid=design.fluid.replace(freezing_point=12.0))
    assert not isinstance(caught.value, ld.FluidFreezes)


def test_an_unknown_key_has_what_would_be_known(design_path):
    design_path.write_text(design_path.read_text().replace("conductivity = 2.0", "condctivity = 2.0"))
    with pytest.raises(ld.UnknownKey) as caught:
        ld.Design.read(design_path)
    assert caught.value.key == "ground.condctivity"
    assert "conductivity" in caught.value.known
    assert "did you mean 'conductivity'?" in str(caught.value)


def test_an_unknown_variable_has_what_would_be_known(design):
    with pytest.raises(ld.UnknownName) as caught:
        ld.Study(design, vary={"nothing.like.it": [1.0]})
    assert caught.value.name == "nothing.like.it"
    assert "flow" in caught.value.known
