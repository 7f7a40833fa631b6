"""Description of a building in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.series import Series
from loopdrift.basics.words import percent

if TYPE_CHECKING:
    from loopdrift.parts.building.building import Building
    from loopdrift.parts.building.envelope import Opaque
    from loopdrift.parts.building.week import Week
    from loopdrift.parts.weather.weather import Weather


def facts(building: Building, weather: Weather, *, heating: Series, cooling: Series) -> list[tuple[str, str]]:
    """Return a building's properties and needs, as labels and texts.

    Parameters
    ----------
    building : Building
        The building.
    weather : Weather
        The weather of its year.
    heating, cooling : numpy.ndarray
        Heating and cooling need in each hour, shape (8760,) [W].
    """
    return [
        ("building", _rooms(building)),
        *((label, _opaque(parts)) for label, parts in _opaque_parts(building) if parts),
        *_windows(building),
        ("air", _air(building)),
        ("heat loss", f"{both(building.loss_coefficient, 'W/K')} through envelope and air"),
        ("set points", _set_points(building)),
        ("inside", _inside(building)),
        ("outdoors", weather.in_words()),
        ("needs", "; ".join(_needs(building, heating=heating, cooling=cooling)) or "no heating or cooling"),
    ]


def _rooms(building: Building) -> str:
    mass = building.mass if building.heat_capacity is None else both(building.heat_capacity, "J/(m2 K)")
    area, height = building.floor_area, building.height
    return (
        f"{both(area, 'm2')} of heated floor, {both(height, 'm', 'g')} high, {both(area * height, 'm3')}; "
        f"{mass} mass"
    )


def _opaque_parts(building: Building) -> Iterator[tuple[str, Sequence[Opaque]]]:
    yield from (("walls", building.walls), ("roof", building.roof), ("floor", building.floor))


def _opaque(parts: Sequence[Opaque]) -> str:
    texts = []
    for part in parts:
        seen = "" if part.exposure == 1.0 else f" at {part.exposure:g} of the indoor-outdoor difference"
        texts.append(f"{both(part.area, 'm2')} of {both(part.u_value, 'W/(m2 K)', 'g')}{seen}")
    return ", ".join(texts)


def _windows(building: Building) -> Iterator[tuple[str, str]]:
    if building.windows:
        each = "; ".join(
            f"{both(window.area, 'm2')} facing {window.azimuth:g}° from north, "
            f"{both(window.u_value, 'W/(m2 K)', 'g')}, g-value {window.g_value:g}"
            for window in building.windows
        )
        yield "windows", each


def _air(building: Building) -> str:
    cracks = f"{building.infiltration:g} air changes per hour by infiltration"
    if building.ventilation == 0.0:
        return cracks
    recovered = (
        f" with {percent(building.heat_recovery)} heat recovery" if building.heat_recovery > 0.0 else ""
    )
    return f"{cracks}, {building.ventilation:g} by fans{recovered}"


def _set_points(building: Building) -> str:
    heated, cooled = building.heating_set_point, building.cooling_set_point
    heating = "not heated" if heated is None else f"heated to {_span(heated)}"
    return f"{heating}; {'not cooled' if cooled is None else f'cooled to {_span(cooled)}'}"


def _span(given: float | Week) -> str:
    """Return a temperature, or the range of those of a week."""
    if isinstance(given, float):
        return both_degrees(given)
    hours = given.hours("degC", owner="Building", field="set point")
    least, most = min(hours), max(hours)
    return both_degrees(least) if least == most else f"{both_degrees(least)} to {both_degrees(most)}"


def _inside(building: Building) -> str:
    equipment = f"{building.equipment / 1000.0:.2g} kW of lights and appliances"
    return f"at most {building.occupants:g} people, and {equipment}"


def _needs(building: Building, *, heating: Series, cooling: Series) -> Iterator[str]:
    for what, watts in (("heating", heating), ("cooling", cooling)):
        if watts.any():
            year = float(watts.sum()) / 1000.0
            yield (
                f"{both(year, 'kWh')} of {what} a year, {both(year / building.floor_area, 'kWh/m2')}, up to "
                f"{both(watts.max() / 1000.0, 'kW', '.1f')}"
            )
