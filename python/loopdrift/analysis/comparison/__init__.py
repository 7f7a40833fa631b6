"""Every kind of loop that a site allows, sized for one building and set side by side."""

from loopdrift.analysis.comparison.candidate import Candidate
from loopdrift.analysis.comparison.comparison import KINDS, Comparison, compare

__all__ = ["KINDS", "Candidate", "Comparison", "compare"]
