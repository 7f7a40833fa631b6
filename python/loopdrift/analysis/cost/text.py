"""Costs in plain text."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import factor
from loopdrift.basics.words import WIDTH, counted, percent

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.analysis.cost.cost import Cost

_NAME_WIDTH = 26


def text(cost: Cost, units: Literal["SI", "IP"]) -> str:
    """Return the cost of a run and of its alternatives; see `Cost.text`."""
    of_heat, per_kwh, decimals = "kWh", 1.0, 4
    if units == "IP":
        of_heat, per_kwh, decimals = "million Btu", factor("kWh", "million Btu"), 2
    currency, by_year = cost.prices.currency, cost.by_year("cost")
    years = len(by_year)
    lines = [
        f"Costs in {currency} at the given prices, for {counted(years, 'year')} at a discount rate of "
        f"{100.0 * cost.prices.discount_rate:g} % a year.",
        "",
        _row("plant", "first", "year 1", f"year {years}", "present", "per", "carbon,"),
        _row("", "cost", "", "", "value", of_heat, "total [t]"),
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
        missing = " and ".join(cost.unpriced)
        lines.append(_wrapped(f"No price is given for {missing}; the first cost excludes it."))
    if cost.plant_changes:
        later = cost.yearly["investment"].sum() if "investment" in cost.yearly else 0.0
        lines.append(
            _wrapped(
                f"Changes of the ground-source plant cost {later:,.0f} when they are made; the present value "
                "includes them. The alternatives meet the same loads and are never changed."
            )
        )
    if years > 1 and not cost.plant_changes:
        lines.append(
            _wrapped(
                f"Effect of the drift: at constant prices, the energy cost of year {years} differs from that "
                f"of year 1 by {percent(cost.drift, '+.1f')}."
            )
        )
    return "\n".join(lines)


def _choice(name: str, row: pd.Series[float], years: int) -> str:
    extra, saving = row["extra_first_cost"], row["first_year_saving"]
    return _wrapped(
        f"Against {name}: first cost {extra:+,.0f}, saving in year 1 {saving:+,.0f}, {_payback(row, years)}; "
        f"net present value {row['net_present_value']:+,.0f}."
    )


def _payback(row: pd.Series[float], years: int) -> str:
    """Return the payback of the ground source in words."""
    payback, lasts = row["simple_payback_years"], row["advantage_lasts_years"]
    if payback == 0.0:
        return "nothing to pay back"
    if math.isinf(payback):
        return "no payback"
    if not math.isnan(payback):
        return f"payback in {payback:.1f} years"
    if lasts == 0.0:
        return "no initial advantage and higher costs from year 1"
    if math.isinf(lasts):
        within = counted(years, "year")
        return f"nothing to pay back; higher yearly costs don't use up the initial advantage within {within}"
    return f"nothing to pay back, but higher yearly costs use up the initial advantage in {lasts:.1f} years"


def _wrapped(text: str) -> str:
    return textwrap.fill(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)


def _row(name: str, *cells: str) -> str:
    return f"{name:<{_NAME_WIDTH}}" + "".join(f"{cell:>12}" for cell in cells).rstrip()
