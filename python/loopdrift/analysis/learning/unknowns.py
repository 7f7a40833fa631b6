"""The numbers that can be fitted to a log: of a design, and the offset of the sensor."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from loopdrift.analysis.study.planning.variation import varied
from loopdrift.basics.errors import InvalidInput, UnknownName, shown
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.design import Design

OFFSET = "offset"


class Unknown(NamedTuple):
    """A number that is found.

    A search uses the logarithm of a positive number, and any other number as it is.
    """

    name: str
    label: str
    """Its name in words."""
    unit: str
    path: str
    """Its dotted name in a design; empty for the offset of the sensor."""
    is_positive: bool
    least: float
    most: float
    usual_error: float
    """Usual standard error before anything was measured, of the logarithm or in `unit`; common practice, no
    source. It only says what counts as well or badly known."""
    known_within: float
    """Standard error with which it is known beforehand around the design's value, of the logarithm or in
    `unit`: wide for unknowns, but such that ground and bores stay realistic."""

    @property
    def form(self) -> str:
        """Format of its number."""
        return {"J/(m3 K)": ".3g", "m K/W": ".4f", "": ".3f"}.get(self.unit, ".2f")

    def searched(self, value: float) -> float:
        """Return the number by which searches represent a value."""
        return float(np.log(value)) if self.is_positive else value

    def value(self, searched: float) -> float:
        """Return the value that a number in a search represents."""
        return float(np.exp(searched)) if self.is_positive else searched

    def error(self, value: float, searched: float) -> float:
        """Return the standard error of a value from that in searches."""
        return value * searched if self.is_positive else searched

    def step(self, searched: float) -> str:
        """Return a step in searches in words, such as ``+20 %`` or ``-0.3 K``."""
        if self.is_positive:
            return f"{100.0 * np.expm1(searched):+.0f} %"
        return f"{searched:+.2f} K"


_GROUND = (
    Unknown("conductivity", "conductivity", "W/(m K)", "ground.conductivity", True, 0.2, 10.0, 0.25, 0.6),
    Unknown(
        "volumetric_heat_capacity",
        "heat capacity",
        "J/(m3 K)",
        "ground.volumetric_heat_capacity",
        True,
        0.6e6,
        6e6,
        0.2,
        0.3,
    ),
    Unknown(
        "temperature", "undisturbed temperature", "degC", "ground.temperature", False, -15.0, 40.0, 1.0, 4.0
    ),
)
_RESISTANCE = Unknown(
    "resistance", "bore resistance", "m K/W", "ground_side.bore.resistance", True, 0.01, 1.0, 0.25, 0.6
)
_GROUT = Unknown(
    "resistance",
    "grout conductivity",
    "W/(m K)",
    "ground_side.bore.grout_conductivity",
    True,
    0.2,
    10.0,
    0.4,
    0.8,
)
_SENSOR = Unknown(OFFSET, "offset of the sensor", "K", "", False, -10.0, 10.0, 0.5, 2.0)
NAMES = (*(each.name for each in _GROUND), "resistance", OFFSET)
USUAL = ("conductivity", "volumetric_heat_capacity", "temperature", "resistance")


def unknowns_of(design: Design, names: Sequence[str]) -> list[Unknown]:
    """Return the unknowns of some names.

    Parameters
    ----------
    design : Design
        The design.
    names : sequence of str
        Names, with or without the part they belong to, such as ``ground.conductivity``.

    Raises
    ------
    InvalidInput
        If a name is unknown, comes twice, isn't one of this design, or can't be distinguished from
        another.
    """
    if isinstance(names, str) or not isinstance(names, Sequence) or not names:
        allowed = f"must be a list of some of {', '.join(NAMES)}"
        raise InvalidInput("learn", "unknown", shown(names), "", allowed)
    if not kind_of(design.ground_side).conducts:
        allowed = "must be bores or trenches: a pond or a well has no ground to learn about"
        raise InvalidInput("learn", "ground_side", str(design.ground_side), "", allowed)
    known = {each.name: each for each in _GROUND} | {OFFSET: _SENSOR}
    if isinstance(design.ground_side, BoreField):
        known["resistance"] = _RESISTANCE if design.ground_side.bores[0].pipes is None else _GROUT
    found: list[Unknown] = []
    for given in names:
        name = given.rpartition(".")[2] if isinstance(given, str) else shown(given)
        name = "resistance" if name in ("grout_conductivity", "bore_resistance") else name
        if name not in known:
            raise UnknownName(
                "learn", "unknown", str(given), "not a number that can be fitted to a log", tuple(known)
            )
        if known[name] in found:
            raise InvalidInput("learn", "unknown", str(given), "", "must be named once only")
        found.append(known[name])
    if {"temperature", OFFSET} <= {each.name for each in found}:
        allowed = (
            "must be only one of temperature and offset: both shift the log alike; sensor_error says how far "
            "the sensor may be off"
        )
        raise InvalidInput("learn", "unknown", "temperature, offset", "", allowed)
    return found


def nuisances(
    design: Design, of_unknowns: Sequence[Unknown], load_error: float, sensor_error: float, is_measured: bool
) -> list[Unknown]:
    """Return the nuisance parameters: what is fitted with the unknowns, as it isn't known exactly either.

    Parameters
    ----------
    design : Design
        The design.
    of_unknowns : sequence of Unknown
        The unknowns.
    load_error : float
        Standard error of the loads, as a share of them [-].
    sensor_error : float
        Standard error of the sensor [K].
    is_measured : bool
        Whether the loads follow from measured heat or electricity.
    """
    found = []
    basis = "measurement" if is_measured else "design"
    sums = {name: float(np.abs(series).sum()) for name, series in design.loads.for_engine().items()}
    # A meter sees hot water along with heating.
    for name in ("heating", "cooling") if is_measured else ("heating", "cooling", "hot_water"):
        if load_error > 0.0 and sums[name] > _LEAST_SHARE * sum(sums.values()):
            label = f"{name.replace('_', ' ')}, relative to the {basis}"
            path = f"loads.{name}_scale"
            found.append(Unknown(path, label, "", path, True, 0.3, 3.0, load_error, load_error))
    if sensor_error > 0.0 and OFFSET not in {each.name for each in of_unknowns}:
        found.append(_SENSOR._replace(usual_error=sensor_error, known_within=sensor_error))
    return found


_LEAST_SHARE = 0.05
"""Share of the loads below which a series isn't varied on its own."""


def first_value(design: Design, unknown: Unknown) -> float:
    """Return the value that a design has."""
    if not unknown.path:
        return 0.0
    if unknown.path.startswith("loads."):
        return 1.0
    part: object = design
    for name in unknown.path.split("."):
        part = design.ground_side.children[name] if part is design.ground_side else getattr(part, name)
    assert isinstance(part, float)
    return part


def with_values(design: Design, unknowns: Sequence[Unknown], values: Sequence[float]) -> Design:
    """Return a design with other values of some unknowns."""
    by_field: dict[str, dict[str, float]] = {}
    for unknown, value in zip(unknowns, values, strict=True):
        if unknown.path:
            by_field.setdefault(unknown.path.partition(".")[0], {})[unknown.path] = float(value)
    changes = {field: varied(design, field, each) for field, each in by_field.items()}
    return design.replace(**changes) if changes else design
