"""Upper limits on what loopdrift accepts, checked before any memory or time is spent."""

from __future__ import annotations

from typing import Any

from loopdrift.basics.errors import InvalidInput

MOST_BORES = 1_000_000
MOST_CASES = 1_000_000
MOST_WINDOWS = 1_000
MOST_TIMES = 1_000_000
MOST_PIPES_IN_A_TRENCH = 6
"""As in the engine."""
MOST_WHOLE_NUMBER = 2**31 - 1

MOST_DESIGN_BYTES = 8 * 2**20
"""Of a TOML file."""
MOST_TABLE_BYTES = 128 * 2**20
"""Of a CSV file; the engine's reader has the same."""
MOST_NESTING = 30
"""Levels of nested tables and lists in a TOML file."""
MOST_UNIT_CHARACTERS = 60


def require_count(value: Any, most: int, *, owner: str, field: str) -> None:
    """Refuse a count above its limit.

    Raises
    ------
    InvalidInput
        If `value` is above `most`.
    """
    if value > most:
        raise InvalidInput(owner, field, value, "", f"must be at most {most:,}")
