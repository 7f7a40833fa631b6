"""How far a run's temperatures are those of the equations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.ground_sides.kinds import GroundSide


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


def in_words(error: RunError, side: GroundSide) -> str:
    """Return how far the temperatures are those of the equations, in a sentence."""
    if isinstance(side, Pond):
        return (
            f"Steps of an hour cost the pond's water up to about {both(error.steps, 'K', '.1g')}, and the "
            f"film around the coils the fluid up to about {both(error.film, 'K', '.1g')}. What the model "
            "leaves out counts for more."
        )
    if isinstance(side, Well) and side.return_distance is None:
        return (
            "The well's water has the aquifer's temperature, and the level is the sum of all pumping: "
            "nothing of that is approximate but the model itself."
        )
    if isinstance(side, Well):
        return (
            f"That the well's water keeps one temperature for an interval of pumping costs up to about "
            f"{both(error.steps, 'K', '.1g')}; what the model leaves out counts for more."
        )
    return (
        f"Temperatures are those of the equations to about {both(error.largest, 'K', '.1g')}: exponentials "
        f"{error.exponentials:.1g} K, table of resistances {error.resistance:.1g} K, heat capacity inside "
        f"the bores {error.inside:.1g} K, tabulation {error.tabulation:.1g} K, segments of the loop "
        f"{error.segments:.1g} K."
    )
