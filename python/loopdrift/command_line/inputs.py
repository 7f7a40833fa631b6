"""Commands for those who write a design file: `new`, `check`, `schema`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Literal

import click

from loopdrift.api.design import Design
from loopdrift.api.site import Site
from loopdrift.basics.words import WIDTH
from loopdrift.command_line.options import design_file, units
from loopdrift.command_line.results import print_text
from loopdrift.files import json_schema, new_design
from loopdrift.files.questions import answered
from loopdrift.model.cautions import CAUTIONS
from loopdrift.parts.prices import Tariff
from loopdrift.reporting.overview import overview

_PARTS: dict[str, type] = {"design": Design, "site": Site, "tariff": Tariff}


@click.command(epilog=CAUTIONS)
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
    if path.exists():
        raise click.UsageError(f"{path} exists: choose another name.")
    text = new_design.text(answered(given, ask=not yes), path)
    with path.open("x", encoding="utf-8") as file:
        file.write(text)
    click.echo(f"wrote {path}")
    click.echo(f"Next: loopdrift check {path}")


@click.command(epilog=CAUTIONS)
@design_file
@units
def check(design: Path, units: Literal["SI", "IP"]) -> None:
    """Check a design file: report errors, or an overview of the design.

    Runs no simulation.
    """
    print_text(overview(Design.read_phases(design), units=units) + "\n")
    click.echo(click.wrap_text(CAUTIONS, WIDTH))


@click.command()
@click.argument("file", type=click.Choice(list(_PARTS)), default="design")
def schema(file: Literal["design", "site", "tariff"]) -> None:
    """Print the JSON Schema of design files, of site files, or of a tariff.

    Editors that know TOML and JSON Schema complete and check keys with it. `check` checks more: units, files
    that are named, and values that must fit each other.
    """
    click.echo(json.dumps(json_schema.schema(_PARTS[file]), indent=2))
