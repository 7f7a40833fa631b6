"""Evaporation of a pond in a year of each sample climate against equations that know only the weather.

Penman (1956), Trans. Am. Geophys. Union 37, 43, over open water, and Priestley & Taylor (1972), Mon. Weather
Rev. 100, 81, day by day; net radiation and the slope of the saturation curve of Allen et al. (1998), FAO
Irrigation and drainage paper 56, eqs. 13, 21 to 39, with the albedo 0.08 of water. All from memory. The
engine's coefficients for evaporation, sky and sun are none of these.

What the pond evaporates is taken from its runs: watts per pascal from two constant kinds of weather that
differ in humidity alone, times what its surface has above the air in each hour without ice.
"""

from __future__ import annotations

import functools

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

import loopdrift as ld
from book import at_least, compare

AREA, LATENT_HEAT = 5000.0, 2.45e6  # m2, J/kg
Series = NDArray[np.float64]


def hourly(weather: ld.Weather, years: int, **inflow: float) -> pd.DataFrame:
    """Return the last year of a pond 3 m deep without heat from coils or ground."""
    pond = ld.Pond(
        bathymetry=[[0.0, AREA], [3.0, AREA]],
        pipe=ld.Pipe.sdr(11, outer_diameter=0.04),
        circuits=1,
        length=10.0,
        weather=weather,
        extinction_depth=0.8,
        **inflow,
    )
    design = ld.Design(
        ground=ld.Ground(conductivity=0.1, volumetric_heat_capacity=1e6, temperature=15.0),
        ground_side=pond,
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.30),
        flow=0.5,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),
        loads=ld.Loads(),
    )
    return design.run(years).hourly.loc[years]


def saturated(temperature: Series | float) -> Series:
    """Return the vapour pressure over water at a temperature in degC [kPa]."""
    return 0.6108 * np.exp(17.27 * np.asarray(temperature) / (np.asarray(temperature) + 237.3))


@functools.cache
def watts_per_kilopascal(wind: float) -> float:
    """Return the heat of evaporation of a square metre for each kPa, under an overcast sky [W/(m2 kPa)]."""
    water, taken = 20.0, []
    for humidity in (100.0, 20.0):
        year = np.ones(8760)
        weather = ld.Weather(
            dry_bulb=water * year,
            relative_humidity=humidity * year,
            ghi=0.0 * year,
            wind_speed=wind * year,
            latitude=45.0,
        )
        run = hourly(weather, 1, inflow=1e4, inflow_temperature=water)
        taken.append(run["heat_from_above_W"].iloc[-1] / AREA)
    return float((taken[0] - taken[1]) / (0.8 * saturated(water)))


def of_day(values: Series) -> Series:
    return np.asarray(values).reshape(365, 24).mean(axis=1)


def of_run(weather: ld.Weather) -> tuple[Series, NDArray[np.bool_]]:
    """Return what evaporates on each day [mm], and on which days there is no ice."""
    year = hourly(weather, 2)
    winds = np.array([0.0, 2.0, 5.0, 10.0, 25.0])
    factor = np.interp(weather.wind_speed, winds, [watts_per_kilopascal(wind) for wind in winds])
    vapour = 0.01 * weather.relative_humidity * saturated(weather.dry_bulb)
    open_water = year["ice_m"].to_numpy() == 0.0
    heat = open_water * factor * (saturated(year["water_surface_degC"].to_numpy()) - vapour)
    return 86_400.0 * of_day(heat) / LATENT_HEAT, of_day(open_water) == 1.0


def by_equations(weather: ld.Weather) -> dict[str, Series]:
    """Return what evaporates on each day by the equations [mm]."""
    air = of_day(weather.dry_bulb)
    vapour = of_day(0.01 * weather.relative_humidity * saturated(weather.dry_bulb))
    deficit = of_day(saturated(weather.dry_bulb)) - vapour
    sun = 0.0864 * of_day(weather.ghi)  # MJ/m2
    day, latitude = np.arange(1, 366), np.radians(weather.latitude)
    declination = 0.409 * np.sin(2.0 * np.pi * day / 365.0 - 1.39)
    sunset = np.arccos(-np.tan(latitude) * np.tan(declination))
    upright = sunset * np.sin(latitude) * np.sin(declination)
    upright += np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    outside = 24.0 * 60.0 / np.pi * 0.0820 * (1.0 + 0.033 * np.cos(2.0 * np.pi * day / 365.0)) * upright
    clear = (0.75 + 2e-5 * weather.altitude) * outside
    cloud = 1.35 * np.clip(sun / clear, 0.3, 1.0) - 0.35
    lost = 4.903e-9 * (air + 273.16) ** 4 * (0.34 - 0.14 * np.sqrt(vapour)) * cloud
    net = 0.92 * sun - lost
    pressure = 101.3 * ((293.0 - 0.0065 * weather.altitude) / 293.0) ** 5.26
    psychrometric = 0.665e-3 * pressure
    slope = 4098.0 * saturated(air) / (air + 237.3) ** 2
    share = slope / (slope + psychrometric)
    wind = of_day(0.748 * weather.wind_speed)  # at 2 m
    drying = 6.43 * (0.5 + 0.536 * wind) * deficit
    return {
        "Penman": (share * net + (1.0 - share) * drying) / 2.45,
        "Priestley and Taylor": 1.26 * share * net / 2.45,
    }


@pytest.mark.parametrize("climate", ld.Weather.samples())
def test_a_year_evaporates_what_penman_and_priestley_and_taylor_have(climate: str) -> None:
    """On the days without ice: 10 to 19 % less than Penman, 4 to 19 % less than Priestley and Taylor.

    The two are up to 10 % apart, and neither knows that large water evaporates less by each square metre.
    """
    weather = ld.Weather.sample(climate)
    evaporated, open_days = of_run(weather)
    at_least(evaporated[open_days].sum(), 0.95 * evaporated.sum(), unit="mm", what="evaporated without ice")
    for name, expected in by_equations(weather).items():
        compare(evaporated[open_days].sum(), expected[open_days].sum(), rtol=0.2, what=name, unit="mm")
