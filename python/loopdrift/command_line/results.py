"""Print results, and say where they were written."""

from __future__ import annotations

from pathlib import Path

import click

from loopdrift.basics.errors import printable
from loopdrift.basics.output import ResultFolder
from loopdrift.files import design_file


def result_folder(out: Path | None, kind: str, inputs: list[Path], force: bool) -> ResultFolder | None:
    """Return the result folder, if requested; called before the run, so that a bad folder fails early."""
    if out is None:
        return None
    named = [file for path in inputs for file in design_file.files(path)]
    return ResultFolder(out, kind, inputs=named, force=force)


def print_results(text: str, results: ResultFolder | None, *beside: Path) -> None:
    """Print the results and the files written: only once they exist, because printing can fail."""
    print_text(text)
    if results is not None:
        click.echo()
        for file in [*beside, *results.written]:
            click.echo(f"wrote {file}")


def print_text(text: str) -> None:
    """Print lines, without control characters for the terminal."""
    click.echo("\n".join(map(printable, text.split("\n"))), nl=False)
