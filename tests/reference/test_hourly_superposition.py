"""The hourly run against plain superposition of the same response, at a cost with the square of the hours.

Reference: superposition of step changes in time (Carslaw & Jaeger 1959, Duhamel's theorem; from memory),
written out here with the equations of the bore, the fluid and the heat pump and solved with scipy's root
finder. It shares nothing with the engine but the step response itself, which has references of its own.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

import loopdrift as ld
from book import compare
from loopdrift.verification.references.hours import Mode, Plant, superposed

HOUR = 3600.0
YEARS = 3
RESISTANCE = 0.12
HEAT_CAPACITY = 3800.0
FLOW = 1.4
PLANT = Plant(
    heating=Mode(cop=[3.5, 0.09, -0.0005], capacity=[17_000.0, 420.0, 1.5]),
    cooling=Mode(cop=[7.5, -0.11, 0.0004], capacity=[19_000.0, -130.0]),
    cycling_loss=0.15,
    pump_power=150.0,
)


def invented_loads() -> ld.Loads:
    """A year with hours of heating, of cooling, of both, of neither, and beyond the heat pump's capacity."""
    hours = np.arange(8760)
    season, day = np.cos(2 * np.pi * hours / 8760), np.cos(2 * np.pi * (hours - 5) / 24)
    noise = np.random.default_rng(20).normal(size=8760)
    heating = np.clip(13_000 * season + 4_000 * day + 2_500 * noise - 1_000, 0.0, None)
    cooling = np.clip(-9_000 * season - 4_000 * day + 2_500 * noise - 3_000, 0.0, None)
    return ld.Loads(heating=heating, cooling=cooling, hot_water="250 W")


@pytest.fixture(scope="module")
def design() -> ld.Design:
    bore = ld.Bore(depth=85.0, buried_depth=2.0, diameter=0.15, resistance=RESISTANCE)
    return ld.Design(
        ground=ld.Ground(conductivity=1.9, volumetric_heat_capacity=2.2e6, temperature=10.0, gradient=0.02),
        ground_side=ld.BoreField.grid(bore, columns=3, rows=1, spacing=5.0),
        fluid=ld.Fluid.constant(
            density=1030.0,
            heat_capacity=HEAT_CAPACITY,
            conductivity=0.45,
            viscosity=0.004,
            freezing_point=-30.0,
        ),
        flow=FLOW,
        pump_power=PLANT.pump_power,
        heat_pump=ld.HeatPump.from_curves(
            heating_cop=PLANT.heating.cop,
            heating_capacity=PLANT.heating.capacity,
            cooling_cop=PLANT.cooling.cop,
            cooling_capacity=PLANT.cooling.capacity,
            degradation_coefficient=PLANT.cycling_loss,
        ),
        loads=invented_loads(),
    )


def hourly_response(design: ld.Design, years: int) -> np.ndarray:
    """Return the wall's drop for one watt of the field after each hour [K/W].

    A spline through 200 points an e-fold smooths the last digits of the Laplace inversion, which would add up
    over the years.
    """
    ground, field = design.ground, design.ground_side
    hours = np.geomspace(1.0, years * 8760, int(200 * np.log(years * 8760)))
    spline = CubicSpline(np.log(hours), field.g_function(ground, HOUR * hours))
    return spline(np.log(np.arange(1, years * 8760 + 1))) / (
        2.0 * np.pi * ground.conductivity * field.total_depth
    )


def test_three_coupled_years_agree_with_plain_superposition(design: ld.Design) -> None:
    hourly = design.run(YEARS).hourly
    loads, ground = design.loads, design.ground
    reference = superposed(
        PLANT,
        loads.heating + loads.hot_water,
        loads.cooling,
        response=hourly_response(design, YEARS),
        to_wall=RESISTANCE / design.ground_side.total_depth - 0.5 / (FLOW * HEAT_CAPACITY),
        undisturbed=ground.temperature + ground.gradient * (2.0 + 85.0 / 2.0),
    )
    assert (hourly["backup_W"] > 0.0).sum() > 100, "the case must have hours beyond the heat pump's capacity"
    assert ((design.loads.heating > 0) & (design.loads.cooling > 0)).sum() > 100
    for column in ("entering_fluid_degC", "wall_degC"):
        compare(hourly[column], reference[column], rtol=0.0, atol=1e-5, unit="SI units", what="hourly series")
    plant = hourly["electricity_W"] - hourly["backup_W"]
    compare(plant, reference["electricity_W"], rtol=1e-6, atol=1e-6, unit="W", what="electricity")


@pytest.mark.parametrize("years", [1, 20, 100])
def test_the_run_reports_its_error_against_exact_superposition(design: ld.Design, years: int) -> None:
    run = design.run(years)
    count = years * 8760
    response = hourly_response(design, years)
    heat = run.hourly["heat_extracted_W"].to_numpy()
    length = 2 * count
    drop = np.fft.irfft(
        np.fft.rfft(heat, length) * np.fft.rfft(np.diff(response, prepend=0.0), length), length
    )[:count]
    undisturbed = design.ground.temperature + design.ground.gradient * (2.0 + 85.0 / 2.0)
    error = np.abs(undisturbed - drop - run.hourly["wall_degC"]).max()
    compare(error, 0.0, atol=1e-5, unit="K", what="error")
    # The run's own figure rests on another tabulation; the last digits of the Laplace inversion, 1e-7 of g,
    # add up over the years and set the two apart: by up to 4.7e-6 K in 100 years.
    compare(run.error.exponentials, error, atol=6e-6, unit="K", what="error of the exponentials")
    compare(run.error.tabulation, 0.0, atol=5e-6, unit="K", what="error of the table")


def stepped(design: ld.Design, hours: int) -> ld.SimulatedHour:
    """Return the first hours of the design's own loads, stepped from outside."""
    simulation = design.simulation(1)
    return ld.SimulatedHour(*np.transpose([simulation.step(**simulation.demand) for _ in range(hours)]))


def test_a_year_step_by_step_agrees_with_plain_superposition(design: ld.Design) -> None:
    """Hours stepped from outside, with the response of the field."""
    found, loads, ground = stepped(design, 8760), design.loads, design.ground
    reference = superposed(
        PLANT,
        loads.heating + loads.hot_water,
        loads.cooling,
        response=hourly_response(design, 1),
        to_wall=RESISTANCE / design.ground_side.total_depth - 0.5 / (FLOW * HEAT_CAPACITY),
        undisturbed=ground.temperature + ground.gradient * (2.0 + 85.0 / 2.0),
    )
    entering, electricity = reference["entering_fluid_degC"], reference["electricity_W"]
    compare(found.entering_fluid, entering, rtol=0.0, atol=1e-5, unit="degC", what="fluid")
    compare(found.electricity - found.backup, electricity, rtol=1e-5, atol=1e-5, unit="W", what="electricity")


def test_each_step_is_solved_to_rounding(design: ld.Design) -> None:
    """Hours stepped from outside, with the response that the steps have themselves.

    It is read off the entering fluid after one hour of recharge. The exponentials make it depend, in its
    last digits, on the hour's place among eight.
    """
    hours, pulse = 2000, 1e5
    rises = np.zeros((8, hours))
    for place in range(8):
        simulation = design.simulation(1)
        for _ in range(place):
            simulation.step()
        undisturbed = simulation.outlook().entering_fluid
        heated = [simulation.step(recharge=pulse), *(simulation.step() for _ in range(hours - 1))]
        rises[place] = (np.array([hour.entering_fluid for hour in heated]) - undisturbed) / pulse
    found, loads = stepped(design, hours), design.loads
    heat, entering = np.zeros(hours), np.zeros(hours)
    for n in range(hours):
        before = np.arange(n)
        known = undisturbed - rises[before % 8, n - before] @ heat[:n]

        def surplus(temperature: float, n: int = n, known: float = known) -> float:
            extracted = PLANT.heat(temperature, loads.heating[n] + loads.hot_water[n], loads.cooling[n])[0]
            return float(known - rises[n % 8, 0] * extracted - temperature)

        entering[n] = brentq(surplus, -20.0, 40.0, xtol=1e-13, rtol=1e-15)
        heat[n] = PLANT.heat(entering[n], loads.heating[n] + loads.hot_water[n], loads.cooling[n])[0]
    compare(found.entering_fluid, entering, rtol=0.0, atol=1e-9, unit="degC", what="fluid")
    compare(found.heat_extracted, heat, rtol=0.0, atol=1e-6, unit="W", what="heat extracted")
