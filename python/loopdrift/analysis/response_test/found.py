"""What a response test found, by one method."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.words import Shown

Numbers = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class FoundGround(Shown):
    """Conductivity, bore resistance and undisturbed temperature by one method.

    Parameters
    ----------
    method : str
        Name of the method.
    conductivity : float
        Conductivity of the ground [W/(m K)].
    resistance : float
        Effective resistance of the bore [m K/W].
    temperature : float
        Undisturbed temperature, mean over the depth of the bore [degC].
    covariance : ndarray
        Covariance of the three in this order, shape (3, 3): what the noise of the logger leaves open.
    begin, end : float
        Part of the record that was used [h].
    heat : float
        Mean heat given to the bore [W/m].
    hours : ndarray
        Middle of each interval [h].
    measured, fitted : ndarray
        Mean fluid temperature in each interval [degC].
    grout_conductivity : float, optional
        Conductivity of the grout that gives this resistance [W/(m K)], if the bore is known.
    """

    method: str
    conductivity: float
    resistance: float
    temperature: float
    covariance: Numbers = field(repr=False)
    begin: float
    end: float
    heat: float
    hours: Numbers = field(repr=False)
    measured: Numbers = field(repr=False)
    fitted: Numbers = field(repr=False)
    grout_conductivity: float | None = None

    @property
    def errors(self) -> Numbers:
        """Standard errors of conductivity, resistance and temperature, shape (3,)."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def residuals(self) -> Numbers:
        """Measured minus fitted temperature in each interval [K]."""
        return self.measured - self.fitted

    def __str__(self) -> str:
        conductivity, resistance, temperature = self.errors
        return (
            f"{self.method}, {self.begin:.1f} to {self.end:.1f} h: "
            f"conductivity {self.conductivity:.3f} ± {conductivity:.3f} W/(m K), "
            f"bore resistance {self.resistance:.4f} ± {resistance:.4f} m K/W, "
            f"undisturbed temperature {self.temperature:.2f} ± {temperature:.2f} degC"
        )

    def _unit_of(self, name: str) -> str:
        units = {"conductivity": "W/(m K)", "resistance": "m K/W", "temperature": "degC"}
        more = {"begin": "h", "end": "h", "heat": "W/m", "grout_conductivity": "W/(m K)"}
        return (units | more).get(name, "")
