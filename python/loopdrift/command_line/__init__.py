"""The command `loopdrift`."""

from loopdrift.command_line.exit_codes import BAD_INPUT
from loopdrift.command_line.main import main
from loopdrift.command_line.options import DEMO

__all__ = ["BAD_INPUT", "DEMO", "main"]
