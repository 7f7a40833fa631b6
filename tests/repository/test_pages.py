"""README and site: every block runs, in order, where it can be tried; and each public name has its place."""

from __future__ import annotations

import io
import re
import shlex
import shutil
import tomllib
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import example_files
import matplotlib.pyplot as plt
import pytest
import tomli_w

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis.study.file import read_study

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "python" / "docs"
FIRST_RUN = DOCS / "start" / "first_run.md"
PAGES = [
    ROOT / "README.md",
    DOCS / "index.md",
    *sorted(
        path for folder in ("start", "guides", "theory", "reference") for path in (DOCS / folder).glob("*.md")
    ),
]
SETTING_UP = ("python3 -m venv", "pip install", "python -m sphinx", ".venv-test/", "cargo ", "git ")
"""Beginnings of console lines that install or build what the checks themselves need."""
DEMO = "loopdrift demo --out demo"
"""Has been run for the example."""


class Block(NamedTuple):
    """A fenced block of a page."""

    extra: str
    """Package that it needs beyond loopdrift's own, from a comment before it."""
    language: str
    text: str
    line: int


def blocks(page: Path) -> list[Block]:
    text = page.read_text(encoding="utf-8")
    return [
        Block(found[1] or "", found[2], found[3], text.count("\n", 0, found.start(3)) + 1)
        for found in re.finditer(r"(?ms)^(?:<!-- extra (\w+) -->\n)?```([^\n`]+)\n(.*?)^```$", text)
    ]


def run_python(page: Path, names: dict[str, object]) -> None:
    for block in blocks(page):
        if block.language == "python":
            execute(page, block, names)


def execute(page: Path, block: Block, names: dict[str, object]) -> None:
    if block.extra and find_spec(block.extra) is None:
        return
    exec(compile("\n" * (block.line - 1) + block.text, page, "exec"), names)
    plt.close("all")


@pytest.fixture(scope="module")
def example(tmp_path_factory, command) -> Path:
    """A folder with what the pages speak of: the demo, and files that a user would have."""
    folder = tmp_path_factory.mktemp("example")
    code, _, error = command("demo", "--out", folder / "demo")
    assert code == 0, error
    shutil.copytree(folder / "demo" / "inputs", folder, dirs_exist_ok=True)
    example_files.write(folder)
    return folder


@pytest.fixture(scope="module")
def first_run(example) -> dict[str, object]:
    """The names that the guides continue with."""
    names: dict[str, object] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(example)
        run_python(FIRST_RUN, names)
    return names


@pytest.mark.filterwarnings("ignore::DeprecationWarning:polars")
@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_blocks_run(page, example, first_run, command, tmp_path, monkeypatch):
    here = tmp_path / "here"
    shutil.copytree(example, here)
    monkeypatch.chdir(here)
    monkeypatch.setattr("sys.stdin", io.StringIO("\n" * 99))  # all questions answered as proposed
    names = {} if page in (FIRST_RUN, ROOT / "README.md") else dict(first_run)
    for block in blocks(page):
        if block.language == "python":
            execute(page, block, names)
        elif block.language == "toml":
            read(block, here)
        elif block.language == "sh":
            for line in block.text.splitlines():
                run_line(line, command)


def run_line(line: str, command) -> None:
    line = line.partition("  #")[0].strip().removeprefix(".venv/bin/")
    if not line or line == DEMO or line.startswith(SETTING_UP):
        return
    line = re.sub(r"--years \d+", "--years 2", line)  # as notebooks in their test
    program, *arguments = shlex.split(line)
    assert program == "loopdrift", line
    code, _, error = command(*arguments)
    assert code == 0, f"{line}: {error}"


def read(block: Block, here: Path) -> None:
    values = tomllib.loads(block.text)
    if "plant" in values:
        (here / "town.toml").write_text(block.text, encoding="utf-8")
        ld.Neighbourhood.read(here / "town.toml")
        return
    if "land" in values:
        (here / "site.toml").write_text(block.text, encoding="utf-8")
        ld.Site.read(here / "site.toml")
        return
    demo = tomllib.loads((here / "demo" / "inputs" / "design.toml").read_text(encoding="utf-8"))
    if "hot_water" in values:
        del demo["loads"]["hot_water"]  # a tank replaces it
    if "piping" in values:
        del demo["pump_power"]  # it follows from the pipes
    path = here / "page.toml"
    path.write_text(tomli_w.dumps(demo | values), encoding="utf-8")
    if "then" in values:
        ld.Design.read_phases(path).run(values["then"][-1]["year"])
        return
    run = ld.Design.read(path).run(1)
    if "prices" in values:
        run.cost()
    if "study" in values:
        read_study(path, ld.Design)


def test_every_public_name_is_in_the_reference():
    listed = re.findall(r"(?m)^   (\w+)$", (DOCS / "reference" / "python.md").read_text(encoding="utf-8"))
    assert sorted(listed) == sorted([*(set(ld.__all__) - {"plots"}), *plots.__all__])


def test_no_block_is_of_a_kind_that_nothing_runs():
    for page in PAGES:
        for block in blocks(page):
            directive = block.language.startswith("{")
            assert directive or block.language in ("python", "toml", "sh", "text"), f"{page}:{block.line}"
