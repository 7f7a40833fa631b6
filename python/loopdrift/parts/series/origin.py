"""Where a series comes from, as labels and texts, and as comments of a file."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from loopdrift.basics.errors import InvalidInput, shortened

Pairs = tuple[tuple[str, str], ...]


def pairs_of_text(origin: Any, *, owner: str) -> Pairs:
    """Return an origin as pairs of label and text.

    Parameters
    ----------
    origin : sequence of tuple of str
        The pairs.
    owner : str
        What they belong to, for messages.

    Raises
    ------
    InvalidInput
        If it is none.
    """
    given = list(origin) if isinstance(origin, Sequence) and not isinstance(origin, str) else [origin]
    for pair in given:
        if not isinstance(pair, list | tuple) or [type(each) for each in pair] != [str, str]:
            allowed = "must be pairs of text, label and what it is"
            raise InvalidInput(owner, "origin", repr(pair), "", allowed)
        if _pair_of(comment(*pair)) != tuple(pair):
            allowed = "must be a label without a colon and what it is, in one line"
            raise InvalidInput(owner, "origin", repr(pair), "", allowed)
    return tuple((label, text) for label, text in given)


def file_name(path: str | os.PathLike[str]) -> str:
    """Return the name of a file as one line of text."""
    return shortened(Path(path).name.strip(), 100) or "file"


def comment(label: str, text: str) -> str:
    """Return a label and a text as a line before the header of a file."""
    return f"# {label}: {text}"


def of_comments(lines: Iterable[str]) -> Pairs:
    """Return labels and texts of the lines before the header of a file that have both."""
    return tuple(pair for pair in map(_pair_of, lines) if pair is not None)


def _pair_of(line: str) -> tuple[str, str] | None:
    found = re.fullmatch(r"#+\s*([^:\s][^:\r\n]*?)\s*:\s*(\S[^\r\n]*?)\s*", line)
    return None if found is None else (found[1], found[2])
