"""A plant of a neighbourhood: a design at a place, and the years in which it runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import number_within, whole_number
from loopdrift.basics.part import require
from loopdrift.basics.words import InALine
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.design import Design

LAST_YEAR = 100
"""Last year that a neighbourhood can run to."""

_FARTHEST = 1e7
"""Greatest coordinate on the map [m]: projected coordinates of any country fit."""
_MOST_SCALE = 1e3


@dataclass(frozen=True, kw_only=True)
class Plant(InALine):
    """A design with bores at a place on the map.

    Parameters
    ----------
    design : Design
        The plant; its ground side is a field of vertical bores.
    at : sequence of float or str, default (0, 0)
        Place of the origin of the design's field on the map, metres east and north [m].
    depth : float or str, optional
        Active depth of all its bores [m]; by default that of the design.
    loads_scale : float, default 1
        Factor of heating, cooling and hot water of the design; its heat pump stays the same.
    start_year : int, default 1
        First year of the neighbourhood in which the plant runs.
    last_year : int, optional
        Last year in which it runs; by default it doesn't stop.

    Raises
    ------
    InvalidInput
        If the design has no vertical bores, a number is outside its range, or the loads can't be scaled.
    """

    design: Design
    at: Sequence[float | str] = (0.0, 0.0)
    depth: float | str | None = None
    loads_scale: float = 1.0
    start_year: int = 1
    last_year: int | None = None

    def __post_init__(self) -> None:
        require(self.design, Design, owner="Plant", field="design")
        self._require_vertical_bores()
        self._set("at", _place(self.at))
        scale = number_within(
            self.loads_scale, "", owner="Plant", field="loads_scale", least=0.0, most=_MOST_SCALE
        )
        self._set("loads_scale", scale)
        if scale != 1.0 and (self.design.distribution is not None or self.design.hot_water is not None):
            allowed = (
                "must be 1 for a design with distribution or hot water, which don't scale with its loads"
            )
            raise InvalidInput("Plant", "loads_scale", scale, "", allowed)
        first = whole_number(self.start_year, 1, LAST_YEAR, owner="Plant", field="start_year")
        self._set("start_year", first)
        if self.last_year is not None:
            last = whole_number(self.last_year, first, LAST_YEAR, owner="Plant", field="last_year")
            self._set("last_year", last)
        if self.depth is not None:
            depth = number_within(self.depth, "m", owner="Plant", field="depth", above=0.0)
            self._set("depth", depth)
            self._set("_field", self.design.ground_side.sized("depth", depth))
        else:
            self._set("_field", self.design.ground_side)

    def _set(self, name: str, value: Any) -> None:
        object.__setattr__(self, name, value)

    def _require_vertical_bores(self) -> None:
        side = self.design.ground_side
        if not isinstance(side, BoreField):
            allowed = "must have a field of bores: how other ground sides affect neighbours isn't computed"
            raise InvalidInput("Plant", "design", f"a design with {type(side).__name__}", "", allowed)
        if side.leans:
            allowed = "must have vertical bores: inclined ones aren't supported beside neighbours"
            raise InvalidInput("Plant", "design", str(side), "", allowed)

    @property
    def field(self) -> BoreField:
        """Its bores, in coordinates of the design."""
        field: BoreField = self.__dict__["_field"]
        return field

    @property
    def scales(self) -> dict[str, float]:
        """Factors of the series of its loads, as the engine reads them."""
        if self.loads_scale == 1.0:
            return {}
        return dict.fromkeys(("heating", "cooling", "hot_water", "recharge"), self.loads_scale)

    def years_until(self, horizon: int) -> range:
        """Return the years of a neighbourhood in which the plant runs.

        Parameters
        ----------
        horizon : int
            Last year of the neighbourhood.
        """
        last = horizon if self.last_year is None else min(self.last_year, horizon)
        return range(self.start_year, last + 1)


def _place(at: Any) -> tuple[float, float]:
    """Return a place on the map in metres."""
    if isinstance(at, str) or not hasattr(at, "__len__") or len(at) != 2:
        raise InvalidInput(
            "Plant", "at", repr(at), "m", "must be two distances, to the east and to the north"
        )
    east, north = (
        number_within(value, "m", owner="Plant", field="at", least=-_FARTHEST, most=_FARTHEST) for value in at
    )
    return float(np.float64(east)), float(np.float64(north))
