"""The loads of a design as labels and texts: figures, origin, and what looks wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.analysis import shaped_loads
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.loads.fingerprint import beside_capacity, doubts, figures, fits

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.parts.loads import Loads

LOOK_AT = "look at"
"""Label of what looks wrong."""


def of_loads(loads: Loads) -> list[tuple[str, str]]:
    """Return figures, origin and doubts of loads, as labels and texts.

    Parameters
    ----------
    loads : Loads
        The loads.
    """
    shaped_from = loads.shaped_from
    return [
        *of_series(loads),
        *loads.origin,
        *([] if shaped_from is None else [("shaped from", shaped_loads.share(shaped_from))]),
        *((LOOK_AT, doubt) for doubt in doubts(loads)),
    ]


def of_series(loads: Loads) -> list[tuple[str, str]]:
    """Return sum, peak and full-load hours of each series of loads, as labels and texts.

    Parameters
    ----------
    loads : Loads
        The loads.
    """
    return [(figure.name.replace("_", " "), figure.in_words(loads.years)) for figure in figures(loads)]


def beside_heat_pump(design: Design) -> list[tuple[str, str]]:
    """Return what looks wrong in the loads of a design beside its heat pump, as labels and texts.

    Parameters
    ----------
    design : Design
        The design.
    """
    table = design.heat_pump.performance([undisturbed(design)])
    modes = [name for name in ("heating", "cooling") if f"{name}_capacity_W" in table]
    capacities = {name: float(table[f"{name}_capacity_W"].iloc[0]) for name in modes}
    series = {name: getattr(design.loads, name) for name in modes}
    # A unit chosen for one load may be large for the other.
    fits_one = any(fits(series[name], capacities[name]) for name in modes)
    doubts_of = (
        beside_capacity(series[name], capacities[name], name)
        for name in modes
        if not fits_one or series[name].max() > capacities[name]
    )
    return [(LOOK_AT, doubt) for doubt in doubts_of if doubt is not None]
