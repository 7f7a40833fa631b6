"""Costs in plain text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import factor
from loopdrift.basics.words import WIDTH, counted

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.analysis.cost.cost import Cost

_NAME_WIDTH = 26


def text(cost: Cost, units: Literal["SI", "IP"]) -> str:
    """Return what a run costs beside its alternatives; see `Cost.text`."""
    of_heat, per_kwh, decimals = "kWh", 1.0, 4
    if units == "IP":
        of_heat, per_kwh, decimals = "million Btu", factor("kWh", "million Btu"), 2
    currency, by_year = cost.prices.currency, cost.by_year("cost")
    years = len(by_year)
    lines = [
        f"Costs in {currency}, all by the prices given; {counted(years, 'year')} discounted at "
        f"{100.0 * cost.prices.discount_rate:g} % a year.",
        "",
        _row("plant", "first", "year 1", f"year {years}", "present", "for each", "carbon in"),
        _row("", "cost", "", "", "cost", of_heat, "all [t]"),
    ]
    for name, row in cost.summary.iterrows():
        yearly = by_year[name].to_numpy()
        each = row["levelised_cost_per_kWh"] / per_kwh
        lines.append(
            _row(
                str(name)[:_NAME_WIDTH],
                f"{row['first_cost']:,.0f}",
                f"{yearly[0]:,.0f}",
                f"{yearly[-1]:,.0f}",
                f"{row['present_cost']:,.0f}",
                "-" if math.isnan(each) else f"{each:.{decimals}f}",
                f"{row['carbon_kg'] / 1000.0:,.1f}",
            )
        )
    lines.append("")
    lines += [_choice(str(name), row, years) for name, row in cost.summary.iloc[1:].iterrows()]
    if cost.unpriced:
        lines.append(f"No price is given for {' and '.join(cost.unpriced)}: the first cost is without it.")
    if years > 1:
        lines.append(
            f"Drift of the ground: the energy of year {years} costs {cost.drift:+.1%} against that of "
            "year 1, at the same prices."
        )
    return "\n".join(lines)


def _choice(name: str, row: pd.Series[float], years: int) -> str:
    extra, saving = row["extra_first_cost"], row["first_year_saving"]
    return _wrapped(
        f"Against {name}: {extra:+,.0f} at first, {saving:+,.0f} saved in year 1, {_payback(row, years)}; "
        f"net present value {row['net_present_value']:+,.0f}."
    )


def _payback(row: pd.Series[float], years: int) -> str:
    """Return in words whether and when choosing the ground source pays."""
    payback, lasts = row["simple_payback_years"], row["advantage_lasts_years"]
    if payback == 0.0:
        return "nothing to pay back"
    if math.isinf(payback):
        return "never paid back so"
    if not math.isnan(payback):
        return f"paid back in {payback:.1f} years"
    if lasts == 0.0:
        return "no advantage at first and dearer from year 1 on"
    if math.isinf(lasts):
        within = counted(years, "year")
        return f"nothing to pay back; dearer years don't use up the first advantage within {within}"
    return f"nothing to pay back, but dearer years use up the first advantage after {lasts:.1f} years"


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)


def _row(name: str, *cells: str) -> str:
    return f"{name:<{_NAME_WIDTH}}" + "".join(f"{cell:>12}" for cell in cells).rstrip()
