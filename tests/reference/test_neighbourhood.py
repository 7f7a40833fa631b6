"""Neighbouring plants against dense solutions and hour-by-hour superposition.

Every segment of every bore is an unknown, with one wall temperature for each plant (kernel between
segments of Claesson & Javed 2011, equations 9 to 11, in the Laplace domain); a plant at rest exchanges no
net heat. Hours are superposed from the responses of all five plants to each other (Duhamel's theorem).
Steadily flowing water has the closed form of Carslaw & Jaeger 1959, section 10.7 (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial.polynomial import polyval
from scipy.interpolate import CubicSpline
from scipy.signal import fftconvolve
from scipy.special import k0

import loopdrift as ld
from book import at_most, compare
from loopdrift.analysis.neighbourhood.influence import Influence
from loopdrift.analysis.neighbourhood.ladder import Ladder
from loopdrift.analysis.neighbourhood.places import Bores
from loopdrift.verification.references import field

YEAR = 8760
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=11.0)
DIFFUSIVITY, SCALE = 1e-6, 1 / (2 * np.pi * 2.0)
TOP, RADIUS, RESISTANCE = 2.0, 0.07, 0.1
FLUID = {
    "density": 1000.0,
    "heat_capacity": 4000.0,
    "conductivity": 0.5,
    "viscosity": 1e-3,
    "freezing_point": -15.0,
}
SQUARE = np.array([[0.0, 0.0], [6.0, 0.0], [0.0, 6.0], [6.0, 6.0]])
ROW = np.array([[0.0, 0.0], [6.0, 0.0], [12.0, 0.0], [18.0, 0.0]])
ONE = np.array([[0.0, 0.0]])


def moved(positions, east, north):
    return positions + np.array([east, north])


def plant(positions, depth, *, at=(0.0, 0.0), cop=(4.0, 0.06), heating=0.0, cooling=0.0, ground=GROUND):
    season = np.cos(2 * np.pi * np.arange(YEAR) / YEAR)
    day = 1.0 + 0.3 * np.cos(2 * np.pi * np.arange(YEAR) / 24)
    bore = ld.Bore(depth=depth, buried_depth=TOP, diameter=2 * RADIUS, resistance=RESISTANCE)
    return ld.Plant(
        design=ld.Design(
            ground=ground,
            ground_side=ld.BoreField(bore, positions=positions),
            fluid=ld.Fluid.constant(**FLUID),
            flow=0.4 * len(positions),
            heat_pump=ld.HeatPump.from_curves(heating_cop=list(cop), cooling_cop=[6.0, -0.05]),
            loads=ld.Loads(
                heating=heating * np.clip(season, 0.0, None) * day,
                cooling=cooling * np.clip(-season, 0.0, None),
            ),
        ),
        at=at,
    )


class Dense:
    """Wall temperatures of plants while one of them extracts heat, the others none, at real p."""

    def __init__(self, layouts, depths, count=12, step=0.25):
        self.owner = np.repeat(np.arange(len(layouts)), [len(each) for each in layouts])
        positions = np.concatenate(layouts)
        sources = np.array([[depths[each], TOP, RADIUS] for each in self.owner])
        ends = np.array(field.edges(sources, count=count))
        square = ((positions[:, None] - positions) ** 2).sum(-1)
        np.fill_diagonal(square, RADIUS**2)
        self.nodes = np.exp(np.arange(np.log(2e-4), np.log(6.2 / RADIUS), step))
        flat, number = ends.ravel(), ends.shape[1]
        self.matrices = np.array(
            [
                (
                    np.exp(-square * s**2)[:, None, :, None]
                    * field.second_differences(s, flat, flat, number)
                    * (step / (2 * s))
                ).reshape(len(flat) - len(ends), -1)
                for s in self.nodes
            ]
        )
        lengths = np.diff(ends).ravel()
        of_plant = np.repeat(self.owner, number - 1) == np.arange(len(layouts))[:, None]
        self.lengths = np.where(of_plant, lengths, 0.0)

    def drops(self, p):
        """Matrix of p x Laplace{drop} at each p: rows feel, columns extract 1 W [K/W]."""
        found = []
        for each in p:
            sums = np.tensordot(np.exp(-each / (4 * DIFFUSIVITY * self.nodes**2)), self.matrices, 1)
            heat = self.lengths @ np.linalg.solve(sums, self.lengths.T)
            found.append(SCALE * np.linalg.inv(heat))
        return np.array(found)

    def responses(self, times):
        """Step responses, shape (plants, plants, times)."""
        count = len(self.lengths)
        flat = field.invert(lambda p: self.drops(p).reshape(len(p), -1), times)
        return flat.T.reshape(count, count, len(times))


def influence(plants, times, ground=GROUND):
    names = {str(number): each for number, each in enumerate(plants)}
    return Influence(ground, Bores.of(names), times).of_pairs(np.array([0]), np.array([1]))[0]


@pytest.mark.parametrize(
    ("one", "other", "depths"),
    [
        (ONE, moved(ONE, 5.0, 0.0), (100.0, 100.0)),
        (ONE, moved(ONE, 8.0, 0.0), (100.0, 60.0)),
        (SQUARE, moved(ONE, 11.0, 3.0), (100.0, 80.0)),
        (SQUARE, moved(SQUARE, 11.0, 0.0), (100.0, 150.0)),
        (ROW, moved(ROW, 0.0, 8.0), (100.0, 60.0)),
        (ROW[:3], moved(SQUARE, 30.0, 0.0), (120.0, 100.0)),
    ],
)
def test_pairs_of_plants_from_one_year_on(one, other, depths):
    """The share of the influence is within 1 % of the dense solution of both plants, for gaps from 5 m."""
    times = np.geomspace(0.02, 50.0, 80) * YEAR * 3600
    dense = Dense([one, other], depths).responses(times)[1, 0]
    found = influence([plant(one, depths[0]), plant(other, depths[1])], times)
    counts = times >= YEAR * 3600
    compare(found[counts], dense[counts], rtol=0.01, unit="K/W", what="drop for one watt")


def test_plants_between_two_others_take_part_of_the_influence():
    """Walls of one temperature lead heat past: the sum of pairs is at most 12 % above five plants."""
    layouts = [
        SQUARE,
        moved(ONE, 14.0, 0.0),
        moved(ROW[:3], 0.0, 14.0),
        moved(SQUARE[:2], -14.0, 6.0),
        moved(ROW, 0.0, -8.0),
    ]
    depths = (100.0, 80.0, 120.0, 100.0, 60.0)
    times = np.geomspace(0.02, 50.0, 60) * YEAR * 3600
    together = Dense(layouts, depths).responses(times)
    heat = np.array([len(each) * depth for each, depth in zip(layouts, depths, strict=True)])
    names = {str(n): plant(each, depths[n]) for n, each in enumerate(layouts)}
    pairs = Influence(GROUND, Bores.of(names), times)
    for receiver in range(5):
        sources = np.array([source for source in range(5) if source != receiver])
        own = Dense([layouts[receiver]], [depths[receiver]]).responses(times)[0, 0]
        felt = np.tensordot(heat, together[receiver], 1) - heat[receiver] * own
        found = heat[sources] @ pairs.of_pairs(sources, np.full(4, receiver))
        counts = times >= YEAR * 3600
        at_most((found / felt - 1.0)[counts].clip(0.0), 0.12, what="share by which the sum is larger")


def test_exponentials_give_the_responses():
    """Sums of the ladder's exponentials give the response of two plants at each of its times."""
    ladder = Ladder(50)
    for gap in (2.0, 5.0, 20.0, 150.0):
        response = influence([plant(ONE, 100.0), plant(SQUARE, 80.0, at=(gap, 0.0))], ladder.times)
        states = 1 - np.exp(-ladder.times[:, None] / ladder._constants)
        found = states @ ladder.coefficients(response[None])[0]
        compare(found, response, rtol=0.0, atol=2e-4 * response.max(), unit="K/W")


def test_heat_that_water_carries_to_a_plant_downstream():
    """Long bores along fast water reach the closed form of an infinite line in steadily moving ground."""
    ground = GROUND.replace(darcy_flux=1e-6, flow_direction=90.0)
    plants = [plant(ONE, 300.0, ground=ground), plant(ONE, 300.0, at=(6.0, 0.0), ground=ground)]
    times = np.geomspace(0.1, 20.0, 40) * YEAR * 3600
    half = 0.5 * 1e-6 * 4.18e6 / 2e6 / DIFFUSIVITY
    line = SCALE / 300.0 * np.exp(half * 6.0) * k0(half * 6.0)
    compare(influence(plants, times, ground)[-1], line, rtol=0.02, unit="K/W", what="downstream")
    upstream = influence(plants[::-1], times, ground)[-1]
    compare(upstream, line * np.exp(-2 * half * 6.0), rtol=0.0, atol=0.02 * line, unit="K/W", what="upstream")


def superposed(plants, responses, years):
    """Entering fluid temperatures of plants by superposition of all hours of all plants [degC]."""
    hours, count = years * YEAR, len(plants)
    pulses = np.diff(responses, axis=2, prepend=0.0)
    heat, entering = np.zeros((count, hours)), np.zeros((count, hours))
    lengths = np.array([each.field.total_depth for each in plants])
    rates = np.array([each.design.flow * FLUID["heat_capacity"] for each in plants])
    to_wall = RESISTANCE / lengths - 0.5 / rates
    own = responses[np.arange(count), np.arange(count), 0]
    cops = np.array([each.design.heat_pump.heating.cop for each in plants]).T
    loads = np.array([[each.design.loads.heating, each.design.loads.cooling] for each in plants])
    block = 365
    for first in range(0, hours, block):
        past = np.zeros((count, block))
        for receiver in range(count):
            for source in range(count):
                felt = fftconvolve(heat[source, :first], pulses[receiver, source, : first + block])
                past[receiver, : max(len(felt) - first, 0)] += felt[first : first + block]
        for n in range(first, first + block):
            recent = heat[:, first:n][:, ::-1]
            drop = past[:, n - first] + np.einsum("rsk,sk->r", pulses[:, :, 1 : n - first + 1], recent)
            hot, cold = loads[:, :, n % YEAR].T
            temperature = GROUND.temperature - drop
            for _ in range(12):
                extracted = hot * (1 - 1 / polyval(temperature, cops, tensor=False))
                extracted -= cold * (1 + 1 / polyval(temperature, [6.0, -0.05]))
                temperature = GROUND.temperature - drop - (own + to_wall) * extracted
            heat[:, n], entering[:, n] = extracted, temperature
    return entering


def test_five_plants_against_superposition_of_all_hours():
    """The entering fluid of five coupled plants with units of their own over three years is within 0.01 K."""
    years = 3
    layouts = [
        ONE,
        moved(SQUARE[:2], 7.0, 0.0),
        moved(ONE, 0.0, 7.0),
        moved(SQUARE[:2], -13.0, 0.0),
        moved(ONE, 3.0, -7.0),
    ]
    depths = (100.0, 90.0, 120.0, 100.0, 80.0)
    heating = (4500.0, 9000.0, 5500.0, 8000.0, 4000.0)
    cops = ((4.0, 0.06), (3.4, 0.09), (4.4, 0.04), (3.8, 0.10), (3.6, 0.05))
    plants = [
        plant(layout, depth, cop=cop, heating=heat, cooling=1000.0 * (number % 2))
        for number, (layout, depth, heat, cop) in enumerate(zip(layouts, depths, heating, cops, strict=True))
    ]
    times = np.geomspace(1.0, years * YEAR, 160) * 3600.0
    coarse = np.zeros((5, 5, len(times)))
    for one in range(5):
        own = Dense([layouts[one]], [depths[one]], count=24, step=0.125).responses(times)
        coarse[one, one] = own[0, 0]
        for other in range(one):
            pair = Dense([layouts[one], layouts[other]], [depths[one], depths[other]], count=10).responses(
                times
            )
            coarse[one, other] = coarse[other, one] = pair[0, 1]
    spline = CubicSpline(np.log(times), coarse, axis=2)
    responses = spline(np.log(3600.0 * np.arange(1, years * YEAR + 1)))
    hours = superposed(plants, responses, years).reshape(5, years, YEAR)
    town = ld.Neighbourhood({str(number): each for number, each in enumerate(plants)})
    table = town.run(years, tolerance=1e-5).table
    assert float(table["drop_by_neighbours_K"].max()) > 0.5
    for name, of in {"min": np.min, "mean": np.mean, "max": np.max}.items():
        found = table[f"entering_fluid_{name}_degC"].to_numpy()
        compare(found, of(hours, axis=2), rtol=0.0, atol=0.01, unit="K", what=f"{name} of the year")
