"""Commands killed at any moment, and on a full disk: what stands under a final name is whole.

Each command runs in a forked process over a user's own files and, mostly, over earlier results. Half of the
moments are random in time, half are right before a random step of what it does to files. The short form is in
`test_kills.py`. The long form:

    python tests/robustness/kills.py --moments 50
"""

from __future__ import annotations

import argparse
import collections
import functools
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

import numpy as np

import loopdrift as ld
from loopdrift import command_line
from loopdrift.basics.output import MARKER
from loopdrift.reporting import run_folder

UNFINISHED = ".loopdrift-unfinished-"
LONGEST = 120  # s
MINE = {"notes.txt": b"mine", "out/thoughts.txt": b"mine too", ".loopdrift.txt": b"and this"}
"""Files of the user's among those that loopdrift reads and writes."""
STUDY = """
[study.vary]
ground_side.spacing = [5, 6]
ground_side.bore.depth = [90, 110]
"""
_STEPS = {"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.link"}


class Scenario(NamedTuple):
    """A command, and the one whose results it finds; both without the folder of results."""

    command: tuple[str, ...]
    before: tuple[str, ...] = ()
    out: str = "out"


SCENARIOS = {
    "run": Scenario(("run", "design.toml", "--years", "2"), ("run", "design.toml", "--years", "1")),
    "report": Scenario(
        ("report", "design.toml", "--years", "2"), ("report", "design.toml", "--years", "1"), "out/page.html"
    ),
    "demo": Scenario(("demo", "--years", "2"), ("demo", "--years", "1")),
    "size": Scenario(("size", "design.toml", "--years", "2"), ("size", "design.toml", "--years", "1")),
    "study": Scenario(("study", "design.toml", "--years", "1")),
    "first run": Scenario(("run", "design.toml", "--years", "1"), out="new"),
    "study again": Scenario(
        ("study", "design.toml", "--years", "1", "--units", "IP"), ("study", "design.toml", "--years", "1")
    ),
}


def write_project(folder: Path) -> None:
    """Write a user's own files: a design with comments and a study, its loads, and notes."""
    folder.mkdir()
    season = np.cos(2.0 * np.pi * np.arange(8760) / 8760)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    fluid = ld.Fluid.constant(
        density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
    )
    ld.Design(
        ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0),
        ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        fluid=fluid,
        flow=0.5,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0, 0.05], heating_capacity=[8000.0, 200.0]),
        loads=ld.Loads(heating=(6000.0 * season).clip(0.0)),
        limits=ld.Limits(entering_fluid_min=-2.0),
    ).write(folder / "design.toml")
    text = (folder / "design.toml").read_text()
    (folder / "design.toml").write_text(f"# my own words\n{text}{STUDY}")


def contents(folder: Path) -> dict[str, bytes]:
    """Return all files of a folder by their names, but for those that a killed process left unfinished."""
    files = [path for path in folder.rglob("*") if path.is_file() and UNFINISHED not in str(path)]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(files)}


def _names(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*")}


class Prepared(NamedTuple):
    """What a scenario begins with and ends in; seconds and steps that it takes."""

    arguments: list[str]
    start: Path
    before: dict[str, bytes]
    after: dict[str, bytes]
    seconds: float
    steps: int


def prepared(name: str, root: Path) -> Prepared:
    """Prepare a scenario in a folder, and run it once undisturbed."""
    scenario = SCENARIOS[name]
    start = root / "start"
    write_project(start)
    if scenario.before:
        assert run(start, [*scenario.before, "--out", scenario.out]).code == 0
    before = contents(start)
    for mine, content in MINE.items():
        if not mine.startswith("out/") or scenario.before:  # a first folder of results is empty
            (start / mine).parent.mkdir(exist_ok=True)
            (start / mine).write_bytes(content)
    arguments = [*scenario.command, "--out", scenario.out]
    after, began = copy(start, root / "after"), time.monotonic()
    ended = run(after, arguments, count=True)
    assert ended.code == 0, ended.said
    seconds = time.monotonic() - began
    changed = {file for file, content in contents(start).items() if contents(after)[file] != content}
    assert changed <= set(before) - {"design.toml", "design-loads.csv"}
    return Prepared(arguments, start, contents(start), contents(after), seconds, ended.steps)


def copy(folder: Path, target: Path) -> Path:
    """Return a new copy of a folder."""
    shutil.rmtree(target, ignore_errors=True)
    shutil.copytree(folder, target)
    return target


class Ended(NamedTuple):
    """How a command ended: exit code, negative for a signal; standard error; steps, if they were counted."""

    code: int
    said: str
    steps: int


def run(
    folder: Path,
    arguments: list[str],
    *,
    seconds: float = LONGEST,
    step: int | None = None,
    count: bool = False,
    limit: int | None = None,
) -> Ended:
    """Run a command in a folder and a process of its own.

    Parameters
    ----------
    folder : pathlib.Path
        Where it runs.
    arguments : list of str
        Its arguments.
    seconds : float, optional
        When it is killed.
    step : int, optional
        Before which of its steps on files it is killed.
    count : bool, default False
        Whether steps are counted.
    limit : int, optional
        The longest that its files may grow [bytes].
    """
    _load_libraries()
    reader, writer = os.pipe()  # an error is shorter than what a pipe holds
    with tempfile.TemporaryFile() as counted:
        child = os.fork()
        if child == 0:
            code = 1
            try:
                os.chdir(folder)
                os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
                os.dup2(writer, 2)
                sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
                if limit is not None:
                    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
                if step is not None or count:
                    watch_steps(folder, step, counted.fileno())
                sys.argv = ["loopdrift", *arguments]
                code = _main()
            finally:
                os._exit(code)
        os.close(writer)
        code = ended_within(child, seconds)
        with open(reader, encoding="utf-8") as said:
            return Ended(code, said.read(), os.fstat(counted.fileno()).st_size)


@functools.cache
def _load_libraries() -> None:
    """Draw and write something here, so that each command finds the libraries loaded."""
    run = ld.Design.read(command_line.DEMO / "design.toml").run(1)
    with tempfile.TemporaryDirectory() as folder:
        run_folder.write(run, Path(folder) / "out", units="IP")
    ld.Study(run.design, vary={"flow": [1.1]}).run(1)


def _main() -> int:
    try:
        command_line.main()
    except SystemExit as exit:
        return exit.code if isinstance(exit.code, int) else 0
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
    return 0


def watch_steps(folder: Path, last: int | None, counter: int = -1) -> None:
    """Write a byte for each step on files of a folder; or be killed before the last."""
    inside, done = str(folder), 0

    def watch(event: str, given: tuple[object, ...]) -> None:
        nonlocal done
        if event == "open":
            if not isinstance(given[2], int) or not given[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
                return
        elif event not in _STEPS:
            return
        if not os.path.abspath(os.fsdecode(given[0])).startswith(inside):  # type: ignore[arg-type]
            return
        done += 1
        if done == last:
            os.kill(os.getpid(), signal.SIGKILL)
        if last is None:
            os.write(counter, b".")

    sys.addaudithook(watch)


def ended_within(child: int, seconds: float) -> int:
    """Return the exit code of a process, which is killed after some seconds."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.001)
    os.kill(child, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


class Broken(AssertionError):
    """What stands after a kill isn't what may stand there."""


def check(found: dict[str, bytes], before: dict[str, bytes], after: dict[str, bytes]) -> str:
    """Return what stands: the results from before, the new ones, or some of either; never some of both.

    Raises
    ------
    Broken
        If a file is neither as it was nor as it will be, or files of two runs stand side by side.
    """
    for name, content in found.items():
        if content not in (before.get(name), after.get(name)) and Path(name).name != MARKER:
            raise Broken(f"{name} is neither old nor new: {len(content)} bytes")
    kept = [name for name, content in before.items() if after.get(name) == content]
    if missing := [name for name in kept if found.get(name) != before[name] and Path(name).name != MARKER]:
        raise Broken(f"{missing[0]} is gone")

    def results(some: dict[str, bytes]) -> dict[str, bytes]:
        return {name: each for name, each in some.items() if name not in kept and Path(name).name != MARKER}

    old = {name for name, content in results(found).items() if content != after.get(name)}
    new = set(results(found)) - old
    if old and {name for name in new if before.get(name) != after[name]}:
        raise Broken(f"{sorted(old)[0]} is old, and {sorted(new)[0]} new")
    if results(found) == results(before):
        return "as before"
    return "as after" if results(found) == results(after) else "some missing"


def kill(
    scenario: Prepared, folder: Path, rng: random.Random, moments: int, show: Callable[[str], object] = len
) -> collections.Counter[str]:
    """Kill a command at random moments; return how often which results stood.

    Raises
    ------
    Broken
        If one of them isn't what may stand, or the same command doesn't end well afterwards.
    """
    stood: collections.Counter[str] = collections.Counter()
    for moment in range(moments):
        place = copy(scenario.start, folder)
        if moment % 2:
            when: dict[str, float | int] = {"step": rng.randint(1, scenario.steps)}
        else:
            when = {"seconds": rng.uniform(0.0, scenario.seconds)}
        ended = run(place, scenario.arguments, **when)  # type: ignore[arg-type]
        if ended.code not in (0, -signal.SIGKILL):
            raise Broken(f"{when}: exit code {ended.code}: {ended.said}")
        try:
            stands = check(contents(place), scenario.before, scenario.after)
            if stands == "as before" and _names(place) == _names(scenario.start):
                stood["as if it had never run"] += 1  # and as undisturbed afterwards
                show(f"{when}: as if it had never run")
                continue
            again = run(place, scenario.arguments)
            if again.code != 0 or contents(place) != scenario.after:
                raise Broken(f"the command afterwards ended with {again.code}: {again.said}")
        except Broken as broken:
            raise Broken(f"{when}: {broken}") from None
        stood[f"{stands}{'' if ended.code else ' (it had ended)'}"] += 1
        show(f"{when}: {stands}")
    return stood


@contextmanager
def small_disk(folder: Path, size: int) -> Iterator[bool]:
    """Mount a file system of so many bytes; give whether that was allowed."""
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size}", "none", str(folder)]
    with suppress(FileNotFoundError):
        if subprocess.run(mount, capture_output=True).returncode == 0:
            try:
                yield True
            finally:
                subprocess.run(["umount", str(folder)], check=True)
            return
    yield False


def fill(scenario: Prepared, folder: Path, room: int) -> str | None:
    """Run a command on a disk with so many bytes left; return how it ended, None where none may be mounted.

    Raises
    ------
    Broken
        If what stands isn't what may stand.
    """
    size = 4096 * sum(len(content) // 4096 + 2 for content in scenario.before.values()) + room
    with small_disk(folder, size) as mounted:
        if not mounted:
            return None
        place = copy(scenario.start, folder / "project")
        left = shutil.disk_usage(folder).free - room
        if left > 0:
            (folder / "filler").write_bytes(b"x" * left)
        return _fails_well(scenario, place, run(place, scenario.arguments), "No space left on device")


def limit(scenario: Prepared, folder: Path, most: int) -> str:
    """Run a command whose files may grow to so many bytes; return how it ended.

    Raises
    ------
    Broken
        If what stands isn't what may stand.
    """
    place = copy(scenario.start, folder)
    ended = run(place, scenario.arguments, limit=most)
    return _fails_well(scenario, place, ended, "File too large")


def _fails_well(scenario: Prepared, place: Path, ended: Ended, why: str) -> str:
    stands = check(contents(place), scenario.before, scenario.after)
    left = [path.name for path in place.rglob(f"{UNFINISHED}*")]
    if ended.code == 0 and contents(place) == scenario.after and not left:
        return "done"
    is_store = scenario.arguments[0] == "study"  # finished cases stay
    if ended.code != command_line.BAD_INPUT or left or not (stands == "as before" or is_store):
        raise Broken(f"exit code {ended.code}, {stands}, {left}: {ended.said}")
    if why not in ended.said or not ended.said.startswith("error: ") or len(ended.said) > 500:
        raise Broken(f"said: {ended.said}")
    return "refused"


def _progress(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def main() -> None:
    """Run the long form from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--moments", type=int, default=50)
    parser.add_argument("--seed", type=int, default=15)
    given = parser.parse_args()
    for name in SCENARIOS:
        rng = random.Random(f"{name} {given.seed}")
        with tempfile.TemporaryDirectory() as root:
            scenario = prepared(name, Path(root))
            stood = kill(scenario, Path(root) / "place", rng, given.moments, _progress)
            print(f"{name}, {scenario.steps} steps, killed {given.moments} times:", dict(stood), flush=True)
            rooms = [0, 4096, *(int(10 ** rng.uniform(3.6, 6.3)) for _ in range(8))]
            disks = collections.Counter(
                fill(scenario, Path(root) / f"disk-{place}", room) for place, room in enumerate(rooms)
            )
            limits = collections.Counter(limit(scenario, Path(root) / "place", most) for most in rooms)
            print(f"{name}, full disk:", dict(disks), "longest file:", dict(limits), flush=True)


if __name__ == "__main__":
    main()
