"""The JSON Schema of design, site and tariff files: it allows good files and refuses spoilt ones."""

import copy
import datetime
import json
import random
import tomllib

import pytest
from jsonschema import Draft202012Validator

import loopdrift as ld
from loopdrift.command_line import DEMO
from loopdrift.files.json_schema import schema
from loopdrift.files.kinds import tables_within

PARTS = {"design": ld.Design, "site": ld.Site, "tariff": ld.Tariff}
SCHEMAS = {name: Draft202012Validator(schema(part)) for name, part in PARTS.items()}
TARIFF = """
price = "0.3 currency/kWh"
monthly = 8.0
periods = [{ price = 0.2, hours = [22, 6], days = "workdays" }]
"""
FREE = {"study", "occupancy", "equipment_use", "heating_set_point", "cooling_set_point"}
"""Tables whose keys are no parameters: names of variables, hours of the day."""


def plain(value):
    """Return a table of TOML as JSON has it."""
    return json.loads(json.dumps(value, default=datetime.date.isoformat))


def read(path):
    return plain(tomllib.loads(path.read_text(encoding="utf-8")))


GOOD = {path.name: read(path) for path in sorted(DEMO.glob("*.toml"))} | {
    "tariff.toml": plain(tomllib.loads(TARIFF))
}


def of(name):
    """Return the schema of a file by its name."""
    return SCHEMAS.get(name.removesuffix(".toml"), SCHEMAS["design"])


def places(value, keys=()):
    """Yield the keys that lead to each value in tables, with the table of the last one."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, within in items:
        if key not in FREE:
            yield (*keys, key), value
            yield from places(within, (*keys, key))


def spoilt_ways(whole):
    """Yield what was spoilt in a file, and the spoilt file, for each value in it and each way."""
    for keys, _ in places(whole):
        for way in ("misspelt", "no number", "no such kind", "no table", "out of range", "a key too many"):
            changed = copy.deepcopy(whole)
            table = changed
            for key in keys[:-1]:
                table = table[key]
            last = keys[-1]
            value = table[last]
            is_number = isinstance(value, float | int) and not isinstance(value, bool)
            if way == "misspelt" and isinstance(last, str):
                table[f"{last}_"] = table.pop(last)
            elif way == "no number" and is_number and last != "number":
                table[last] = "deep"
            elif way == "no such kind" and last == "kind":
                table[last] = "no such kind"
            elif way == "no table" and isinstance(value, dict):
                table[last] = 3
            elif way == "out of range" and last in ("depth", "conductivity", "flow", "discount_rate"):
                table[last] = -1e12
            elif way == "a key too many" and isinstance(value, dict):
                value["no_such_key"] = 1
            else:
                continue
            yield f"{'.'.join(map(str, keys))}, {way}", changed


SPOILT = [
    pytest.param(name, changed, id=f"{name}: {what}")
    for name, whole in GOOD.items()
    for what, changed in spoilt_ways(whole)
]


@pytest.mark.parametrize("validator", SCHEMAS.values(), ids=SCHEMAS)
def test_is_a_json_schema(validator):
    Draft202012Validator.check_schema(validator.schema)


@pytest.mark.parametrize("name", GOOD)
def test_good_files_pass(name):
    assert [error.message for error in of(name).iter_errors(GOOD[name])] == []


@pytest.mark.parametrize("answers", [{"--building": "house"}, {"--building": "larger", "--units": "IP"}])
def test_what_new_writes_passes(command, tmp_path, answers):
    path = tmp_path / "new.toml"
    code, _, err = command("new", path, "--yes", *(word for pair in answers.items() for word in pair))
    assert code == 0, err
    assert [error.message for error in SCHEMAS["design"].iter_errors(read(path))] == []


def test_what_write_writes_passes(design, tmp_path):
    design.write(tmp_path / "design.toml")
    assert [error.message for error in SCHEMAS["design"].iter_errors(read(tmp_path / "design.toml"))] == []


def test_there_are_enough_spoilt_files():
    assert len(SPOILT) >= 100


@pytest.mark.parametrize(("name", "changed"), random.Random(20).sample(SPOILT, 100))
def test_spoilt_files_fail(name, changed):
    assert list(of(name).iter_errors(changed))


@pytest.mark.parametrize("part", PARTS.values(), ids=PARTS)
def test_keys_are_those_of_the_reader(part):
    """Every kind of table that files of a part may have is there with all its keys."""
    whole = schema(part)
    for within, kinds in tables_within(part).items():
        table = whole if within is part else whole["$defs"][within.__name__]
        for name, described in zip(kinds, table.get("oneOf", [table]), strict=True):
            keys = set(described["properties"]) - ({"schema", "study", "then"} if within is part else set())
            assert keys == set(kinds[name].keys) | ({"kind"} if name else set())
            assert set(described["required"]) - {"kind"} == set(kinds[name].required())


def test_most_keys_are_described():
    tables = [
        each
        for table in SCHEMAS["design"].schema["$defs"].values()
        for each in table.get("oneOf", [table])
        if "properties" in each
    ]
    keys = [value for table in tables for name, value in table["properties"].items() if name != "kind"]
    assert sum("description" in value for value in keys) > 0.9 * len(keys) > 200


@pytest.mark.parametrize("name", PARTS)
def test_the_command_prints_it(command, name):
    code, out, err = command("schema", name)
    assert (code, err) == (0, "")
    assert json.loads(out) == SCHEMAS[name].schema


def test_the_command_knows_no_other_file(command):
    code, _, err = command("schema", "house")
    assert code == 2
    assert "'design', 'site', 'tariff'" in err
