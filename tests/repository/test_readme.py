"""README: says what the package itself says, and its Python runs from top to bottom."""

from __future__ import annotations

import re
import tomllib
from importlib.util import find_spec
from pathlib import Path

import pytest

import loopdrift as ld
from loopdrift.analysis.cautions import HAZARDS, PERMITS, STANDING
from loopdrift.files.kinds import table_kinds, tables_within

README = Path(__file__).parents[2] / "README.md"

_BLOCK = re.compile(r"(?:<!-- extra (\w+) -->\n)?```(\w+)\n(.*?)```", re.DOTALL)


def blocks(language: str) -> list[tuple[int, str, str]]:
    """Line, package that it needs beyond loopdrift's own, and text of each block in a language."""
    text = README.read_text(encoding="utf-8")
    return [
        (text.count("\n", 0, found.start(3)), found[1] or "", found[3])
        for found in _BLOCK.finditer(text)
        if found[2] == language
    ]


@pytest.mark.parametrize("caution", [HAZARDS, STANDING, PERMITS])
def test_it_has_every_caution(caution):
    assert caution in " ".join(README.read_text(encoding="utf-8").split())


def test_it_lists_the_kinds_of_every_table():
    """The rows have the names of the tables and their kinds, as the reader has them, no more and no fewer."""
    text = README.read_text(encoding="utf-8")
    rows = text.partition("| table | `kind` |\n| --- | --- |\n")[2].partition("\n\n")[0]
    listed = {
        table: set(re.findall(r"`([^`]+)`", kinds))
        for _, tables, kinds, _ in (row.split("|") for row in rows.splitlines())
        for table in re.findall(r"`(\w+)`", tables)
    }
    read = {
        name: set(table_kinds(*key.parts))
        for kinds in tables_within(ld.Design, ld.Site).values()
        for kind in kinds.values()
        for name, key in kind.keys.items()
        if key.parts
    }
    assert listed == {name: kinds for name, kinds in read.items() if kinds != {""}}


@pytest.mark.filterwarnings("ignore::DeprecationWarning:polars")
def test_its_python_runs_in_order(command, tmp_path, monkeypatch):
    """One namespace for all blocks, beside the folder that the demo leaves, as a reader would go on."""
    import matplotlib.pyplot as plt

    monkeypatch.chdir(tmp_path)
    assert command("demo", "--out", "demo", "--years", "1")[0] == 0
    (tmp_path / "row.toml").write_bytes((tmp_path / "demo/inputs/design.toml").read_bytes())
    (tmp_path / "site.toml").write_bytes((tmp_path / "demo/inputs/site.toml").read_bytes())
    names: dict[str, object] = {}
    ran = 0
    for line, needed, text in blocks("python"):
        if needed and find_spec(needed) is None:
            continue
        exec(compile("\n" * line + text, str(README), "exec"), names)
        plt.close("all")
        ran += 1
    assert ran >= 15


@pytest.mark.parametrize(
    "text",
    [pytest.param(text, id=f"line {line}") for line, _, text in blocks("toml")],
)
def test_its_toml_is_toml(text):
    assert tomllib.loads(re.sub(r", \.\.\.", "", text))
