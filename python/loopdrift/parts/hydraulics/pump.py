"""The circulation pump: its efficiency and, if known, its curve of head over flow."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Any

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import Checked, FacePart, Figure

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2]."""


def _points(values: Any, *, owner: str, field: str, unit: str) -> tuple[float, ...] | None:
    if values is None:
        return None
    if isinstance(values, str) or not isinstance(values, Sequence | np.ndarray):
        raise InvalidInput(owner, field, repr(values), "", f"must be a sequence of numbers in {unit}")
    return tuple(number_within(value, unit, owner=owner, field=field, least=0.0) for value in values)


@dataclass(frozen=True, kw_only=True)
class Pump(FacePart):
    """A pump of constant efficiency, with or without a curve.

    Without a curve it delivers exactly the flow of the design.

    Parameters
    ----------
    efficiency : float or str
        Overall efficiency: hydraulic power over electric power [-], including motor and control.
    flow : sequence of float or str, optional
        Volume flows of the curve's points, rising [m3/s]; a mass flow is one of water.
    head : sequence of float or str, optional
        Heads at those flows, falling [m of the fluid]; interpolated by a smooth curve that never rises.

    Raises
    ------
    InvalidInput
        If the points don't rise in flow and fall in head, or a number is out of range.

    Examples
    --------
    >>> pump = Pump(efficiency=0.4, flow=["0 L/s", "1 L/s", "2 L/s"], head=["30 ft", "24 ft", "10 ft"])
    >>> round(pump.head_at(1e-3), 3)
    7.315
    """

    efficiency: Figure = Figure("", least=0.01, most=1.0)
    flow: Checked[tuple[float, ...] | None] = Checked(partial(_points, unit="m3/s"), None)
    head: Checked[tuple[float, ...] | None] = Checked(partial(_points, unit="m"), None)

    def __post_init__(self) -> None:
        for name, other in (("flow", self.head), ("head", self.flow)):
            if getattr(self, name) is None and other is not None:
                raise InvalidInput("Pump", name, None, "", "must be given: a curve has flows and heads")
        if self.flow is None or self.head is None:
            return
        if len(self.flow) != len(self.head) or len(self.flow) < 2:
            allowed = f"must be as many as the {len(self.flow)} flows, at least 2"
            raise InvalidInput("Pump", "head", f"{len(self.head)} points", "", allowed)
        _require_order(self.flow, "flow", "m3/s", rising=True)
        _require_order(self.head, "head", "m", rising=False)

    @property
    def has_curve(self) -> bool:
        """Whether the head is known over the flow."""
        return self.flow is not None

    def head_at(self, flow: float) -> float:
        """Return the head at a volume flow within the curve [m of the fluid].

        Parameters
        ----------
        flow : float
            Volume flow [m3/s].

        Raises
        ------
        InvalidInput
            If there is no curve, or the flow is outside it.
        """
        if self.flow is None or not self.flow[0] <= flow <= self.flow[-1]:
            allowed = "must be within the points of the curve"
            raise InvalidInput("Pump", "flow", float(flow), "m3/s", allowed)
        return float(self._curve()(flow))

    def operating_flow(self, pressure_drop: Callable[[float], float], density: float) -> float:
        """Return the volume flow at which the pump's head equals the head loss of the loop [m3/s].

        Parameters
        ----------
        pressure_drop : callable
            Pressure drop of the whole loop [Pa] at a volume flow [m3/s], rising with it.
        density : float
            Density of the fluid [kg/m3].

        Raises
        ------
        InvalidInput
            If there is no curve, or pump and loop don't meet within its points.
        """
        from scipy.optimize import brentq

        if self.flow is None or self.head is None:
            raise InvalidInput("Pump", "flow", None, "m3/s", "must be given for an operating point")
        curve = self._curve()

        def spare(flow: float) -> float:
            return float(curve(flow)) - pressure_drop(flow) / (density * GRAVITY)

        low, high = float(self.flow[0]), float(self.flow[-1])
        if spare(low) < 0.0:
            allowed = f"must be above the loop's head loss at the curve's least flow, {low:.3g} m3/s"
            raise InvalidInput("Pump", "head", float(self.head[0]), "m", allowed)
        if spare(high) > 0.0:
            allowed = f"must extend to the loop's head loss, which is lower at {high:.3g} m3/s"
            raise InvalidInput("Pump", "head", float(self.head[-1]), "m", allowed)
        return float(brentq(spare, low, high, xtol=1e-12, rtol=1e-12))

    def _curve(self) -> Any:
        from scipy.interpolate import PchipInterpolator

        return PchipInterpolator(self.flow, self.head)


def _require_order(points: tuple[float, ...], field: str, unit: str, *, rising: bool) -> None:
    sign, word = (1.0, "above") if rising else (-1.0, "below")
    for before, after in pairwise(points):
        if sign * (after - before) <= 0.0:
            allowed = f"must be {word} the point before, {before:g} {unit}"
            raise InvalidInput("Pump", field, after, unit, allowed)
