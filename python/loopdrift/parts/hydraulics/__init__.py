"""Hydraulics of the loop: friction, channels, pump and piping."""

from loopdrift.parts.hydraulics.piping import Apparatus, PipeRun, Piping
from loopdrift.parts.hydraulics.pump import Pump

__all__ = ["Apparatus", "PipeRun", "Piping", "Pump"]
