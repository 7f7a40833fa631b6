"""Cost of a run and of its alternatives."""

from loopdrift.analysis.cost.cost import Cost, of, own, require_priced

__all__ = ["Cost", "of", "own", "require_priced"]
