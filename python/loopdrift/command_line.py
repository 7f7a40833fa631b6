"""The command `loopdrift`."""

from __future__ import annotations

import gc
import io
import shutil
import sys
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from loopdrift import _core
from loopdrift.analysis.cautions import CAUTIONS
from loopdrift.basics.errors import InvalidInput, LoopdriftError, as_text, printable, shortened
from loopdrift.basics.output import ResultFolder, ResultPage

if TYPE_CHECKING:
    from loopdrift.analysis.comparison import Comparison
    from loopdrift.analysis.recharge import Recharge
    from loopdrift.analysis.sizing import Sizing, What
    from loopdrift.api.design import Design
    from loopdrift.api.run import Run
    from loopdrift.api.site import Site

DEMO = Path(__file__).parent / "demo"
NOTHING_HOLDS = 1
BAD_INPUT = 2
INTERRUPTED = 130
_NEW_OBJECTS_BEFORE_A_LOOK = 50_000
_LONGEST_LINE = 480

design_file = click.argument("design", type=click.Path(path_type=Path))
years = click.option("--years", default=20, show_default=True, help="Years to simulate, 1 to 100.")
units = click.option(
    "--units",
    type=click.Choice(["SI", "IP"]),
    default="SI",
    show_default=True,
    help="Units of tables and charts: SI or inch-pound; text has both.",
)
force = click.option(
    "--force",
    is_flag=True,
    help="Also overwrite files that loopdrift didn't write or that changed since; never an input.",
)


@click.group(
    epilog=f"{CAUTIONS} Begin with: loopdrift demo --out demo",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    invoke_without_command=True,
)
@click.version_option(_core.VERSION)
@click.pass_context
def commands(context: click.Context) -> None:
    """Simulate the fluid temperature of a ground-source heat pump loop, hourly over decades.

    A design file in TOML describes the ground, the loop, the fluid, the heat pump and the loads.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@commands.command(epilog=CAUTIONS)
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


@commands.command(epilog=CAUTIONS)
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
    _simulate(base, _result_folder(out, "run", [design], force), years, units)


@commands.command(epilog=CAUTIONS)
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
    page.write(pages.page(_with_progress(base, years), title=title, units=units, full=full))
    click.echo(f"wrote {out}")


@commands.command("sheet", epilog=CAUTIONS)
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
    results = _result_folder(out, "sheet", [design], force)
    assert results is not None
    with results.writing() as unfinished:
        write_into(base, unfinished, units=units, grout_surplus=_number(grout_surplus))
    for file in results.written:
        click.echo(f"wrote {file}")


@commands.command(epilog=CAUTIONS)
@click.argument("path", type=click.Path(path_type=Path), default="design.toml")
@click.option("--building", type=click.Choice(["house", "larger"]), help="A house, or a larger building.")
@click.option("--units", type=click.Choice(["SI", "IP"]), help="Units of the file: SI or inch-pound.")
@click.option("--weather", help="Name of an invented sample climate, or path of a weather file.")
@click.option("--heat-loss", help="House: heat loss on a cold day, such as '9 kW' or '30 kBtu/h'.")
@click.option("--floor-area", help="Larger building: floor area, such as '2000 m2' or '20000 ft2'.")
@click.option("--storeys", type=click.IntRange(1, 100), help="Larger building: number of storeys.")
@click.option("--conductivity", help="Of the ground, such as '2 W/(m K)' or '1.2 Btu/(h ft degF)'.")
@click.option("--temperature", help="Of the undisturbed ground, such as '55 degF'; else from the weather.")
@click.option("--yes", is_flag=True, help="Ask nothing: typical values for what is not given.")
def new(path: Path, yes: bool, **given: Any) -> None:
    """Write a commented design file to start from.

    Asks a few questions, or takes the answers as options, and writes PATH (design.toml unless given) with
    typical values for everything else. `check`, `size` and `run` take the file as it is. An existing file is
    never overwritten.
    """
    from loopdrift.files import new_design
    from loopdrift.files.questions import answered

    if path.exists():
        raise click.UsageError(f"{path} exists: choose another name.")
    text = new_design.text(answered(given, ask=not yes), path)
    with path.open("x", encoding="utf-8") as file:
        file.write(text)
    click.echo(f"wrote {path}")
    click.echo(f"Next: loopdrift check {path}")


@commands.command(epilog=CAUTIONS)
@design_file
@units
def check(design: Path, units: Literal["SI", "IP"]) -> None:
    """Check a design file: report errors, or an overview of the design.

    Runs no simulation.
    """
    from loopdrift.api.design import Design
    from loopdrift.basics.words import WIDTH
    from loopdrift.reporting.overview import overview

    _say(overview(Design.read(design), units=units) + "\n")
    click.echo(click.wrap_text(CAUTIONS, WIDTH))


hourly_file = click.argument("file", type=click.Path(path_type=Path))
time_zone = click.option("--time-zone", help="Zone of the place, such as Europe/Berlin or UTC+1.")
date_format = click.option("--date-format", help="How dates are written, such as '%d/%m/%Y %H:%M'.")
longest_gap = click.option(
    "--longest-gap", help="Longest gap that is filled, such as '3 h'; none by default."
)
stamps = click.option(
    "--stamps",
    type=click.Choice(["beginning", "middle", "end"]),
    help="What a time names of its step; by default, the first tells.",
)
sheet = click.option("--sheet", help="Sheet of a workbook, where several could be meant.")
inputs_out = click.option(
    "--out", type=click.Path(path_type=Path), help="Folder for hourly file, text and charts."
)


@commands.command(epilog=CAUTIONS)
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
    from loopdrift.api.design import Design
    from loopdrift.files import design_file
    from loopdrift.parts.loads import Loads
    from loopdrift.reporting import inputs

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
    _tell(inputs.loads_text(read, units), results)


@commands.command(epilog=CAUTIONS)
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
    from loopdrift.parts.weather.weather import Weather
    from loopdrift.reporting import inputs

    is_sample = str(file) in Weather.samples()
    read = Weather.sample(str(file)) if is_sample else Weather.read(file, **said)
    results = None
    if out is not None:
        results = ResultFolder(out, "weather", inputs=[] if is_sample else [file], force=force)
        with results.writing() as unfinished:
            inputs.write_weather_into(read, unfinished, units)
    _tell(inputs.weather_text(read), results)


@commands.command(epilog=CAUTIONS)
@design_file
@click.option(
    "--find",
    "what",
    type=click.Choice(
        [
            *("depth", "bores", "length", "trenches", "coils", "spacing"),
            *("flow", "effectiveness", "recharge"),
        ]
    ),
    help="Least depth or number of bores; length or number of trenches, or of coils in a pond; spacing (and "
    "land); flow of a well, or effectiveness of its exchanger; or recharge. Default: depth, length or flow.",
)
@click.option("--between", nargs=2, metavar="LEAST MOST", help="Range of the search, such as 40 '500 ft'.")
@click.option(
    "--plot",
    nargs=2,
    metavar="LENGTH WIDTH",
    help="For bores or trenches: the rectangle that all must stand in, such as '30 m' '18 m'.",
)
@click.option(
    "--total",
    metavar="LENGTH",
    help="For bores, trenches or coils: their total length. Shows how many of which depth or length hold; "
    "--between then limits that depth or length.",
)
@click.option("--drift", help="For recharge: largest drift of the yearly mean entering fluid [K].")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the sized design and the result.")
@force
@years
def size(
    design: Path,
    what: What | Literal["recharge"] | None,
    between: tuple[str, str] | None,
    plot: tuple[str, str] | None,
    total: str | None,
    drift: str | None,
    out: Path | None,
    force: bool,
    years: int,
) -> None:
    """Find the smallest bore field, trenches, coils or well that hold in every hour, or the least recharge.

    Each step of the search is an hourly coupled run of the whole horizon. Prints the size and the hour that
    decides, or the heat to add to the loop or remove from it each year. --out DIR also writes the resulting
    design. The exit code is 1 if nothing holds.

    The fewest bores stand in single rows or rectangles; with --plot, also in L and U shapes along its sides.
    """
    from loopdrift.api.design import Design
    from loopdrift.basics.words import WIDTH

    base = Design.read(design)
    results = _result_folder(out, "size", [design], force)
    if what == "recharge":
        for name, value in {"between": between, "plot": plot, "total": total}.items():
            if value is not None:
                raise click.UsageError(f"--find recharge takes no --{name}.")
    sized: Sizing[Design] | Recharge[Design]
    if what == "recharge":
        if drift is None:
            raise click.UsageError("--find recharge needs --drift.")
        sized = base.find_recharge(_number(drift), years=years)
    elif drift is not None:
        raise click.UsageError("--drift applies only to --find recharge.")
    else:
        sized = base.size(
            what,
            years=years,
            between=_numbers(between),
            plot=_numbers(plot),
            total_length=None if total is None else _number(total),
        )
    sentences, *table = str(sized).split("\n\n")
    head = [] if base.project is None else [f"Project: {base.project}"]
    blocks = [click.wrap_text(block, WIDTH) for block in (*head, sentences)]
    text = "\n\n".join([*blocks, *table, click.wrap_text(CAUTIONS, WIDTH)]) + "\n"
    if results is not None:
        with results.writing() as unfinished:
            (unfinished / "sizing.txt").write_text(text, encoding="utf-8")
            sized.design.write(unfinished / "design.toml")
    _tell(text, results)
    if not sized.holds:
        sys.exit(NOTHING_HOLDS)


@commands.command(epilog=CAUTIONS)
@design_file
@click.argument("site", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for tables, chart, text and designs.")
@force
@years
@units
def compare(
    design: Path, site: Path, out: Path | None, force: bool, years: int, units: Literal["SI", "IP"]
) -> None:
    """Compare the kinds of loop that fit a site.

    DESIGN is the building with its heat pump, as for the other commands. SITE describes what the land offers:
    [land], [drilling], [excavation], [water] and [groundwater], and the weather. A missing table means that
    the resource is not available. The demo writes an example to inputs/site.toml.

    Bores, trenches with straight pipes or coils, coils in a pond and a well are each sized to the least that
    holds the limits in every hour. Your own loops are run as they stand: each is a table [[candidate]] in
    SITE, with a name and either a design file or a [candidate.ground_side].

    Prints land, pipe, temperatures, pumping, COP and costs of each; if it doesn't fit, why, and what would
    make it fit; and how far rules of thumb are off. Costs need [prices] in the design, with a price for each
    kind. --out DIR also writes tables (CSV and Parquet), the chart (PNG), the text, and a design file for
    each loop that fits, for the other commands. The exit code is 1 if nothing fits.
    """
    from loopdrift.api.design import Design
    from loopdrift.api.site import Site

    base, offered = Design.read(design), Site.read(site)
    results = _result_folder(out, "compare", [design, site], force)
    compared = _compared(base, offered, years)
    if results is not None:
        from loopdrift.analysis.comparison.comparison import write_into

        with results.writing() as unfinished:
            write_into(compared, unfinished, units)
    _tell(compared.text(units=units), results)
    if not compared.feasible:
        sys.exit(NOTHING_HOLDS)


@commands.command(epilog=CAUTIONS)
@design_file
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    required=True,
    help="Folder for tables and charts; an interrupted study resumes from it.",
)
@force
@years
@units
def study(design: Path, out: Path, force: bool, years: int, units: Literal["SI", "IP"]) -> None:
    """Run all variants that the table [study] of a design file defines.

    The table has [study.vary], lists of values whose combinations are all run, or [study.samples], a count
    and distributions. Writes a row for each year of each case (Parquet) as portions finish, one table of
    cases (CSV), and a chart if two numbers vary or samples were drawn. After an interruption, the same
    command resumes the study.
    """
    from loopdrift.analysis.study import folder as report
    from loopdrift.analysis.study.file import read_study
    from loopdrift.api.design import Design
    from loopdrift.files import design_file

    described = read_study(design, Design)
    results = ResultFolder(out, "study", inputs=design_file.files(design), force=force)
    results.claim()
    store = out / "cases"
    if sys.stderr.isatty():
        with click.progressbar(length=len(described), label="cases", file=sys.stderr) as bar:
            found = described.run(years, store=store, progress=lambda done: bar.update(done - bar.pos))
    else:
        found = described.run(years, store=store)
    with results.writing() as unfinished:
        report.write_into(found, unfinished, limits=described.design.limits, units=units)
    _tell(report.text(found), results, store)


def _numbers(pair: tuple[str, str] | None) -> tuple[float | str, float | str] | None:
    return None if pair is None else (_number(pair[0]), _number(pair[1]))


def _number(text: str) -> float | str:
    """Return text as a number if it is one, and unchanged if it has a unit."""
    try:
        return float(text)
    except ValueError:
        return text


def _result_folder(out: Path | None, kind: str, inputs: list[Path], force: bool) -> ResultFolder | None:
    """Return the result folder, if requested; called before the run, so that a bad folder fails early."""
    if out is None:
        return None
    from loopdrift.files import design_file

    named = [file for path in inputs for file in design_file.files(path)]
    return ResultFolder(out, kind, inputs=named, force=force)


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

    finished = _with_progress(design, years)
    long_run = _long_run(finished)
    if results is not None:
        with results.writing() as unfinished:
            write_into(finished, unfinished, long_run=long_run, units=units)
            if inputs is not None:
                shutil.copytree(inputs, unfinished / "inputs", copy_function=shutil.copyfile)
    _tell(heading + summary(finished, long_run=long_run, units=units), results)


def _tell(text: str, results: ResultFolder | None, *beside: Path) -> None:
    """Print the results and the files written: only once they exist, because printing can fail."""
    _say(text)
    if results is not None:
        click.echo()
        for file in [*beside, *results.written]:
            click.echo(f"wrote {file}")


def _long_run(run: Run) -> str:
    try:
        return str(run.heat_build_up())
    except InvalidInput as error:
        return f"Long-term behaviour can't be computed: {error}"


def _with_progress(design: Design, years: int) -> Run:
    """Run, with a progress bar if standard error is a terminal."""
    from loopdrift.analysis.cost import require_priced
    from loopdrift.basics.model_time import HOURS_PER_YEAR

    require_priced(design)
    if not sys.stderr.isatty():
        return design.run(years)
    with click.progressbar(length=years, label="years", file=sys.stderr) as bar:
        return design.run(years, progress=lambda hours: bar.update(hours // HOURS_PER_YEAR - bar.pos))


def _compared(design: Design, site: Site, years: int) -> Comparison:
    """Compare, with a progress bar if standard error is a terminal."""
    from loopdrift.analysis.comparison import layouts

    if not sys.stderr.isatty():
        return design.compare(site, years=years)
    with click.progressbar(
        length=len(layouts()) + len(site.candidates), label="kinds", file=sys.stderr
    ) as bar:
        return design.compare(site, years=years, progress=lambda done: bar.update(done - bar.pos))


def main() -> None:
    """Run the command; report an input error as one line on standard error, with exit code 2."""
    # Nearly all objects made by imports stay alive: garbage collection there takes a tenth of the time.
    gc.set_threshold(_NEW_OBJECTS_BEFORE_A_LOOK)
    warnings.showwarning = lambda message, *_: click.echo(f"warning: {_in_a_line(message)}", err=True)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # for terminals that lack some of our characters
    try:
        commands(prog_name="loopdrift", standalone_mode=False)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        sys.exit(INTERRUPTED)
    except (click.ClickException, LoopdriftError, OSError) as error:
        click.echo(f"error: {_in_a_line(error)}", err=True)
        for note in getattr(error, "__notes__", ()):
            click.echo(f"  {shortened(note, _LONGEST_LINE)}", err=True)
        sys.exit(BAD_INPUT)


def _say(text: str) -> None:
    """Print lines, without control characters for the terminal."""
    click.echo("\n".join(map(printable, text.split("\n"))), nl=False)


def _help(error: click.ClickException) -> str:
    context = error.ctx if isinstance(error, click.UsageError) else None
    return f"{context.command_path if context else 'loopdrift'} --help"


def _in_a_line(error: Exception | str) -> str:
    if isinstance(error, click.ClickException):
        text = f"{error.format_message()} See {_help(error)}."
    elif isinstance(error, Exception):
        text = as_text(error)
    else:
        text = error
    return shortened(" ".join(text.split()), _LONGEST_LINE)
