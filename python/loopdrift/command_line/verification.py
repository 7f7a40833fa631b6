"""The command that checks the installed program: `verify`."""

from __future__ import annotations

import sys

import click

from loopdrift.command_line.exit_codes import NOTHING_HOLDS
from loopdrift.command_line.results import print_text
from loopdrift.model.cautions import CAUTIONS
from loopdrift.verification import GROUPS, Check

_HEADINGS = ("", "found", "expected", "unit", "digits", "tolerance")


@click.command(epilog=CAUTIONS)
def verify() -> None:
    """Check this installation against published values and independent methods.

    Computes closed forms, plain numerical solutions and published values on this machine, with none of
    loopdrift's own code, and compares loopdrift's results with them. Prints both, the decimal digits that
    agree, and the largest difference that passes. Takes some seconds. The exit code is 1 if a check fails.
    """
    checks = [check for group in GROUPS for check in group()]
    print_text(table(checks))
    failed = [check for check in checks if not check.passes]
    click.echo(f"\n{len(checks) - len(failed)} of {len(checks)} checks pass.")
    if failed:
        sys.exit(NOTHING_HOLDS)


def table(checks: list[Check]) -> str:
    """Return the checks as lines of text, each source above the checks that it has."""
    rows = [_HEADINGS, *map(_cells, checks)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEADINGS))]

    def line(cells: tuple[str, ...]) -> str:
        first = cells[0].ljust(widths[0])
        rest = [cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True)]
        return "  ".join([first, *rest]).rstrip()

    lines, source = [line(_HEADINGS)], ""
    for check, cells in zip(checks, rows[1:], strict=True):
        if check.source != source:
            source = check.source
            lines += ["", f"{source}:"]
        lines.append(line(cells) + ("" if check.passes else "  FAILS"))
    return "\n".join(lines) + "\n"


def _cells(check: Check) -> tuple[str, ...]:
    return (
        f"  {check.what}",
        f"{check.found:.8g}",
        f"{check.expected:.8g}",
        check.unit or "-",
        f"{check.digits:.1f}",
        f"{check.tolerance:.1g}",
    )
