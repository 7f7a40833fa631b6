"""Values that are possible but unusual: most are a slip of units, and each says why it stands out.

The ranges are common practice, no source: they decide nothing, and a design may leave them on purpose.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics import units
from loopdrift.basics.both_units import FACTORS, both, both_degrees, kilowatts
from loopdrift.basics.part import Part
from loopdrift.basics.words import percent
from loopdrift.model import key_figures

if TYPE_CHECKING:
    from loopdrift.model.design import Design


class Usual(NamedTuple):
    """What a number usually is."""

    low: float
    high: float
    unit: str
    why: str
    """Why others stand out."""
    others: tuple[str, ...] = ()
    """Units that the number may have been meant in."""


class Unusual(NamedTuple):
    """A value that stands out."""

    key: str
    """Where it stands, as in a design file; empty where it follows from several values."""
    text: str

    def __str__(self) -> str:
        return f"{self.key}: {self.text}" if self.key else self.text


USUAL: dict[tuple[str, str], Usual] = {
    ("Ground", "conductivity"): Usual(
        0.35, 5.0, "W/(m K)", "hardly any soil or rock has it", ("Btu/(h ft degF)",)
    ),
    ("Ground", "volumetric_heat_capacity"): Usual(
        1.1e6,
        4.2e6,
        "J/(m3 K)",
        "dry sand has 1.2 MJ/(m3 K) (18 Btu/(ft3 degF)) and water 4.2 MJ/(m3 K) (63 Btu/(ft3 degF))",
        ("kJ/(m3 K)", "Btu/(ft3 degF)"),
    ),
    ("Ground", "temperature"): Usual(
        1.0,
        28.0,
        "degC",
        "undisturbed ground is within a few kelvin of the yearly mean of the air",
        ("degF",),
    ),
    ("Ground", "gradient"): Usual(0.0, 0.06, "K/m", "the ground warms by about 0.03 K/m (0.016 degF/ft)"),
    ("Ground", "darcy_flux"): Usual(0.0, 2e-6, "m/s", "groundwater rarely exceeds 60 m (200 ft) a year"),
    ("Warming", "rate"): Usual(
        -0.1,
        0.1,
        "K/a",
        "below changing climates and cities, ground warms by 0.1 to 1 K in ten years",
        ("K/decade", "degF/a"),
    ),
    ("Bore", "depth"): Usual(30.0, 220.0, "m", "few rigs drill bores for loops so", ("ft",)),
    ("Bore", "buried_depth"): Usual(
        0.3, 8.0, "m", "bores usually begin 1 to 2 m (3 to 7 ft) below the surface", ("ft",)
    ),
    ("Bore", "diameter"): Usual(
        0.075, 0.26, "m", "bits for loops have 100 to 200 mm (4 to 8 in)", ("inch", "mm")
    ),
    ("Bore", "grout_conductivity"): Usual(
        0.6,
        3.0,
        "W/(m K)",
        "grouts have 0.7 to 2.4 W/(m K) (0.4 to 1.4 Btu/(h ft degF))",
        ("Btu/(h ft degF)",),
    ),
    ("Bore", "resistance"): Usual(
        0.03,
        0.3,
        "m K/W",
        "measured bores have 0.05 to 0.2 m K/W (0.09 to 0.35 h ft degF/Btu)",
        ("h ft degF/Btu",),
    ),
    ("BoreField", "spacing"): Usual(
        3.0, 12.0, "m", "nearer bores share their ground, farther ones waste land", ("ft",)
    ),
    ("TrenchField", "depth"): Usual(0.8, 3.0, "m", "trenches are 1 to 2.5 m (3 to 8 ft) deep", ("ft",)),
    ("Pipe", "outer_diameter"): Usual(
        0.016, 0.16, "m", "loops have pipes of 25 to 50 mm (1 to 2 in)", ("inch", "mm")
    ),
    ("Fluid", "mass_fraction"): Usual(0.0, 0.4, "", "more antifreeze than protection needs costs pump power"),
    ("HeatPump", "degradation_coefficient"): Usual(0.0, 0.3, "", "units lose 0.1 to 0.25"),
    ("Limits", "entering_fluid_min"): Usual(
        -10.0, 12.0, "degC", "units stop at -10 to 5 degC (14 to 41 degF)", ("degF",)
    ),
    ("Limits", "entering_fluid_max"): Usual(
        24.0, 46.0, "degC", "units stop at 30 to 45 degC (86 to 113 degF)", ("degF",)
    ),
    ("Limits", "freezing_margin"): Usual(1.0, 8.0, "K", "3 to 6 K (5 to 11 degF) are usual", ("degF",)),
}
PILE_DEPTH = 40.0
"""Bores no deeper than this may be piles, which are wider [m]."""
PUMP_SHARE = 0.06
"""Largest usual power of the circulation pump, as a share of the peak load."""
SPREAD = (1.0, 10.0)
"""Usual difference of entering and leaving fluid at the peak load [K]."""
CAPACITY_SHARE = (0.4, 2.5)
"""Usual capacity of a heat pump as a share of the peak load."""
WARM_GROUND = 20.0
"""Ground that is unusual where heating prevails [degC]."""
ABOVE_AIR = (-3.0, 7.0)
"""Usual ground temperature less the yearly mean of the air [K]."""
MEAN_OFF = 0.01
"""Departure of the conductivity from the layers' mean that is reported [-]."""
TYPICAL_COP = {"heating": 3.5, "cooling": 4.5}


def unusual(design: Design) -> list[Unusual]:
    """Return what stands out in a design, as a caution: the design may be right.

    Parameters
    ----------
    design : Design
        The design.
    """
    checks = (_ground, _layers, _capacity, _pump, _flow)
    found = [*_numbers(design, ""), *(each for check in checks for each in check(design))]
    return list({each.key or each.text: each for each in found}.values())


def _numbers(part: Part, prefix: str) -> Iterator[Unusual]:
    """Yield the numbers of a part, and of the parts within it, that are outside what is usual."""
    owner = type(part).__name__
    names = [*part.children, *(name for name, unit in part.variables.items() if unit is not None)]
    for name in names:
        value = getattr(part, name, None)
        value = part.children.get(name, value)
        usual = USUAL.get((owner, name))
        if isinstance(value, Part):
            yield from _numbers(value, f"{prefix}{name}.")
        elif usual is not None and isinstance(value, int | float) and _stands_out(part, name, value, usual):
            yield Unusual(f"{prefix}{name}", _in_words(value, usual))


def _stands_out(part: Part, name: str, value: float, usual: Usual) -> bool:
    if name == "spacing" and getattr(part, "leans", False):  # inclined bores begin side by side
        return False
    widest = USUAL["Bore", "diameter"].high
    is_pile = getattr(part, "diameter", 0.0) > widest and getattr(part, "depth", PILE_DEPTH) < PILE_DEPTH
    return math.isfinite(value) and not usual.low <= value <= usual.high and not is_pile


def _in_words(value: float, usual: Usual) -> str:
    """Return why a number stands out, and how to write it if it was meant in another unit."""
    ends = f"{_amount(usual.low, usual.unit)} to {_amount(usual.high, usual.unit)}"
    text = f"{_amount(value, usual.unit)} is unusual: {usual.why}; usual are {ends}"
    return text + meant(value, usual)


def meant(value: float, usual: Usual) -> str:
    """Return how to write a number if it was meant in another unit, in which it would be usual.

    Parameters
    ----------
    value : float
        The number as it was taken.
    usual : Usual
        What it usually is, and the other units.
    """
    for other in usual.others:
        text = f"{value:.6g} {other}"
        converted = units.to_si(text, usual.unit, owner="", field="")
        if usual.low <= converted <= usual.high:
            return f'. If it is in {other}, write "{text}"'
    return ""


def _amount(value: float, unit: str) -> str:
    if unit == "degC":
        return both_degrees(value)
    if unit == "J/(m3 K)":
        value, unit = 1e-6 * value, "MJ/(m3 K)"
    if unit in FACTORS:
        return both(value, unit, ".3g")
    return f"{value:.3g} {unit}".rstrip()


def _ground(design: Design) -> Iterator[Unusual]:
    """Yield ground that doesn't go with the weather, or with a building that is mostly heated."""
    temperature = design.ground.temperature
    if not USUAL["Ground", "temperature"].low <= temperature <= USUAL["Ground", "temperature"].high:
        return  # said for itself
    weathers = (getattr(part, "weather", None) for part in (design.distribution, design.ground_side))
    weather = next((each for each in weathers if each is not None), None)
    if weather is not None:
        air = float(np.mean(weather.dry_bulb))
        low, high = ABOVE_AIR
        if not low <= temperature - air <= high:
            text = (
                f"{both_degrees(temperature)} is unusual where the air has {both_degrees(air)} in the "
                f"mean of a year: undisturbed ground is from {both(-low, 'K', 'g')} colder to "
                f"{both(high, 'K', 'g')} warmer than that"
            )
            yield Unusual("ground.temperature", text)
        return
    demand = design.demand
    heating, cooling = float((demand["heating"] + demand["hot_water"]).sum()), float(demand["cooling"].sum())
    if heating > 2.0 * cooling and temperature > WARM_GROUND:
        usual = Usual(1.0, WARM_GROUND, "degC", "", ("degF",))
        text = (
            f"{both_degrees(temperature)} is unusual where a building is mostly heated: undisturbed "
            "ground is near the yearly mean of the air"
        )
        yield Unusual("ground.temperature", text + meant(temperature, usual))


def _layers(design: Design) -> Iterator[Unusual]:
    """Yield layers whose mean the ground of this design isn't."""
    ground = design.ground
    found = design.ground_side.mean_ground(ground).conductivity
    if abs(ground.conductivity / found - 1.0) > MEAN_OFF:
        unit = "W/(m K)"
        text = (
            f"{both(ground.conductivity, unit, '.3g')} isn't the mean of the layers along these bores, "
            f"{both(found, unit, '.3g')}: take the mean between their upper and lower ends"
        )
        yield Unusual("ground.layers", text)


def _capacity(design: Design) -> Iterator[Unusual]:
    """Yield a heat pump that is much smaller or larger than the larger of the peak loads."""
    mode = "cooling" if key_figures.is_for_cooling(design) else "heating"
    peak = max(key_figures.peaks(design))
    performance = design.heat_pump.performance([key_figures.undisturbed(design)])
    column = f"{mode}_capacity_W"
    if column not in performance or peak <= 0.0 or performance[column].isna().any():
        return
    capacity = float(performance[column].iloc[0])
    low, high = CAPACITY_SHARE
    if not low <= capacity / peak <= high:
        effect = "the rest needs back-up" if capacity < peak else "the unit would mostly cycle"
        text = (
            f"{kilowatts(capacity)} of {mode} capacity at the ground's temperature is "
            f"{percent(capacity / peak)} of the peak load of {kilowatts(peak)}: {effect}. Check the units of "
            "the table and of the loads"
        )
        yield Unusual("heat_pump", text)


def _pump(design: Design) -> Iterator[Unusual]:
    """Yield a circulation pump that takes much of the load."""
    peak = max(key_figures.peaks(design))
    if peak > 0.0 and design.pump_power > PUMP_SHARE * peak:
        text = (
            f"{both(design.pump_power, 'W')} is {percent(design.pump_power / peak)} of the peak load of "
            f"{kilowatts(peak)}: circulation pumps usually take 1 to 3 %"
        )
        yield Unusual("pump_power", text)


def _flow(design: Design) -> Iterator[Unusual]:
    """Yield a flow that makes the fluid warm or cool by an unusual amount at the peak load."""
    heating, cooling = key_figures.peaks(design)
    exchanged = max(
        heating * (1.0 - 1.0 / TYPICAL_COP["heating"]), cooling * (1.0 + 1.0 / TYPICAL_COP["cooling"])
    )
    if exchanged <= 0.0:
        return
    temperature = key_figures.undisturbed(design)
    heat_capacity = float(design.fluid.properties([temperature])["heat_capacity_J_per_kgK"].iloc[0])
    spread = exchanged / (design.flow * heat_capacity)
    low, high = SPREAD
    if not low <= spread <= high:
        usual = Usual(
            exchanged / (high * heat_capacity),
            exchanged / (low * heat_capacity),
            "kg/s",
            "",
            ("gal/min", "L/min"),
        )
        text = (
            f"{key_figures.flow_in_words(design)} changes the fluid by about "
            f"{both(spread, 'K', '.2g')} at the peak load: {both(low, 'K', 'g')} to "
            f"{both(high, 'K', 'g')} are usual"
        )
        yield Unusual("flow", text + meant(design.flow, usual))
