"""Runs of built bores against superposition with the resistance of each hour's own fluid.

Reference: superposition of step changes in time (Carslaw & Jaeger 1959, Duhamel's theorem; from memory),
hour by hour, with the resistance that ``bore.resistance_at`` gives at the hour's own mean fluid temperature.
It shares nothing with the stepper: no exponentials, no blocks of hours, no table of resistances, no tangents.
Where a laminar and a turbulent film both solve an hour, the colder fluid counts, as the engine states.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

import loopdrift as ld
from book import at_most, compare

HOUR = 3600.0
COP = 3.5
GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0)


def built_bore(depth: float = 100.0) -> ld.Bore:
    """Return a single U-tube in grout, whose heat capacity is left out: it acts beside the resistance."""
    pipes = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
    return ld.Bore(
        depth=depth,
        buried_depth=2.0,
        diameter=0.14,
        grout_conductivity=1.6,
        pipes=pipes,
        heat_capacity_inside=False,
    )


def on_and_off(amount: float, delay: int, months: int = 8) -> NDArray[np.float64]:
    """Heat in 6 hours of each day through a winter [W], begun some hours later, growing toward its middle."""
    hours = np.arange(8760)
    season = np.clip(np.cos(2.0 * np.pi * (hours - 500) / 8760), 0.0, None)
    return amount * season * ((hours - delay) % 24 < 6) * (hours < months * 730)


def design(fluid: ld.Fluid, flow: float, heating: NDArray[np.float64], field: ld.BoreField) -> ld.Design:
    """Return a design whose heat pump has one COP, so that its heat is known beforehand."""
    return ld.Design(
        ground=GROUND,
        ground_side=field,
        fluid=fluid,
        flow=flow,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[COP]),
        loads=ld.Loads(heating=heating),
    )


@dataclass
class Exact:
    """The loop's resistance and heat capacity at any temperature, from the bore and the fluid themselves."""

    design: ld.Design

    def __post_init__(self) -> None:
        self.temperatures = np.linspace(*self.design.fluid.temperature_range, 4001)
        properties = self.design.fluid.properties(self.temperatures)
        self.heat_capacities = properties["heat_capacity_J_per_kgK"].to_numpy()
        least, most = self.design.fluid.temperature_range
        self.end_of_laminar = -np.inf
        if self.bore_at(least).reynolds < 2300.0:
            self.end_of_laminar = brentq(lambda at: self.bore_at(at).reynolds - 2300.0, least, most)

    def bore_at(self, temperature: float) -> ld.BoreResistance:
        """Return the resistances of a bore with its share of the flow."""
        field = self.design.ground_side
        return field.bores[0].resistance_at(
            ground=GROUND,
            fluid=self.design.fluid,
            flow=self.design.flow / field.count,
            temperature=temperature,
        )

    def at(self, temperature: float) -> tuple[float, float]:
        """Return the resistance of the field and kelvins per watt of its flow [K/W]."""
        field, flow = self.design.ground_side, self.design.flow
        temperature = float(np.clip(temperature, *self.design.fluid.temperature_range))
        heat_capacity = float(np.interp(temperature, self.temperatures, self.heat_capacities))
        return self.bore_at(temperature).effective / field.total_depth, 1.0 / (flow * heat_capacity)


def drops(design: ld.Design, hours: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the heat [W] of the first hours of a run, and the wall's drop [K]."""
    field = design.ground_side
    times = np.geomspace(1.0, hours, int(200 * np.log(hours)))
    spline = CubicSpline(np.log(times), field.g_function(GROUND, HOUR * times))
    response = spline(np.log(np.arange(1, hours + 1))) / (
        2.0 * np.pi * GROUND.conductivity * field.total_depth
    )
    heat = design.loads.heating[:hours] * (1.0 - 1.0 / COP)
    return heat, np.convolve(heat, np.diff(response, prepend=0.0))[:hours]


def superposed(design: ld.Design, hours: int) -> NDArray[np.float64]:
    """Return the entering fluid temperature of each of the first hours of a run [degC]."""
    field, exact = design.ground_side, Exact(design)
    heat, drop = drops(design, hours)
    entering = GROUND.temperature - drop
    for n in np.nonzero(heat)[0]:

        def excess(mean: float, n: int = n) -> float:
            return mean - (GROUND.temperature - drop[n]) + exact.at(mean)[0] * heat[n]

        # Upward from where the mean fluid can't be: the first change of sign is the coldest solution.
        # Two solutions nearer to each other than a step have the end of the laminar film between them.
        least = GROUND.temperature - drop[n] - 0.6 / field.total_depth * heat[n]
        most = exact.end_of_laminar
        if most < least or excess(most) < 0.0:
            while excess(least + 0.25) < 0.0:
                least += 0.25
            most = least + 0.25
        mean = brentq(excess, least, most, xtol=1e-10)
        entering[n] = mean + 0.5 * exact.at(mean)[1] * heat[n]
    return entering


CASES = {
    "ethanol, laminar when cold": (ld.Fluid("ethanol", mass_fraction=0.25), 0.24, 5200.0),
    "propylene glycol near Re 2300": (ld.Fluid("propylene glycol", mass_fraction=0.30), 0.40, 5200.0),
    "propylene glycol near Re 4000": (ld.Fluid("propylene glycol", mass_fraction=0.20), 0.40, 6000.0),
}


@pytest.mark.parametrize("name", CASES)
def test_an_hour_has_the_resistance_of_its_own_fluid(name: str) -> None:
    fluid, flow, amount = CASES[name]
    hours = 360
    case = design(fluid, flow, on_and_off(amount, 0), ld.BoreField(built_bore(), positions=[[0.0, 0.0]]))
    run = case.run(1)
    difference = np.abs(run.hourly["entering_fluid_degC"].to_numpy()[:hours] - superposed(case, hours)).max()
    compare(difference, 0.0, atol=0.005, unit="K")
    at_most(difference, run.error.largest, unit="K", what="within the printed error")


def test_the_hour_in_which_loads_begin_hardly_counts() -> None:
    fluid, flow, amount = CASES["ethanol, laminar when cold"]
    field = ld.BoreField(built_bore(), positions=[[0.0, 0.0]])
    coldest = [
        design(fluid, flow, on_and_off(amount, delay), field).run(1).yearly["entering_fluid_min_degC"].iloc[0]
        for delay in range(8)
    ]
    at_most(np.ptp(coldest), 0.1, unit="K")


@pytest.mark.parametrize("hour", [0, 2, 5])
def test_the_printed_error_covers_an_hour_that_either_film_may_solve(hour: int) -> None:
    """With a certain heat a laminar film begins to solve the hour too: near it, either may be found."""
    fluid, flow, _ = CASES["ethanol, laminar when cold"]
    field = ld.BoreField(built_bore(), positions=[[0.0, 0.0]])
    hours = 8

    def case(amount: float) -> ld.Design:
        return design(fluid, flow, np.where(np.arange(8760) < 6, amount, 0.0), field)

    exact = Exact(case(1.0))
    at_end = exact.at(exact.end_of_laminar)[0]

    def excess(amount: float) -> float:
        heat, drop = drops(case(amount), hours)
        return exact.end_of_laminar - GROUND.temperature + drop[hour] + at_end * heat[hour]

    tie = brentq(excess, 3000.0, 5000.0, xtol=1e-9)
    printed = []
    for beside in [-10.0, -1e-2, -1e-6, 1e-6, 1e-2, 10.0]:
        run = case(tie + beside).run(1)
        entering = run.hourly["entering_fluid_degC"].to_numpy()[:hours]
        difference = np.abs(entering - superposed(case(tie + beside), hours)).max()
        at_most(difference, run.error.largest, unit="K")
        printed.append(run.error.largest)
    # Where it is clear which film counts, the error is small; where it isn't, the other film is part of it.
    assert max(printed[0], printed[-1]) < 1e-3 < 1.0 < min(printed[2:4])
