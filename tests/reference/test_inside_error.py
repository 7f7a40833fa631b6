"""The printed part `inside` of a run's error, against finite volumes in time.

The engine lets the heat capacity inside a bore meet the resistance of the undisturbed fluid, and
lets what the hour's own resistance differs by act at once. Reference: the layers of fluid, film,
pipe wall, exchange, grout and ground as radial finite volumes, by implicit Euler in steps of a
minute, whose film and exchange are those of the fluid at each moment. The same volumes with the
engine's simplification tell what it costs; nothing of it comes from the engine's transforms.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import solve_banded

import loopdrift as ld
from book import between

GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0)
COP = 3.5
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
DEPTH, DIAMETER, GROUT, GROUT_CAPACITY, PIPE_CAPACITY = 100.0, 0.14, 1.6, 3.4e6, 2.0e6
HOURS, STEPS = 240, 60
LEGS = 2


def design(fluid: ld.Fluid, flow: float, amount: float) -> ld.Design:
    bore = ld.Bore(
        depth=DEPTH,
        buried_depth=2.0,
        diameter=DIAMETER,
        grout_conductivity=GROUT,
        grout_heat_capacity=GROUT_CAPACITY,
        pipes=ld.UTube(pipe=PIPE, shank_spacing=0.07),
    )
    hours = np.arange(8760)
    heating = amount * (hours % 24 < 6) * (hours < HOURS)
    return ld.Design(
        ground=GROUND,
        ground_side=ld.BoreField(bore, positions=[[0.0, 0.0]]),
        fluid=fluid,
        flow=flow,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[COP]),
        loads=ld.Loads(heating=heating),
    )


@dataclass
class Inside:
    """Film of all legs, and local and effective resistance [m K/W], over the temperature."""

    case: ld.Design

    def __post_init__(self) -> None:
        self.at = np.arange(-14.0, 14.0, 0.1)
        bore = self.case.ground_side.bores[0]
        found = [
            bore.resistance_at(ground=GROUND, fluid=self.case.fluid, flow=self.case.flow, temperature=t)
            for t in self.at
        ]
        inner = PIPE.outer_diameter - 2.0 * PIPE.wall_thickness
        self.film = np.array([1.0 / (np.pi * inner * one.film_coefficient) / LEGS for one in found])
        self.local = np.array([one.local for one in found])
        self.effective = np.array([one.effective for one in found])

    def __call__(self, temperature: float) -> tuple[float, float, float]:
        return tuple(
            float(np.interp(temperature, self.at, one)) for one in (self.film, self.local, self.effective)
        )


def shells(inside: float, outside: float, number: int, conductivity: float, capacity: float):
    """Return half of the resistance [m K/W] and the heat capacity [J/(m K)] of each of some shells."""
    edges = np.geomspace(inside, outside, number + 1)
    return np.log(edges[1:] / edges[:-1]) / (2.0 * np.pi * conductivity) / 2.0, np.pi * np.diff(
        edges**2
    ) * capacity


def in_time(case: ld.Design, inside: Inside, moving: bool) -> NDArray[np.float64]:
    """Return the fluid at the end of each hour [degC], with film and exchange of the moment or of rest."""
    properties = case.fluid.properties([GROUND.temperature]).iloc[0]
    inner = PIPE.outer_diameter - 2.0 * PIPE.wall_thickness
    fluid = (
        LEGS
        * np.pi
        / 4.0
        * inner**2
        * properties["density_kg_per_m3"]
        * properties["heat_capacity_J_per_kgK"]
    )
    conductivity = PIPE.conductivity
    wall = shells(inner / 2.0, PIPE.outer_diameter / 2.0, 4, LEGS * conductivity, LEGS * PIPE_CAPACITY)
    undisturbed = GROUND.temperature
    film, local, effective = inside(undisturbed)
    pipe_wall = np.log(PIPE.outer_diameter / inner) / (2.0 * np.pi * LEGS * conductivity)
    grout_resistance = local - film - pipe_wall
    equivalent = np.sqrt(LEGS) * PIPE.outer_diameter / 2.0
    grout_k = np.log(DIAMETER / 2.0 / equivalent) / (2.0 * np.pi * grout_resistance)
    grout = shells(equivalent, DIAMETER / 2.0, 12, grout_k, GROUT_CAPACITY)
    soil = shells(DIAMETER / 2.0, 6.0, 60, GROUND.conductivity, GROUND.volumetric_heat_capacity)
    halves = np.concatenate([wall[0], grout[0], soil[0]])
    capacities = np.concatenate([[fluid], wall[1], grout[1], soil[1]])
    between = np.concatenate([[halves[0]], halves[:-1] + halves[1:]])
    exchange_at = len(wall[0])
    heat = case.loads.heating[:HOURS] * (1.0 - 1.0 / COP) / DEPTH
    state, step, found = np.full(len(capacities), undisturbed), 3600.0 / STEPS, []
    for extracted in heat:
        for _ in range(STEPS):
            film, local, effective = inside(state[0] if moving else undisturbed)
            resistances = between.copy()
            resistances[0] += film
            # The grout's own part of the local resistance is that at rest; what else differs is exchange.
            resistances[exchange_at] += effective - film - pipe_wall - grout_resistance
            flows = 1.0 / resistances
            banded = np.zeros((3, len(state)))
            banded[1] = capacities / step
            banded[1, :-1] += flows
            banded[1, 1:] += flows
            banded[0, 1:], banded[2, :-1] = -flows, -flows
            right = capacities / step * state
            right[0] -= extracted
            state = solve_banded((1, 1), banded, right)
        found.append(state[0])
    return np.array(found)


def simplified(case: ld.Design, inside: Inside) -> NDArray[np.float64]:
    """Return the same at rest, with what the hour's resistance differs by added at once."""
    at_rest = inside(GROUND.temperature)[2]
    found = []
    for base, heat in zip(in_time(case, inside, moving=False), case.loads.heating, strict=False):
        heat = heat * (1.0 - 1.0 / COP) / DEPTH
        candidates = inside.at - (base - (inside.effective - at_rest) * heat)
        # The coldest solution: the first change of sign from below.
        first = int(np.argmax(candidates > 0.0))
        share = candidates[first - 1] / (candidates[first - 1] - candidates[first])
        found.append(inside.at[first - 1] + share * (inside.at[first] - inside.at[first - 1]))
    return np.array(found)


# Left out are fluids of which two films solve an hour (ethanol 25 %, 0.24 kg/s): there the colder one
# counts, by the engine's rule, while a fluid that was warm before stays turbulent for a while, up to
# 2.8 K warmer here. That is a rule on the safe side, which `inside` doesn't cover.
CASES = {
    "propylene glycol, through transition": (ld.Fluid("propylene glycol", mass_fraction=0.30), 0.25, 5200.0),
    "propylene glycol near Re 4000": (ld.Fluid("propylene glycol", mass_fraction=0.20), 0.40, 6000.0),
}


@pytest.mark.parametrize("name", CASES)
def test_inside(name: str) -> None:
    case = design(*CASES[name])
    inside = Inside(case)
    lost = np.abs(in_time(case, inside, moving=True) - simplified(case, inside)).max()
    printed = case.run(1).error.inside
    between(printed, lost, 20.0 * lost, unit="K")
