"""Loads from a heat loss and yearly totals."""

from __future__ import annotations

from typing import Any

import numpy as np

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.part import quantities
from loopdrift.basics.series import Series
from loopdrift.parts.weather.weather import Weather

_FAR = 1.3
"""Factor by which largest hour and heat loss are far apart; common practice, no source."""


def of_heat_loss(
    weather: Weather, given: dict[str, float | str | None]
) -> tuple[dict[str, Any], list[tuple[str, str]]]:
    """Return hourly loads and their origin; see `Loads.from_heat_loss`."""
    schema = quantities("Loads")
    known = {
        name: units.to_si(value, schema[name][0], owner="Loads", field=name)
        for name, value in given.items()
        if value is not None
    }
    series = _core.heat_loss_loads(known, weather.dry_bulb)
    origin = [
        ("heat loss", _heat_loss_text(known)),
        *_largest_hour_and_gains(known, weather.dry_bulb, series["heating"]),
        ("outdoors", weather.in_words()),
        *_beside_heat_loss(known, weather.dry_bulb, series["heating"]),
    ]
    return series, origin


def _beside_heat_loss(known: dict[str, float], outdoor: Series, heating: Series) -> list[tuple[str, str]]:
    """Return that the largest hour is far from the heat loss, as label and text; empty if it isn't."""
    peak, loss = float(heating.max()), known.get("heat_loss", 0.0)
    if peak <= 0.0 or loss <= 0.0 or 1.0 / _FAR <= peak / loss <= _FAR:
        return []
    coldest = both_degrees(float(outdoor.min()))
    return [
        (
            "look at",
            f"largest hour {both(peak / 1e3, 'kW', '.3g')}, far from the heat loss of "
            f"{both(loss / 1e3, 'kW', '.3g')}: the coldest hour of this weather is {coldest}",
        )
    ]


def _heat_loss_text(known: dict[str, float]) -> str:
    rooms = f"rooms of {both_degrees(known['indoor'])}"
    if "loss_coefficient" in known:
        text = both(known["loss_coefficient"], "W/K")
    else:
        cold = both_degrees(known["design_outdoor"])
        text = f"{both(known['heat_loss'] / 1000.0, 'kW', '.3g')} at {cold} outdoors"
    cooled = f", cooled to {both_degrees(known['cooling_indoor'])}" if known["cooling_kWh"] > 0.0 else ""
    return f"{text}, {rooms}{cooled}; single hours don't follow sun, people and stored heat"


def _largest_hour_and_gains(
    known: dict[str, float], outdoor: Series, heating: Series
) -> list[tuple[str, str]]:
    """Return what the largest hour of heating is and what gains make up for, as labels and texts."""
    if not heating.any():
        return []
    coldest = float(outdoor.min())
    design = known.get("design_outdoor", coldest)
    loss = known.get("loss_coefficient") or known["heat_loss"] / (known["indoor"] - design)
    lost = float(np.clip(loss * (known["indoor"] - outdoor), 0.0, None).sum()) / 1e3
    largest = f"{both(float(heating.max()) / 1000.0, 'kW', '.3g')} at {both_degrees(coldest)}"
    cause = (
        "the whole heat loss, without gains" if coldest <= design else "warmer than the design temperature"
    )
    gained = lost - known["heating_kWh"]
    gains = f"sun and people cover {gained:,.0f} of {lost:,.0f} kWh a year, and for none"
    return [
        ("largest hour", f"{largest}, {cause}"),
        ("gains", f"{gains} at {both_degrees(design)} or below"),
    ]
