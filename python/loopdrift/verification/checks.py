"""The checks of `loopdrift verify`: each group returns its comparisons."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from scipy.interpolate import CubicSpline

from loopdrift.analysis.cost.economics import present_value
from loopdrift.api.design import Design
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.parts.aquifer import Aquifer
from loopdrift.parts.bore import Bore, BoreResistance, Coaxial, Pipe, UTube
from loopdrift.parts.building import Building, Opaque
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.surface_wave import SurfaceWave
from loopdrift.parts.hydraulics.friction import friction_factor
from loopdrift.parts.loads import Loads
from loopdrift.parts.plant.heat_pump import HeatPump
from loopdrift.verification.check import Check
from loopdrift.verification.references import field, hours, line, pipes, published

YEAR = 8760 * 3600.0
GROUND = Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
DIFFUSIVITY = 1.0e-6
FLUID = {"density": 1000.0, "heat_capacity": 4190.0, "conductivity": 0.58, "viscosity": 1.3e-3}


def line_of_heat() -> Iterator[Check]:
    """Compare the drop along a line of heat with integrals and closed forms."""
    for distance, depth, buried_depth, years in ((0.075, 100.0, 2.0, 10), (5.0, 150.0, 4.0, 20)):
        place = {"distance": distance, "depth": depth, "buried_depth": buried_depth}
        expected = line.of_point_sources(years * YEAR, **place, diffusivity=DIFFUSIVITY)
        found = float(GROUND.line_source([years * YEAR], **place)[0])
        what = f"line of heat of {depth:g} m at {distance:g} m after {years} years"
        yield Check(what, "integral of point sources (Carslaw & Jaeger 1959)", found, expected, 1e-8)
    day = np.array([86400.0])
    found = float(GROUND.line_source(day, distance=0.075, depth=100.0, buried_depth=100.0)[0])
    (expected,) = line.of_infinite_line(day, distance=0.075, depth=100.0, diffusivity=DIFFUSIVITY)
    source = "exponential integral (Carslaw & Jaeger 1959)"
    yield Check("deep line of heat after a day", source, found, float(expected), 1e-8)
    place = {"distance": 0.05, "depth": 10.0, "buried_depth": 1.0}
    found = float(GROUND.line_source([10_000 * YEAR], **place)[0])
    yield Check("line of heat at rest", "closed form of the steady line", found, line.at_rest(**place), 1e-5)


def response_of_a_field() -> Iterator[Check]:
    """Compare g-functions with a dense solution."""
    times = np.array([10 * 86400.0, YEAR, 20 * YEAR])
    bore = Bore(depth=100.0, buried_depth=4.0, diameter=0.15, resistance=0.1)
    for side in (1, 3):
        bores = BoreField.grid(bore, columns=side, rows=side, spacing=6.0)
        found = bores.g_function(GROUND, times)
        place = 6.0 * np.array([[x, y] for y in range(side) for x in range(side)], dtype=float)
        dense = field.g_function(np.array([[100.0, 4.0, 0.075]]), place, times, diffusivity=DIFFUSIVITY)
        for after, ours, expected in zip(("10 days", "1 year", "20 years"), found, dense, strict=True):
            yield Check(
                f"response of {side} x {side} bores after {after}",
                "dense solution of Claesson & Javed's (2011) kernel",
                float(ours),
                float(expected),
                5e-4 * float(expected),
            )


def bore_and_pipes() -> Iterator[Check]:
    """Compare resistances, films and friction with their published equations."""
    fluid = Fluid.constant(**FLUID, freezing_point=-20.0)
    prandtl = FLUID["heat_capacity"] * FLUID["viscosity"] / FLUID["conductivity"]
    pipe = Pipe.sdr(11, outer_diameter=0.032, roughness=0.0)
    leg = Bore(
        depth=100.0,
        buried_depth=2.0,
        diameter=0.15,
        grout_conductivity=1.5,
        pipes=UTube(pipe=pipe, shank_spacing=0.07),
    )
    diameter = pipe.outer_diameter - 2.0 * pipe.wall_thickness
    reynolds = 2e4
    flow = reynolds * np.pi * diameter * FLUID["viscosity"] / 4.0
    film = leg.resistance_at(ground=GROUND, fluid=fluid, flow=flow, temperature=0.0).film_coefficient
    assert film is not None
    smooth = pipes.nusselt_by_gnielinski(reynolds, prandtl, pipes.colebrook(reynolds, 0.0))
    yield Check(
        "film in a pipe at Re 20,000",
        "Gnielinski (1976) with Colebrook's friction",
        film,
        smooth * FLUID["conductivity"] / diameter,
        0.02 * film,
        "W/(m2 K)",
    )
    for roughness in (0.0, 1e-3):
        found, expected = friction_factor(5e4, roughness), pipes.colebrook(5e4, roughness)
        what = f"friction factor at Re 50,000, roughness {roughness:g}"
        yield Check(what, "root of Colebrook's (1939) equation", found, expected, 1e-9)
    yield Check(
        "friction factor at Re 1000", "Hagen and Poiseuille: 64 / Re", friction_factor(1e3, 0.0), 0.064, 1e-12
    )


def coaxial_bore() -> Iterator[Check]:
    """Compare a coaxial bore in laminar flow with films and streams solved from their equations."""
    depth, flow, diameter = 150.0, 0.1, 0.15
    inner, outer = Pipe.sdr(11, outer_diameter=0.063), Pipe.sdr(17, outer_diameter=0.110)
    fluid = Fluid.constant(**FLUID, freezing_point=-20.0)

    def resistances(grout_conductivity: float) -> BoreResistance:
        bore = Bore(
            depth=depth,
            buried_depth=2.0,
            diameter=diameter,
            grout_conductivity=grout_conductivity,
            pipes=Coaxial(inner=inner, outer=outer),
        )
        return bore.resistance_at(ground=GROUND, fluid=fluid, flow=flow, temperature=0.0)

    at = resistances(1.5)
    found = resistances(1.0).local - at.local
    expected = pipes.through_rings([(outer.outer_diameter, diameter, 1.0)]) / 3.0
    yield Check("poorer grout around a coaxial bore", "cylinders in series", found, expected, 1e-9, "m K/W")

    in_pipe, gap_inside = inner.outer_diameter - 2.0 * inner.wall_thickness, inner.outer_diameter
    gap_outside = outer.outer_diameter - 2.0 * outer.wall_thickness
    ratio, gap = gap_inside / gap_outside, gap_outside - gap_inside

    def film(nusselt: float, hydraulic_diameter: float, wall: float) -> float:
        return hydraulic_diameter / (np.pi * wall * nusselt * FLUID["conductivity"])

    local = film(pipes.laminar_nusselt(ratio), gap, gap_outside) + pipes.through_rings(
        [
            (gap_outside, outer.outer_diameter, outer.conductivity),
            (outer.outer_diameter, diameter, 1.5),
        ]
    )
    between = (
        film(pipes.laminar_nusselt(0.0), in_pipe, in_pipe)
        + pipes.through_rings([(in_pipe, gap_inside, inner.conductivity)])
        + film(pipes.laminar_nusselt(ratio, on_inner=True), gap, gap_inside)
    )
    source = "laminar films as eigenvalues, and cylinders in series"
    yield Check("local resistance of a coaxial bore", source, at.local, local, 0.01 * local, "m K/W")

    def slopes(temperatures: tuple[float, float]) -> tuple[float, float]:
        down, up = temperatures
        exchange = (down - up) / between
        return -down / local - exchange, -exchange

    streams = pipes.effective_by_streams(depth, flow * FLUID["heat_capacity"], slopes)
    source = "the same, with streams down and up by scipy"
    what = "effective resistance of a coaxial bore"
    yield Check(what, source, at.effective, streams, 0.01 * streams, "m K/W")


def ground_near_the_surface() -> Iterator[Check]:
    """Compare the yearly wave with its closed form."""
    time = np.array([4000.0])
    wave = SurfaceWave(amplitude=10.0, coldest_day=0.0)
    found = float(wave.temperature(GROUND, depth=2.0, hours=time)[0])
    expected = 10.0 + 10.0 * float(published.yearly_wave(time, depth=2.0, diffusivity=DIFFUSIVITY)[0])
    source = "Carslaw & Jaeger (1959), section 2.6"
    yield Check("ground at 2 m in June", source, found, expected, 1e-6, "degC")


def wells() -> Iterator[Check]:
    """Compare the drawdown of a well with Theis and with the published table of his function."""
    aquifer = Aquifer(temperature=11.0, thickness=15.0, transmissivity=2e-3, storativity=2e-4)
    time = np.array([1e6])
    found = float(aquifer.drawdown(3.0, distance=10.0, times=time)[0])
    conditions = {"flow": 3.0 / 999.97, "distance": 10.0, "transmissivity": 2e-3, "storativity": 2e-4}
    expected = float(published.drawdown_by_theis(time, **conditions)[0])
    yield Check("drawdown of a well", "Theis (1935)", found, expected, 1e-9, "m")
    u, of_table = 0.01, published.WELL_FUNCTION[0.01]
    time = np.array([10.0**2 * 2e-4 / (4.0 * 2e-3 * u)])
    found = float(aquifer.drawdown(3.0, distance=10.0, times=time)[0]) * 4.0 * np.pi * 2e-3 / (3.0 / 999.97)
    yield Check("well function at u = 0.01", "table of Wenzel (1942)", found, of_table, 6e-5)


def fluids() -> Iterator[Check]:
    """Compare freezing points and water with published values."""
    for name, by_mass, _, freezing_point in published.FREEZING_POINTS:
        if by_mass == 0.30:
            found = Fluid(name, mass_fraction=by_mass).freezing_point
            source = "ASHRAE Handbook: Fundamentals"
            yield Check(f"freezing point, 30 % of {name}", source, found, freezing_point, 1.0, "degC")
    of_water = Fluid("water").properties([20.0]).iloc[0]
    for (name, (value, unit)), found in zip(published.WATER_AT_20_DEGREES.items(), of_water, strict=True):
        yield Check(f"{name} of water at 20 degC", "CRC Handbook", float(found), value, 2e-3 * value, unit)


def building_and_money() -> Iterator[Check]:
    """Compare a building's need and a present value with what one computes by hand."""
    house = Building(
        floor_area=100.0,
        height=2.5,
        walls=Opaque(area=120.0, u_value=0.3),
        roof=Opaque(area=100.0, u_value=0.2),
        infiltration=0.4,
    )
    by_hand = 120.0 * 0.3 + 100.0 * 0.2 + 1200.0 * 0.4 * 100.0 * 2.5 / 3600.0
    source = "U-values x areas, and air by ISO 13790"
    yield Check("heat loss of a house", source, house.loss_coefficient, by_hand, 1e-9, "W/K")
    found = present_value(np.full(20, 1000.0), 0.04)
    yield Check(
        "present value of 20 years", "annuity", found, 1000.0 * published.annuity(20, 0.04), 1e-8, "currency"
    )


PLANT = hours.Plant(
    heating=hours.Mode(cop=[3.5, 0.09, -0.0005], capacity=[17_000.0, 420.0, 1.5]),
    cooling=hours.Mode(cop=[7.5, -0.11, 0.0004], capacity=[19_000.0, -130.0]),
    cycling_loss=0.15,
    pump_power=150.0,
)


def hours_of_a_year() -> Iterator[Check]:
    """Compare a coupled year of bores and heat pump with plain superposition of a dense response."""
    hour = np.arange(8760)
    season, day = np.cos(2 * np.pi * hour / 8760), np.cos(2 * np.pi * (hour - 5) / 24)
    heating = np.clip(13_000 * season + 6_000 * day - 1_000, 250.0, None)
    cooling = np.clip(-9_000 * season - 4_000 * day - 3_000, 0.0, None)
    depth, flow, heat_capacity, resistance = 85.0, 1.4, 3800.0, 0.12
    bore = Bore(depth=depth, buried_depth=2.0, diameter=0.15, resistance=resistance)
    design = Design(
        ground=GROUND,
        ground_side=BoreField.grid(bore, columns=3, rows=1, spacing=5.0),
        fluid=Fluid.constant(
            density=1030.0,
            heat_capacity=heat_capacity,
            conductivity=0.45,
            viscosity=0.004,
            freezing_point=-30.0,
        ),
        flow=flow,
        pump_power=PLANT.pump_power,
        heat_pump=HeatPump.from_curves(
            heating_cop=PLANT.heating.cop,
            heating_capacity=PLANT.heating.capacity,
            cooling_cop=PLANT.cooling.cop,
            cooling_capacity=PLANT.cooling.capacity,
            degradation_coefficient=PLANT.cycling_loss,
        ),
        loads=Loads(heating=heating, cooling=cooling),
    )
    run = design.run(1)
    times = np.geomspace(1.0, 8760.0, 400)
    place = 5.0 * np.array([[x, 0.0] for x in range(3)])
    g = field.g_function(np.array([[depth, 2.0, 0.075]]), place, 3600.0 * times, diffusivity=DIFFUSIVITY)
    metres = 3 * depth
    response = CubicSpline(np.log(times), g)(np.log(hour + 1.0)) / (2.0 * np.pi * 2.0 * metres)
    reference = hours.superposed(
        PLANT,
        heating,
        cooling,
        response=response,
        to_wall=resistance / metres - 0.5 / (flow * heat_capacity),
        undisturbed=10.0,
    )
    source = "every hour superposed anew, with scipy's root finder"
    for name, column in (("entering fluid", "entering_fluid_degC"), ("bore wall", "wall_degC")):
        found, expected = run.hourly[column].to_numpy(), reference[column]
        worst = int(np.argmax(np.abs(found - expected)))
        what = f"{name} in the hour that differs most of a year"
        yield Check(what, source, float(found[worst]), float(expected[worst]), 0.01, "degC")
    plant = float((run.hourly["electricity_W"] - run.hourly["backup_W"]).sum()) / 1e3
    used = float(reference["electricity_W"].sum()) / 1e3
    yield Check("electricity of the year", source, plant, used, 5e-4 * used, "kWh")


GROUPS: tuple[Callable[[], Iterator[Check]], ...] = (
    line_of_heat,
    response_of_a_field,
    bore_and_pipes,
    coaxial_bore,
    ground_near_the_surface,
    wells,
    fluids,
    building_and_money,
    hours_of_a_year,
)
"""All groups of checks."""
