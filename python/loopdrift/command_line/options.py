"""Arguments and options that several commands have, and numbers given as text."""

from __future__ import annotations

from pathlib import Path

import click

DEMO = Path(__file__).parents[1] / "demo"
"""Folder of the invented example."""

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


def number_or_text(text: str) -> float | str:
    """Return text as a number if it is one, and unchanged if it has a unit."""
    try:
        return float(text)
    except ValueError:
        return text
