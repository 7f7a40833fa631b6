"""The command `loopdrift`."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from loopdrift import _core
from loopdrift.cautions import CAUTIONS
from loopdrift.errors import LoopdriftError

if TYPE_CHECKING:
    from loopdrift.run import Run

DEMO = Path(__file__).parent / "demo"
BAD_INPUT = 2
INTERRUPTED = 130

years = click.option("--years", default=20, show_default=True, help="Years to simulate, 1 to 100.")
units = click.option(
    "--units",
    type=click.Choice(["SI", "IP"]),
    default="SI",
    show_default=True,
    help="Units of tables and charts: SI or inch-pound.",
)


@click.group(
    epilog=f"{CAUTIONS} Begin with: loopdrift demo --out demo",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(_core.VERSION)
def commands() -> None:
    """Hourly fluid temperature of a ground-source heat pump's loop, over decades.

    A design file in TOML names the ground, the bores, the fluid, the heat pump and the loads. `check` reads it and says
    what is wrong or what follows from it, `run` simulates every hour, and `demo` does that with an invented building.
    """


@commands.command()
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for inputs and results."
)
@years
@units
def demo(out: Path | None, years: int, units: Literal["SI", "IP"]) -> None:
    """Run the invented example; with --out DIR leave its input files there too, to change and run again."""
    click.echo("An invented building in an invented place, with an invented heat pump.\n")
    folder = DEMO
    if out is not None:
        folder = out / "inputs"
        folder.mkdir(parents=True, exist_ok=True)
        for source in DEMO.iterdir():
            if source.is_file():
                shutil.copy(source, folder)
    _simulate(folder / "design.toml", out, years, units)


@commands.command()
@click.argument("design", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), help="Folder for tables, charts and summary."
)
@years
@units
def run(design: Path, out: Path | None, years: int, units: Literal["SI", "IP"]) -> None:
    """Simulate the design file DESIGN hour by hour.

    Prints the answers and the years; --out DIR also writes hourly and yearly tables (CSV and Parquet), charts (PNG),
    the summary and the whole design.
    """
    _simulate(design, out, years, units)


@commands.command()
@click.argument("design", type=click.Path(dir_okay=False, path_type=Path))
def check(design: Path) -> None:
    """Read the design file DESIGN and say what follows from it, without simulating."""
    from loopdrift.design import Design
    from loopdrift.overview import overview

    click.echo(overview(Design.read(design)))
    click.echo(CAUTIONS)


def _simulate(path: Path, out: Path | None, years: int, units: Literal["SI", "IP"]) -> None:
    from loopdrift import results
    from loopdrift.design import Design
    from loopdrift.summary import summary

    finished = _with_progress(Design.read(path), years)
    click.echo(summary(finished, units=units))
    if out is not None:
        for file in results.write(finished, out, units=units):
            click.echo(f"wrote {file}")


def _with_progress(design: Design, years: int) -> Run:
    from loopdrift.run import HOURS_PER_YEAR

    with click.progressbar(length=years, label="years", file=sys.stderr) as bar:
        return design.run(years, progress=lambda hours: bar.update(hours // HOURS_PER_YEAR - bar.pos))


def main() -> None:
    """Run the command and turn what loopdrift refuses into a line on standard error and exit code 2."""
    try:
        commands(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        sys.exit(INTERRUPTED)
    except (LoopdriftError, OSError) as error:
        click.echo(f"error: {error}", err=True)
        sys.exit(BAD_INPUT)
