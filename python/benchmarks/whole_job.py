"""How long the whole job takes, from weather to report, and what its parts take.

Each of two rounds makes weather, building, loads and design anew, steps the years, and writes the page: the
first in a process that has imported nothing, the second with all there. Times are those of the processors, so
that what else a machine does counts for little.
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
    """Print the parts of a cold and a warm round, and two commands as a user starts them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=25)
    years = parser.parse_args().years
    compileall.compile_dir(PACKAGE, quiet=1)  # as an installer leaves it
    with tempfile.TemporaryDirectory() as folder:
        rounds = [round_of_parts(years, Path(folder)) for _ in ROUNDS]
        print(f"| {years} years | cold | warm |\n| --- | ---: | ---: |")
        for part in rounds[0]:
            print(f"| {part} |{''.join(f' {each.get(part, 0.0):.2f} s |' for each in rounds)}")
        print(f"| all |{''.join(f' {sum(each.values()):.2f} s |' for each in rounds)}")
        for command in (["report", DESIGN, "--out", f"{folder}/report.html"], ["demo", "--out", folder]):
            words = [*map(str, command), "--years", str(years)]
            program = [sys.executable, "-c", "from loopdrift.command_line import main; main()", *words]
            begin = processor_time()
            subprocess.run(program, check=True, capture_output=True)
            print(f"| loopdrift {command[0]} | {processor_time() - begin:.2f} s | |")


def processor_time() -> float:
    """Return what this process and its ended children have had of the processors [s]."""
    return sum(os.times()[:4])


def round_of_parts(years: int, folder: Path) -> dict[str, float]:
    """Do the job once; return what each part took [s]."""
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
