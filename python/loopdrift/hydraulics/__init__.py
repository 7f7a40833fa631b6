"""The way round the loop: friction, pump, flow in the bores, and what antifreeze costs."""

from loopdrift.hydraulics.antifreeze import Antifreeze, antifreeze_for
from loopdrift.hydraulics.piping import Apparatus, PipeRun, Piping
from loopdrift.hydraulics.pump import Pump
from loopdrift.hydraulics.turbulence import BoreFlow, bore_flow, coldest_flow, design_flow

__all__ = [
    "Antifreeze",
    "Apparatus",
    "BoreFlow",
    "PipeRun",
    "Piping",
    "Pump",
    "antifreeze_for",
    "bore_flow",
    "coldest_flow",
    "design_flow",
]
