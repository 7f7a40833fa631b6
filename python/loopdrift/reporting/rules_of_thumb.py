"""Rules of thumb beside the computed answer: how far the design departs from each, and why."""

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
        Its run, which tells more of why it departs.

    Returns
    -------
    list of RuleOfThumb
        Length of bore or trench per ton, depth of trenches, the ground's temperature; a pond's area and
        depth; a well's flow per ton. A ton is one of heating, or of cooling where the most cold is
        more than the most heat; rules per ton are left out where there is neither.
    """
    return list(kind_of(design.ground_side).rules(design, run))
