"""A total length divided among a number of bores, trenches or coils."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.both_units import both
from loopdrift.model.judgement import LABELS, Judgement

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.parts.ground_side import GroundSide


class Split(NamedTuple):
    """One division of a total length.

    Parameters
    ----------
    number : int
        Number of bores, trenches or coils.
    share : float
        Depth of each bore, or length of each trench or coil [m].
    ground_side : GroundSide
        The ground side.
    judgement : Judgement
        Judgement of the design with it.
    """

    number: int
    share: float
    ground_side: GroundSide
    judgement: Judgement


def table(splits: Sequence[Split]) -> pd.DataFrame:
    """Return divisions as a table, one row each.

    ``number`` and ``share_m``; ``holds``; ``margin`` to the deciding ``limit`` [K, or the limit's own unit];
    ``arrangement`` in words.

    Parameters
    ----------
    splits : sequence of Split
        The divisions.
    """
    import pandas as pd

    rows = [
        {
            "number": each.number,
            "share_m": each.share,
            "holds": each.judgement.holds,
            "margin": None if each.judgement.deciding is None else each.judgement.deciding.margin,
            "limit": None if each.judgement.deciding is None else each.judgement.deciding.name,
            "arrangement": each.ground_side.arrangement,
        }
        for each in splits
    ]
    return pd.DataFrame(rows).astype({"margin": float})


def lines(splits: Sequence[Split], what: str, share: str) -> str:
    """Return divisions as lines of plain text below headings.

    Parameters
    ----------
    splits : sequence of Split
        The divisions.
    what, share : str
        What is counted, and what the share of each is called.
    """
    layout = "arrangement" if any(each.ground_side.arrangement for each in splits) else ""
    rows = [(what, share, "holds", "margin", layout), *map(_row, splits)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return "\n".join("  ".join(_padded(row, widths)).rstrip() for row in rows)


def _row(split: Split) -> tuple[str, str, str, str, str]:
    deciding, margin = split.judgement.deciding, ""
    if deciding is not None:
        margin = f"{deciding.apart(2)} {'to' if deciding.holds else 'beyond'} {LABELS[deciding.name]}"
    return (
        str(split.number),
        both(split.share, "m", ".1f"),
        "yes" if split.judgement.holds else "no",
        margin,
        split.ground_side.arrangement,
    )


def _padded(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    return (cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
