"""Kinds of tables: each is named openly, and a file without them learns which they are."""

import dataclasses
import re
import subprocess
import sys
import tomllib
from importlib.resources import files

import pytest

import loopdrift as ld
from loopdrift.files.kinds import table_kinds, tables_within

DEMO = files("loopdrift") / "demo"
DESIGNS = ("design", "fan", "pond", "trenches", "well")

HOUSE = """
flow = 0.5
[ground]
kind = "properties"
conductivity = 2.1
volumetric_heat_capacity = 2.3e6
temperature = 10.0
[ground_side]
kind = "bore grid"
columns = 2
rows = 1
spacing = 6.0
[ground_side.bore]
depth = 90.0
buried_depth = 2.0
diameter = 0.15
grout_conductivity = 1.5
[ground_side.bore.pipes]
kind = "U-tube"
shank_spacing = 0.07
pipe = { kind = "SDR", dimension_ratio = 11, outer_diameter = 0.032 }
[fluid]
kind = "tabulated"
name = "water"
[heat_pump]
kind = "curves"
heating_cop = [3.6, 0.08]
[loads]
kind = "values"
heating = 3000.0
"""


def said(tmp_path, text, make=ld.Design):
    """Return what is said of a file, line by line."""
    path = tmp_path / "house.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ld.InvalidDesignFile) as caught:
        make.read(path)
    return [
        str(caught.value).partition(": ")[2],
        *(note.partition(": ")[2] or note for note in notes(caught.value)),
    ]


def notes(error):
    return [note.replace("house.toml", "") for note in getattr(error, "__notes__", ())]


WRONG = {
    "a missing kind": (
        'kind = "properties"\n',
        "",
        'ground.kind = nothing: must be given; the keys match kind = "properties"',
    ),
    "a missing kind within a line": (
        'kind = "SDR", ',
        "",
        'ground_side.bore.pipes.pipe.kind = nothing: must be given; the keys match kind = "SDR"',
    ),
    "the key of a file of before": (
        'kind = "SDR", dimension_ratio = 11',
        "sdr = 11",
        'must be given; the keys match kind = "SDR", where sdr is called dimension_ratio',
    ),
    "the key of before beside its kind": (
        'kind = "SDR", dimension_ratio = 11',
        'kind = "SDR", sdr = 11',
        "pipe.sdr = 11: is no known key; did you mean dimension_ratio = 11?",
    ),
    "a kind that is near one": (
        'kind = "tabulated"',
        'kind = "tabular"',
        "fluid.kind = tabular: must be one of tabulated, constant; did you mean 'tabulated'?",
    ),
    "a kind that is like none": (
        'kind = "bore grid"',
        'kind = "holes"',
        "must be one of bore field, bore grid, trench field, trench rows, pond, pond basin, well; "
        "did you mean 'bore grid'?",
    ),
    "a number": ('kind = "curves"', "kind = 5", "heat_pump.kind = 5: must be one of table, curves"),
    "the kind of other keys": (
        'kind = "bore grid"',
        'kind = "bore field"',
        "ground_side.kind = bore field: must be bore grid, to which columns, rows, spacing belong",
    ),
    "a key of another kind": (
        "columns = 2",
        "columns = 2\npositions = [[0, 0]]",
        "ground_side.positions = [[0, 0]]: belongs to kind 'bore field', not to 'bore grid'",
    ),
    "a key that is nothing's": (
        "columns = 2",
        "columns = 2\nheight = 3",
        "ground_side.height = 3: is no known key",
    ),
    "a kind where there is one only": (
        "[ground_side.bore]",
        "[ground_side.bore]\nkind = 'big'",
        "is no known key",
    ),
}


@pytest.mark.parametrize(("old", "new", "message"), WRONG.values(), ids=WRONG)
def test_a_wrong_kind_is_one_fault_with_its_cure(tmp_path, old, new, message) -> None:
    assert old in HOUSE
    (only,) = said(tmp_path, HOUSE.replace(old, new, 1))
    assert message in only


def test_a_missing_kind_that_no_key_tells_lists_what_each_takes(tmp_path) -> None:
    table = 'kind = "U-tube"\nshank_spacing = 0.07'
    first, *others = said(tmp_path, HOUSE.replace(table, "shank_spacing = 0.07"))
    assert "pipes.kind = nothing: must be one of U-tube, double U-tube, coaxial" in first
    assert others == [
        'kind = "U-tube" takes pipe, shank_spacing',
        'kind = "double U-tube" takes pipe, shank_spacing',
        'kind = "coaxial" takes inner, outer',
    ]
    _, *others = said(tmp_path, HOUSE.replace('kind = "values"\nheating = 3000.0', "weather = 'hot humid'"))
    assert len(others) == 8
    assert 'kind = "building" takes building, weather and optionally hot_water' in others


def test_faults_within_a_table_without_its_kind_are_found_too(tmp_path) -> None:
    text = HOUSE.replace('kind = "bore grid"\n', "").replace("depth = 90.0", "depth = -90.0")
    first, second = said(tmp_path, text.replace("columns = 2", "columns = 2.5"))[:2]
    assert "ground_side.kind" in first
    assert "ground_side.columns = 2.5: must be a whole number" in second


@pytest.mark.parametrize("name", DESIGNS)
def test_a_file_of_before_is_mended_by_its_errors(tmp_path, name) -> None:
    """All kinds and new keys that a file without them needs are in its errors, at once."""
    for each in DEMO.iterdir():
        (tmp_path / each.name).write_bytes(each.read_bytes())
    path = tmp_path / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    names = {"bore grid": "bore field", "trench rows": "trench field", "pond basin": "pond"}
    for now, before in names.items():
        text = text.replace(f'kind = "{now}"', f'kind = "{before}"')
    for now, before in {
        '"table"\npath': "table",
        '"SDR"\ndimension_ratio': "sdr",
        '"sample", name': "sample",
    }.items():
        text = text.replace(f"kind = {now}", before)
    text = re.sub(r'kind = "(properties|soil|tabulated|building|weather)"(\n|, )', "", text)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ld.InvalidDesignFile) as caught:
        ld.Design.read(path)
    for fault in [str(caught.value), *caught.value.__notes__]:
        place, _, cure = fault.partition(" = ")
        key, table = place.rpartition(": ")[2].split("."), tomllib.loads(text)
        for each in key[:-1]:
            table = table[each]
        kind = re.search(r'match kind = "([^"]+)"|must be ([^,]+), to which', cure)
        text = with_kind(text, key[:-1], kind[1] or kind[2])
        called = re.search(r"(\w+) is called (\w+)", cure)
        if called:
            text = re.sub(rf"(\n|\{{ |, ){called[1]} = ", rf"\1{called[2]} = ", text)
    path.write_text(text, encoding="utf-8")
    assert ld.Design.read(path) == ld.Design.read(DEMO / f"{name}.toml")


def with_kind(text: str, key: list[str], kind: str) -> str:
    """Return a design file with the kind of one of its tables."""
    header = f"[{'.'.join(key)}]\n"
    if header in text:
        without = re.sub(rf"({re.escape(header)})kind = .*\n", r"\1", text)
        return without.replace(header, f'{header}kind = "{kind}"\n')
    return re.sub(rf"(\b{key[-1]} = \{{ )(?!kind)", rf'\1kind = "{kind}", ', text)


@pytest.mark.parametrize("name", DESIGNS)
def test_what_is_written_says_its_kinds_and_is_read_back(tmp_path, name) -> None:
    design = ld.Design.read(DEMO / f"{name}.toml")
    design.write(tmp_path / "copy.toml")
    written = tomllib.loads((tmp_path / "copy.toml").read_text(encoding="utf-8"))
    assert next(iter(written)) == "schema"
    assert all(written[table]["kind"] for table in ("ground", "ground_side", "fluid", "heat_pump", "loads"))
    assert ld.Design.read(tmp_path / "copy.toml") == design


def test_every_constructor_of_a_table_is_one_of_its_part() -> None:
    tables = tables_within(ld.Design, ld.Site)
    assert len(tables) > 40
    for part, kinds in tables.items():
        assert kinds
        assert len(kinds) == 1 or "" not in kinds, part
        assert dataclasses.is_dataclass(part) or part is ld.Loads


SCHEMAS = {
    "a later version": ("2", "schema = 2: must be at most 1: the file was written for a later loopdrift"),
    "text": ('"1"', "schema = '1': must be 1"),
    "a truth": ("true", "schema = True: must be 1"),
    "nought": ("0", "schema = 0: must be 1"),
}


@pytest.mark.parametrize(("value", "message"), SCHEMAS.values(), ids=SCHEMAS)
@pytest.mark.parametrize("make", [ld.Design, ld.Site])
def test_a_file_of_another_version_is_refused_with_what_to_do(tmp_path, make, value, message) -> None:
    text = HOUSE if make is ld.Design else "[land]\narea = 900.0\n"
    found = said(tmp_path, f"schema = {value}\n{text}", make)
    assert len(found) == 1 and message in found[0]


def test_a_later_version_has_no_other_faults(tmp_path) -> None:
    """Keys of a format that is not known say nothing."""
    assert len(said(tmp_path, "schema = 3\nloop = 1\n")) == 1


def test_version_one_is_read(tmp_path) -> None:
    path = tmp_path / "house.toml"
    path.write_text(HOUSE)
    without = ld.Design.read(path)
    path.write_text(f"schema = 1\n{HOUSE}")
    assert ld.Design.read(path) == without
    assert "did you mean 'schema'" in said(tmp_path, f"shema = 1\n{HOUSE}")[0]


def test_all_kinds_are_known_in_a_new_process() -> None:
    """Names of the package load when they are first used; kinds are known before that."""
    lists = "from loopdrift.files import design_file, kinds; from loopdrift.parts.loads import Loads"
    found = subprocess.run(
        [sys.executable, "-c", f"{lists}; print(*kinds.table_kinds(Loads), sep=',')"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert set(found.stdout.strip().split(",")) == set(table_kinds(ld.Loads))
    assert "building" in found.stdout
