"""Solar irradiance on windows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.parts.building.envelope import Window
from loopdrift.parts.weather.weather import Weather

GROUND_REFLECTANCE = 0.2
"""Share of the sun that the ground reflects [-]; common practice, no source, checked in
tests/reference/test_second_sources_building.py."""


def irradiance(weather: Weather, windows: Sequence[Window]) -> NDArray[np.float64]:
    """Return the irradiance on each window's plane, hour by hour [W/m2].

    The sun's position is that of the middle of the hour, by Spencer (1971). Diffuse light from the sky
    follows Perez and others (1990), brighter around the sun and at the horizon. Both are computed by pvlib.

    Parameters
    ----------
    weather : Weather
        With radiation, place and UTC offset, unless there are no windows.
    windows : sequence of Window
        Their azimuth and tilt are used.

    Returns
    -------
    numpy.ndarray
        Shape (windows, 8760) [W/m2].

    Raises
    ------
    InvalidInput
        If the weather lacks radiation, place or UTC offset.

    References
    ----------
    Perez, R., Ineichen, P., Seals, R., Michalsky, J. & Stewart, R. (1990). Modeling daylight availability and
    irradiance components from direct and global irradiance. Solar Energy 44(5), 271-289.

    Spencer, J. W. (1971). Fourier series representation of the position of the sun. Search 2(5), 172.
    """
    found = np.zeros((len(windows), HOURS_PER_YEAR))
    if not windows:
        return found
    given = {
        name: _required(weather, name)
        for name in ("latitude", "longitude", "utc_offset", "ghi", "dni", "dhi")
    }
    from pvlib import atmosphere, solarposition
    from pvlib.irradiance import get_extra_radiation, get_total_irradiance

    ghi, dni, dhi = given["ghi"], given["dni"], given["dhi"]
    light = np.flatnonzero(ghi + dni + dhi > 0.0)
    middle = light + 0.5 - given["utc_offset"]
    day = 1.0 + middle / 24.0
    latitude = np.radians(given["latitude"])
    declination = solarposition.declination_spencer71(day)
    # [deg] from midnight
    solar_time = 15.0 * middle + given["longitude"] + solarposition.equation_of_time_spencer71(day) / 4.0
    hour_angle = np.radians(solar_time % 360.0 - 180.0)
    zenith = solarposition.solar_zenith_analytical(latitude, hour_angle, declination)
    azimuth = solarposition.solar_azimuth_analytical(latitude, hour_angle, declination, zenith)
    # In the hour of sunrise there can be direct light although the sun is below the horizon at half-time.
    zenith, azimuth = np.degrees(zenith).clip(max=90.0), np.degrees(azimuth)

    planes, plane_of_window = np.unique(
        [(window.tilt, window.azimuth) for window in windows], axis=0, return_inverse=True
    )
    parts = get_total_irradiance(
        *planes.T[:, :, np.newaxis],
        zenith,
        azimuth,
        *(dni[light], ghi[light], dhi[light]),
        dni_extra=get_extra_radiation(day),
        airmass=atmosphere.get_relative_airmass(zenith),
        albedo=GROUND_REFLECTANCE,
        model="perez",
    )
    # Perez's clearness divides by diffuse light; without diffuse light the sky adds nothing.
    sky = np.where(dhi[light] > 0.0, parts["poa_sky_diffuse"], 0.0)
    found[:, light] = (parts["poa_direct"] + parts["poa_ground_diffuse"] + sky)[plane_of_window.ravel()]
    return found


def _required(weather: Weather, name: str) -> Any:
    value = getattr(weather, name)
    if value is None:
        raise InvalidInput("Weather", name, "nothing", "", "must be given if a building has windows")
    return value
