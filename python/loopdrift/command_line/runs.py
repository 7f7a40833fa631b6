"""Commands that run one design, or the plants of a town: `demo`, `neighbourhood`, `run`."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Literal

import click

from loopdrift.analysis.neighbourhood import Neighbourhood
from loopdrift.analysis.neighbourhood.reading import named_files
from loopdrift.api.design import Design
from loopdrift.api.phases import PhasedRun, Phases
from loopdrift.api.run import Run
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.output import ResultFolder
from loopdrift.command_line.options import DEMO, design_file, force, units, years
from loopdrift.command_line.progress import run_town_with_progress, run_with_progress
from loopdrift.command_line.results import print_results, result_folder
from loopdrift.model.cautions import CAUTIONS
from loopdrift.reporting.run_folder import write_into
from loopdrift.reporting.summary import summary


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
    base = Design.read_phases(DEMO / "design.toml")
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
    base = Design.read_phases(design)
    _simulate(base, result_folder(out, "run", [design], force), years, units)


@click.command(epilog=CAUTIONS)
@click.argument("town", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for tables, maps and text.")
@force
@click.option("--years", default=50, show_default=True, help="Years to simulate, 1 to 100.")
@units
def neighbourhood(town: Path, out: Path | None, force: bool, years: int, units: Literal["SI", "IP"]) -> None:
    """Run all plants of a town, each in the ground that the others leave it.

    TOWN is a TOML file with a table [[plant]] for each plant: its name, its design file and its place in
    metres east and north. It can also name a table (CSV or Parquet) with a plant in each row.

    Prints which limits break with and without neighbours, and what neighbours cost. --out DIR also writes the
    yearly tables of all plants, who cools whom (CSV and Parquet), maps (PNG) and the text.
    """
    described = Neighbourhood.read(town)
    results = (
        None if out is None else ResultFolder(out, "neighbourhood", inputs=named_files(town), force=force)
    )
    finished = run_town_with_progress(described, years)
    if results is not None:
        with results.writing() as unfinished:
            finished.write(unfinished, units=units)
    print_results(str(finished), results)


def _simulate(
    plant: Phases,
    results: ResultFolder | None,
    years: int,
    units: Literal["SI", "IP"],
    *,
    inputs: Path | None = None,
    heading: str = "",
) -> None:
    """Run a plant, write its results, with the files of a folder as inputs, and print the summary."""
    finished = run_with_progress(plant, years)
    long_run = _long_run(finished)
    if results is not None:
        with results.writing() as unfinished:
            write_into(finished, unfinished, long_run=long_run, units=units)
            if inputs is not None:
                shutil.copytree(inputs, unfinished / "inputs", copy_function=shutil.copyfile)
    print_results(heading + summary(finished, long_run=long_run, units=units), results)


def _long_run(run: Run | PhasedRun) -> str:
    if isinstance(run, PhasedRun):
        return ""  # which plant would go on for a century?
    try:
        return str(run.heat_build_up())
    except InvalidInput as error:
        return f"Long-term behaviour can't be computed: {error}"
