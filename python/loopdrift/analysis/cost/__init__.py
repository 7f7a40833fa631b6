"""What a run costs, beside its alternatives."""

from loopdrift.analysis.cost.cost import Cost, of, own, require_priced

__all__ = ["Cost", "of", "own", "require_priced"]
