"""Curves over the entering fluid temperature as equations, in the units of a page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from numpy.polynomial import Polynomial

from loopdrift.basics.both_units import DEGREE, fahrenheit, in_sentences
from loopdrift.reporting.html import Units

_POWERS = ("", " T", " T²", " T³")


class Curve(NamedTuple):
    """What a polynomial of a part gives."""

    unit: str = ""
    """Its SI unit; empty for pure numbers."""
    per_degree: bool = False
    """Whether it is a change per degree of another temperature."""


CURVES = {
    ("Mode", "cop"): Curve(),
    ("Mode", "capacity"): Curve("W"),
    ("EnteringLoadCorrection", "cop"): Curve(per_degree=True),
    ("EnteringLoadCorrection", "capacity"): Curve("W", per_degree=True),
}
"""Polynomials over the entering fluid temperature, by type and field."""


def equation(coefficients: Sequence[float], curve: Curve, units: Units) -> str:
    """Return a polynomial over the entering fluid temperature T, with its unit.

    Parameters
    ----------
    coefficients : sequence of float
        c0 + c1 T + ..., T in degC.
    curve : Curve
        What it gives.
    units : {"SI", "IP"}
        Units of the equation: T is in degC or degF.

    Examples
    --------
    >>> equation((4.0, 0.08), Curve(), "SI")
    '4 + 0.08 T'
    >>> equation((4.0, 0.08), Curve(), "IP")
    '2.578 + 0.04444 T'
    """
    found, unit = Polynomial(coefficients), curve.unit
    if units == "IP":
        found = found(Polynomial([-fahrenheit(0.0) / DEGREE, 1.0 / DEGREE]))
        found = found / DEGREE if curve.per_degree else found
        if unit:
            unit, factor = in_sentences(unit)
            found = found * factor
    terms = [
        f"{'-' if value < 0.0 else '+'} {_number(abs(value))}{_power(power)}"
        for power, value in enumerate(map(float, found.coef))
    ]
    text = " ".join(terms).removeprefix("+ ").replace("- ", "\N{MINUS SIGN} ")
    degree = (" per K" if units == "SI" else " per degF") if curve.per_degree else ""
    return f"({text}) {unit}{degree}" if unit else f"{text}{degree}"


def _number(value: float) -> str:
    """Return a number with four significant digits, large ones with commas."""
    return f"{float(f'{value:.4g}'):,.0f}" if 1e3 <= value < 1e9 else f"{value:.4g}"


def _power(power: int) -> str:
    return _POWERS[power] if power < len(_POWERS) else f" T^{power}"
