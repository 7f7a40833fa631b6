"""Put small faults into the engine's physics and list those that no test of the engine notices.

Run by hand, not by pytest. cargo-mutants names the mutants (`.cargo/mutants.toml`: in which files). Building
the engine takes far longer than running its tests, so all mutants of a sample are built at once, into a clone
of the repository: each is an `if` on the environment variable MUTANT. A mutant that doesn't compile is left
out as unviable.

    cargo install cargo-mutants
    pip install tree-sitter tree-sitter-rust
    python tests/robustness/engine_mutants.py build ../clone --shard 3/75    # every 75th mutant
    python tests/robustness/engine_mutants.py run ../clone     # prints a table; continues an interrupted run

A survivor may still be caught by the Python tests: build the binding in the clone, and run them with MUTANT
set to its number.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import signal
import subprocess
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
"""Time limit of the tests of a mutant [s]."""

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
    """Replacement of the bytes from `start` to `end` of a file by those of a mutant."""

    start: int
    end: int
    text: bytes
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
        if body is not None:
            at = body.start_byte + 1
            return Change(at, at, b" if %b { return %b; }" % (switch, replacement), number)
    if mutant["genre"] == "UnaryOperator" and (node := around(inside, "unary_expression")) is not None:
        whole, bare = source[node.start_byte : node.end_byte], source[end : node.end_byte]
        text = b"(if %b { %b } else { %b })" % (switch, bare, whole)
        return Change(node.start_byte, node.end_byte, text, number)
    if mutant["genre"] == "BinaryOperator":
        node = around(inside, "binary_expression", "compound_assignment_expr")
        if node is None:
            return None
        left, right = part(node, "left"), part(node, "right")
        if node.type == "compound_assignment_expr":
            form = b"{ if %b { %b %b %b } else { %b %b %b } }"
        else:
            form = b"(if %b { (%b) %b (%b) } else { (%b) %b (%b) })"
        text = form % (switch, left, replacement, right, left, source[start:end], right)
        return Change(node.start_byte, node.end_byte, text, number)
    return None


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
        changes = sorted(each for each in found if each is not None)
        written, end, spans = b"", 0, []
        for each in changes:
            if each.start < end:  # inside another mutant
                continue
            written += source[end : each.start]
            spans.append(each._replace(start=len(written), end=len(written) + len(each.text)))
            written, end = written + each.text, each.end
        (clone / file).write_bytes(written + source[end:])
        placed[file] = spans
    (clone / ENGINE / "src/mutant.rs").write_text(SWITCH)
    with (clone / ENGINE / "src/lib.rs").open("a") as library:
        library.write("\n#[doc(hidden)]\npub mod mutant;\n")
    return placed


def messages(clone: Path, *arguments: str) -> Iterator[dict[str, Any]]:
    """Yield the messages of a cargo command."""
    command = [CARGO, *arguments, "-p", "loopdrift", "--release", "--locked", "--message-format=json"]
    found = subprocess.run(command, cwd=clone, stdout=subprocess.PIPE, text=True, check=False)
    yield from (json.loads(line) for line in found.stdout.splitlines())


def faulty(clone: Path, placed: dict[str, list[Change]]) -> set[int]:
    """Return the mutants that don't compile."""
    numbers = set()
    for message in messages(clone, "check"):
        error = message.get("message", {})
        if message["reason"] != "compiler-message" or error["level"] != "error":
            continue
        for span in error["spans"]:
            at = placed.get(span["file_name"], [])
            numbers |= {m.mutant for m in at if span["byte_start"] < m.end and span["byte_end"] > m.start}
    return numbers


def build(clone: Path, shard: str) -> None:
    """Clone the repository with a sample of mutants and build the engine's tests."""
    subprocess.run(["git", "clone", "--quiet", str(ROOT), str(clone)], check=True)
    command = ["cargo", "mutants", "--list", "--json", "--shard", shard, "--sharding", "round-robin"]
    listed = subprocess.run(command, cwd=clone, stdout=subprocess.PIPE, check=True)
    mutants, unviable = json.loads(listed.stdout), set[int]()
    placed = place(clone, mutants, unviable)
    while more := faulty(clone, placed):
        unviable |= more
        placed = place(clone, mutants, unviable)
    built = [m["executable"] for m in messages(clone, "test", "--lib", "--no-run") if m.get("executable")]
    if len(built) != 1:
        raise SystemExit("the engine's tests with mutants don't build")
    numbers = sorted(each.mutant for spans in placed.values() for each in spans)
    state = {
        "mutants": mutants,
        "placed": numbers,
        "unviable": sorted(unviable),
        "tests": built[0],
        "results": {},
    }
    (clone / "mutants.json").write_text(json.dumps(state))
    print(f"{len(numbers)} of {len(mutants)} mutants built, {len(unviable)} unviable")


def outcome(tests: str, folder: Path, mutant: int, module: str) -> str:
    """Run the tests of a module with a mutant: empty if all pass, else the first that fails, or "timeout"."""
    child = subprocess.Popen(
        [tests, "--quiet", module],
        env={**os.environ, "MUTANT": str(mutant)},
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
    failed = re.search(r"^    ([\w:]+)$", text, re.MULTILINE)
    return failed[1] if failed else "crash"


def run(clone: Path) -> None:
    """Run the engine's tests with each mutant, those of its module first, and print the table."""
    file = clone / "mutants.json"
    state = json.loads(file.read_text())
    folder, results = clone / ENGINE, state["results"]
    if not results and (failed := outcome(state["tests"], folder, 0, "")):
        raise SystemExit(f"without any mutant, {failed} fails")
    modules = {}
    for number in state["placed"]:
        mutant = state["mutants"][number - 1]
        path = Path(mutant["file"]).relative_to(ENGINE / "src").with_suffix("")
        modules[number] = path.parts[0]
        if str(number) not in results:
            near = "::".join(path.parts[:-1] if path.name == "mod" else path.parts)
            results[str(number)] = outcome(state["tests"], folder, number, near) or outcome(
                state["tests"], folder, number, ""
            )
            file.write_text(json.dumps(state))
        if not results[str(number)]:
            print(f"{number} survives: {mutant['name']}", flush=True)
    built, caught = Counter(modules.values()), Counter(modules[int(n)] for n, how in results.items() if how)
    for module, count in sorted(built.items()):
        print(f"{module:16} {count:4} built {caught[module]:4} caught")


def main() -> None:
    """Run the command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    commands = parser.add_subparsers(dest="command", required=True)
    building = commands.add_parser("build")
    building.add_argument("clone", type=Path)
    building.add_argument("--shard", default="0/75", metavar="K/N")
    commands.add_parser("run").add_argument("clone", type=Path)
    options = parser.parse_args()
    if options.command == "build":
        build(options.clone.resolve(), options.shard)
    else:
        run(options.clone.resolve())


if __name__ == "__main__":
    main()
