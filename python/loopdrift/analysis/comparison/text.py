"""A comparison in plain text."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal, NamedTuple

from loopdrift.analysis.findings import findings
from loopdrift.basics.both_units import inch_pound_first
from loopdrift.basics.words import WIDTH, counted
from loopdrift.model.cautions import CAUTIONS

if TYPE_CHECKING:
    from loopdrift.analysis.comparison.comparison import Comparison
    from loopdrift.ground_sides.candidate import Candidate


class _Column(NamedTuple):
    """A column of the table as the page has it."""

    heading: tuple[str, str]
    decimals: int


_COLUMNS = {
    "land_m2": _Column(("land", ""), 0),
    "water_m2": _Column(("water", ""), 0),
    "pipe_m": _Column(("pipe", ""), 0),
    "trench_m": _Column(("trench", ""), 0),
    "bores": _Column(("bores", ""), 0),
    "entering_fluid_min_degC": _Column(("EFT", "min"), 1),
    "entering_fluid_max_degC": _Column(("EFT", "max"), 1),
    "pump_kWh": _Column(("pumps,", "a year"), 0),
    "seasonal_cop": _Column(("COP", ""), 2),
    "first_cost": _Column(("first", "cost"), 0),
    "life_cost": _Column(("life", "cost"), 0),
}
_UNITS = ("degF", "degC", "kWh", "ft2", "m2", "ft", "m")


def text(comparison: Comparison, units: Literal["SI", "IP"]) -> str:
    """Return a comparison as lines of plain text, ending with a newline."""
    head = (
        f"{counted(comparison.years, 'year')}, one building, {comparison.design.fluid}. Site: "
        f"{comparison.site}. Each kind is sized as small as the limits allow."
    )
    if comparison.site.candidates:
        names = ", ".join(each.name for each in comparison.site.candidates)
        head += f" As proposed, with the same building, limits and prices: {names}."
    project = comparison.design.project
    begin = [
        *([] if project is None else [[f"Project: {project}"]]),
        [" ".join([head, *_not_used(comparison)])],
    ]
    end = [
        [_left_out(comparison)],
        *(list(_about(comparison, each)) for each in comparison.candidates),
        [conclusion(comparison)],
        [CAUTIONS],
    ]
    in_order = inch_pound_first if units == "IP" else str
    before, after = (
        ["\n".join(_wrapped(in_order(sentence)) for sentence in block) for block in blocks]
        for blocks in (begin, end)
    )
    texts = [*before, _table(comparison, units), *after]
    return "\n\n".join(texts) + "\n"


def _not_used(comparison: Comparison) -> Iterator[str]:
    """Yield what the candidates' own design files state and the comparison doesn't use."""
    for each in comparison.site.candidates:
        stated = each.stated_otherwise(comparison.design)
        if stated:
            parts = ", ".join(stated)
            yield f"Not used: {parts} in the file of {each.name}; those of the design apply to all loops."


def conclusion(comparison: Comparison) -> str:
    """Return the feasible kinds and their ranking, in sentences."""
    table = comparison.table[comparison.table["fits"]]
    if table.empty:
        return "No kind of loop is feasible for this building on this site."
    text = f"Feasible: {', '.join(map(str, table.index))}."
    for column, words, form in (
        ("life_cost", "Lowest life cost", ",.0f"),
        ("first_cost", "Lowest first cost", ",.0f"),
        ("seasonal_cop", "Highest seasonal COP", ".2f"),
    ):
        values = table[column].dropna()
        if len(values) > 1:
            best = str(values.idxmax() if column == "seasonal_cop" else values.idxmin())
            text += f" {words}: {best}, {values.loc[best]:{form}}."
    unpriced = [str(kind) for kind in table.index if math.isnan(table["life_cost"][str(kind)])]
    if unpriced:
        text += f" Costs are unknown for {', '.join(unpriced)}."
    return text


def _left_out(comparison: Comparison) -> str:
    """Return what the values of the table don't include."""
    design = comparison.design
    text = "Pipe between building and loop is not included."
    if any(each.run is not None and not each.fits for each in comparison.candidates):
        own = ", candidates as proposed" if comparison.site.candidates else ""
        text = f"Infeasible kinds are shown at their nearest size{own}. {text}"
    if design.piping is None and design.pump_power > 0.0:
        text += f" Without piping data, the circulation pump draws {design.pump_power:,.0f} W for each kind."
    return text


def _about(comparison: Comparison, each: Candidate) -> Iterator[str]:
    """Yield the paragraphs about one kind; those below the first begin with spaces."""
    if each.run is None:
        yield f"{each.kind}: infeasible. {' '.join(each.reasons)}"
        yield from _remedies(each)
        return
    verdict = f"feasible with {each.run.design.ground_side}." if each.fits else "infeasible. "
    yield f"{each.kind}: {verdict}{' '.join(each.reasons)}"
    yield from _remedies(each)
    left_out = comparison.cost_left_out(each.kind)
    if left_out and comparison.design.prices is not None:
        yield f"  Costs are omitted: {left_out}."
    if each.fits:
        for finding in each.run.once(findings):
            if not finding.holds:
                yield f"  {finding}"
    for rule in each.rules_of_thumb:
        if rule.departure != 0.0:
            yield f"  Rule of thumb: {rule}"


def _remedies(each: Candidate) -> Iterator[str]:
    for remedy in each.remedies:
        yield f"  {remedy}"


def _table(comparison: Comparison, units: Literal["SI", "IP"]) -> str:
    from loopdrift.basics.units import to_inch_pound

    whole = comparison.table
    table = whole[list(_COLUMNS)]
    if units == "IP":
        table = to_inch_pound(table)
    columns = [["kind of loop", "", "", *map(str, table.index)]]
    columns.append(["fits", "", "", *("yes" if fits else "no" for fits in whole["fits"])])
    for name, column in zip(table.columns, _COLUMNS.values(), strict=True):
        unit = next((f"[{unit}]" for unit in _UNITS if name.endswith(f"_{unit}")), "")
        numbers = ["-" if math.isnan(value) else f"{value:,.{column.decimals}f}" for value in table[name]]
        if any(number != "-" for number in numbers):
            columns.append([*column.heading, unit, *numbers])
    widths = [max(map(len, column)) for column in columns]
    return "\n".join(
        f"{cells[0]:<{widths[0]}} "
        + " ".join(cell.rjust(width) for cell, width in zip(cells[1:], widths[1:], strict=True)).rstrip()
        for cells in zip(*columns, strict=True)
    )


def _wrapped(text: str) -> str:
    indent = "    " if text.startswith(" ") else "  "
    return textwrap.fill(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)
