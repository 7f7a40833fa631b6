"""Rules of thumb for a design: how far it departs from each, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.rule import RuleOfThumb

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run


def rules_of_thumb(design: Design, run: Run | None = None) -> list[RuleOfThumb]:
    """Return the rules of thumb for a design's kind of loop.

    Parameters
    ----------
    design : Design
        The design.
    run : Run, optional
        Its run, which allows a fuller explanation of departures.

    Returns
    -------
    list of RuleOfThumb
        Bores and trenches: length per ton, trench depth, ground temperature. Ponds: area and depth. Wells:
        flow per ton. Tons are of heating, or of cooling if the peak cooling load exceeds the peak heating
        load; without either load, rules per ton are omitted.
    """
    return list(kind_of(design.ground_side).rules(design, run))
