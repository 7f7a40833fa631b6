"""The quantities of the installer's sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.both_units import FACTORS, both_degrees, fahrenheit, pair, significant
from loopdrift.basics.words import percent
from loopdrift.model.key_figures import undisturbed
from loopdrift.reporting.html import Units, rounded, signs

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.analysis.quantities import Quantities
    from loopdrift.ground_sides.quantities import PipeLength
    from loopdrift.model.design import Design

_MOST_DIGITS = 4
_PA_PER_KPA = 1000.0
_LITRES = 1000.0


class Line(NamedTuple):
    """One quantity of the sheet."""

    section: str
    item: str
    value: float | str
    unit: str = ""
    """SI unit of a number; empty for pieces and text."""
    decimals: int = 0

    def texts(self, units: Units) -> tuple[str, str]:
        """Return the quantity in the sheet's units and in the others; the latter empty if there are none."""
        if isinstance(self.value, str):
            return self.value, ""
        return in_order(self.value, self.unit, self.decimals, units)


def in_order(value: float, unit: str, decimals: int, units: Units) -> tuple[str, str]:
    """Return a quantity in the sheet's units and in the others.

    Parameters
    ----------
    value : float
        The quantity in `unit`.
    unit : str
        Its SI unit; an empty string or a unit without another has only one text.
    decimals : int
        Decimals in SI.
    units : {"SI", "IP"}
        Units of the sheet.
    """
    if math.isnan(value):
        return "", ""
    if abs(value) >= 10.0**_MOST_DIGITS:
        value = significant(value, _MOST_DIGITS)
    form = f",.{decimals}f"
    if unit == "degC":
        metric, imperial = signs(both_degrees(value)).rstrip(")").split(" (")
    elif unit in FACTORS:
        metric, imperial = pair(value, unit, form)
    else:
        return f"{value:{form}} {unit}".rstrip(), ""
    return (metric, imperial) if units == "SI" else (imperial, metric)


def lines(design: Design, found: Quantities) -> Iterator[Line]:
    """Yield the quantities of the sheet but for places and pipes.

    Parameters
    ----------
    design : Design
        The design.
    found : Quantities
        Its quantities.
    """
    section = "Ground loop"
    for amount in found.built.amounts:
        yield Line(section, amount.label, amount.value, amount.unit, amount.decimals)
    if found.grout is not None and found.built.grout is not None:
        conductivity = design.ground_side.children["bore"].grout_conductivity
        yield Line(section, "Thermal conductivity of the grout, at least", conductivity, "W/(m K)", 2)
        yield _measured(section, "Grout, net", found.built.grout, "m3")
        surplus = percent(found.grout_surplus)
        item = f"Grout with {surplus} surplus (common practice, no source)"
        yield _measured(section, item, found.grout, "m3")
    yield from _fluid(design, found)
    yield from _flow(design, found)
    if found.duty is not None:
        yield from _duty(design, found)
    if found.purge is not None:
        yield from _purge(found)
    yield Line("Tests", "Pressure tests of pipes and circuits", "by local code")


def _fluid(design: Design, found: Quantities) -> Iterator[Line]:
    section = "Fluid"
    yield Line(section, "Fluid", str(design.fluid))
    yield Line(section, "Freezing point", design.fluid.freezing_point, "degC", 1)
    if not found.pipes:
        return
    yield _measured(section, "Volume in all pipes below", _LITRES * found.fluid_volume, "L")
    if found.fluid_dose is not None:
        name = design.fluid.name.capitalize()
        pure = f"{name}, pure, at 20\N{NO-BREAK SPACE}°C"
        yield _measured(section, pure, _LITRES * found.fluid_dose.antifreeze, "L")
        yield _measured(section, "Water for the mixture", _LITRES * found.fluid_dose.water, "L")


def _flow(design: Design, found: Quantities) -> Iterator[Line]:
    section, count = "Flow", design.ground_side.count
    yield _flow_line(section, "In total", count * found.circuit_flow)
    if count > 1:
        label = f"In each of {count} {design.ground_side.branch}s"
        yield _flow_line(section, label, found.circuit_flow)
    yield Line(section, "Fluid temperature for these volumes", undisturbed(design), "degC", 1)


def _duty(design: Design, found: Quantities) -> Iterator[Line]:
    section, duty = "Pressure drop and pump", found.duty
    assert duty is not None
    yield Line(section, "Coldest fluid, for which the pump is chosen", duty.temperature, "degC", 1)
    for part in duty.parts:
        yield _pressure_line(section, f"Pressure drop, {part.part}", part.pressure_drop)
    yield _flow_line(section, "Pump duty: flow", duty.flow)
    yield _pressure_line(section, "Pump duty: pressure", duty.pressure)
    yield _measured(section, "Pump duty: head of this fluid", duty.head, "m")
    yield Line(section, "Electric power of the pump in the design", f"{rounded(duty.power)} W")


def _purge(found: Quantities) -> Iterator[Line]:
    section, purge = "Purging", found.purge
    assert purge is not None
    yield Line(section, "Least velocity, 0.6 m/s or 2 ft/s", "common practice, no source")
    yield _flow_line(section, f"All circuits at once: least velocity in {purge.slowest}", purge.flow)
    yield _pressure_line(section, "Pressure that this takes, without the heat pump", purge.pressure)
    each = f"One circuit at a time: least velocity in {purge.slowest_of_each}"
    yield _flow_line(section, each, purge.each)
    yield Line(section, "Fluid temperature", purge.temperature, "degC", 1)


def _flow_line(section: str, item: str, flow: float) -> Line:
    """Return a volume flow [m3/s]."""
    return _measured(section, item, _LITRES * flow, "L/s")


def _pressure_line(section: str, item: str, pressure: float) -> Line:
    """Return a pressure [Pa]."""
    return _measured(section, item, pressure / _PA_PER_KPA, "kPa")


def _measured(section: str, item: str, value: float, unit: str) -> Line:
    """Return a quantity with three digits, and no more than four decimals."""
    before = math.floor(math.log10(abs(value))) if value else 0
    return Line(section, item, value, unit, min(max(0, 2 - before), 4))


def pipe_rows(found: Quantities, units: Units) -> list[list[tuple[str, str]]]:
    """Return the pipes by part: name, size, pieces, length of a piece, total length, fittings and volume.

    Parameters
    ----------
    found : Quantities
        The quantities.
    units : {"SI", "IP"}
        Units of the sheet.
    """
    return [
        [
            (pipe.part, ""),
            _size(pipe, units),
            (f"{pipe.pieces:,}", ""),
            in_order(pipe.length, "m", 1, units),
            in_order(pipe.total, "m", 0, units),
            (f"{pipe.loss_coefficient:g}", ""),
            in_order(_LITRES * pipe.volume, "L", 0, units),
        ]
        for pipe in found.pipes
    ]


def _size(pipe: PipeLength, units: Units) -> tuple[str, str]:
    """Return outer diameter and wall thickness of a pipe, with its dimension ratio."""
    across, wall = 1e3 * pipe.pipe.outer_diameter, 1e3 * pipe.pipe.wall_thickness
    ratio = f" (ratio {pipe.pipe.outer_diameter / pipe.pipe.wall_thickness:.3g})"
    metric = f"{across:.1f} x {wall:.1f} mm"
    imperial = f"{across / 25.4:.2f} x {wall / 25.4:.3f} in"
    return (metric + ratio, imperial) if units == "SI" else (imperial + ratio, metric)


def quantity_table(design: Design, found: Quantities) -> pd.DataFrame:
    """Return all quantities but places as a table in both systems of units.

    Parameters
    ----------
    design : Design
        The design.
    found : Quantities
        The quantities.
    """
    import pandas as pd

    rows: list[tuple[str, str, float | str, str, float | str, str]] = []
    for line in (*lines(design, found), *_pipe_lines(found)):
        value = line.value
        if isinstance(value, str):
            rows.append((line.section, line.item, value, "", "", ""))
            continue
        other: float | str = ""
        unit = ""
        if line.unit == "degC":
            other, unit = round(fahrenheit(value), 1), "degF"
        elif line.unit in FACTORS:
            _, imperial = pair(value, line.unit, f".{line.decimals}f")
            other, unit = imperial.replace(",", "").split(" ", 1)
        rows.append((line.section, line.item, round(value, line.decimals), line.unit, other, unit))
    columns = ["section", "item", "value", "unit", "inch_pound_value", "inch_pound_unit"]
    return pd.DataFrame(rows, columns=columns)


def _pipe_lines(found: Quantities) -> Iterator[Line]:
    for pipe in found.pipes:
        section = f"Pipe, {pipe.part}"
        yield Line(section, "Outer diameter", 1e3 * pipe.pipe.outer_diameter, "mm", 1)
        yield Line(section, "Wall thickness", 1e3 * pipe.pipe.wall_thickness, "mm", 2)
        yield Line(section, "Pieces", float(pipe.pieces))
        yield Line(section, "Length of a piece", pipe.length, "m", 1)
        yield Line(section, "Length in total", pipe.total, "m", 1)
        yield Line(section, "Loss coefficient of fittings in a piece", f"{pipe.loss_coefficient:g}")
        yield Line(section, "Fluid", _LITRES * pipe.volume, "L", 1)
