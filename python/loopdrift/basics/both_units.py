"""Quantities in words, in SI and inch-pound units."""

from __future__ import annotations

import math

BTU_PER_WH = 3.412141633
MILLION_BTU_PER_KWH = 1e-3 * BTU_PER_WH
BTU_PER_H_FT = 0.3048 * BTU_PER_WH
"""Btu/(h ft) for each W/m."""
WATTS_PER_TON = 3517.0
WATER_GPM = 15.850323
"""Flow of water of 1000 kg/m3 in gal/min for each kg/s."""

_INCH_POUND = {
    "K": ("degF", 1.8),
    "m": ("ft", 1.0 / 0.3048),
    "m2": ("ft2", 1.0 / 0.3048**2),
    "m3": ("ft3", 1.0 / 0.3048**3),
    "mm2/s": ("ft2/day", 86400e-6 / 0.3048**2),
    "kPa": ("psi", 1.0 / 6.894757293168),
    "kg/s": ("gal/min", WATER_GPM),
    "kW": ("kBtu/h", BTU_PER_WH),
    "kWh": ("million Btu", MILLION_BTU_PER_KWH),
    "kWh/m2": ("kBtu/ft2", BTU_PER_WH * 0.3048**2),
    "W/K": ("Btu/(h degF)", BTU_PER_WH / 1.8),
    "W/m": ("Btu/(h ft)", BTU_PER_H_FT),
    "W/(m K)": ("Btu/(h ft degF)", BTU_PER_H_FT / 1.8),
    "W/(m2 K)": ("Btu/(h ft2 degF)", BTU_PER_WH * 0.3048**2 / 1.8),
    "J/(m2 K)": ("Btu/(ft2 degF)", 0.3048**2 / (1055.05585262 * 1.8)),
    "m K/W": ("h ft degF/Btu", 1.8 / BTU_PER_H_FT),
    "L": ("gal", 1.0 / 3.785411784),
}
"""Unit beside each, and how many of it make one: energy is heat, a flow is of water, K is a difference."""


def both(value: float, unit: str, form: str = ",.0f") -> str:
    """Return a quantity in both systems, such as ``85.0 m (279 ft)``.

    The second number has as many digits as the first, but two or three where they come after the point; a
    difference of temperature is written alike in both.

    Parameters
    ----------
    value : float
        The quantity in `unit`.
    unit : str
        Its SI unit; kWh is for heat only, kg/s for water.
    form : str, default ",.0f"
        How its number is written.
    """
    text = f"{value:{form}}"
    name, factor = _INCH_POUND[unit]
    other = f"{factor * value:{form}}" if unit == "K" else _like(text, factor * value)
    return f"{text} {unit} ({other} {name})"


def both_degrees(temperature: float) -> str:
    """Return a temperature [degC] in degC and degF."""
    return f"{temperature:.1f} degC ({1.8 * temperature + 32.0:.1f} degF)"


def both_flows(flow: float, density: float) -> str:
    """Return a mass flow [kg/s], and the volume flow that it is at a density [kg/m3]."""
    litres = 1000.0 * flow / density
    return f"{flow:.3g} kg/s ({litres:.3g} L/s, {WATER_GPM * litres:.3g} gal/min)"


def kilowatts(power: float) -> str:
    """Return a power [W] in kW and tons."""
    return f"{power / 1e3:.1f} kW ({power / WATTS_PER_TON:.1f} tons)"


def _like(text: str, value: float) -> str:
    """Return a number with as many digits as another, and a sign where that has one."""
    digits = text.lstrip("+-").replace(",", "").replace(".", "").lstrip("0")
    before = math.floor(math.log10(abs(value))) + 1 if value else 1
    decimals = max(0, min(max(len(digits), 2), 3) - before)
    return f"{value:{'+' if text.startswith(('+', '-')) else ''},.{decimals}f}"
