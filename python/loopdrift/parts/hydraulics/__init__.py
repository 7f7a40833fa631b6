"""Hydraulics of the loop: friction, channels, pump and piping."""

from loopdrift.parts.hydraulics.piping import Apparatus, OperatingPoint, PipeRun, Piping
from loopdrift.parts.hydraulics.pump import Pump

__all__ = ["Apparatus", "OperatingPoint", "PipeRun", "Piping", "Pump"]
