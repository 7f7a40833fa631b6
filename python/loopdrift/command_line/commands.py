"""The list of all commands; the module of a command loads when the command is called."""

from __future__ import annotations

from importlib import import_module
from typing import NamedTuple

import click


class Listed(NamedTuple):
    """A command before it is loaded."""

    module: str
    """Its module in this package."""
    summary: str
    """The first sentence of its help."""


LIST = {
    "check": Listed("inputs", "Check a design file: report errors, or an overview of the design."),
    "compare": Listed("searches", "Compare the kinds of loop that fit a site."),
    "demo": Listed("runs", "Run the invented example."),
    "learn": Listed("series", "Find ground and bore resistance from the plant's own log, and forecast."),
    "loads": Listed("series", "Show the loads of a file as they are read, or those of a design file."),
    "neighbourhood": Listed("runs", "Run all plants of a town, each in the ground that the others leave it."),
    "new": Listed("inputs", "Write a commented design file to start from."),
    "report": Listed("pages", "Run a design file and write a report of one HTML page."),
    "response-test": Listed("series", "Find ground and bore resistance from a thermal response test."),
    "run": Listed("runs", "Simulate a design file hour by hour."),
    "schema": Listed("inputs", "Print the JSON Schema of design files, of site files, or of a tariff."),
    "sheet": Listed("pages", "Write the installer's sheet of a design file."),
    "size": Listed(
        "searches",
        "Find the smallest bore field, trenches, coils or well that hold in every hour, "
        "or the least recharge.",
    ),
    "study": Listed("searches", "Run all variants that the table [study] of a design file defines."),
    "verify": Listed(
        "verification", "Check this installation against published values and independent methods."
    ),
    "weather": Listed("series", "Show the weather of a file as it is read."),
}
"""All commands by name."""


class Commands(click.Group):
    """A group whose commands load when they are called, and not when they are listed."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands."""
        return list(LIST)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load a command; None if there is none of that name."""
        if cmd_name not in LIST:
            return None
        found = getattr(import_module(f"{__package__}.{LIST[cmd_name].module}"), cmd_name.replace("-", "_"))
        assert isinstance(found, click.Command)
        return found

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write names and summaries."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, listed.summary) for name, listed in LIST.items()])
