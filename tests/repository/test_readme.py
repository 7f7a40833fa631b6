"""README and page of design files: they say what the package itself says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import loopdrift as ld
from loopdrift.files.kinds import table_kinds, tables_within
from loopdrift.model.cautions import HAZARDS, PERMITS, STANDING

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
DESIGN_FILES = ROOT / "python" / "docs" / "start" / "command_line.md"


@pytest.mark.parametrize("caution", [HAZARDS, STANDING, PERMITS])
def test_it_has_every_caution(caution):
    assert caution in " ".join(README.read_text(encoding="utf-8").split())


def test_it_lists_the_kinds_of_every_table():
    """The rows have the names of the tables and their kinds, as the reader has them, no more and no fewer."""
    text = DESIGN_FILES.read_text(encoding="utf-8")
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
