"""Flow in the bores, and doses of antifreeze."""

from loopdrift.analysis.hydraulics.antifreeze import Antifreeze, antifreeze
from loopdrift.analysis.hydraulics.flow import coldest_flow, design_flow
from loopdrift.parts.hydraulics.turbulence import BoreFlow, bore_flow

__all__ = ["Antifreeze", "BoreFlow", "antifreeze", "bore_flow", "coldest_flow", "design_flow"]
