"""The building's five resistances and one capacity, against hand calculation and scipy's integration.

Source of the network: ISO 13790:2008, annex C and clauses 7.2.2.2, 11.4 and 12.2.2, table 12 (from memory),
written here as the balance of its nodes. scipy integrates the capacity's equation exactly in time, where the
method takes a Crank-Nicolson step of one hour; in an hour of constant surroundings the two leave the start at

    exp(-x)  and  (1 - x / 2) / (1 + x / 2),    x = 3600 s x loss of the mass / capacity,

of its distance from rest, and the test bounds their difference by that: x^3 / 12 an hour, x^2 / 12 in all.
(That finer steps close in on the exponential fourfold for each halving is tested in the engine.)

Yearly need of a standard test case: none could be had. The test cases of EN 15265 fit the method, but neither
their weather nor their figures are in an open source that could be cited for certain.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import loopdrift as ld
from book import at_most, compare

FLOOR = 120.0
WALLS, ROOF, GROUND_FLOOR, WINDOWS = 160.0 * 0.35, 70.0 * 0.2, 65.0 * 0.4 * 0.6, 22.0 * 1.4
AIR_CHANGES = 0.3 + 0.5 * (1.0 - 0.75)
HOUSE = ld.Building(
    floor_area=FLOOR,
    height=2.6,
    walls=ld.Opaque(area=160.0, u_value=0.35),
    roof=ld.Opaque(area=70.0, u_value=0.2),
    floor=ld.Opaque(area=65.0, u_value=0.4, exposure=0.6),
    windows=[
        ld.Window(area=14.0, u_value=1.4, g_value=0.6, azimuth=180.0, shading=0.7),
        ld.Window(area=8.0, u_value=1.4, g_value=0.5, azimuth=270.0, frame_share=0.3),
    ],
    infiltration=0.3,
    ventilation=0.5,
    heat_recovery=0.75,
    occupants=4,
    occupancy=ld.Week({0: 1.0, 8: 0.25, 17: 1.0}, saturday=0.7),
    equipment=600.0,
    equipment_use=0.4,
)
CLASSES = {
    "very light": (80e3, 2.5),
    "light": (110e3, 2.5),
    "medium": (165e3, 2.5),
    "heavy": (260e3, 3.0),
    "very heavy": (370e3, 3.5),
}


def network(mass: str):
    """Conductances [W/K] and capacity [J/K] by the standard's formulas."""
    capacity, area = CLASSES[mass]
    to_mass = 9.1 * area * FLOOR
    opaque = WALLS + ROOF + GROUND_FLOOR
    return {
        "air": 1200.0 * AIR_CHANGES * 2.6 * FLOOR / 3600.0,
        "surface": 3.45 * 4.5 * FLOOR,
        "windows": WINDOWS,
        "mass": to_mass,
        "out": 1.0 / (1.0 / opaque - 1.0 / to_mass),
        "capacity": capacity * FLOOR,
        "area": area,
    }


def balance(mass: str, mass_temperature, outdoor, internal, solar, heat):
    """Air and surface temperature for a given one of the mass, and heat that flows into the mass [W]."""
    h = network(mass)
    radiant = 0.5 * internal + solar
    into_mass = h["area"] / 4.5 * radiant
    into_surface = (1.0 - h["area"] / 4.5 - h["windows"] / (9.1 * 4.5 * FLOOR)) * radiant
    matrix = np.array(
        [
            [h["air"] + h["surface"], -h["surface"]],
            [-h["surface"], h["surface"] + h["windows"] + h["mass"]],
        ]
    )
    right = np.array(
        [
            h["air"] * outdoor + 0.5 * internal + heat,
            h["windows"] * outdoor + h["mass"] * mass_temperature + into_surface,
        ]
    )
    air, surface = np.linalg.solve(matrix, right)
    flow = h["mass"] * (surface - mass_temperature) + h["out"] * (outdoor - mass_temperature) + into_mass
    return air, surface, flow


def constant_weather(outdoor: float, **radiation) -> ld.Weather:
    return ld.Weather(
        dry_bulb=np.full(8760, outdoor),
        **{name: np.full(8760, radiation.get(name, 0.0)) for name in ("ghi", "dni", "dhi")},
        latitude=45.0,
        longitude=0.0,
        utc_offset=0.0,
    )


@pytest.mark.parametrize("mass", CLASSES)
def test_steady_temperatures_are_those_of_the_nodes(mass):
    """Free-running under constant weather and gains, against the linear equations of the three nodes."""
    house = HOUSE.replace(mass=mass, occupancy=0.5)
    year = house.hourly(constant_weather(-7.0), free_running=True)
    internal = 0.5 * 4 * 70.0 + 0.4 * 600.0
    flow_at_0 = balance(mass, 0.0, -7.0, internal, 0.0, 0.0)[2]
    flow_at_1 = balance(mass, 1.0, -7.0, internal, 0.0, 0.0)[2]
    at_rest = flow_at_0 / (flow_at_0 - flow_at_1)
    air, surface, _ = balance(mass, at_rest, -7.0, internal, 0.0, 0.0)
    compare(year["internal_gains_W"], internal, rtol=1e-12, unit="W", what="internal gains")
    compare(year["mass_degC"], at_rest, rtol=1e-9, unit="degC", what="mass")
    compare(year["air_degC"], air, rtol=1e-9, unit="degC", what="air")
    compare(year["surface_degC"], surface, rtol=1e-9, unit="degC", what="surface")
    compare(year["operative_degC"], 0.3 * air + 0.7 * surface, rtol=1e-9, unit="degC", what="operative")


@pytest.mark.parametrize(("outdoor", "series"), [(-7.0, "heating_W"), (38.0, "cooling_W")])
def test_steady_need_is_the_resistances_in_series_and_parallel(outdoor, series):
    """Without gains the need is the temperature difference over the network's one resistance."""
    house = HOUSE.replace(occupants=0, equipment=0, heating_set_point=20.0, cooling_set_point=25.0)
    h = network("medium")
    through_mass = 1.0 / (1.0 / h["mass"] + 1.0 / h["out"])
    through_surface = 1.0 / (1.0 / h["surface"] + 1.0 / (h["windows"] + through_mass))
    difference = 20.0 - outdoor if series == "heating_W" else outdoor - 25.0
    year = house.hourly(constant_weather(outdoor))
    compare(year[series], (h["air"] + through_surface) * difference, rtol=1e-9, unit="W")
    # What the envelope's areas and U-values lose, less what air and surfaces take off it.
    compare(
        house.loss_coefficient,
        WALLS + ROOF + GROUND_FLOOR + WINDOWS + h["air"],
        rtol=1e-12,
        unit="W/K",
        what="loss coefficient",
    )


def test_steady_solar_gains():
    """Diffuse light from ground and sky on glass: areas by hand, irradiance by the window's own plane."""
    weather = constant_weather(5.0, ghi=100.0, dhi=100.0)
    house = HOUSE.replace(windows=ld.Window(area=10.0, u_value=1.4, g_value=0.5, azimuth=0.0, tilt=180.0))
    year = house.hourly(weather, free_running=True)
    # Glass that looks down sees the ground alone: reflectance 0.2, F_w 0.9, frame 0.25.
    compare(year["solar_gains_W"], 0.2 * 100.0 * 0.9 * 0.5 * 0.75 * 10.0, rtol=1e-9, unit="W")


@pytest.mark.parametrize("mass", ["very light", "medium", "very heavy"])
def test_free_running_temperatures_against_scipy(mass):
    """Three weeks of spring in an invented climate, from the engine's own temperature of the mass."""
    weather = ld.Weather.sample("high dry")
    house = HOUSE.replace(mass=mass)
    year = house.hourly(weather, free_running=True)
    start, hours = 2400, 21 * 24
    drivers = [
        series[start : start + hours]
        for series in (weather.dry_bulb, year["internal_gains_W"], year["solar_gains_W"])
    ]
    capacity = network(mass)["capacity"]
    end, temperature = [], float(year["mass_degC"][start - 1])
    for outdoor, internal, solar in zip(*map(np.asarray, drivers), strict=True):
        solution = solve_ivp(
            lambda _, y, around=(outdoor, internal, solar): [balance(mass, y[0], *around, 0.0)[2] / capacity],
            (0.0, 3600.0),
            [temperature],
            rtol=1e-10,
            atol=1e-10,
        )
        temperature = float(solution.y[0, -1])
        end.append(temperature)
    found = year["mass_degC"][start : start + hours].to_numpy()
    # From rest, which an hour's surroundings would lead to, the mass is never further than `distance`.
    loss = balance(mass, 0.0, 1.0, 0.0, 0.0, 0.0)[2]
    rest = np.array(
        [balance(mass, 0.0, *around, 0.0)[2] for around in zip(*map(np.asarray, drivers), strict=True)]
    )
    distance = np.abs(rest / loss - np.array(end)).max()
    x = 3600.0 * loss / capacity
    bound = (x**2 / 12.0) * distance
    compare(found, end, rtol=0.0, atol=1.01 * bound, unit="degC")
    at_most(bound, 0.02, unit="K", what="bound on what the step of an hour costs")
    assert np.abs(found - end).max() > 1e-3 * bound, "the bound is of the right size"
