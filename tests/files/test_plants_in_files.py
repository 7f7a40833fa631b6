"""Design files with tables ``[[then]]``: plants that change in later years."""

import json

import jsonschema
import numpy as np
import pytest
from numpy.testing import assert_array_equal

import loopdrift as ld
from loopdrift.files import json_schema
from loopdrift.files.toml_file import TomlFile

THEN = """
[[then]]
year = 3
investment = "9000 currency"
flow = "9 gal/min"
heat_pump = {kind = "curves", heating_cop = [4.5, 0.05], cooling_cop = [6.0]}

[[then]]
year = 5
limits = {entering_fluid_min = "28 degF"}
loads = {kind = "values", heating = 4000.0}
"""


@pytest.fixture
def path(design, tmp_path):
    path = tmp_path / "house.toml"
    design.write(path)
    return path


def faults(path, text):
    with path.open("a", encoding="utf-8") as file:
        file.write(text)
    with pytest.raises(ld.InvalidInput) as caught:
        ld.Design.read_phases(path)
    return [str(caught.value), *getattr(caught.value, "__notes__", ())]


def test_a_file_says_what_changes(path, design) -> None:
    path.write_text(path.read_text() + THEN)
    plant = ld.Design.read_phases(path)
    assert [(each.year, each.changed, each.investment) for each in plant.phases[1:]] == [
        (3, ("heat_pump", "flow"), 9000.0),
        (5, ("loads", "limits"), 0.0),
    ]
    assert plant.phases[0].design == design
    assert plant.phases[1].design.flow == design.replace(flow="9 gal/min").flow
    assert abs(plant.phases[2].design.limits.entering_fluid_min + 20.0 / 9.0) < 1e-9
    assert plant.phases[2].design.heat_pump == plant.phases[1].design.heat_pump


def test_written_and_read_again_it_runs_alike(path, design, tmp_path) -> None:
    measured = ld.Loads(heating=np.linspace(0.0, 5000.0, 8760), cooling=design.loads.cooling)
    radiators = ld.WaterDistribution(
        ld.Weather.sample("hot humid"), return_water=40.0, mild_return_water=30.0, cold_day=5.0
    )
    correction = ld.EnteringLoadCorrection(reference=30.0, between=(20.0, 55.0), cop=[-0.05])
    unit = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.08], heating_entering_load=correction, cooling_cop=[6.0]
    )
    plant = design.then(2, loads=measured, investment=500.0).then(
        3, heat_pump=unit, distribution=radiators, pump_stops=True
    )
    plant.write(tmp_path / "plant.toml")
    names = {each.name for each in tmp_path.iterdir()} - {each.name for each in path.parent.glob("house*")}
    assert names == {"plant.toml", "plant-loads.csv", "plant-then-1-loads.csv", "plant-then-2-weather.csv"}
    again = ld.Design.read_phases(tmp_path / "plant.toml")
    assert [(each.year, each.design, each.investment) for each in again.phases] == [
        (each.year, each.design, each.investment) for each in plant.phases
    ]
    assert_array_equal(again.run(3).hourly["entering_fluid_degC"], plant.run(3).hourly["entering_fluid_degC"])


def test_a_file_without_changes_is_a_plant_of_one_phase(path, design) -> None:
    (only,) = ld.Design.read_phases(path).phases
    assert (only.year, only.design, only.changed) == (1, design, ())


def test_all_faults_at_once(path) -> None:
    text = THEN.replace("year = 3", "year = 300").replace("cooling_cop = [6.0]", "cooling_cop = [-6.0]")
    text = text.replace("investment", "investmnt").replace("[4.5, 0.05]", "[0.4]") + "spacing = 3\n"
    path.write_text(path.read_text().replace("temperature = ", "temperatur = ", 1))
    found = " ".join(faults(path, text))
    for said in (
        "then[0].year = 300: must be a whole number from 2 to 100",
        "then[0].heat_pump.heating_cop = 0.4000",
        "then[0].heat_pump.cooling_cop = -6.0000",
        "then[0].investmnt = '9000 currency': is no known key; did you mean 'investment'?",
        "then[1].spacing = 3: is no known key",
        "temperatur",
    ):
        assert said in found, (said, found)


def test_faults_between_the_phases(path) -> None:
    backwards = THEN.replace("year = 5", "year = 3")
    (found,) = faults(path, backwards)
    assert "then[1].year = 3: must be a whole number from 4 to 100" in found
    assert ", line " in found


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[then]\nyear = 2\nflow = 0.6", "must be tables, each with the heading [[then]]"),
        ("[[then]]\nflow = 0.6", "then[0].year = nothing: must be given"),
        ("[[then]]\nyear = 2", "then[0].changes = nothing: must name at least one field"),
        ('[[then]]\nyear = 2\nflow = "9 gal"', "then[0].flow = 9 gal"),
        (
            "[[then]]\nyear = 2\nflow = 0.6\ninvestment = -1",
            "then[0].investment = -1 currency: must be at least 0",
        ),
        ("[[then]]\nyear = 2\n[then.ground]\nkind = 'properties'", "then[0].ground"),
    ],
)
def test_each_fault_names_its_table(path, text, said) -> None:
    assert any(said in each for each in faults(path, text + "\n"))


def test_a_near_miss_of_the_heading(path) -> None:
    (found, *_) = faults(path, "[[than]]\nyear = 2\n")
    assert "did you mean 'then'?" in found


def test_a_design_is_none_that_changes(path) -> None:
    path.write_text(path.read_text() + THEN)
    with pytest.raises(ld.InvalidDesignFile, match="then = 2 changes: must be left out: size, compare"):
        ld.Design.read(path)


def test_the_schema_has_the_changes(path) -> None:
    path.write_text(path.read_text() + THEN)
    schema = json_schema.schema(ld.Design)
    jsonschema.validate(json.loads(json.dumps(TomlFile(path).table)), schema)
    assert schema["$defs"]["Change"]["required"] == ["year"]
    wrong = dict(TomlFile(path).table, then=[{"yaer": 3}])
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(wrong, schema)
