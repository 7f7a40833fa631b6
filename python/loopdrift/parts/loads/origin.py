"""Where loads come from, as labels and texts, and as comments of a file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Literal, get_args

from loopdrift.basics.errors import InvalidInput

Shaped = Literal["months", "bills", "peak", "total"]
"""What hourly loads were shaped from, where they weren't hourly."""
_SHAPED_FROM = "shaped_from"

Pairs = tuple[tuple[str, str], ...]


def pairs_of_text(origin: Any) -> Pairs:
    """Return an origin as pairs of label and text.

    Raises
    ------
    InvalidInput
        If it is none.
    """
    given = list(origin) if isinstance(origin, Sequence) and not isinstance(origin, str) else [origin]
    for pair in given:
        if not isinstance(pair, list | tuple) or [type(each) for each in pair] != [str, str]:
            allowed = "must be pairs of text, label and what it is"
            raise InvalidInput("Loads", "origin", repr(pair), "", allowed)
        if _pair_of(_comment(*pair)) != tuple(pair):
            allowed = "must be a label without a colon and what it is, in one line"
            raise InvalidInput("Loads", "origin", repr(pair), "", allowed)
    return tuple((label, text) for label, text in given)


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
    shaped = [] if shaped_from is None else [_comment(_SHAPED_FROM, shaped_from)]
    return [*shaped, *(_comment(label, what) for label, what in origin)]


def of_comments(lines: Iterable[str]) -> tuple[Pairs, Shaped | None]:
    """Return what the comments before the header of a file say.

    Raises
    ------
    InvalidInput
        If the loads are shaped from something unknown.
    """
    pairs = [pair for pair in map(_pair_of, lines) if pair is not None]
    shaped = next((text for label, text in pairs if label == _SHAPED_FROM), None)
    return tuple(pair for pair in pairs if pair[0] != _SHAPED_FROM), checked_shape(shaped)


def _comment(label: str, text: str) -> str:
    return f"# {label}: {text}"


def _pair_of(comment: str) -> tuple[str, str] | None:
    """Return label and text of a comment that has both."""
    found = re.fullmatch(r"#+\s*([^:\s][^:\r\n]*?)\s*:\s*(\S[^\r\n]*?)\s*", comment)
    return None if found is None else (found[1], found[2])
