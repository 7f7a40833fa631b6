"""All kinds of loop that a site allows, sized for one building and compared."""

from loopdrift.analysis.comparison.comparison import Comparison, compare, layouts
from loopdrift.ground_sides.candidate import Candidate

__all__ = ["Candidate", "Comparison", "compare", "layouts"]
