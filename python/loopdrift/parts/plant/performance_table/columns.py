"""What the columns of a heat pump's table mean: words of the trade in any order, and a unit."""

from __future__ import annotations

import difflib
import functools
import re
from typing import Literal, NamedTuple

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.units.written import doubt, plain

Mode = Literal["heating", "cooling"]


class Quantity(NamedTuple):
    """Something that a table may state."""

    label: str
    unit: str
    """SI unit; empty for a number without one or for text."""
    words: tuple[str, ...]
    """Ways to name it, each of words in any order; the first is the one that messages suggest."""
    column: str = ""
    """A header that would do."""


QUANTITIES: dict[str, Quantity] = {
    "mode": Quantity("mode", "", ("mode", "operation"), "mode"),
    "stage": Quantity("stage", "", ("stage",), "stage"),
    "entering_fluid": Quantity(
        "entering fluid temperature",
        "degC",
        ("entering fluid", "source entering", "source entering fluid", "ewt", "eft"),
        "entering_fluid_degC",
    ),
    "capacity": Quantity("capacity", "W", ("capacity", "total capacity", "total", ""), "capacity_kW"),
    "sensible": Quantity("sensible capacity", "W", ("sensible", "sensible capacity"), "sensible_cooling_kW"),
    "power": Quantity("power", "W", ("power", "total power", "compressor power", "unit power"), "power_kW"),
    "cop": Quantity("COP", "", ("cop",), "cop"),
    "eer": Quantity("EER", "", ("eer",), "eer"),
    "flow": Quantity(
        "flow on the loop side",
        "kg/s",
        ("flow", "fluid flow", "source flow", "source fluid flow"),
        "flow_L_per_s",
    ),
    "entering_load": Quantity(
        "entering load temperature",
        "degC",
        (
            *("load side", "load", "load entering", "load entering fluid", "load side entering"),
            *("load ewt", "entering air", "entering air dry bulb", "air dry bulb", "dry bulb"),
            *("load air", "eat", "eat dry bulb", "load fluid"),
        ),
        "entering_load_degC",
    ),
    "wet_bulb": Quantity(
        "wet-bulb temperature of the entering air",
        "degC",
        ("wet bulb", "entering air wet bulb", "air wet bulb", "eat wet bulb"),
        "entering_air_wet_bulb_degC",
    ),
    "air_flow": Quantity("air flow", "m3/s", ("air flow", "airflow", "air"), "air_flow_L_per_s"),
    "load_flow": Quantity(
        "flow on the load side", "kg/s", ("load flow", "load fluid flow"), "load_flow_L_per_s"
    ),
    "leaving_fluid": Quantity(
        "leaving fluid temperature, not used", "degC", ("leaving fluid", "lwt", "lft", "source leaving fluid")
    ),
    "leaving_load": Quantity(
        "leaving entering load temperature, not used",
        "degC",
        ("leaving air", "lat", "load leaving", "load leaving fluid", "load leaving air"),
    ),
    "heat_extracted": Quantity("heat extracted, not used", "W", ("heat extracted", "extracted")),
    "heat_rejected": Quantity("heat rejected, not used", "W", ("heat rejected", "rejected")),
    "pressure_drop": Quantity(
        "pressure drop, not used",
        "Pa",
        ("pressure drop", "fluid pressure drop", "source pressure drop", "head"),
    ),
}
WITHOUT_UNIT = ("mode", "stage", "cop", "eer")

_SAME = {
    **dict.fromkeys(("water", "brine", "liquid"), "fluid"),
    **dict.fromkeys(("inlet", "in", "ent", "incoming"), "entering"),
    **dict.fromkeys(("outlet", "out", "lvg"), "leaving"),
    **dict.fromkeys(("loop", "ground"), "source"),
    **dict.fromkeys(("building", "room", "indoor", "return"), "load"),
    **dict.fromkeys(("cap", "output"), "capacity"),
    **dict.fromkeys(("input", "consumption"), "power"),
    **dict.fromkeys(("tot",), "total"),
    **dict.fromkeys(("sens",), "sensible"),
    **dict.fromkeys(("cool", "clg"), "cooling"),
    **dict.fromkeys(("htg",), "heating"),
    **dict.fromkeys(("extraction", "absorbed", "absorption"), "extracted"),
    **dict.fromkeys(("rejection",), "rejected"),
    **dict.fromkeys(("airflow",), "air flow"),
    **dict.fromkeys(("db",), "dry bulb"),
    **dict.fromkeys(("wb",), "wet bulb"),
}
_UNSAID = {
    "temperature",
    "temp",
    "t",
    "rate",
    "of",
    "the",
    "at",
    "rated",
    "electric",
    "electrical",
    "performance",
}
_BY_UNIT = {"gpm": "flow", "cfm": "air_flow"}
"""Columns that the trade calls by their unit alone."""
_BRACKETS = re.compile(r"(.*?)\s*[\[(]([^\[\]()]*(?:\([^()]*\))?[^\[\]()]*)[\])]\s*(.*)")
_ALIKE = 0.6
_PLAIN_UNIT = re.compile(r"[\w%°/*^(). -]+")


class Column(NamedTuple):
    """What a column's header was taken for."""

    header: str
    quantity: str
    """Key of `QUANTITIES`; empty where it is unknown."""
    mode: Mode | None = None
    """Where the header says heating or cooling."""
    unit: str = ""
    """As in the header; empty where it has none."""
    fault: str = ""
    """What is wrong with it, and what would do."""

    @property
    def known(self) -> bool:
        """Whether its words and unit are understood."""
        return bool(self.quantity) and not self.fault

    def __str__(self) -> str:
        if self.fault:
            return self.fault
        label = QUANTITIES[self.quantity].label
        mode = f"{self.mode} " if self.mode and self.mode not in label else ""
        return f"{mode}{label}" + (f" in {self.unit}" if self.unit else "")

    def in_si(self, number: float) -> float:
        """Return a number of this column in the SI unit of its quantity."""
        scale, offset = _scale(self.unit, QUANTITIES[self.quantity].unit)
        return scale * number + offset


def column(header: str, unit: str = "") -> Column:
    """Return what a header means.

    Parameters
    ----------
    header : str
        Its text, such as ``"Total cooling (kBtu/h)"`` or ``"entering_fluid_degC"``.
    unit : str, default ""
        Its unit where that stands in a row of its own.
    """
    text = _clean(header)
    for name, given in [*_parted(text), (text, "")]:
        found = _meaning(name, given)
        if found is None:
            continue
        quantity, mode = found
        if not given and not unit and _BY_UNIT.get(name.strip().lower()) == quantity:
            given = name.strip()
        return _with_unit(header, quantity, mode, given or _unit(_clean(unit)))
    return Column(header, "", fault=_unknown(text))


def statement(text: str) -> tuple[Column, str] | None:
    """Return the column and the number that a line such as ``air flow: 1200 cfm`` states for a whole page.

    Returns None for a line that states nothing of the kind.
    """
    match = re.fullmatch(r"#?\s*([^:=;\t]*?)\s*[:=;\t]?\s*([-+]?\d[\d.,]*)\s*([^\d]*)", _clean(text))
    if match is None:
        return None
    name, number, unit = match.groups()
    for found in (column(name, unit), column(unit)):
        if found.known and found.unit:
            return found, number
    return None


def mode_in(text: str) -> Mode | None:
    """Return the mode that a title names, if it names one of the two."""
    words = set(_words(text))
    named = [mode for mode in ("heating", "cooling") if mode in words]
    return named[0] if len(named) == 1 else None


def is_unit(text: str) -> bool:
    """Return whether a cell of a header's second row is a unit."""
    bare = _clean(text).strip("[]() ")
    return any(_fits(_unit(bare), quantity.unit) for quantity in QUANTITIES.values() if quantity.unit)


def _clean(text: str) -> str:
    """Return a header in plain letters, with single spaces."""
    return re.sub(r"\s+", " ", plain(text)).strip()


def _unit(text: str) -> str:
    """Return a unit as the registry of units writes it."""
    text = text.strip("[]() ").replace("_per_", "/").replace("_", " ").replace("·", " ")
    return {"C": "degC", "F": "degF"}.get(text, text)


def _parted(text: str) -> list[tuple[str, str]]:
    """Return the ways to part a header into words and a unit, the plainest first."""
    ways = []
    brackets = _BRACKETS.fullmatch(text)
    if brackets:
        ways.append((f"{brackets[1]} {brackets[3]}", _unit(brackets[2])))
    for mark in (",", ":", " in ", "/"):
        before, found, after = text.rpartition(mark)
        if found:
            ways.append((before, _unit(after)))
    pieces = re.findall(r"[^\s_]+[\s_]*", text)
    for count in range(1, len(pieces) + 1):
        ways.append(("".join(pieces[:count]), _unit("".join(pieces[count:]))))
    return [(name, unit) for name, unit in ways if unit and _is_any_unit(unit)]


@functools.cache
def _is_any_unit(unit: str) -> bool:
    fits = any(_fits(unit, quantity.unit) for quantity in QUANTITIES.values() if quantity.unit)
    return fits or bool(doubt(unit))


def _meaning(name: str, unit: str) -> tuple[str, Mode | None] | None:
    """Return the quantity and the mode that words name, where the unit leaves a choice by the unit."""
    words = _words(name)
    mode = mode_in(name)
    rest = sorted(word for word in words if word not in ("heating", "cooling"))
    if not rest and (mode is None or not unit):
        alone = _BY_UNIT.get(unit.lower())
        return (alone, None) if alone else None
    for key, quantity in QUANTITIES.items():
        if any(rest == sorted(_words(each)) for each in quantity.words) and (
            rest or _fits(unit, quantity.unit)
        ):
            return key, mode
    by_unit = _BY_UNIT.get(" ".join(rest))
    return (by_unit, mode) if by_unit else None


def _words(text: str) -> list[str]:
    words = re.findall(r"[a-z]+", re.sub(r"\ba[ -]?c\b", "", text.lower().replace("wet-bulb", "wet bulb")))
    same = " ".join(_SAME.get(word, word) for word in words if word not in _UNSAID).split()
    return sorted(set(same))


def _with_unit(header: str, quantity: str, mode: Mode | None, unit: str) -> Column:
    wanted = QUANTITIES[quantity].unit
    label = QUANTITIES[quantity].label
    if quantity in WITHOUT_UNIT:
        return Column(header, quantity, mode)
    example = QUANTITIES[quantity].column
    would_do = f"such as {example!r}" if example else f"like {wanted}"
    if not unit:
        return Column(header, quantity, mode, fault=f"{label}, but without a unit: give it one, {would_do}")
    two_meanings = doubt(unit)
    if two_meanings:
        return Column(header, quantity, mode, unit, f"{label}, but {two_meanings}")
    if not _fits(unit, wanted):
        return Column(
            header, quantity, mode, unit, f"{label}, but not in {unit!r}: give it a unit {would_do}"
        )
    return Column(header, quantity, mode, unit)


def _unknown(text: str) -> str:
    """Return what an unknown header could have been meant for."""
    parted = _parted(text)
    fits = [
        key for key, each in QUANTITIES.items() if parted and each.column and _fits(parted[0][1], each.unit)
    ]
    names = {QUANTITIES[key].column: key for key in fits or QUANTITIES if QUANTITIES[key].column}
    near = difflib.get_close_matches(text, names, n=1, cutoff=_ALIKE)
    if near:
        return f"unknown; did you mean {near[0]}?"
    if fits:
        return f"unknown; in {parted[0][1]} it could be {', '.join(QUANTITIES[key].label for key in fits)}"
    return "unknown; leave it out, or name it by what it holds"


def _fits(unit: str, wanted: str) -> bool:
    return bool(unit) and _scale(unit, wanted) != (0.0, 0.0)


@functools.cache
def _scale(unit: str, wanted: str) -> tuple[float, float]:
    """Return factor and offset that turn a unit into an SI unit; two zeros where it is of another kind."""
    if not wanted or not _PLAIN_UNIT.fullmatch(unit):
        return (1.0, 0.0) if not wanted and not unit else (0.0, 0.0)
    if not units.is_unit(unit, like=wanted):  # quick: an error would search for the unit to suggest
        return 0.0, 0.0
    try:
        if wanted == "kg/s":
            of_one = units.mass_flow(f"1 {unit}", lambda: units.WATER_DENSITY, owner="", field="")
            return of_one, 0.0
        at_zero = units.to_si(f"0 {unit}", wanted, owner="", field="")
        return units.to_si(f"1 {unit}", wanted, owner="", field="") - at_zero, at_zero
    except InvalidInput:
        return 0.0, 0.0
