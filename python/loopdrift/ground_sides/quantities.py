"""What a ground side is built of, for the people who build it: places, pipes and amounts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.words import InALine, Shown

if TYPE_CHECKING:
    from loopdrift.parts.bore import Pipe


class PlaceColumn(NamedTuple):
    """A column of a table of places.

    Parameters
    ----------
    heading : str
        Its heading.
    unit : str, default ""
        SI unit of its numbers.
    decimals : int, default 0
        Decimals of its numbers.
    """

    heading: str
    unit: str = ""
    decimals: int = 0


@dataclass(frozen=True)
class Places(InALine):
    """Bores, trenches, coils or wells by number, with what the builder has to know of each.

    Parameters
    ----------
    noun : str
        What they are, such as ``bore``.
    columns : tuple of PlaceColumn
        The columns after the number.
    rows : tuple of tuple of float
        One row per place, in SI.
    is_drilled : bool
        Whether the builder keeps a log of each.
    """

    noun: str
    columns: tuple[PlaceColumn, ...]
    rows: tuple[tuple[float, ...], ...]
    is_drilled: bool = False


@dataclass(frozen=True)
class Amount(Shown):
    """One amount of the building site.

    Parameters
    ----------
    label : str
        What it is.
    value : float
        The amount in `unit`.
    unit : str
        Its SI unit, or an empty string for a number of pieces.
    decimals : int
        Decimals of the number in SI.
    """

    label: str
    value: float
    unit: str = ""
    decimals: int = 0


@dataclass(frozen=True, kw_only=True)
class PipeLength(Shown):
    """Pipes of one part of the loop with the same size and length.

    Parameters
    ----------
    part : str
        The part, such as ``bores``.
    pipe : Pipe
        The pipe that is bought.
    pieces : int
        Number of pieces.
    length : float
        Length of a piece, there and back if it is a loop [m].
    area : float
        Cross-section of the fluid in it [m2].
    flow_share : float
        Share of the total flow that passes one piece [-].
    loss_coefficient : float
        Sum of the loss coefficients of its bends and fittings [-].
    """

    part: str
    pipe: Pipe
    pieces: int
    length: float
    area: float
    flow_share: float
    loss_coefficient: float = 0.0

    @property
    def total(self) -> float:
        """Length of all pieces [m]."""
        return self.pieces * self.length

    @property
    def volume(self) -> float:
        """Volume of the fluid in all pieces [m3]."""
        return self.total * self.area


@dataclass(frozen=True, kw_only=True)
class Built(InALine):
    """What a ground side is built of.

    Parameters
    ----------
    places : Places
        Bores, trenches, coils or wells by number.
    amounts : tuple of Amount
        Further amounts, such as drilled length.
    pipes : tuple of PipeLength
        Its pipes; none if they are unknown.
    grout : float, optional
        Net volume of grout [m3].
    notes : tuple of str
        What these numbers don't include, in sentences.
    """

    places: Places
    amounts: tuple[Amount, ...] = ()
    pipes: tuple[PipeLength, ...] = ()
    grout: float | None = None
    notes: tuple[str, ...] = ()


def inside_area(pipe: Pipe) -> float:
    """Return the cross-section of the fluid in a pipe [m2].

    Parameters
    ----------
    pipe : Pipe
        The pipe.
    """
    return math.pi / 4.0 * (pipe.outer_diameter - 2.0 * pipe.wall_thickness) ** 2
