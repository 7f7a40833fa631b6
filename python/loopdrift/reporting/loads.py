"""The loads of a design as labels and texts: figures, origin, and what looks wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.analysis import shaped_loads
from loopdrift.model.key_figures import undisturbed
from loopdrift.parts.loads.fingerprint import beside_capacity, doubts, figures

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
        *((figure.name.replace("_", " "), figure.in_words(loads.years)) for figure in figures(loads)),
        *loads.origin,
        *([] if shaped_from is None else [("shaped from", shaped_loads.share(shaped_from))]),
        *((LOOK_AT, doubt) for doubt in doubts(loads)),
    ]


def beside_heat_pump(design: Design) -> list[tuple[str, str]]:
    """Return what looks wrong in the loads of a design beside its heat pump, as labels and texts.

    Parameters
    ----------
    design : Design
        The design.
    """
    table = design.heat_pump.performance([undisturbed(design)])
    found = []
    for name in ("heating", "cooling"):
        column = f"{name}_capacity_W"
        if column in table:
            doubt = beside_capacity(getattr(design.loads, name), float(table[column].iloc[0]), name)
            found += [] if doubt is None else [(LOOK_AT, doubt)]
    return found
