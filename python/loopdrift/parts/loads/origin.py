"""What hourly loads were shaped from, and their origin as comments of a file."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

from loopdrift.basics.errors import InvalidInput
from loopdrift.parts.series import origin as origins
from loopdrift.parts.series.origin import Pairs, comment

Shaped = Literal["months and peaks", "months and peak", "months", "bills and peak", "bills", "peak", "total"]
"""What hourly loads were shaped from, where they weren't hourly."""
_SHAPED_FROM = "shaped_from"


def checked_shape(shaped_from: object) -> Shaped | None:
    """Return what loads were shaped from.

    Raises
    ------
    InvalidInput
        If it is none of the ways.
    """
    for each in get_args(Shaped):
        if shaped_from == each:
            found: Shaped = each
            return found
    if shaped_from is not None:
        allowed = f"must be one of {', '.join(get_args(Shaped))}"
        raise InvalidInput("Loads", "shaped_from", repr(shaped_from), "", allowed)
    return None


def comments(origin: Pairs, shaped_from: Shaped | None) -> list[str]:
    """Return an origin as comments before the header of a file."""
    shaped = [] if shaped_from is None else [comment(_SHAPED_FROM, shaped_from)]
    return [*shaped, *(comment(label, what) for label, what in origin)]


def of_comments(lines: Iterable[str]) -> tuple[Pairs, Shaped | None]:
    """Return what the comments before the header of a file say.

    Raises
    ------
    InvalidInput
        If the loads are shaped from something unknown.
    """
    pairs = origins.of_comments(lines)
    shaped = next((text for label, text in pairs if label == _SHAPED_FROM), None)
    return tuple(pair for pair in pairs if pair[0] != _SHAPED_FROM), checked_shape(shaped)
