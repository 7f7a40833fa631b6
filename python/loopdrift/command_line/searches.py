"""Commands that run many designs: `size`, `compare`, `study`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import click

from loopdrift.analysis.comparison.comparison import write_into
from loopdrift.analysis.recharge import Recharge
from loopdrift.analysis.sizing import Sizing, What
from loopdrift.analysis.study import folder
from loopdrift.analysis.study.file import read_study
from loopdrift.api.design import Design
from loopdrift.api.site import Site
from loopdrift.basics.both_units import inch_pound_first
from loopdrift.basics.output import ResultFolder
from loopdrift.basics.words import WIDTH
from loopdrift.command_line.exit_codes import NOTHING_HOLDS
from loopdrift.command_line.options import design_file, force, number_or_text, units, years
from loopdrift.command_line.progress import compare_with_progress
from loopdrift.command_line.results import print_results, result_folder
from loopdrift.files.design_file import files
from loopdrift.model.cautions import CAUTIONS


@click.command(epilog=CAUTIONS)
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
@units
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
    units: Literal["SI", "IP"],
) -> None:
    """Find the smallest bore field, trenches, coils or well that hold in every hour, or the least recharge.

    Each step of the search is an hourly coupled run of the whole horizon. Prints the size and the hour that
    decides, or the heat to add to the loop or remove from it each year. --out DIR also writes the resulting
    design. The exit code is 1 if nothing holds.

    The fewest bores stand in single rows or rectangles; with --plot, also in L and U shapes along its sides.
    """
    base = Design.read(design)
    results = result_folder(out, "size", [design], force)
    if what == "recharge":
        for name, value in {"between": between, "plot": plot, "total": total}.items():
            if value is not None:
                raise click.UsageError(f"--find recharge takes no --{name}.")
    sized: Sizing[Design] | Recharge[Design]
    if what == "recharge":
        if drift is None:
            raise click.UsageError("--find recharge needs --drift.")
        sized = base.find_recharge(number_or_text(drift), years=years)
    elif drift is not None:
        raise click.UsageError("--drift applies only to --find recharge.")
    else:
        sized = base.size(
            what,
            years=years,
            between=_numbers(between),
            plot=_numbers(plot),
            total_length=None if total is None else number_or_text(total),
        )
    in_order = inch_pound_first if units == "IP" else str
    sentences, *table = in_order(str(sized)).split("\n\n")
    head = [] if base.project is None else [f"Project: {base.project}"]
    blocks = [click.wrap_text(block, WIDTH) for block in (*head, sentences)]
    text = "\n\n".join([*blocks, *table, click.wrap_text(CAUTIONS, WIDTH)]) + "\n"
    if results is not None:
        with results.writing() as unfinished:
            (unfinished / "sizing.txt").write_text(text, encoding="utf-8")
            sized.design.write(unfinished / "design.toml")
    print_results(text, results)
    if not sized.holds:
        sys.exit(NOTHING_HOLDS)


@click.command(epilog=CAUTIONS)
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
    base, offered = Design.read(design), Site.read(site)
    results = result_folder(out, "compare", [design, site], force)
    compared = compare_with_progress(base, offered, years)
    if results is not None:
        with results.writing() as unfinished:
            write_into(compared, unfinished, units)
    print_results(compared.text(units=units), results)
    if not compared.feasible:
        sys.exit(NOTHING_HOLDS)


@click.command(epilog=CAUTIONS)
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
    described = read_study(design, Design)
    results = ResultFolder(out, "study", inputs=files(design), force=force)
    results.claim()
    store = out / "cases"
    if sys.stderr.isatty():
        with click.progressbar(length=len(described), label="cases", file=sys.stderr) as bar:
            found = described.run(years, store=store, progress=lambda done: bar.update(done - bar.pos))
    else:
        found = described.run(years, store=store)
    with results.writing() as unfinished:
        folder.write_into(found, unfinished, limits=described.design.limits, units=units)
    print_results(folder.text(found, units), results, store)


def _numbers(pair: tuple[str, str] | None) -> tuple[float | str, float | str] | None:
    return None if pair is None else (number_or_text(pair[0]), number_or_text(pair[1]))
