"""Commands that write a page of one design: `report`, `sheet`."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from loopdrift.api.design import Design
from loopdrift.basics.output import ResultPage
from loopdrift.command_line.options import design_file, force, number_or_text, units, years
from loopdrift.command_line.progress import forecast_with_progress, run_with_progress
from loopdrift.command_line.results import result_folder
from loopdrift.files.design_file import files
from loopdrift.model.cautions import CAUTIONS
from loopdrift.reporting import report as page
from loopdrift.reporting import sheet as installer


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
@click.option(
    "--log",
    type=click.Path(path_type=Path),
    help="The plant's own log, as `loopdrift learn` takes it: adds the fitted values and the forecast.",
)
@force
@years
@units
def report(
    design: Path,
    out: Path,
    title: str | None,
    full: bool,
    log: Path | None,
    force: bool,
    years: int,
    units: Literal["SI", "IP"],
) -> None:
    """Run a design file and write a report of one HTML page.

    The page contains charts, assumptions and the complete input. It needs no network and prints well.
    """
    if title is not None:
        page.require_title(title)
    base = Design.read_phases(design)
    named = [*files(design), *([] if log is None else [log])]
    written = ResultPage(out, inputs=named, force=force)
    forecast = None
    if log is not None:
        from loopdrift.analysis.learning import PlantLog

        forecast = forecast_with_progress(Design.read(design), PlantLog.read(log), years)
    text = page.page(run_with_progress(base, years), title=title, units=units, full=full, forecast=forecast)
    written.write(text)
    click.echo(f"wrote {out}")


@click.command(epilog=CAUTIONS)
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
def sheet(design: Path, out: Path, grout_surplus: str, force: bool, units: Literal["SI", "IP"]) -> None:
    """Write the installer's sheet of a design file.

    The page (HTML) has the plan to scale, quantities of drilling, grout, pipe and fluid, flows, pressure
    drops, pump and purging, and a log to fill in. Quantities and places are also written as CSV. Runs no
    simulation.
    """
    base, *later = Design.read_phases(design).phases
    results = result_folder(out, "sheet", [design], force)
    assert results is not None
    with results.writing() as unfinished:
        installer.write_into(
            base.design, unfinished, units=units, grout_surplus=number_or_text(grout_surplus)
        )
    for file in results.written:
        click.echo(f"wrote {file}")
    for phase in later:
        click.echo(f"The sheet has the plant of year 1; new {phase}.")
