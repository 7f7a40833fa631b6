"""Time that commands take in a new process, as the least processor time of several.

The times of the interpreter and of the slowest libraries are those of an import alone. Bytecode is compiled
first, as an installation does.
"""

from __future__ import annotations

import argparse
import compileall
import os
import subprocess
import sys
from pathlib import Path

PACKAGE = Path(__file__).parent.parent / "loopdrift"
COMMAND = "import sys; sys.argv[0] = 'loopdrift'; from loopdrift.command_line import main; main()"
DESIGN = str(PACKAGE / "demo" / "design.toml")
PROGRAMS = {
    "the interpreter": ["pass"],
    "import numpy": ["import numpy"],
    "import pandas": ["import pandas"],
    "import pint": ["import pint"],
    "import loopdrift": ["import loopdrift"],
    "loopdrift --help": [COMMAND, "--help"],
    "loopdrift check, of the demo": [COMMAND, "check", DESIGN],
    "loopdrift run, of the demo": [COMMAND, "run", DESIGN],
}


def main() -> None:
    """Print the least time of each program."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--processes", type=int, default=10)
    processes = parser.parse_args().processes
    compileall.compile_dir(PACKAGE, quiet=1)
    print("| new process | processor time |\n| --- | ---: |")
    for name, words in PROGRAMS.items():
        print(f"| {name} | {min(took(words) for _ in range(processes)):.2f} s |")


def took(words: list[str]) -> float:
    """Return the processor time of one process [s]."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    begin = sum(os.times()[2:4])
    subprocess.run([sys.executable, "-c", *words], check=True, capture_output=True, env=environment)
    return sum(os.times()[2:4]) - begin


if __name__ == "__main__":
    main()
