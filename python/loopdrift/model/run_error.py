"""How far a run's temperatures are those of the equations."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RunError:
    """Largest errors of a run's temperatures over all hours; a part is 0 for what a kind of loop has not.

    They are those of the numbers against the equations: exponentials, resistance, tabulation and segments
    belong to bores and trenches, inside to built bores, steps and film to ponds, steps also to wells with a
    return well. A well whose water goes to a surface body has none: its water has the aquifer's temperature.

    Parameters
    ----------
    exponentials : float
        Fluid temperatures against exact superposition of the same heat [K], each hour with the resistance of
        its own fluid. The wall temperature of a run is that superposition itself.
    tabulation : float
        Bound of what tabulating the step response costs the wall temperature [K].
    segments : float
        Estimate of what solving the step response with fewer unknowns than segments costs [K].
    steps : float, default 0
        Estimate of what steps in time cost [K]: for a pond from what steps of half an hour make of the first
        year's heat, twice the largest difference of the water at the coils; for a well from intervals of
        pumping twice as long.
    film : float, default 0
        Estimate of what it costs the fluid that the film around a pond's coils is not quite that of the
        hour's heat [K].
    resistance : float, default 0
        What tabulating the loop's resistance and the flow's heat capacity costs the fluid [K], measured
        against the equations between the nodes of the table. Where a laminar and a turbulent film both
        solve an hour and the other errors leave open which of them counts, it is the distance between the
        two.
    inside : float, default 0
        Estimate of what it costs the fluid that the heat capacity inside built bores meets the resistance of
        the undisturbed fluid and not that of the hour [K]; in the first hours of a stretch of load.
    """

    exponentials: float
    tabulation: float
    segments: float
    steps: float = 0.0
    film: float = 0.0
    resistance: float = 0.0
    inside: float = 0.0

    @property
    def largest(self) -> float:
        """Error to be reckoned with in any temperature, all parts together [K]."""
        return (
            self.exponentials
            + self.resistance
            + self.inside
            + self.tabulation
            + self.segments
            + self.steps
            + self.film
        )
