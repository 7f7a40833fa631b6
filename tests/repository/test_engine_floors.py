"""The engine's modules depend on each other in one direction."""

import re
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "rust" / "engine" / "src"

#: From low to high; modules of one floor don't use each other.
FLOORS = (
    ("error", "lanes", "chebyshev", "memo", "column", "pool"),
    ("quantity", "cancel_token", "csv_file", "lane_layout"),
    ("fluid", "loads"),
    ("ground", "building", "limits"),
    ("bore", "history"),
    ("heat_pump",),
    ("ground_side", "plant"),
    ("design",),
    ("schema", "stepper"),
    ("yearly", "hourly"),
    ("judgement",),
    ("prepared",),
    ("run", "simulation"),
    ("study",),
)


def modules() -> set[str]:
    return {path.stem for path in SOURCE.iterdir()} - {"lib"}


def uses(module: str) -> set[str]:
    folder, file = SOURCE / module, SOURCE / f"{module}.rs"
    sources = [file] if file.exists() else sorted(folder.rglob("*.rs"))
    found = set()
    for path in sources:
        if path.name == "tests.rs":
            continue
        code = path.read_text(encoding="utf-8").split("#[cfg(test)]\nmod tests {")[0]
        code = re.sub(r"//.*", "", code)
        found |= set(re.findall(r"\bcrate::(\w+)", code))
    return (found & modules()) - {module}


def test_every_module_stands_on_a_floor():
    assert sorted(module for floor in FLOORS for module in floor) == sorted(modules())


@pytest.mark.parametrize("floor", range(len(FLOORS)))
def test_a_floor_uses_only_lower_ones(floor):
    lower = {module for below in FLOORS[:floor] for module in below}
    for module in FLOORS[floor]:
        assert uses(module) <= lower, module


def test_uses_are_found():
    assert {"ground_side", "stepper"} <= uses("prepared")
