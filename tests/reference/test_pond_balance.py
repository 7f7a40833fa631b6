"""A pond's equilibrium against a root of the published fluxes.

Sources: Brutsaert (1975), Water Resour. Res. 11, 742 (sky); Alduchov & Eskridge (1996), J. Appl. Meteorol.
35, 601 (vapour); McJannet, Webster & Cook (2012), Environ. Model. Softw. 31, 76 (evaporation; coefficients
from memory); Bowen (1926), Phys. Rev. 27, 779 (convection).
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.optimize import brentq

import loopdrift as ld

AREA, PIPE = 6000.0, ld.Pipe.sdr(11, outer_diameter=0.04)


def vapour(temperature: float) -> float:
    return 610.94 * np.exp(17.625 * temperature / (temperature + 243.04))


def taken(water: float, air: float, humidity: float, wind: float, sun: float, cloud: float) -> float:
    """Return the heat that a square metre of water takes [W/m2]."""
    outside = humidity / 100.0 * vapour(air)
    clear = 1.24 * (outside / 100.0 / (air + 273.15)) ** (1.0 / 7.0)
    sky = (cloud + (1.0 - cloud) * clear) * 5.670374419e-8 * (air + 273.15) ** 4
    wind_factor = (2.36 + 1.67 * 0.748 * wind) * AREA**-0.05 * 1e6 / 86400.0 / 1000.0
    away = vapour(water) - outside + 61.0 * 1.01325 * (water - air)
    return 0.93 * sun + 0.97 * (sky - 5.670374419e-8 * (water + 273.15) ** 4) - wind_factor * away


@pytest.mark.parametrize(
    ("air", "humidity", "wind", "sun", "cloud"),
    [(15.0, 60.0, 3.0, 0.0, 1.0), (4.0, 90.0, 8.0, 0.0, 1.0), (10.0, 50.0, 15.0, 400.0, 0.0)],
)
def test_constant_weather_leads_to_the_root_of_the_fluxes(
    air: float, humidity: float, wind: float, sun: float, cloud: float
) -> None:
    """More sun than a clear sky has makes every day a clear one; none makes it overcast."""
    root = brentq(taken, 0.1, 60.0, args=(air, humidity, wind, sun, cloud))
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
        ground=ld.Ground(conductivity=0.1, volumetric_heat_capacity=1e6, temperature=root),
        ground_side=pond,
        fluid=ld.Fluid("water"),
        flow=0.5,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),
        loads=ld.Loads(),
    )
    hourly = design.run(1).hourly
    assert_allclose(hourly["water_surface_degC"].iloc[-1], root, atol=2e-3)
