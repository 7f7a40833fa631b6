"""Hourly inputs as they were read: text, hourly file and charts."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np

from loopdrift import charts
from loopdrift.basics.both_units import both, both_degrees, inch_pound_first
from loopdrift.basics.words import WIDTH
from loopdrift.reporting.figures import PLAIN, one_chart, write_png
from loopdrift.reporting.loads import of_loads
from loopdrift.reporting.overview import LABEL_WIDTH, months

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.parts.loads import Loads
    from loopdrift.parts.weather.weather import Weather

Units = Literal["SI", "IP"]

_BASES = {"heating": 15.0, "cooling": 20.0}
"""Bases of degree days [degC]; common practice, no source."""


def loads_text(loads: Loads, units: Units) -> str:
    """Return figures, origin and months of loads, and what looks wrong in them, as lines of text.

    Parameters
    ----------
    loads : Loads
        The loads.
    units : {"SI", "IP"}
        Units of the table of months, which also come first in sentences.
    """
    return f"{_lines(of_loads(loads), units)}\n\n{months(loads, units)}\n"


def weather_text(weather: Weather, units: Units) -> str:
    """Return place, range and degree days of weather, and what was done to it, as lines of text.

    Parameters
    ----------
    weather : Weather
        The weather.
    units : {"SI", "IP"}
        Units that sentences give first.
    """
    return _lines(weather_facts(weather), units) + "\n"


def weather_facts(weather: Weather) -> list[tuple[str, str]]:
    """Return the same content as pairs of label and text.

    Parameters
    ----------
    weather : Weather
        The weather.
    """
    outdoor = weather.dry_bulb
    heating = float(np.clip(_BASES["heating"] - outdoor, 0.0, None).sum()) / 24.0
    cooling = float(np.clip(outdoor - _BASES["cooling"], 0.0, None).sum()) / 24.0
    below, above = both_degrees(_BASES["heating"]), both_degrees(_BASES["cooling"])
    facts = [
        ("place", _place(weather)),
        ("temperature", weather.in_words()),
        ("degree days", f"{both(heating, 'K d')} below {below}, {both(cooling, 'K d')} above {above}"),
    ]
    if weather.ghi is not None:
        of_day = weather.ghi.reshape(-1, 24).mean(axis=0)
        yearly = float(weather.ghi.sum()) / 1e3
        highest = f"highest from {int(of_day.argmax()):02}:00 in the mean of the year"
        facts.append(("sun", f"{both(yearly, 'kWh/m2')} a year on the ground, {highest}"))
    return [*facts, *weather.origin]


def write_loads_into(loads: Loads, folder: Path, units: Units) -> None:
    """Write loads as an hourly file, text and charts into an existing empty folder.

    Parameters
    ----------
    loads : Loads
        The loads.
    folder : pathlib.Path
        The folder.
    units : {"SI", "IP"}
        Units of text and charts.
    """
    from matplotlib.figure import Figure

    (folder / "loads.csv").write_text(loads.csv(), encoding="utf-8")
    (folder / "loads.txt").write_text(loads_text(loads, units), encoding="utf-8")
    months_chart = one_chart(lambda ax: charts.loads(loads.monthly(), units=units, ax=ax), PLAIN)
    write_png(months_chart, folder / "months.png")
    for name, series in loads.for_engine().items():
        if not series.any():
            continue
        figure = Figure(figsize=(9.0, 7.0), layout="constrained")
        above, below = figure.subplots(2, height_ratios=[4, 3])
        charts.days(series, name, units=units, ax=above)
        charts.hours(series, name, units=units, ax=below)
        write_png(figure, folder / f"{name.replace('_', '-')}.png")


def write_weather_into(weather: Weather, folder: Path, units: Units) -> None:
    """Write weather as an hourly file, text and charts into an existing empty folder.

    Parameters
    ----------
    weather : Weather
        The weather.
    folder : pathlib.Path
        The folder.
    units : {"SI", "IP"}
        Units of text and charts.
    """
    (folder / "weather.csv").write_text(weather.csv(), encoding="utf-8")
    (folder / "weather.txt").write_text(weather_text(weather, units), encoding="utf-8")
    _draw(folder / "temperature.png", lambda ax: weather.plot(units=units, ax=ax))
    if weather.ghi is not None:
        _draw(folder / "sun.png", lambda ax: weather.plot("sun", units=units, ax=ax))


def _draw(path: Path, onto: Callable[[Axes], Axes]) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 4.2), layout="constrained")
    onto(figure.subplots())
    write_png(figure, path)


def _place(weather: Weather) -> str:
    if weather.latitude is None or weather.longitude is None:
        where = "not stated"
    else:
        north = f"{abs(weather.latitude):.2f} deg {'north' if weather.latitude >= 0.0 else 'south'}"
        east = f"{abs(weather.longitude):.2f} deg {'east' if weather.longitude >= 0.0 else 'west'}"
        where = f"{north}, {east}"
    height = "" if weather.altitude is None else f", {both(weather.altitude, 'm')} above the sea"
    zone = "" if weather.utc_offset is None else f"; standard time is UTC{weather.utc_offset:+g}"
    return f"{where}{height}{zone}"


def _lines(facts: Iterable[tuple[str, str]], units: Units) -> str:
    in_order = inch_pound_first if units == "IP" else str
    return "\n".join(
        textwrap.fill(
            in_order(text),
            WIDTH,
            initial_indent=f"{label:<{LABEL_WIDTH}} ",
            subsequent_indent=" " * (LABEL_WIDTH + 1),
            break_on_hyphens=False,
        )
        for label, text in facts
    )
