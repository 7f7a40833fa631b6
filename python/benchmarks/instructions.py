"""Count the instructions of the hot kernels under valgrind and compare them with the record.

    python python/benchmarks/instructions.py             # fails if a kernel takes 10 % more than the record
    python python/benchmarks/instructions.py --record    # updates the record

A count is the increase for one more repetition, on one thread. The first year of a run evaluates the curves
twice per block of hours, later years once: both are counted. Needs cargo and valgrind.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

RECORD = Path(__file__).with_name("instructions.toml")
ROOT = RECORD.parent.parent.parent
KERNELS = {
    "hours": "8760 hours of one design",
    "cases": "8760 hours of eight designs side by side",
    "scaled-cases": "8760 hours of eight designs with loads times factors of their own",
    "built-hours": "8760 hours of one design with built bores",
    "built-cases": "8760 hours of eight designs with built bores",
    "later-hours": "a later year of one design",
    "later-cases": "a later year of eight designs side by side",
    "field": "step response of 200 equal and of 60 unequal bores",
}
ALLOWED = 1.10


def example() -> Path:
    """Build the program that repeats a kernel and return its path."""
    command = ["cargo", "build", "--release", "--locked", "-p", "loopdrift", "--example", "kernels"]
    subprocess.run(command, cwd=ROOT, check=True)
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    return target / "release" / "examples" / "kernels"


def instructions(program: Path, kernel: str, times: int) -> int:
    """Return the instructions of a whole program that repeats a kernel `times` times."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            "valgrind",
            "--tool=callgrind",
            f"--callgrind-out-file={folder}/out",
            program,
            kernel,
            str(times),
        ]
        done = subprocess.run(
            command,
            env={**os.environ, "RAYON_NUM_THREADS": "1"},
            capture_output=True,
            text=True,
            check=True,
        )
    found = re.search(r"Collected : (\d+)", done.stderr)
    if found is None:
        raise RuntimeError(f"valgrind reports no count:\n{done.stderr}")
    return int(found[1])


def counts() -> dict[str, int]:
    """Return the instructions of one repetition of each kernel."""
    program = example()
    return {kernel: instructions(program, kernel, 2) - instructions(program, kernel, 1) for kernel in KERNELS}


def too_slow(found: dict[str, int], recorded: dict[str, int]) -> list[str]:
    """Return the kernels that take more instructions than allowed."""
    return [kernel for kernel in KERNELS if found[kernel] > ALLOWED * recorded[kernel]]


def main() -> int:
    """Compare or record the counts, and return the exit status."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--record", action="store_true", help="update the record instead of comparing")
    record = parser.parse_args().record
    if shutil.which("valgrind") is None:
        print("instructions not counted: valgrind is not installed")
        return 0
    found = counts()
    if record:
        lines = [f"{kernel} = {count}  # {KERNELS[kernel]}" for kernel, count in found.items()]
        RECORD.write_text("# Instructions, written by instructions.py --record.\n" + "\n".join(lines) + "\n")
        print(RECORD.read_text(), end="")
        return 0
    recorded = tomllib.loads(RECORD.read_text())
    for kernel, count in found.items():
        print(f"{KERNELS[kernel]}: {count:,} instructions, {count / recorded[kernel]:.3f} of the record")
    slow = too_slow(found, recorded)
    for kernel in slow:
        print(f"{KERNELS[kernel]}: more than {ALLOWED - 1:.0%} above the record")
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
