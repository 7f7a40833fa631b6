"""Numerical errors of a run's temperatures."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.words import Shown


@dataclass(frozen=True)
class RunError(Shown):
    """Largest errors of a run's temperatures over all hours; a part is 0 if it doesn't apply.

    They are the differences between the computed values and the exact solution of the equations.
    Exponentials, iteration, resistance, tabulation and segments apply to bores and trenches, inside to built
    bores, steps and film to ponds, steps also to wells with a return well. A well with surface discharge has
    none: its water is at the aquifer's temperature.

    Parameters
    ----------
    exponentials : float
        Error of the fluid temperatures against exact superposition of the same heat [K], with the resistance
        of each hour's fluid. The wall temperature of a run is that superposition itself.
    tabulation : float
        Bound of the error of the wall temperature from tabulating the step response [K].
    segments : float
        Estimate of the error from solving the step response with fewer unknowns than segments [K].
    steps : float, default 0
        Estimate of the error of the time step [K]: for a pond, twice the largest difference of the water
        temperature at the coils when the heat of the first year is applied in steps of half an hour; for a
        well, the difference from pumping intervals twice as long.
    film : float, default 0
        Estimate of the error of the fluid temperature because the film at a pond's coils doesn't quite match
        the heat of the hour [K].
    resistance : float, default 0
        Error of the fluid temperature from tabulating the loop's resistance and the flow's heat capacity
        [K], measured against the equations between the nodes of the table. If an hour has both a laminar and
        a turbulent solution and the other errors don't determine which applies, it is the difference between
        the two.
    inside : float, default 0
        Estimate of the error of the fluid temperature because the heat capacity inside built bores is
        combined with the resistance of the undisturbed fluid instead of that of the hour [K]; in the first
        hours of a period of load.
    iteration : float, default 0
        Error of the entering fluid temperature from ending the iteration of an hour [K]: the heat that the
        run counts isn't quite that of the heat pump's curves at the temperature found, where a stage, a
        lock-out or the end of a table bends them.
    """

    exponentials: float
    tabulation: float
    segments: float
    steps: float = 0.0
    film: float = 0.0
    resistance: float = 0.0
    inside: float = 0.0
    iteration: float = 0.0

    @property
    def largest(self) -> float:
        """Sum of all parts: bound of the error of any temperature [K]."""
        return (
            self.exponentials
            + self.iteration
            + self.resistance
            + self.inside
            + self.tabulation
            + self.segments
            + self.steps
            + self.film
        )
