"""The demand on the heat pump in the cases of a study."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from loopdrift.analysis.study.planning.axis import Axis
from loopdrift.analysis.study.planning.variants import Indices, Variants, together
from loopdrift.analysis.study.planning.variation import SCALE, varied
from loopdrift.basics.series import Series
from loopdrift.model.design import Design, meet

MET = ("loads", "distribution", "hot_water")
"""Fields of a design that act through the demand on the heat pump."""

Scales = tuple[tuple[str, float], ...]
"""Factors of series of a demand, by name."""

_LARGEST_LOAD = 1e9
"""As in the engine [W]."""


class Demands:
    """The hourly series of each demand, and the demand of each case.

    Cases whose loads are only multiplied share the series of the base design, with a factor for each.

    Parameters
    ----------
    design : Design
        The base design.
    axes : list of Axis
        All parameters that vary.
    which : numpy.ndarray, shape (cases, axes)
        Index of each case's value on each axis.
    fields : mapping of str to Variants
        The varied fields.
    """

    def __init__(
        self, design: Design, axes: list[Axis], which: Indices, fields: Mapping[str, Variants]
    ) -> None:
        self._design = design
        self._fields = fields
        has_plant = any(
            getattr(design, name) is not None or name in fields for name in ("distribution", "hot_water")
        )
        self._named = [name for name in (*MET, *(["heat_pump"] if has_plant else [])) if name in fields]
        self.of_case = np.zeros(len(which), dtype=np.intp)
        self._places = np.zeros((1, 0), dtype=np.intp)
        if self._named:
            self.of_case, self._places = together([fields[name].of_case for name in self._named])
        of_loads = [place for place, axis in enumerate(axes) if axis.variable.names[0] == "loads"]
        self._scales = [axes[place] for place in of_loads]
        self._peaks = {name: float(np.abs(values).max()) for name, values in design.demand.items()}
        self.are_scaled = (
            not has_plant
            and bool(of_loads)
            and all(
                axis.numbers is not None and axis.variable.names[-1].endswith(SCALE) for axis in self._scales
            )
        )
        if self.are_scaled:
            self.of_case, self._places = together([which[:, place] for place in of_loads])

    @property
    def differ(self) -> bool:
        """Whether cases have different series, other than multiples."""
        return bool(self._named) and not self.are_scaled

    def series(self, demand: int) -> dict[str, Series]:
        """Return the series of a demand, without its factors.

        Raises
        ------
        InvalidInput
            If the parts are invalid or incompatible.
        """
        if not self.differ:
            return self._design.demand
        own: dict[str, Any] = {name: getattr(self._design, name) for name in (*MET, "heat_pump")}
        places = zip(self._named, self._places[demand].tolist(), strict=True)
        return meet(**(own | {name: self._fields[name].part(place) for name, place in places}))[0]

    def scales(self, demand: int) -> Scales:
        """Return the factors of the series of a demand.

        Raises
        ------
        InvalidInput
            If a load would be negative or too large.
        """
        if not self.are_scaled:
            return ()
        places = self._places[demand].tolist()
        factors = {
            axis.variable.names[-1].removesuffix(SCALE): axis.value(place)
            for axis, place in zip(self._scales, places, strict=True)
        }
        for (name, factor), axis in zip(factors.items(), self._scales, strict=True):
            if factor < 0.0 or factor * self._peaks[name] > _LARGEST_LOAD:
                varied(self._design, "loads", {axis.variable.path: factor})
        return tuple(factors.items())
