"""Time of the whole job, from weather to report, and of its parts.

Each of two rounds creates weather, building, loads and design, steps the years, and writes the page. The
first starts before any imports, the second with everything loaded. Times are processor times, so other work
on the machine has little effect.
"""

from __future__ import annotations

import argparse
import compileall
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

PACKAGE = Path(__file__).parent.parent / "loopdrift"
DESIGN = PACKAGE / "demo" / "design.toml"
ROUNDS = ("cold", "warm")


def main() -> None:
    """Print the parts of a cold and a warm round, and the times of two commands."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=25)
    years = parser.parse_args().years
    compileall.compile_dir(PACKAGE, quiet=1)  # as after an installation
    with tempfile.TemporaryDirectory() as folder:
        rounds = [round_of_parts(years, Path(folder)) for _ in ROUNDS]
        print(f"| {years} years | cold | warm |\n| --- | ---: | ---: |")
        for part in rounds[0]:
            print(f"| {part} |{''.join(f' {each.get(part, 0.0):.2f} s |' for each in rounds)}")
        print(f"| all |{''.join(f' {sum(each.values()):.2f} s |' for each in rounds)}")
        for command in (
            ["report", DESIGN, "--out", f"{folder}/report.html"],
            ["demo", "--out", f"{folder}/demo"],
        ):
            words = [*map(str, command), "--years", str(years)]
            program = [sys.executable, "-c", "from loopdrift.command_line import main; main()", *words]
            begin = processor_time()
            subprocess.run(program, check=True, capture_output=True)
            print(f"| loopdrift {command[0]} | {processor_time() - begin:.2f} s | |")


def processor_time() -> float:
    """Return the processor time of this process and its finished children [s]."""
    return sum(os.times()[:4])


def round_of_parts(years: int, folder: Path) -> dict[str, float]:
    """Do the job once; return the time of each part [s]."""
    took: dict[str, float] = {}

    def part(name: str, do: Callable[[], Any]) -> Any:
        begin = processor_time()
        done = do()
        took[name] = processor_time() - begin
        return done

    def whole_package() -> Any:
        import loopdrift

        return loopdrift

    def figures() -> Any:
        from loopdrift.reporting.figures import figures

        return figures(run, "SI")

    ld = part("import loopdrift", whole_package)
    part("weather", lambda: ld.Weather.sample("cold continental"))
    design = part("weather, building, loads, fluid: design", lambda: ld.Design.read(DESIGN))
    run = part("hours of all years", lambda: design.run(years))
    part("cost", run.cost)
    drawn = part("figures", figures)

    def page() -> None:
        from loopdrift.reporting import report

        report.write(run, folder / "report.html", charts=drawn)

    part("page", page)
    return took


if __name__ == "__main__":
    main()
