"""A commented design file to start from, for a house or a larger building."""

from __future__ import annotations

import json
import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, NamedTuple

import numpy as np

from loopdrift.basics import units
from loopdrift.basics.both_units import FACTORS, GALLON, fahrenheit
from loopdrift.basics.errors import InvalidInput, printable
from loopdrift.files.reader import SCHEMA
from loopdrift.parts.building import Building, Opaque, Week, Window
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather

System = Literal["SI", "IP"]
Kind = Literal["house", "larger"]

TEMPLATE = Path(__file__).with_name("new_design.toml.jinja")
SNOW = 2.0
"""Ground above the yearly mean of the air [K]; common practice, no source."""
COLD_GROUND = 15.0
"""Below it the loop gets antifreeze [degC]."""
HEAT_PER_METRE = {"heating": 30.0, "cooling": 45.0}
"""Peak heat from or to the ground per metre of bore, for a first guess [W/m]; common practice, no source."""
DEPTH = 100.0
FLOW_PER_WATT = 0.05e-3
"""Flow over capacity [kg/s/W]: 3 gal/min per ton; common practice, no source."""
PUMP_SHARE = 0.02
HOUSE = 250.0
"""Heat loss of a usual house [W/K]; common practice, no source."""
INDOOR = 20.0
BALANCE = {"heating": 16.0, "cooling": 22.0}
"""Outdoor temperatures at which heating and cooling begin [degC], for the first guess of a year's heat."""


@dataclass(frozen=True, kw_only=True)
class Start:
    """What is known at the start of a design.

    Parameters
    ----------
    building : {"house", "larger"}
        A house by its heat loss, or a larger building by its floor area.
    weather : str
        Name of a sample climate, or path of a weather file.
    heat_loss : float or None
        Heat loss of a house on a cold day [W]; 250 W/K where it isn't known.
    floor_area : float
        Floor area of a larger building [m2].
    storeys : int
        Its storeys.
    conductivity : float
        Conductivity of the ground [W/(m K)].
    temperature : float or None
        Undisturbed temperature of the ground [degC]; from the weather where it isn't known.
    units : {"SI", "IP"}
        Units of the file.
    """

    building: Kind = "house"
    weather: str = "cold continental"
    heat_loss: float | None = None
    floor_area: float = 2000.0
    storeys: int = 2
    conductivity: float = 2.0
    temperature: float | None = None
    units: System = "SI"


class _Size(NamedTuple):
    """Peak loads [W]."""

    heating: float
    cooling: float


def text(start: Start, path: Path) -> str:
    """Return a design file, TOML with comments.

    Parameters
    ----------
    start : Start
        What is known.
    path : pathlib.Path
        Where it is going to stand; paths in it are from its folder.

    Raises
    ------
    InvalidInput
        If a value is out of range.
    OSError
        If the weather can't be read.
    """
    import jinja2

    weather, given = _named(start.weather, path)
    written = _Written(start.units)
    air = float(np.mean(weather.dry_bulb))
    ground = air + SNOW if start.temperature is None else start.temperature
    loads, size = (
        _house(start, weather, written) if start.building == "house" else _larger(start, weather, written)
    )
    capacity = max(size.heating, size.cooling / 1.05)
    metres = max(size.heating / HEAT_PER_METRE["heating"], size.cooling / HEAT_PER_METRE["cooling"])
    bores = max(1, math.ceil(metres / DEPTH))
    rows = max(1, round(math.sqrt(bores)))
    what = "A house" if start.building == "house" else "A larger building"
    values: dict[str, Any] = {
        "schema": SCHEMA,
        "heading": f"{what} with a ground-source heat pump: a design to complete.",
        "name": printable(path.name),
        "building": start.building,
        "weather": given,
        "flow": written.flow(FLOW_PER_WATT * capacity),
        "pump_power": written(PUMP_SHARE * capacity, "W", "W"),
        "conductivity": written(start.conductivity, "W/(m K)", "Btu/(h ft degF)"),
        "temperature": written(ground, "degC", "degF"),
        "columns": math.ceil(bores / rows),
        "rows": rows,
        "spacing": written.usual(6.0, "20 ft"),
        "depth": written.usual(DEPTH, "330 ft"),
        "buried_depth": written.usual(1.5, "5 ft"),
        "diameter": written.usual(0.15, "6 inch"),
        "shank_spacing": written.usual(0.07, "2.75 inch"),
        "outer_diameter": written.usual(0.032, "1.25 inch"),
        "antifreeze": 0.25 if ground < COLD_GROUND else 0,
        "heating_capacity": f"{_three(capacity)}, {_three(0.027 * capacity)}",
        "cooling_capacity": f"{_three(1.18 * capacity)}, {_three(-0.005 * capacity)}",
        "entering_fluid_min": written(-4.0 if ground < COLD_GROUND else 6.0, "degC", "degF"),
        "entering_fluid_max": written(max(35.0, math.ceil(ground) + 12.0), "degC", "degF"),
    }
    template = jinja2.Environment(undefined=jinja2.StrictUndefined, keep_trailing_newline=True)
    return template.from_string(TEMPLATE.read_text(encoding="utf-8")).render(values | loads)


def weather_of(name: str) -> Weather:
    """Return the weather of a sample climate, or of a file.

    Parameters
    ----------
    name : str
        Name of the climate, or path of the file.

    Raises
    ------
    InvalidInput
        If there is neither.
    """
    if name in Weather.samples():
        return Weather.sample(name)
    if not Path(name).is_file():
        allowed = f"must be the path of a weather file, or one of {', '.join(Weather.samples())}"
        raise InvalidInput("new", "weather", repr(name), "", allowed)
    return Weather.read(name)


def cold_day(weather: Weather) -> float:
    """Return the outdoor temperature that 0.4 % of the hours are colder than [degC], at most 12 degC.

    Parameters
    ----------
    weather : Weather
        The weather.
    """
    return min(float(np.floor(np.quantile(weather.dry_bulb, 0.004))), 12.0)


def heat_loss_of(weather: Weather) -> float:
    """Return the heat loss of a usual house on a cold day [W].

    Parameters
    ----------
    weather : Weather
        The weather.
    """
    return HOUSE * (INDOOR - cold_day(weather))


def _named(name: str, path: Path) -> tuple[Weather, str]:
    """Return the weather of a name, and how the file says it."""
    weather = weather_of(name)
    if name in Weather.samples():
        return weather, f'kind = "sample", name = "{name}"'
    beside = Path(os.path.relpath(name, path.parent)).as_posix()
    return weather, f'kind = "file", path = {json.dumps(beside, ensure_ascii=False)}'


def _house(start: Start, weather: Weather, written: _Written) -> tuple[dict[str, Any], _Size]:
    """Return the loads of a house by its heat loss, with a year's heat from degree hours."""
    outdoor, coldest = np.asarray(weather.dry_bulb), cold_day(weather)
    heat_loss = heat_loss_of(weather) if start.heat_loss is None else start.heat_loss
    per_kelvin = heat_loss / (INDOOR - coldest)
    heating = per_kelvin * np.clip(BALANCE["heating"] - outdoor, 0.0, None).sum() / 1e3
    cooling = per_kelvin * np.clip(outdoor - BALANCE["cooling"], 0.0, None).sum() / 1e3
    given = {"heating_kWh": _rounded(heating), "cooling_kWh": _rounded(cooling), "hot_water_kWh": 2500.0}
    loads = Loads.from_heat_loss(weather, heat_loss=heat_loss, design_outdoor=coldest, **given)
    values = {
        "heat_loss": written(heat_loss, "W", "Btu/h"),
        "design_outdoor": written(coldest, "degC", "degF"),
        "heating": f"{given['heating_kWh']:.0f}",
        "cooling": f"{given['cooling_kWh']:.0f}",
        "hot_water": f"{given['hot_water_kWh']:.0f}",
    }
    return values, _Size(loads.peak["heating"] + loads.peak["hot_water"], loads.peak["cooling"])


def _larger(start: Start, weather: Weather, written: _Written) -> tuple[dict[str, Any], _Size]:
    """Return the loads of offices of one zone, twice as long as wide."""
    height, storeys = 3.0, start.storeys
    roof = start.floor_area / storeys
    around = 2.0 * (math.sqrt(2.0 * roof) + math.sqrt(roof / 2.0))
    facade = around * height * storeys
    window = 0.3 * facade / 4.0
    occupants, equipment = max(1, round(start.floor_area / 15.0)), 12.0 * start.floor_area
    building = Building(
        floor_area=start.floor_area,
        height=height,
        infiltration=0.2,
        ventilation=0.6,
        heat_recovery=0.7,
        walls=Opaque(area=0.7 * facade, u_value=0.3),
        roof=Opaque(area=roof, u_value=0.2),
        floor=Opaque(area=roof, u_value=0.3, exposure=0.5),
        windows=[
            Window(
                area=window,
                u_value=1.2,
                g_value=0.45,
                azimuth=azimuth,
                shading=0.8 if azimuth == 0.0 else 0.6,
            )
            for azimuth in (0.0, 90.0, 180.0, 270.0)
        ],
        occupants=occupants,
        occupancy=Week({0: 0.0, 8: 1.0, 18: 0.0}, saturday=0.0, sunday=0.0),
        equipment=equipment,
        equipment_use=Week({0: 0.15, 8: 1.0, 18: 0.15}, saturday=0.15, sunday=0.15),
        heating_set_point=20.0,
        cooling_set_point=25.0,
    )
    hot_water = 0.5 * start.floor_area
    peak = building.loads(weather, hot_water=hot_water).peak
    values = {
        "hot_water": written(hot_water, "W", "Btu/h"),
        "floor_area": written(start.floor_area, "m2", "ft2"),
        "height": written(height, "m", "ft"),
        "walls": written(0.7 * facade, "m2", "ft2"),
        "roof": written(roof, "m2", "ft2"),
        "window": written(window, "m2", "ft2"),
        "occupants": occupants,
        "equipment": written(equipment, "W", "W"),
    }
    return values, _Size(peak["heating"] + peak["hot_water"], peak["cooling"])


def _rounded(value: float) -> float:
    """Return a number with two digits."""
    return float(f"{value:.2g}")


def _three(value: float) -> str:
    """Return a number with three digits, and without exponent."""
    return f"{float(f'{value:.3g}'):.15g}"


class _Written:
    """Writes quantities as values of a design file, with three digits."""

    def __init__(self, system: System) -> None:
        self._system = system

    def __call__(self, value: float, unit: str, inch_pound: str) -> str:
        """Return a quantity in SI, power as text in kW, or else as text in an inch-pound unit."""
        if inch_pound == unit:
            return f'"{_three(value)} {unit}"' if value < 1e3 else f'"{_three(value / 1e3)} k{unit}"'
        if self._system == "SI":
            return f'"{_three(value / 1e3)} kW"' if unit == "W" else repr(float(f"{value:.3g}"))
        if unit == "degC":
            return f'"{fahrenheit(value):.0f} degF"'
        number = FACTORS[unit][inch_pound] * value
        if inch_pound == "Btu/h":
            return f'"{_three(number / 1e3)} kBtu/h"'
        return f'"{_three(number)} {inch_pound}"'

    def usual(self, value: float, inch_pound: str) -> str:
        """Return a usual size in SI, or the nearest usual one in inch-pound units."""
        return repr(value) if self._system == "SI" else f'"{inch_pound}"'

    def flow(self, flow: float) -> str:
        """Return a flow of water [kg/s]."""
        if self._system == "SI":
            return f'"{_three(flow)} kg/s"'
        return f'"{_three(flow / units.WATER_DENSITY / GALLON * 60.0)} gal/min"'
