"""A value of loopdrift beside that of an independent reference."""

from __future__ import annotations

import dataclasses

import numpy as np


@dataclasses.dataclass(frozen=True)
class Check:
    """One comparison.

    Parameters
    ----------
    what : str
        What is compared.
    source : str
        Of the expected value: a published source, or the independent method.
    found, expected : float
        Of loopdrift and of the source, in `unit`.
    tolerance : float
        Largest difference that passes, in `unit`.
    unit : str
        Of the values; empty for plain numbers.
    """

    what: str
    source: str
    found: float
    expected: float
    tolerance: float
    unit: str = ""

    @property
    def passes(self) -> bool:
        """Whether the difference is within the tolerance."""
        return bool(abs(self.found - self.expected) <= self.tolerance)

    @property
    def digits(self) -> float:
        """Decimal digits that agree [-], 16 at most."""
        largest = max(abs(self.found), abs(self.expected))
        if not np.isfinite(largest):
            return 0.0
        relative = abs(self.found - self.expected) / largest if largest > 0.0 else 0.0
        return float(np.clip(-np.log10(max(relative, 1e-16)), 0.0, 16.0))
