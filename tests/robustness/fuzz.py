"""Drawn designs, mutated files, damaged stores: there is soon a result or a short error of loopdrift's own.

The short form is in `test_fuzz.py`. The long form, which keeps what it finds in `fuzz_corpus/`:

    python tests/robustness/fuzz.py --designs 20000 --files 5000 --stores 1000

It works in a process of its own, which is started anew where an input ends or stops it.
"""

from __future__ import annotations

import argparse
import collections
import math
import multiprocessing
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator
from importlib.resources import files
from multiprocessing.connection import Connection
from pathlib import Path

import fuzz_designs
import loopdrift as ld
from loopdrift.analysis.study.file import read_study

CORPUS = Path(__file__).parent / "fuzz_corpus"
DEMO = Path(str(files("loopdrift"))) / "demo"
LONGEST_MESSAGE = 500
LONGEST_TIME = 20  # s of processor time
HANGS = 300  # s without any answer
MOST_MEMORY = 2 * 2**30  # bytes above the interpreter with its libraries

STUDY = """
[study.vary]
ground.conductivity = [1.8, "2.4 W/(m K)"]
ground_side.bore.depth = [70, "300 ft"]
"""
SAMPLES = """
[study.samples]
method = "sobol"
count = 4
seed = 3
[study.samples.distributions]
ground.conductivity = { name = "norm", loc = 2.0, scale = 0.2 }
"""
NUMBERS = [
    "0", "-0.0",
    "-1", "1e-300", "1e300", "1e400", "nan", "inf", "-inf", "true", "2.5", str(2**31), str(2**64),
    "9" * 400, "9" * 5000, "[]", "{}", '""', '"8 ft%"', '"180 %"', '"2 W/m/K*9**9**8"', f'"3 {"m*" * 3000}m"',
    f'"3 {"(" * 3000}m"', "[" * 600 + "]" * 600, "[1, 2]", "{ a = 1 }", '"\\u001b[31m"', '"$x^2$"', '"=1+1"',
    '"/etc/passwd"', '"/dev/zero"', '"."', '"a\\u0000b"', "1979-05-27T07:32:00Z",
]  # fmt: skip
CELLS = [
    "",
    "nan", "-1", "1e9",
    "1e400", "x" * 100_000, "9" * 5000, "\x00", "\x1b[31m", '"', '"unclosed', "1,2", "true",
    "2023-02-29T00:00", "2023-01-01T00:00+02:00", "=1+1", "\N{MICRO SIGN}", "\ufeff", "\r",
]  # fmt: skip
_NUMERAL = re.compile(r"(?<![\w.\"])-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?(?![\w\"])")


def mutated(text: str, rng: random.Random, values: list[str]) -> bytes:
    """Return a text in which one to three things are otherwise."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        lines = text.splitlines(keepends=True) or ["\n"]
        place = rng.randrange(len(lines))
        how = rng.randrange(8)
        if how < 3 and (numerals := list(_NUMERAL.finditer(text))):
            which = rng.choice(numerals)
            scale = 10.0 ** rng.uniform(-4.0, 4.0)
            near = f"{float(which[0]) * scale:.6g}" if rng.random() < 0.6 else rng.choice(values)
            text = text[: which.start()] + near + text[which.end() :]
        elif how == 3:
            del lines[place]
            text = "".join(lines)
        elif how == 4:
            text = "".join([*lines[:place], lines[rng.randrange(len(lines))], *lines[place:]])
        elif how == 5:
            text = text[: rng.randrange(len(text) + 1)]
        elif how == 6:
            at = rng.randrange(len(text) + 1)
            text = text[:at] + rng.choice(values) + text[at:]
    content = bytearray(text.encode())
    if content and rng.random() < 0.1:
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
    return bytes(content)


def _run(path: Path) -> None:
    ld.Design.read(path).run(1)


def _study(path: Path) -> None:
    study = read_study(path, ld.Design)
    if len(study) <= 16:
        study.run(1)


def _as_it_says(path: Path) -> None:
    """Do with a drawn design what its first line says."""
    done, *arguments = path.read_text().partition("\n")[0][2:].split()
    design = ld.Design.read(path)
    if done == "size":
        what, *ends = arguments
        design.size(what, years=1, between=None if what == "bores" else tuple(map(float, ends)))
    elif done == "g-function" and isinstance(design.ground_side, ld.BoreField):
        design.ground_side.g_function(design.ground, [3.6e3, 1e7, 1e9])
    else:
        design.run(1)


def _fit(path: Path) -> None:
    ld.HeatPump.from_table(path)


READERS: dict[str, Callable[[Path], object]] = {
    "drawn": _as_it_says,
    "design": _run,
    "study": _study,
    "site": ld.Site.read,
    "loads": ld.Loads.read,
    "weather": ld.Weather.read,
    "table": _fit,
}


def texts(kind: str) -> list[str]:
    """Return what files of a kind are mutated from."""
    designs = [
        path.read_text()
        for path in sorted(DEMO.glob("*.toml"))
        if path.stem not in ("site", "fan")  # leaning bores take long, and are as others to a reader
    ]
    if kind == "design":
        return designs
    if kind == "study":
        own = (DEMO / "design.toml").read_text()
        return [own + STUDY, own + SAMPLES]
    if kind == "site":
        return [(DEMO / "site.toml").read_text()]
    if kind == "table":
        return [(DEMO / "unit.csv").read_text()]
    hours = [f"2023-01-01T{hour:02}:00" for hour in range(24)]
    if kind == "weather":
        return [ld.Weather.sample("mild maritime").csv()]
    return ["time,heating_kW\n" + "".join(f"{hour},1.5\n" for hour in hours), "heating_W\n" + "20\n" * 8760]


class Failed(Exception):
    """An input that ends in neither a result nor an error of loopdrift's own, or not soon enough."""


class TooLong(BaseException):
    """Raised in what takes too long."""


def _raise_too_long(*_: object) -> None:
    raise TooLong


def outcome(read: Callable[[Path], object], path: Path) -> str:
    """Return how an input ends: in a result, or in an error.

    Raises
    ------
    Failed
        If it does neither, as it should.
    """
    before = signal.signal(signal.SIGPROF, _raise_too_long)
    signal.setitimer(signal.ITIMER_PROF, LONGEST_TIME)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            read(path)
    except (ld.LoopdriftError, OSError) as error:
        if len(str(error)) >= LONGEST_MESSAGE:
            raise Failed(f"message of {len(str(error))} characters: {str(error)[:200]}") from None
        return type(error).__name__
    except TooLong:
        raise Failed(f"hadn't ended after {LONGEST_TIME} s of processor time") from None
    except Exception as error:
        raise Failed(f"{type(error).__name__}: {str(error)[:200]}") from error
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
    return "result"


def inputs(kind: str, count: int, seed: int, folder: Path, first: int = 0) -> Iterator[Path]:
    """Write inputs of a kind from a number on, one after the other, beside the files that they name."""
    for source in DEMO.iterdir():
        if source.is_file():
            shutil.copyfile(source, folder / source.name)
    fuzz_designs.write_loads(folder)
    path = folder / f"mutated-{kind}{'.csv' if kind in ('loads', 'weather', 'table') else '.toml'}"
    sources = [] if kind == "drawn" else texts(kind)
    for number in range(first, count):
        rng = random.Random(f"{kind} {seed} {number}")  # each comes out the same alone
        if kind == "drawn":
            path.write_text(fuzz_designs.text(rng))
        else:
            path.write_bytes(mutated(rng.choice(sources), rng, CELLS if path.suffix == ".csv" else NUMBERS))
        yield path


def stores(count: int, seed: int, folder: Path, first: int = 0) -> Iterator[str]:
    """Damage a stored study again and again, and run it on: it finds what it found at first."""
    rng = random.Random(f"store {seed} {first}")
    design = ld.Design.read(DEMO / "design.toml")
    study = ld.Study(design, vary={"ground.conductivity": [1.8, 2.1], "ground_side.bore.depth": [80.0, 90.0]})
    found = study.run(1, store=folder)
    for _ in range(first, count):
        file = rng.choice(sorted(folder.glob("cases-*.parquet")))
        content = bytearray(file.read_bytes())
        for _ in range(rng.choice((1, 1, 1, 8))):
            content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
        file.write_bytes(content[: rng.choice((len(content), len(content), rng.randrange(len(content))))])
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            again = study.run(1, store=folder)
        if not again.identical(found) or not any(each.category is ld.DamagedStoreFile for each in caught):
            raise Failed(f"{file} was believed")
        yield "mended"


def _work(kind: str, count: int, seed: int, first: int, folder: Path, ends: Connection) -> None:
    """Send how each input of a kind ends, from a number on, and whether that is a failure."""
    mapped = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (mapped + MOST_MEMORY, resource.RLIM_INFINITY))
    if kind == "store":
        try:
            for end in stores(count, seed, folder, first):
                ends.send((end, ""))
        except Exception as error:
            ends.send(("failed", f"{type(error).__name__}: {error}"))
            raise
        return
    for path in inputs(kind, count, seed, folder, first):
        try:
            ends.send((outcome(READERS[kind], path), ""))
        except Failed as failure:
            ends.send(("failed", str(failure)))


def _each(kind: str, count: int, seed: int, first: int, folder: Path) -> Iterator[tuple[str, str]]:
    """Yield how each input of a kind ends, from a number on, whatever it does to its process."""
    while first < count:
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        receiver, sender = multiprocessing.get_context("fork").Pipe(duplex=False)
        arguments = (kind, count, seed, first, folder, sender)
        worker = multiprocessing.get_context("fork").Process(target=_work, args=arguments)
        worker.start()
        sender.close()
        while first < count:
            end, what = "failed", f"hadn't answered after {HANGS} s"
            try:
                if receiver.poll(HANGS):
                    end, what = receiver.recv()
                    first += 1
                    yield end, what
                    continue
            except EOFError:
                worker.join()
                if kind == "store":
                    break  # it has said why
                what = f"ended its process with {worker.exitcode}"
            worker.kill()
            first += 1
            yield end, what
            break
        worker.kill()
        worker.join()


def _long(counts: dict[str, int], seed: int, first: int) -> int:
    """Run the long form; return how many inputs failed."""
    failures = 0
    for kind, count in counts.items():
        ends: collections.Counter[str] = collections.Counter()
        began = at = time.monotonic()
        slowest = 0.0
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / kind
            for number, (end, what) in enumerate(_each(kind, count, seed, first, folder), first):
                ends[end] += 1
                now = time.monotonic()
                slowest, at = max(slowest, now - at), now
                if end == "failed":
                    if kind != "store":
                        _keep(kind, seed, number)
                    print(f"{kind} {seed} {number}: {what}", flush=True)
                if (number + 1) % 1000 == 0 or number + 1 == count:
                    said = ", ".join(f"{many} {end}" for end, many in ends.most_common())
                    took = f"{now - began:.0f} s, slowest {slowest:.1f} s"
                    print(f"{kind} {seed}, {first} to {number}: {said}; {took}", flush=True)
        failures += ends["failed"]
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{failures} failed; the most memory of a process was {most:.0f} MiB")
    return failures


def _keep(kind: str, seed: int, number: int) -> None:
    """Write an input of the long form into the corpus."""
    with tempfile.TemporaryDirectory() as name:
        path = next(inputs(kind, number + 1, seed, Path(name), number))
        shutil.copyfile(path, CORPUS / f"{kind}-{seed}-{number}{path.suffix}")


def main() -> None:
    """Run the long form from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=20_000)
    parser.add_argument("--files", type=int, default=5_000)
    parser.add_argument("--stores", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=15)
    parser.add_argument("--first", type=int, default=0, help="Number of the first of each kind.")
    given = parser.parse_args()
    of_files = ("design", "study", "site", "loads", "weather", "table")
    counts = {"drawn": given.designs} | dict.fromkeys(of_files, math.ceil(given.files / len(of_files)))
    sys.exit(bool(_long(counts | {"store": given.stores}, given.seed, given.first)))


if __name__ == "__main__":
    main()
