"""Words with numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

WIDTH = 100
"""Width of plain text [characters]."""


def span(values: NDArray[np.float64]) -> str:
    """Return the range of some numbers, such as ``80 to 100``, or their one value if all are equal."""
    least, greatest = values.min(), values.max()
    return f"{greatest:g}" if least == greatest else f"{least:g} to {greatest:g}"


def counted(number: int, noun: str) -> str:
    """Return a number of things, such as ``6 bores``."""
    if number == 1:
        return f"{number} {noun}"
    return f"{number} {noun}es" if noun.endswith("ch") else f"{number} {noun}s"


def with_article(noun: str) -> str:
    """Return a noun with its indefinite article, such as ``a depth``."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"
