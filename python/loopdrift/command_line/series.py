"""Commands that show a file of hourly or finer series as it is read: `loads`, `weather`."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

import click

from loopdrift.analysis.cautions import CAUTIONS
from loopdrift.api.design import Design
from loopdrift.basics.output import ResultFolder
from loopdrift.command_line.options import force, units
from loopdrift.command_line.results import print_results
from loopdrift.files import design_file
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather
from loopdrift.reporting import inputs

hourly_file = click.argument("file", type=click.Path(path_type=Path))


time_zone = click.option("--time-zone", help="Zone of the place, such as Europe/Berlin or UTC+1.")


date_format = click.option("--date-format", help="How dates are written, such as '%d/%m/%Y %H:%M'.")


longest_gap = click.option(
    "--longest-gap", help="Longest gap that is filled, such as '3 h'; none by default."
)


stamps = click.option(
    "--stamps",
    type=click.Choice(["beginning", "middle", "end"]),
    help="What each time marks of its step; by default, the first time decides.",
)


sheet = click.option("--sheet", help="Sheet of a workbook, where several could be meant.")


inputs_out = click.option(
    "--out", type=click.Path(path_type=Path), help="Folder for hourly file, text and charts."
)


@click.command(epilog=CAUTIONS)
@hourly_file
@click.option("--unit", help="Unit of columns that name none, such as kW or kWh.")
@click.option("--cadence", help="Length of a step, such as '15 min', for rows without times.")
@stamps
@date_format
@time_zone
@longest_gap
@sheet
@inputs_out
@force
@units
def loads(file: Path, out: Path | None, force: bool, units: Literal["SI", "IP"], **said: Any) -> None:
    """Show the loads of a file as they are read, or those of a design file.

    FILE is CSV, an Excel workbook or Parquet with heating, cooling or hot water in hours or shorter steps; or
    a design in TOML, whose loads may come from a building, months, bills, a peak or a total. Prints peaks,
    yearly sums, full-load hours, months, what was done to the file, and what looks wrong. --out DIR also
    writes the hours (CSV), the text, and charts (PNG).
    """
    is_design = file.suffix.lower() == ".toml"
    if is_design and any(value is not None for value in said.values()):
        raise click.UsageError("A design file says itself how its loads are read.")
    read = Design.read(file).loads if is_design else Loads.read(file, **said)
    results = None
    if out is not None:
        named = design_file.files(file) if is_design else [file]
        results = ResultFolder(out, "loads", inputs=named, force=force)
        with results.writing() as unfinished:
            inputs.write_loads_into(read, unfinished, units)
    print_results(inputs.loads_text(read, units), results)


@click.command(epilog=CAUTIONS)
@hourly_file
@stamps
@date_format
@time_zone
@longest_gap
@sheet
@inputs_out
@force
@units
def weather(file: Path, out: Path | None, force: bool, units: Literal["SI", "IP"], **said: Any) -> None:
    """Show the weather of a file as it is read.

    FILE is a public weather file (EPW, TMY3, TMY2, NSRDB, PVGIS), or CSV, an Excel workbook or Parquet with
    temp_air; or the name of an invented climate, such as "hot humid". Prints place, temperatures, degree days
    and sun, and what was done to the file. --out DIR also writes the hours (CSV), the text, and charts (PNG).
    """
    is_sample = str(file) in Weather.samples()
    read = Weather.sample(str(file)) if is_sample else Weather.read(file, **said)
    results = None
    if out is not None:
        results = ResultFolder(out, "weather", inputs=[] if is_sample else [file], force=force)
        with results.writing() as unfinished:
            inputs.write_weather_into(read, unfinished, units)
    print_results(inputs.weather_text(read), results)
