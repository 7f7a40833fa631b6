"""What a run costs, beside its alternatives."""

from loopdrift.analysis.cost.cost import Cost, of, require_priced

__all__ = ["Cost", "of", "require_priced"]
