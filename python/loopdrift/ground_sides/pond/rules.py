"""Rules of thumb for ponds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.ground_sides.rule import RuleOfThumb, Usual, explained

if TYPE_CHECKING:
    from loopdrift.ground_sides.pond.pond import Pond
    from loopdrift.model.run import Run

AREAS = Usual(4000.0, None, "m2", "1 acre")
"""Minimum surface area of ponds in use."""

DEPTHS = Usual(3.0, None, "m", "10 to 12 ft")
"""Minimum depth of ponds in use: 3 to 3.7 m."""

HOURS_OF_MONTH = 720
HEAT_OF_WATER = 4.19e6
"""Volumetric heat capacity of water [J/(m3 K)]."""


def rules(pond: Pond, run: Run | None) -> Iterator[RuleOfThumb]:
    """Yield the rules for a pond's area and depth."""
    yield explained(RuleOfThumb("Area of the pond", pond.area, AREAS), _of_area(pond, run))
    yield explained(RuleOfThumb("Depth of the pond", pond.depth, DEPTHS), _of_depth(pond, run))


def _of_area(pond: Pond, run: Run | None) -> str:
    """Return the effect on the pond of the 30 days with the largest heat flow."""
    if run is None:
        return f"Its volume is {both(pond.volume, 'm3')}."
    sums = _running_sums(run.hourly["heat_extracted_W"].to_numpy())
    most = float(np.abs(sums).max()) * 3600.0
    return (
        f"In the peak 30 days, the loop exchanges {both(most / 3.6e6, 'kWh')}, which alone would change the "
        f"temperature of the pond's {both(pond.volume, 'm3')} by "
        f"{both(most / (pond.volume * HEAT_OF_WATER), 'K', '.1f')}; {_water(run)}"
    )


def _of_depth(pond: Pond, run: Run | None) -> str:
    """Return the depth of water below the ice."""
    if run is None:
        return f"Its volume is {both(pond.volume, 'm3')}."
    ice = float(run.hourly["ice_m"].max())
    return (
        f"Ice reaches {both(ice, 'm', '.2f')} and leaves {both(pond.depth - ice, 'm', '.2f')} of water; "
        f"{_water(run)}"
    )


def _running_sums(heat: NDArray[np.float64]) -> NDArray[np.float64]:
    sums: NDArray[np.float64] = np.concatenate([[0.0], heat.cumsum()])
    return np.asarray(sums[HOURS_OF_MONTH:] - sums[:-HOURS_OF_MONTH])


def _water(run: Run) -> str:
    """Return the range of the water temperature, and the margin to the minimum entering fluid temperature."""
    wall, entering = run.hourly["wall_degC"], run.hourly["entering_fluid_degC"]
    text = f"the water at the coils is between {both_degrees(wall.min())} and {both_degrees(wall.max())}"
    least = run.design.limits.entering_fluid_min
    if least is None:
        return f"{text}."
    margin = both(entering.min() - least, "K", ".1f")
    return f"{text}, and the margin to the minimum entering fluid temperature is {margin}."
