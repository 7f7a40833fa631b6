"""Put small faults into the engine's physics and list those that no test of the engine notices.

Run by hand, not by pytest. cargo-mutants names the mutants (`.cargo/mutants.toml`: in which files). Building
the engine takes far longer than running its tests, so all mutants of a sample are built at once, into a clone
of the repository: each is an `if` on the environment variable MUTANT. A mutant that doesn't compile is left
out as unviable.

    cargo install cargo-mutants
    pip install tree-sitter tree-sitter-rust
    python tests/robustness/engine_mutants.py build ../clone --shard 3/75    # every 75th mutant
    python tests/robustness/engine_mutants.py run ../clone     # prints a table; continues an interrupted run

Each mutant is tested with the Rust tests of its folder, the Python tests that see its part of the engine, and
then all Rust tests and the quick folders of the Python tests, until one fails.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import tree_sitter_rust
from tree_sitter import Language, Node, Parser

ROOT = Path(__file__).resolve().parents[2]
ENGINE = Path("rust/engine")
CARGO = os.environ.get("CARGO", "cargo")
TIMEOUT = 300.0
"""Time limit of one command with a mutant [s]."""

SEES = {
    "bore": "reference/test_second_sources_bore reference/test_bore_resistance"
    " reference/test_friction_and_films reference/test_bore_first_hours parts/test_bore"
    " ground_sides/test_bore_field",
    "building": "reference/test_building_network reference/test_second_sources_building parts/test_building",
    "fluid": "parts/test_fluid reference/test_published_fluid ground_sides/test_bore_field",
    "ground/": "reference/test_line_source ground_sides/test_ground_temperature reference/test_field_response"
    " reference/test_trenches_and_rings",
    "ground/field_response": "reference/test_stubby_bores ground_sides/test_bore_field",
    "ground/inclined": "reference/test_inclined_bores ground_sides/test_leaning_bores",
    "ground/moving": "reference/test_moving_ground ground_sides/test_groundwater_flow",
    "ground/surface": "ground_sides/test_trench_field",
    "ground/temperature": "reference/test_ground_temperatures reference/test_stopped_heat",
    "ground/trench": "ground_sides/test_trench_field reference/test_ground_temperatures",
    "ground_side/bore": "ground_sides/test_bore_field model/test_run",
    "ground_side/trench": "ground_sides/test_trench_field reference/test_trenches_and_rings",
    "ground_side/pond": "ground_sides/test_pond reference/test_pond_balance",
    "ground_side/well": "reference/test_wells ground_sides/test_well reference/test_second_sources_water",
    "heat_pump": "parts/test_heat_pump reference/test_second_sources_water model/test_run parts/test_plant",
    "history": "reference/test_hourly_superposition",
    "judgement": "model/test_judgement analysis/test_findings",
    "plant": "parts/test_plant reference/test_second_sources_water",
    "prepared": "model/test_run",
    "prepared/bore": "reference/test_bore_first_hours reference/test_resistance_of_the_hour"
    " ground_sides/test_bore_field reference/test_inside_error",
    "prepared/conduction": "reference/test_hourly_superposition reference/test_stopped_heat model/test_phases"
    " ground_sides/test_bore_field",
    "prepared/pond": "reference/test_second_sources_pond reference/test_pond_balance"
    " reference/test_yearly_evaporation ground_sides/test_pond",
    "prepared/resistance": "reference/test_resistance_of_the_hour ground_sides/test_bore_field",
    "prepared/table": "reference/test_resistance_of_the_hour",
    "prepared/trench": "ground_sides/test_trench_field reference/test_trenches_and_rings",
    "prepared/well": "ground_sides/test_well reference/test_wells reference/test_second_sources_water",
    "stepper": "model/test_run reference/test_hourly_superposition parts/test_plant",
    "yearly": "model/test_run model/test_columns ground_sides/test_bore_field parts/test_plant",
}
"""Python tests that see a part of the engine, tried before all others."""

QUICK = "tests/model tests/parts tests/ground_sides tests/reference"
"""Python tests that a mutant must survive."""

SWITCH = """//! The active mutant.

use std::sync::LazyLock;

static ACTIVE: LazyLock<usize> =
    LazyLock::new(|| std::env::var("MUTANT").ok().and_then(|text| text.parse().ok()).unwrap_or(0));

/// Whether a mutant is active.
pub fn on(mutant: usize) -> bool {
    *ACTIVE == mutant
}
"""

Mutant = dict[str, Any]


class Change(NamedTuple):
    """Replacement of the bytes from `start` to `end` of a file: `before`, what stood there, `after`."""

    start: int
    end: int
    before: bytes
    after: bytes
    mutant: int


def change(source: bytes, root: Node, number: int, mutant: Mutant) -> Change | None:
    """Return the change that puts a mutant behind its switch; None for a kind that has none."""
    lines = source.splitlines(keepends=True)

    def offset(place: dict[str, int]) -> int:
        before = sum(map(len, lines[: place["line"] - 1]))
        return before + len(lines[place["line"] - 1].decode()[: place["column"] - 1].encode())

    def around(node: Node | None, *kinds: str) -> Node | None:
        while node is not None and node.type not in kinds:
            node = node.parent
        return node

    def part(node: Node, name: str) -> bytes:
        child = node.child_by_field_name(name)
        return b"" if child is None else source[child.start_byte : child.end_byte]

    start, end = (offset(mutant["span"][side]) for side in ("start", "end"))
    inside = root.descendant_for_byte_range(start, end)
    switch, replacement = f"crate::mutant::on({number})".encode(), mutant["replacement"].encode()
    if mutant["genre"] == "FnValue" and (node := around(inside, "function_item")) is not None:
        body = node.child_by_field_name("body")
        if body is not None and not part(node, "return_type").startswith(b"impl"):  # of one type only
            at = body.start_byte + 1
            return Change(at, at, b" if %b { return %b; }" % (switch, replacement), b"", number)
    if mutant["genre"] == "UnaryOperator" and (node := around(inside, "unary_expression")) is not None:
        changed = b"(if %b { %b } else { (" % (switch, source[end : node.end_byte])
        return Change(node.start_byte, node.end_byte, changed, b") })", number)
    if mutant["genre"] == "BinaryOperator":
        node = around(inside, "binary_expression", "compound_assignment_expr")
        if node is None:
            return None
        values = (switch, part(node, "left"), replacement, part(node, "right"))
        if node.type == "compound_assignment_expr":
            return Change(
                node.start_byte, node.end_byte, b"{ if %b { %b %b %b } else { " % values, b" } }", number
            )
        changed = b"(if %b { (%b) %b (%b) } else { (" % values
        return Change(node.start_byte, node.end_byte, changed, b") })", number)
    return None


def written(source: bytes, changes: list[Change]) -> tuple[bytes, list[Change]]:
    """Return a source with its changes, of which some lie within others, and where they stand in it."""
    opening = sorted(changes, key=lambda each: (each.start, -each.end))
    text, at, spans, open_ones = b"", 0, [], list[tuple[Change, int]]()

    def close(until: int) -> None:
        nonlocal text, at
        while open_ones and open_ones[-1][0].end <= until:
            each, start = open_ones.pop()
            text, at = text + source[at : each.end] + each.after, each.end
            spans.append(each._replace(start=start, end=len(text)))

    for each in opening:
        close(each.start if each.end > each.start else each.start - 1)
        text, at = text + source[at : each.start], each.start
        open_ones.append((each, len(text)))
        text += each.before
    close(len(source))
    return text + source[at:], spans


def place(clone: Path, mutants: list[Mutant], unviable: set[int]) -> dict[str, list[Change]]:
    """Write all viable mutants into the clone; return where they stand in each file as written."""
    subprocess.run(["git", "checkout", "--quiet", "--", str(ENGINE)], cwd=clone, check=True)
    parser = Parser(Language(tree_sitter_rust.language()))
    by_file: dict[str, list[tuple[int, Mutant]]] = defaultdict(list)
    for number, mutant in enumerate(mutants, 1):
        if number not in unviable:
            by_file[mutant["file"]].append((number, mutant))
    placed = {}
    for file, here in by_file.items():
        source = (clone / file).read_bytes()
        root = parser.parse(source).root_node
        found = (change(source, root, number, mutant) for number, mutant in here)
        text, placed[file] = written(source, [each for each in found if each is not None])
        (clone / file).write_bytes(text)
    (clone / ENGINE / "src/mutant.rs").write_text(SWITCH)
    with (clone / ENGINE / "src/lib.rs").open("a") as library:
        library.write("\n#[doc(hidden)]\npub mod mutant;\n")
    return placed


def messages(clone: Path, *arguments: str) -> Iterator[dict[str, Any]]:
    """Yield the messages of a cargo command."""
    command = [CARGO, *arguments, "--release", "--locked", "--message-format=json"]
    found = subprocess.run(command, cwd=clone, stdout=subprocess.PIPE, text=True, check=False)
    yield from (json.loads(line) for line in found.stdout.splitlines())


def faulty(clone: Path, placed: dict[str, list[Change]]) -> set[int]:
    """Return the mutants that don't compile."""
    numbers = set()
    for message in messages(clone, "check", "--workspace"):
        error = message.get("message", {})
        if message["reason"] != "compiler-message" or error["level"] != "error":
            continue
        for span in error["spans"]:
            at = placed.get(span["file_name"], [])
            around = [m for m in at if span["byte_start"] < m.end and span["byte_end"] > m.start]
            if around:
                numbers.add(min(around, key=lambda m: m.end - m.start).mutant)
    return numbers


def listed(clone: Path, *choice: str) -> list[Mutant]:
    """Return the mutants that cargo-mutants names."""
    command = ["cargo", "mutants", "--list", "--json", *choice]
    found = subprocess.run(command, cwd=clone, stdout=subprocess.PIPE, check=True)
    mutants: list[Mutant] = json.loads(found.stdout)
    return mutants


def build(clone: Path, shard: str, lines: list[str]) -> None:
    """Clone the repository with a sample of mutants, and build the engine's tests and the binding."""
    if not clone.exists():
        subprocess.run(["git", "clone", "--quiet", str(ROOT), str(clone)], check=True)
    subprocess.run(["git", "checkout", "--quiet", "--", str(ENGINE)], cwd=clone, check=True)
    (clone / ENGINE / "src/mutant.rs").unlink(missing_ok=True)
    mutants = listed(clone, "--shard", shard, "--sharding", "round-robin")
    drawn, known = len(mutants), {mutant["name"] for mutant in mutants}
    if lines:
        chosen = re.compile("|".join(rf"{re.escape(line)}:" for line in lines))
        mutants += [m for m in listed(clone) if chosen.search(m["name"]) and m["name"] not in known]
    unviable = set[int]()
    placed = place(clone, mutants, unviable)
    while more := faulty(clone, placed) - unviable:
        unviable |= more
        placed = place(clone, mutants, unviable)
    built = list(messages(clone, "test", "--workspace", "--lib", "--tests", "--no-run"))
    built += messages(clone, "build", "-p", "loopdrift-binding")
    # Cargo may see the clone under another path.
    tests = [f"target/release/deps/{Path(m['executable']).name}" for m in built if m.get("executable")]
    if not tests or not all(m.get("success", True) for m in built):
        raise SystemExit("the engine with mutants doesn't build")
    shutil.copy(clone / "target/release/lib_core.so", clone / "python/loopdrift/_core.abi3.so")
    numbers = sorted(each.mutant for spans in placed.values() for each in spans)
    state = {"mutants": mutants, "drawn": drawn, "placed": numbers, "tests": tests, "results": {}}
    (clone / "mutants.json").write_text(json.dumps(state))
    print(f"{len(numbers)} of {len(mutants)} mutants built, {len(unviable)} unviable")


def outcome(command: list[str], folder: Path, mutant: int) -> str:
    """Run tests with a mutant: empty if all pass, else the first that fails, "timeout" or "crash"."""
    child = subprocess.Popen(
        command,
        env={**os.environ, "MUTANT": str(mutant), "PYTHONPATH": str(folder / "python")},
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )
    try:
        text, _ = child.communicate(timeout=TIMEOUT)
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, signal.SIGKILL)
        child.communicate()
        return "timeout"
    if child.returncode == 0:
        return ""
    failed = re.search(r"^(?:    |FAILED |ERROR )([\w:/.]+)", text, re.MULTILINE)
    return failed[1] if failed else "crash"


def stages(clone: Path, state: dict[str, Any], mutant: Mutant) -> Iterator[list[str]]:
    """Yield the commands that test a mutant, those most likely to notice it first."""
    path = Path(mutant["file"]).relative_to(ENGINE / "src").with_suffix("")
    near = "::".join(path.parts[:-1]) or path.name  # the tests of a folder, as many files have none
    tests = [str(clone / each) for each in state["tests"]]
    units = [each for each in tests if Path(each).name.startswith("loopdrift-")]
    for test in units:
        yield [test, "--quiet", near]
    python = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--tb=line"]
    seen_by = [SEES[part] for part in SEES if mutant["file"].startswith(f"{ENGINE}/src/{part}")]
    files = dict.fromkeys(" ".join(reversed(seen_by)).split())
    yield [*python, *(f"tests/{file}.py" for file in files)]
    for test in sorted(tests, key=lambda each: each not in units):
        yield [test, "--quiet"]
    yield [*python, *QUICK.split()]


def run(clone: Path) -> None:
    """Test each mutant until it is noticed, and print the table."""
    file = clone / "mutants.json"
    state = json.loads(file.read_text())
    results = state["results"]
    for number in state["placed"]:
        mutant = state["mutants"][number - 1]
        if str(number) not in results:
            found = (outcome(command, clone, number) for command in stages(clone, state, mutant))
            results[str(number)] = next(filter(None, found), "")
            file.write_text(json.dumps(state))
        if not results[str(number)]:
            print(f"{number} survives: {mutant['name']}", flush=True)
    table: dict[str, Counter[str]] = defaultdict(Counter)
    for number in state["placed"]:
        if number <= state["drawn"]:
            path = Path(state["mutants"][number - 1]["file"]).relative_to(ENGINE / "src").with_suffix("")
            table[path.parts[0]] += Counter(built=1, caught=bool(results[str(number)]))
    for module, count in sorted(table.items()):
        print(f"{module:16} {count['built']:4} drawn and built {count['caught']:4} caught")


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(dest="command", required=True)
    building = commands.add_parser("build")
    building.add_argument("clone", type=Path)
    building.add_argument("--shard", default="0/75", metavar="K/N")
    building.add_argument(
        "--also", nargs="*", default=[], metavar="FILE:LINE", help="all mutants of these lines"
    )
    commands.add_parser("run").add_argument("clone", type=Path)
    options = parser.parse_args()
    if options.command == "build":
        build(options.clone.resolve(), options.shard, options.also)
    else:
        run(options.clone.resolve())


if __name__ == "__main__":
    main()
