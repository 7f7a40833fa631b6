"""Invented towns, for trying out: streets, plots, houses, and the years in which they join."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.design import Design
from loopdrift.parts.bore import Bore
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Loads
from loopdrift.parts.plant.heat_pump import HeatPump
from loopdrift.parts.weather.weather import Weather

_FRONT, _BACK, _STREET = 20.0, 30.0, 12.0
"""Width and depth of a plot, and width of a street [m]."""
_PLOTS_IN_A_ROW = 10
"""Plots between two cross streets."""
_SHIFT = 3.0
"""Greatest shift of a plant's bores from the middle of its garden, each way [m]."""
_SPACING = 6.0
"""Of the bores of one plant [m]."""
_FLOW_PER_BORE = 0.30
"""[kg/s]"""
_DEPTH_STEP = 5.0
"""Depths are multiples of it [m]."""
_HEAT_PER_METRE = 110.0
"""Heat delivered in a year per metre of bore [kWh/m]; common practice for a single house, no source."""
_LAST_START = 25
"""Last year in which plants join."""
_SHARE = 0.4
"""Share of the plots with a plant."""


class _House(NamedTuple):
    """A kind of house."""

    bores: int
    heating: float
    """Delivered in a mean house in a year [kWh]."""
    cooling: float
    share: float
    """Of all houses [-]."""


_HOUSES = (
    _House(1, 9_000.0, 0.0, 0.35),
    _House(2, 20_000.0, 0.0, 0.28),
    _House(2, 16_000.0, 5_000.0, 0.12),
    _House(3, 30_000.0, 0.0, 0.10),
    _House(4, 44_000.0, 0.0, 0.10),
    _House(4, 34_000.0, 16_000.0, 0.05),
)


def invented(count: int, seed: int) -> dict[str, Plant]:
    """Return the plants of an invented town by the names of their plots.

    Parameters
    ----------
    count : int
        Number of plants.
    seed : int
        Seed of the random numbers.
    """
    random = np.random.default_rng(seed)
    templates = [_template(house) for house in _HOUSES]
    kinds = random.choice(len(_HOUSES), size=count, p=[house.share for house in _HOUSES])
    sizes = np.round(random.lognormal(0.0, 0.18, size=count), 2)
    shifts = random.uniform(-_SHIFT, _SHIFT, size=(count, 2)).round(1)
    starts = np.minimum(1 + np.floor(random.beta(1.5, 2.0, size=count) * _LAST_START), _LAST_START)
    plants = {}
    plots = _plots(round(count / _SHARE))
    taken = np.sort(random.choice(len(plots), size=count, replace=False))
    for place, plot in enumerate(taken.tolist()):
        name, at = plots[plot]
        house, size = _HOUSES[kinds[place]], float(sizes[place])
        heat = size * house.heating / house.bores
        depth = max(_DEPTH_STEP * round(heat / _HEAT_PER_METRE / _DEPTH_STEP), 40.0)
        plants[name] = Plant(
            design=templates[kinds[place]],
            at=(float(at[0] + shifts[place, 0]), float(at[1] + shifts[place, 1])),
            depth=depth,
            loads_scale=size,
            start_year=int(starts[place]),
        )
    return plants


def _plots(count: int) -> list[tuple[str, tuple[float, float]]]:
    """Return name and middle of plots along streets, two rows back to back between each two streets."""
    rows = max(2, 2 * round(np.sqrt(count * _FRONT / (2.0 * _BACK + _STREET) / 2.0)))
    across = -(-count // rows)
    found: list[tuple[str, tuple[float, float]]] = []
    for row in range(rows):
        street, side = row // 2 + 1, row % 2
        north = (row // 2) * (2.0 * _BACK + _STREET) + side * _BACK
        for column in range(across):
            if len(found) == count:
                return found
            east = column * _FRONT + (column // _PLOTS_IN_A_ROW) * _STREET
            found.append((f"{street} {'SN'[side]} {column + 1}", (east, north)))
    return found


def _template(house: _House) -> Design:
    """Return the plant of a mean house of a kind: no unit or building that exists."""
    weather = Weather.sample("mild maritime")
    cooling = {"cooling_total": house.cooling, "cooling_base": 16.0} if house.cooling else {}
    bore = Bore(depth=100.0, buried_depth=2.0, diameter=0.14, resistance=0.11)
    positions = {
        1: [[0, 0]],
        2: [[-3, 0], [3, 0]],
        3: [[-6, 0], [0, 0], [6, 0]],
        4: [[-3, -3], [3, -3], [-3, 3], [3, 3]],
    }
    return Design(
        ground=Ground(conductivity=2.2, volumetric_heat_capacity=2.3e6, temperature=10.8),
        ground_side=BoreField(bore, positions=positions[house.bores]),
        fluid=Fluid("propylene glycol", mass_fraction=0.25),
        flow=_FLOW_PER_BORE * house.bores,
        heat_pump=HeatPump.from_curves(heating_cop=[3.9, 0.09], cooling_cop=[8.0, -0.10]),
        loads=Loads.from_total(weather, heating_total=house.heating, **cooling),
        limits=Limits(entering_fluid_min=-1.5),
        pump_power=45.0 * house.bores,
    )
