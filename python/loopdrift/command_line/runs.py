"""Commands that run one design: `demo`, `run`, `report`, `sheet`."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from loopdrift.analysis.cautions import CAUTIONS
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.output import ResultFolder, ResultPage
from loopdrift.command_line.options import design_file, force, number_or_text, units, years
from loopdrift.command_line.progress import run_with_progress
from loopdrift.command_line.results import print_results, result_folder

if TYPE_CHECKING:
    from loopdrift.api.design import Design
    from loopdrift.api.run import Run

DEMO = Path(__file__).parents[1] / "demo"


@click.command(epilog=CAUTIONS)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for inputs and results.")
@force
@years
@units
def demo(out: Path | None, force: bool, years: int, units: Literal["SI", "IP"]) -> None:
    """Run the invented example.

    Building, climate and heat pump are invented. --out DIR also writes the input files there, for you to
    change and run again. The demo doesn't overwrite files that you have changed.
    """
    from loopdrift.api.design import Design

    base = Design.read(DEMO / "design.toml")
    results = None if out is None else ResultFolder(out, "demo", force=force)
    _simulate(
        base,
        results,
        years,
        units,
        inputs=DEMO,
        heading="An invented building in an invented climate, with an invented heat pump.\n\n",
    )


@click.command(epilog=CAUTIONS)
@design_file
@click.option("--out", type=click.Path(path_type=Path), help="Folder for tables, charts and summary.")
@force
@years
@units
def run(design: Path, out: Path | None, force: bool, years: int, units: Literal["SI", "IP"]) -> None:
    """Simulate a design file hour by hour.

    Prints key results and a yearly table. --out DIR also writes hourly and yearly tables (CSV and Parquet),
    charts (PNG), the summary, and the design with its loads. DIR must be new or empty, or hold the results of
    an earlier run, which are replaced as a set.
    """
    from loopdrift.api.design import Design

    base = Design.read(design)
    _simulate(base, result_folder(out, "run", [design], force), years, units)


@click.command(epilog=CAUTIONS)
@design_file
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default="report.html",
    show_default=True,
    help="The HTML file to write.",
)
@click.option("--title", help="Title of the page; by default the name of the project.")
@click.option(
    "--full",
    is_flag=True,
    help="Add the engineer's part: hydraulics, heat pump and fit, tables, errors, checks, sources.",
)
@force
@years
@units
def report(
    design: Path,
    out: Path,
    title: str | None,
    full: bool,
    force: bool,
    years: int,
    units: Literal["SI", "IP"],
) -> None:
    """Run a design file and write a report of one HTML page.

    The page contains charts, assumptions and the complete input. It needs no network and prints well.
    """
    from loopdrift.api.design import Design
    from loopdrift.files import design_file
    from loopdrift.reporting import report as pages

    if title is not None:
        pages.require_title(title)
    base = Design.read(design)
    page = ResultPage(out, inputs=design_file.files(design), force=force)
    page.write(pages.page(run_with_progress(base, years), title=title, units=units, full=full))
    click.echo(f"wrote {out}")


@click.command("sheet", epilog=CAUTIONS)
@design_file
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Folder for page and tables.")
@click.option(
    "--grout-surplus",
    default="25 percent",
    show_default=True,
    help="Grout beyond the net volume (common practice, no source).",
)
@force
@units
def installer_sheet(
    design: Path, out: Path, grout_surplus: str, force: bool, units: Literal["SI", "IP"]
) -> None:
    """Write the installer's sheet of a design file.

    The page (HTML) has the plan to scale, quantities of drilling, grout, pipe and fluid, flows, pressure
    drops, pump and purging, and a log to fill in. Quantities and places are also written as CSV. Runs no
    simulation.
    """
    from loopdrift.api.design import Design
    from loopdrift.reporting.sheet import write_into

    base = Design.read(design)
    results = result_folder(out, "sheet", [design], force)
    assert results is not None
    with results.writing() as unfinished:
        write_into(base, unfinished, units=units, grout_surplus=number_or_text(grout_surplus))
    for file in results.written:
        click.echo(f"wrote {file}")


def _simulate(
    design: Design,
    results: ResultFolder | None,
    years: int,
    units: Literal["SI", "IP"],
    *,
    inputs: Path | None = None,
    heading: str = "",
) -> None:
    """Run a design, write its results, with the files of a folder as inputs, and print the summary."""
    from loopdrift.reporting.run_folder import write_into
    from loopdrift.reporting.summary import summary

    finished = run_with_progress(design, years)
    long_run = _long_run(finished)
    if results is not None:
        with results.writing() as unfinished:
            write_into(finished, unfinished, long_run=long_run, units=units)
            if inputs is not None:
                shutil.copytree(inputs, unfinished / "inputs", copy_function=shutil.copyfile)
    print_results(heading + summary(finished, long_run=long_run, units=units), results)


def _long_run(run: Run) -> str:
    try:
        return str(run.heat_build_up())
    except InvalidInput as error:
        return f"Long-term behaviour can't be computed: {error}"
