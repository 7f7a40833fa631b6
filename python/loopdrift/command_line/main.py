"""The group of all commands, and how errors end it."""

from __future__ import annotations

import gc
import io
import sys
import warnings

import click

from loopdrift import _core
from loopdrift.basics.errors import LoopdriftError, as_text, shortened
from loopdrift.command_line.commands import Commands
from loopdrift.command_line.exit_codes import BAD_INPUT, INTERRUPTED
from loopdrift.model.cautions import CAUTIONS

_NEW_OBJECTS_BEFORE_A_LOOK = 50_000
_LONGEST_LINE = 480


@click.group(
    cls=Commands,
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
