"""Put small faults into the physics of the Python face and list those that no test notices.

Run by hand, not by pytest. A mutant is one change in one place: a number 10 % larger (an integer 1 larger),
+ for -, * for /, < for >, min for max, a lost sign. `reach` runs the tests once under coverage, to know which
of them reach which line. `run` then tests each mutant with those tests, quick ones first, until one fails.
No file is changed: a child process imports the mutant from memory.

    python tests/robustness/mutants.py reach                  # about ten minutes; kept in .mutants/
    python tests/robustness/mutants.py reach test_soils.py    # only these files again
    python tests/robustness/mutants.py run --each 8           # a random sample of 8 mutants of each module
    python tests/robustness/mutants.py run fuel soils:27 --each 1000    # all of one module and of one line
"""

from __future__ import annotations

import argparse
import ast
import functools
import importlib.abc
import importlib.util
import json
import os
import random
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

TESTS = Path(__file__).resolve().parents[1]
PACKAGE = TESTS.parent / "python" / "loopdrift"
CACHE = TESTS.parent / ".mutants"
REACH = CACHE / "reach.json"

PHYSICS = """
    antifreeze bills bore both_units building carbon channel clocks cost departures distribution
    economics envelope field fingerprint flow fluid friction fuel gaps ground
    headings heat_build_up heat_pump hot_water hours interest key_figures layers limits measures model_time
    moment months on_site piping place plants pond pump recharge rules rules_of_thumb run_error scaling
    shaped_loads shapes soils steps summary sun surface_wave tariff temperature turbulence units weather
    week well
"""
"""Modules with equations, coefficients or sums."""

SKIPPED_TESTS = ("docs", "notebooks", "benchmarks", "imports", "plots", "fuzz", "processes")
"""Test files that are slow or don't look at figures."""

OPERATORS: dict[type, type] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.Lt: ast.Gt,
    ast.Gt: ast.Lt,
    ast.LtE: ast.Gt,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
}
NAMES = {"min": "max", "minimum": "maximum", "sin": "cos", "argmin": "argmax", "cumsum": "cumprod"}
NAMES |= {new: old for old, new in NAMES.items()} | {"mean": "max", "sum": "max"}
SIGNATURES = "tests/repository/test_defaults.py"
"""The tests that look at functions without running a line of them."""

HEAVY = """
    pytest numpy pandas scipy.optimize scipy.interpolate scipy.stats pint xarray pvlib fluids pyarrow
    matplotlib.pyplot CoolProp.CoolProp chemicals ht skfem mpmath
"""
"""Packages that are imported once, before the children."""
TEXT = {"__repr__", "__str__", "_repr_html_", "plot", "to_html", "to_text"}
"""Functions that only write or draw."""


class Mutant(NamedTuple):
    """One change of one node of a module's tree."""

    module: str
    tree: ast.Module
    statement: ast.AST
    node: ast.AST
    field: str
    value: Any
    what: str

    @property
    def line(self) -> int:
        return getattr(self.node, "lineno", 0)

    @property
    def lines(self) -> set[int]:
        """Those of its statement, up to the node itself."""
        first = getattr(self.statement, "lineno", self.line)
        return set(range(first, self.line + 1))

    def __str__(self) -> str:
        return f"{self.module}.py:{self.line}: {self.what}"


def modules(name: str) -> list[Path]:
    """Return the modules of this name, wherever they stand in the package, without charts."""
    return sorted(path for path in PACKAGE.rglob(f"{name}.py") if path.parent.name != "charts")


def mutants(path: Path) -> Iterator[Mutant]:
    """Yield all mutants of a module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    module = path.relative_to(PACKAGE).with_suffix("").as_posix()
    for statement, node in places(tree, tree):
        for field, value, what in changes(node):
            yield Mutant(module, tree, statement, node, field, value, what)


def places(node: ast.AST, statement: ast.AST) -> Iterator[tuple[ast.AST, ast.AST]]:
    """Yield the nodes that compute, each after its statement.

    Messages, annotations, ranges of input and functions that write text are left out.
    """
    if isinstance(node, ast.JoinedStr | ast.Raise | ast.Import | ast.ImportFrom | ast.arg):
        return
    if isinstance(node, ast.FunctionDef) and node.name in TEXT:
        return
    if isinstance(node, ast.Call) and getattr(node.func, "id", "").endswith(("Figure", "Number")):
        return
    statement = node if isinstance(node, ast.stmt) else statement
    yield statement, node
    for name, child in ast.iter_fields(node):
        if name not in ("annotation", "returns"):
            for part in child if isinstance(child, list) else [child]:
                if isinstance(part, ast.AST):
                    yield from places(part, statement)


def changes(node: ast.AST) -> Iterator[tuple[str, Any, str]]:
    """Yield the changes of a node: its field, the new value, and both in words."""
    match node:
        case ast.Constant(value=float() as old):
            new = 1.1 * old or 0.1
            yield "value", new, f"{old!r} -> {new!r}"
        case ast.Constant(value=int() as old) if not isinstance(old, bool):
            yield "value", old + 1, f"{old} -> {old + 1}"
        case ast.BinOp(op=old) | ast.AugAssign(op=old) if type(old) in OPERATORS:
            new = OPERATORS[type(old)]
            yield "op", new(), f"{type(old).__name__} -> {new.__name__}"
        case ast.Compare(ops=[old, *others]) if type(old) in OPERATORS:
            new = OPERATORS[type(old)]
            yield "ops", [new(), *others], f"{type(old).__name__} -> {new.__name__}"
        case ast.UnaryOp(op=ast.USub()):
            yield "op", ast.UAdd(), "sign lost"
        case ast.Name(id=old) if old in NAMES:
            yield "id", NAMES[old], f"{old} -> {NAMES[old]}"
        case ast.Attribute(attr=old) if old in NAMES:
            yield "attr", NAMES[old], f"{old} -> {NAMES[old]}"


class Importer(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports one module of the package from a changed tree."""

    def __init__(self, mutant: Mutant) -> None:
        setattr(mutant.node, mutant.field, mutant.value)
        self.tree = ast.fix_missing_locations(mutant.tree)
        self.path = PACKAGE / f"{mutant.module}.py"
        self.name = f"loopdrift.{mutant.module.replace('/', '.')}"

    def find_spec(self, fullname, path=None, target=None):
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self.path, loader=self)

    def exec_module(self, module) -> None:
        exec(compile(self.tree, str(self.path), "exec"), module.__dict__)


def record_reach(files: list[str]) -> None:
    """Run tests under coverage; keep how long each takes and which lines it reaches.

    What a fixture reaches counts for all tests of the file.
    """
    import coverage
    import pytest

    CACHE.mkdir(exist_ok=True)
    watch = coverage.Coverage(data_file=None, source=[str(PACKAGE)])
    seconds: dict[str, float] = defaultdict(float)

    class Contexts:
        @pytest.hookimpl(tryfirst=True)
        def pytest_runtest_setup(self, item):
            watch.switch_context(item.nodeid.partition("::")[0])

        @pytest.hookimpl(tryfirst=True)
        def pytest_runtest_call(self, item):
            watch.switch_context(item.nodeid)

        def pytest_runtest_logreport(self, report):
            seconds[report.nodeid] += report.duration

    ignored = [f"--ignore-glob=*test_*{name}*" for name in SKIPPED_TESTS]
    chosen = [str(path) for name in files for path in TESTS.rglob(name)] or [str(TESTS)]
    watch.start()
    pytest.main(["-q", "-p", "no:cacheprovider", *ignored, *chosen], plugins=[Contexts()])
    watch.stop()
    lines: dict[str, dict[str, list[int]]] = defaultdict(dict)
    for path in watch.get_data().measured_files():
        module = Path(path).relative_to(PACKAGE).with_suffix("").as_posix()
        for line, contexts in watch.get_data().contexts_by_lineno(path).items():
            for context in contexts:
                lines[context].setdefault(module, []).append(line)
    kept = json.loads(REACH.read_text()) if files and REACH.exists() else {}
    renewed = {test.partition("::")[0] for test in seconds}
    kept = {test: reach for test, reach in kept.items() if test.partition("::")[0] not in renewed}
    for test, duration in seconds.items():
        of_fixtures = lines.get(test.partition("::")[0], {})
        reached = {
            module: sorted({*lines[test].get(module, []), *of_fixtures.get(module, [])})
            for module in {*lines[test], *of_fixtures}
        }
        kept[test] = {"seconds": duration, "lines": reached}
    REACH.write_text(json.dumps(kept))


def tests_of(mutant: Mutant, reach: dict[str, Any], seconds: float) -> list[str]:
    """Return tests that may notice a mutant: of its line, then of its module, quick files first.

    A constant outside of functions is reached while importing, a kept result only by the first test that asks
    for it; so tests of the whole module, or of files that import it, follow up to a sum of `seconds`.
    """
    lines, name = mutant.lines, mutant.module.rpartition("/")[2]

    @functools.cache
    def imports(file: str) -> bool:
        return f"{name} import" in (TESTS.parent / file).read_text(encoding="utf-8")

    def is_near(test: str) -> bool:
        file = test.partition("::")[0]
        return mutant.module in reach[test]["lines"] or imports(file) or file == SIGNATURES

    def distance(test: str) -> tuple[bool, float]:
        return lines.isdisjoint(reach[test]["lines"].get(mutant.module, ())), reach[test]["seconds"]

    chosen, left = [], seconds
    for test in sorted(filter(is_near, reach), key=distance):
        left -= reach[test]["seconds"]
        if chosen and left < 0.0:
            break
        chosen.append(test)
    of_file: dict[str, float] = defaultdict(float)
    for test in chosen:
        of_file[test.partition("::")[0]] += reach[test]["seconds"]
    return sorted(chosen, key=lambda test: of_file[test.partition("::")[0]])


def survives(mutant: Mutant, tests: list[str], limit: float) -> bool:
    """Return whether all tests pass with a mutant. One that takes longer than a limit [s] is caught."""
    child = os.fork()
    if child == 0:
        os.setsid()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        try:
            code = run_tests(mutant, tests)
        except BaseException:
            code = 1
        os._exit(code)
    end = time.monotonic() + limit
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status) == 0
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def run_tests(mutant: Mutant, tests: list[str]) -> int:
    """Run tests with a mutant, up to the first that fails; return pytest's exit code."""
    import pytest

    sys.meta_path.insert(0, Importer(mutant))

    class Chosen:
        def pytest_configure(self):
            from hypothesis import Phase, settings

            phases = (Phase.explicit, Phase.generate)  # no search for a simpler example
            settings.register_profile("mutants", phases=phases, database=None, derandomize=True)
            settings.load_profile("mutants")

        def pytest_collection_modifyitems(self, items):
            place = {test: place for place, test in enumerate(tests)}
            items[:] = sorted((item for item in items if item.nodeid in place), key=lambda i: place[i.nodeid])

    files = list(dict.fromkeys(test.partition("::")[0] for test in tests))
    return int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *files], plugins=[Chosen()]))


def run(names: list[str], each: int, seed: int, seconds: float) -> None:
    """Run a sample of the mutants of each module; print which survive, and a table."""
    for heavy in HEAVY.split():
        importlib.import_module(heavy)
    reach = json.loads(REACH.read_text())
    tried = caught = 0
    for name in names:
        name, _, line = name.partition(":")
        for path in modules(name):
            everyone = [mutant for mutant in mutants(path) if line in ("", str(mutant.line))]
            module = path.relative_to(PACKAGE).with_suffix("").as_posix()
            sample = random.Random(f"{seed} {module}").sample(everyone, min(each, len(everyone)))
            alive = 0
            for mutant in sorted(sample, key=lambda mutant: mutant.line):
                tests = tests_of(mutant, reach, seconds)
                unchanged = mutant._replace(value=getattr(mutant.node, mutant.field))
                if tried == 0 and mutant is sample[0] and not survives(unchanged, tests, 10.0 * seconds):
                    raise SystemExit(f"{module}: its tests fail without a mutant")
                if not tests or survives(mutant, tests, 10.0 * seconds):
                    alive += 1
                    print(f"survives {len(tests)} tests: {mutant}", flush=True)
            print(f"{module:28} {len(everyone):5} {len(sample):5} {len(sample) - alive:5}", flush=True)
            tried, caught = tried + len(sample), caught + len(sample) - alive
    print(f"{caught} of {tried} caught: {caught / max(tried, 1):.1%}")


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description="Mutants of the physics of the Python face.")
    parser.add_argument("command", choices=["reach", "run"])
    parser.add_argument("names", nargs="*", help="test files for reach; modules or module:line for run")
    parser.add_argument("--each", type=int, default=8, help="most mutants of a module")
    parser.add_argument("--seed", type=int, default=0, help="which of them")
    parser.add_argument("--seconds", type=float, default=40.0, help="most that the tests of one mutant take")
    given = parser.parse_args()
    os.nice(10)
    os.chdir(TESTS.parent)
    if given.command == "reach":
        record_reach(given.names)
    else:
        run(given.names or PHYSICS.split(), given.each, given.seed, given.seconds)


if __name__ == "__main__":
    main()
