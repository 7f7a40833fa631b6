"""A table of many conditions as one of those that the curves depend on."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from loopdrift.basics.both_units import FOOT, both, both_degrees
from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.basics.part import FacePart, Figure
from loopdrift.parts.plant.performance_table.columns import QUANTITIES, Mode
from loopdrift.parts.plant.performance_table.points import AXES, RatingPoint

_SAME_WITHIN = 1e-9
"""Relative difference of conditions that are the same but for the rounding of their units."""


@dataclass(frozen=True, kw_only=True)
class Correction(FacePart):
    """Factors that a manufacturer states for conditions other than those of the table: antifreeze, air flow.

    Parameters
    ----------
    heating_capacity, heating_power : float or str, default 1
        What multiplies the table's numbers of heating [-].
    cooling_capacity, cooling_power, cooling_sensible : float or str, default 1
        The same of cooling [-].
    """

    heating_capacity: Figure = Figure("", least=0.2, most=2.0, default=1.0)
    heating_power: Figure = Figure("", least=0.2, most=2.0, default=1.0)
    cooling_capacity: Figure = Figure("", least=0.2, most=2.0, default=1.0)
    cooling_power: Figure = Figure("", least=0.2, most=2.0, default=1.0)
    cooling_sensible: Figure = Figure("", least=0.2, most=2.0, default=1.0)

    def __call__(self, point: RatingPoint) -> RatingPoint:
        """Return a rating point with the factors of its mode.

        Parameters
        ----------
        point : RatingPoint
            The point of the table.
        """
        is_heating = point.mode == "heating"
        sensible = None if point.sensible is None else point.sensible * self.cooling_sensible
        return dataclasses.replace(
            point,
            capacity=point.capacity * (self.heating_capacity if is_heating else self.cooling_capacity),
            power=point.power * (self.heating_power if is_heating else self.cooling_power),
            sensible=sensible,
        )


def at(
    points: Sequence[RatingPoint], axis: str, given: float | None, *, mode: Mode | None, field: str
) -> tuple[list[RatingPoint], str]:
    """Return the points at one value of an axis that the curves don't have, and a note of what was done.

    Between two pages capacity, power and sensible capacity are interpolated straight; an axis that is the
    same for all points is dropped.

    Parameters
    ----------
    points : sequence of RatingPoint
        The table.
    axis : str
        The axis, a field of `RatingPoint`.
    given : float or None
        Its value in the design, in SI.
    mode : {"heating", "cooling"} or None
        The mode whose points are reduced; None for both.
    field : str
        The parameter of the heat pump that gives the value, for messages.

    Raises
    ------
    InvalidInput
        If the value is missing, outside the table, or given for an axis that the table lacks.
    InvalidFile
        If some points lack the axis, or stand at one value only, with the line.
    """
    concerned = [point for point in points if mode in (None, point.mode)]
    rest = [point for point in points if mode not in (None, point.mode)]
    label, unit = QUANTITIES[axis].label, QUANTITIES[axis].unit
    values = _values(points, axis, mode)
    if values <= {None}:
        if given is not None:
            raise InvalidInput("HeatPump", field, given, unit, f"must be left out: the table has no {label}")
        return list(points), ""
    bare = next((point for point in concerned if getattr(point, axis) is None), None)
    if bare is not None:
        allowed = f"must state its {label}, as other pages of the table do"
        raise InvalidFile(bare.path, bare.line, "", "rating point", allowed)
    low, high = min(values), max(values)
    if _same(low, high):
        if given is not None and not _same(given, low):
            allowed = f"must be {amount(low, axis)}, the only {label} of the table, or left out"
            raise InvalidInput("HeatPump", field, given, unit, allowed)
        for_mode = f" in {mode}" if mode else ""
        note = f"the table is for one {label}{for_mode}, {amount(low, axis)}"
        return rest + [without(point, axis) for point in concerned], note
    given = as_rated(concerned, axis, given)
    if given is None or not low <= given <= high:
        value = "nothing" if given is None else given
        allowed = f"must be from {amount(low, axis)} to {amount(high, axis)}: the table has pages for several"
        raise InvalidInput("HeatPump", field, value, unit, allowed)
    reduced = rest + _interpolated(concerned, axis, given)
    return reduced, f"read at {_a(label)} of {amount(given, axis)}, straight between pages"


def as_rated(points: Sequence[RatingPoint], axis: str, given: float | None) -> float | None:
    """Return the table's own value of an axis if it differs from the given one by rounding alone.

    67 degF as text and 67 degF as a cell differ in their last digits once both are degC.

    Parameters
    ----------
    points : sequence of RatingPoint
        The table, or a mode of it.
    axis : str
        The axis, a field of `RatingPoint`.
    given : float or None
        The design's value, in the axis' SI unit.
    """
    rated = (value for value in _values(points, axis, None) if value is not None)
    return given if given is None else next((value for value in rated if _same(value, given)), given)


def without(point: RatingPoint, axis: str) -> RatingPoint:
    """Return a point without one of its conditions.

    Parameters
    ----------
    point : RatingPoint
        The point.
    axis : str
        The axis, a field of `RatingPoint`.
    """
    changes: dict[str, Any] = {axis: None}
    return dataclasses.replace(point, **changes)


def is_one_value(points: Sequence[RatingPoint], axis: str, *, mode: Mode | None) -> bool:
    """Return whether all points of a mode stand at one value of an axis.

    Parameters
    ----------
    points : sequence of RatingPoint
        The table.
    axis : str
        The axis, a field of `RatingPoint`.
    mode : {"heating", "cooling"} or None
        The mode; None for both.
    """
    values = _values(points, axis, mode)
    return bool(values) and None not in values and _same(min(values), max(values))


def _values(points: Sequence[RatingPoint], axis: str, mode: Mode | None) -> set[Any]:
    return {getattr(point, axis) for point in points if mode in (None, point.mode)}


def _interpolated(points: Sequence[RatingPoint], axis: str, given: float) -> list[RatingPoint]:
    groups: dict[tuple[object, ...], list[RatingPoint]] = defaultdict(list)
    for point in points:
        others = tuple(_rounded(getattr(point, name)) for name in AXES if name != axis)
        groups[point.mode, point.is_low, *others].append(point)
    found = []
    for group in groups.values():
        ordered = sorted(group, key=lambda point: getattr(point, axis))
        below = [
            point for point in ordered if getattr(point, axis) <= given or _same(getattr(point, axis), given)
        ]
        above = [
            point for point in ordered if getattr(point, axis) >= given or _same(getattr(point, axis), given)
        ]
        if not below or not above:
            only = ordered[0]
            label = QUANTITIES[axis].label
            allowed = (
                f"must also be rated on the other side of the {label} of {amount(given, axis)}, "
                "at the same other conditions"
            )
            raise InvalidFile(only.path, only.line, "", "rating point", allowed)
        found.append(_between(below[-1], above[0], axis, given))
    return found


def _between(below: RatingPoint, above: RatingPoint, axis: str, given: float) -> RatingPoint:
    low, high = getattr(below, axis), getattr(above, axis)
    share = 0.0 if below is above or _same(low, high) else (given - low) / (high - low)

    def mix(first: float, second: float) -> float:
        return first + share * (second - first)

    sensible = None
    if below.sensible is not None and above.sensible is not None:
        sensible = mix(below.sensible, above.sensible)
    return dataclasses.replace(
        without(below, axis),
        capacity=mix(below.capacity, above.capacity),
        power=mix(below.power, above.power),
        sensible=sensible,
    )


def amount(value: float, axis: str) -> str:
    """Return a condition in both systems.

    Parameters
    ----------
    value : float
        Its value in SI.
    axis : str
        The axis, a field of `RatingPoint`.
    """
    unit = QUANTITIES[axis].unit
    if axis == "air_flow":
        return f"{value:.4g} m3/s ({60.0 * value / FOOT**3:.4g} cfm)"
    return both_degrees(value) if unit == "degC" else both(value, unit, ".4g")


def _a(label: str) -> str:
    return f"{'an' if label[0] in 'aeiou' else 'a'} {label}"


def _same(one: float, other: float) -> bool:
    return abs(one - other) <= _SAME_WITHIN * max(abs(one), abs(other))


def _rounded(value: float | None) -> float | None:
    return None if value is None else float(f"{value:.9g}")
