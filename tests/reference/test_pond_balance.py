"""A pond's equilibrium against a root of the published fluxes.

Sources: Brutsaert (1975), Water Resour. Res. 11, 742 (sky); Alduchov & Eskridge (1996), J. Appl. Meteorol.
35, 601 (vapour); wind functions of Penman (1956), Trans. Am. Geophys. Union 37, 43, and of Sweers (1976), J.
Hydrol. 30, 375 (evaporation; coefficients from memory), neither of which the engine has; the psychrometric
constant of Allen et al. (1998), FAO Irrigation and drainage paper 56, eq. 8 (convection).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import brentq

import loopdrift as ld
from book import between

AREA, PIPE = 6000.0, ld.Pipe.sdr(11, outer_diameter=0.04)
LATENT_HEAT = 2.454e6  # J/kg at 20 degC (CRC Handbook, from memory)


def vapour(temperature: float) -> float:
    return 610.94 * np.exp(17.625 * temperature / (temperature + 243.04))


def penman(wind: float) -> float:
    """Return 0.35 (0.5 + u / 100) mm a day and mmHg for miles a day at 2 m, in W/(m2 Pa)."""
    miles_per_day = wind * 86400.0 / 1609.344
    return 0.35 * (0.5 + miles_per_day / 100.0) / 133.322 * LATENT_HEAT / 86400.0


def sweers(wind: float) -> float:
    """Return (5e6 / A)^0.05 (3.80 + 1.57 u) MJ/(m2 d kPa) for the wind at 10 m, in W/(m2 Pa)."""
    return (5e6 / AREA) ** 0.05 * (3.80 + 1.57 * wind / 0.748) * 1e6 / 86400.0 / 1000.0


def taken(water: float, air: float, humidity: float, factor: float, sun: float, cloud: float) -> float:
    """Return the heat that a square metre of water takes [W/m2]."""
    outside = humidity / 100.0 * vapour(air)
    clear = 1.24 * (outside / 100.0 / (air + 273.15)) ** (1.0 / 7.0)
    sky = (cloud + (1.0 - cloud) * clear) * 5.670374419e-8 * (air + 273.15) ** 4
    psychrometric = 0.665e-3 * 101325.0
    away = vapour(water) - outside + psychrometric * (water - air)
    return 0.93 * sun + 0.97 * (sky - 5.670374419e-8 * (water + 273.15) ** 4) - factor * away


@pytest.mark.parametrize("wind_function", [penman, sweers])
@pytest.mark.parametrize(
    ("air", "humidity", "wind", "sun", "cloud"),
    [(15.0, 60.0, 3.0, 0.0, 1.0), (20.0, 50.0, 3.0, 400.0, 0.0), (10.0, 50.0, 6.0, 400.0, 0.0)],
)
def test_constant_weather_leads_to_the_balance_of_other_wind_functions(
    wind_function: Callable[[float], float],
    air: float,
    humidity: float,
    wind: float,
    sun: float,
    cloud: float,
) -> None:
    """More sun than a clear sky has makes every day a clear one; none makes it overcast.

    The wind functions differ by up to a third, a wrong unit of one by 2.45.
    """
    fluxes = {"air": air, "humidity": humidity, "sun": sun, "cloud": cloud}
    factor = wind_function(0.748 * wind)

    def root(times: float) -> float:
        return brentq(lambda water: taken(water, factor=times * factor, **fluxes), 0.1, 80.0)

    weather = ld.Weather(
        dry_bulb=np.full(8760, air),
        relative_humidity=np.full(8760, humidity),
        ghi=np.full(8760, sun),
        wind_speed=np.full(8760, wind),
        latitude=0.0,
    )
    pond = ld.Pond(
        bathymetry=[[0.0, AREA], [3.0, AREA]],
        pipe=PIPE,
        circuits=1,
        length=10.0,
        weather=weather,
        extinction_depth=0.05,
    )
    design = ld.Design(
        ground=ld.Ground(conductivity=0.1, volumetric_heat_capacity=1e6, temperature=root(1.0)),
        ground_side=pond,
        fluid=ld.Fluid("water"),
        flow=0.5,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),
        loads=ld.Loads(),
    )
    surface = design.run(1).hourly["water_surface_degC"].iloc[-1]
    low, high = sorted((root(0.7), root(1.4)))
    between(surface, low, high, unit="degC")
