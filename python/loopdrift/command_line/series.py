"""Commands for a file of measured or hourly series: `learn`, `loads`, `response-test`, `weather`."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

import click

from loopdrift.analysis.learning import PlantLog
from loopdrift.analysis.learning.unknowns import NAMES, unknowns_of
from loopdrift.api.design import Design
from loopdrift.api.response_test import ResponseTest
from loopdrift.basics.errors import nearest_name
from loopdrift.basics.output import ResultFolder
from loopdrift.command_line.options import design_file as design_argument
from loopdrift.command_line.options import force, number_or_text, units
from loopdrift.command_line.progress import forecast_with_progress
from loopdrift.command_line.results import print_results
from loopdrift.files import design_file
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.cautions import CAUTIONS
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather
from loopdrift.reporting import inputs
from loopdrift.reporting import learning as learned_page
from loopdrift.reporting import response_test as test_page

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
    near = nearest_name(str(file), Weather.samples())
    if near and not is_sample and not file.exists():
        raise click.UsageError(f"{file}: no such file; did you mean the climate {near!r}?")
    read = Weather.sample(str(file)) if is_sample else Weather.read(file, **said)
    results = None
    if out is not None:
        results = ResultFolder(out, "weather", inputs=[] if is_sample else [file], force=force)
        with results.writing() as unfinished:
            inputs.write_weather_into(read, unfinished, units)
    print_results(inputs.weather_text(read, units), results)


@click.command("response-test", epilog=CAUTIONS)
@hourly_file
@click.option(
    "--design",
    type=click.Path(path_type=Path),
    help="Design file with the tested bore, its fluid and ground; else the file's own lines describe them.",
)
@click.option("--flow", help="Mean flow through the bore, such as '0.5 kg/s', if no column has it.")
@click.option("--undisturbed", help="Undisturbed temperature, if it was measured otherwise.")
@click.option(
    "--in-gaps", type=click.Choice(["on", "off"]), help="What the heater did where rows are missing."
)
@date_format
@sheet
@inputs_out
@force
@units
def response_test(
    file: Path,
    design: Path | None,
    undisturbed: str | None,
    out: Path | None,
    force: bool,
    units: Literal["SI", "IP"],
    **said: Any,
) -> None:
    """Find ground and bore resistance from a thermal response test.

    FILE is what the logger recorded: CSV, an Excel workbook or Parquet with time or elapsed, supply, return,
    and heat or flow. Lines such as "# depth: 150 m", "# diameter: 140 mm" and
    "# volumetric heat capacity: 2.2 MJ/(m3 K)" describe bore and ground, unless a design does. Prints the
    straight line in ln t and the fitted bore side by side, with standard errors, and what to make of them.
    --out DIR also writes tables (CSV), charts (PNG) and a page (HTML).
    """
    if design is not None:
        base = Design.read(design)
        side = base.ground_side
        if not isinstance(side, BoreField):
            raise click.UsageError("The design has no bore.")
        said |= {
            "bore": side.bores[0],
            "fluid": base.fluid,
            "volumetric_heat_capacity": base.ground.volumetric_heat_capacity,
            "gradient": base.ground.gradient,
        }
    test = ResponseTest.read(
        file, undisturbed_temperature=undisturbed and number_or_text(undisturbed), **said
    )
    results = None
    if out is not None:
        named = [file, *([] if design is None else design_file.files(design))]
        results = ResultFolder(out, "response-test", inputs=named, force=force)
        with results.writing() as unfinished:
            test_page.write_into(test, unfinished, units)
    print_results(str(test), results)


@click.command(epilog=CAUTIONS)
@design_argument
@click.argument("log", type=click.Path(path_type=Path))
@click.option(
    "--unknown",
    multiple=True,
    help=f"What is to be found, given once for each: {', '.join(NAMES)}; by default all but the last.",
)
@click.option("--started", help="When the plant began to run, such as 2019-10, unless the log says so.")
@click.option(
    "--rows",
    type=click.Choice(["beginning", "end", "instant"]),
    default="beginning",
    show_default=True,
    help="Whether rows are means over a step that begins or ends at their times, or instants.",
)
@click.option("--load-error", help="Standard error of the loads, such as '10 percent'.")
@click.option("--sensor-error", help="Standard error of the sensor, such as '0.2 K'.")
@click.option(
    "--years",
    type=click.IntRange(1, 100),
    default=25,
    show_default=True,
    help="Years of the forecast, from the first year on.",
)
@date_format
@sheet
@click.option("--out", type=click.Path(path_type=Path), help="Folder for tables, charts and page.")
@force
@units
def learn(
    design: Path,
    log: Path,
    unknown: tuple[str, ...],
    load_error: str | None,
    sensor_error: str | None,
    years: int,
    out: Path | None,
    force: bool,
    units: Literal["SI", "IP"],
    **said: Any,
) -> None:
    """Find ground and bore resistance from the plant's own log, and forecast.

    DESIGN is the design file of the plant as it was built. LOG is CSV, an Excel workbook or Parquet with
    time, entering_fluid_degC, and heat_extracted_kWh or electricity_kWh if they were measured; at any cadence
    and with gaps. Prints what was found with standard errors, what the log doesn't determine, and the years
    to come beside the design's own forecast. --out DIR also writes tables (CSV), charts (PNG) and a page
    (HTML).
    """
    base = Design.read(design)
    if unknown:
        unknowns_of(base, unknown)  # before the log is read
    read = PlantLog.read(log, **said)
    named = [*design_file.files(design), log]
    results = None if out is None else ResultFolder(out, "learn", inputs=named, force=force)
    errors = {"load_error": load_error, "sensor_error": sensor_error}
    given: dict[str, Any] = {name: number_or_text(text) for name, text in errors.items() if text is not None}
    if unknown:
        given["unknown"] = unknown
    forecast = forecast_with_progress(base, read, years, **given)
    if results is not None:
        with results.writing() as unfinished:
            learned_page.write_into(forecast, unfinished, units)
    print_results(f"{forecast}\n\n{forecast.learned}", results)
