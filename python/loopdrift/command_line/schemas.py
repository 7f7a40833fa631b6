"""The command that prints the JSON Schema of files: `schema`."""

from __future__ import annotations

import json
from typing import Literal

import click

from loopdrift.api.design import Design
from loopdrift.api.site import Site
from loopdrift.files import json_schema
from loopdrift.parts.prices import Tariff

_PARTS: dict[str, type] = {"design": Design, "site": Site, "tariff": Tariff}


@click.command()
@click.argument("file", type=click.Choice(list(_PARTS)), default="design")
def schema(file: Literal["design", "site", "tariff"]) -> None:
    """Print the JSON Schema of design files, of site files, or of a tariff.

    Editors that know TOML and JSON Schema complete and check keys with it. `check` checks more: units, files
    that are named, and values that must fit each other.
    """
    click.echo(json.dumps(json_schema.schema(_PARTS[file]), indent=2))
