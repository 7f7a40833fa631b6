"""Solar irradiance on windows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.parts.building.envelope import Window
from loopdrift.parts.building.sky import diffuse_light, sun
from loopdrift.parts.weather.weather import Weather

GROUND_REFLECTANCE = 0.2
"""Share of the sun that the ground reflects [-]; common practice, no source, checked in
tests/reference/test_second_sources_building.py."""


def irradiance(weather: Weather, windows: Sequence[Window]) -> NDArray[np.float64]:
    """Return the irradiance on each window's plane, hour by hour [W/m2].

    The sun's position is that of the middle of the hour, by Spencer (1971). Diffuse light from the sky
    follows Perez and others (1990), brighter around the sun and at the horizon (`sky.py`).

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
    """
    found = np.zeros((len(windows), HOURS_PER_YEAR))
    if not windows:
        return found
    given = {
        name: _required(weather, name)
        for name in ("latitude", "longitude", "utc_offset", "ghi", "dni", "dhi")
    }
    ghi, dni, dhi = given["ghi"], given["dni"], given["dhi"]
    light = np.flatnonzero(ghi + dni + dhi > 0.0)
    ghi, dni, dhi = ghi[light], dni[light], dhi[light]
    position = sun(
        light + 0.5 - given["utc_offset"], latitude=given["latitude"], longitude=given["longitude"]
    )
    planes, plane_of_window = np.unique(
        [(window.tilt, window.azimuth) for window in windows], axis=0, return_inverse=True
    )
    tilt, azimuth = np.radians(planes.T[:, :, np.newaxis])
    cosine = position.cosine(tilt, azimuth)
    sky = diffuse_light(position, cosine, tilt, dni=dni, dhi=dhi)
    ground = GROUND_REFLECTANCE * ghi * 0.5 * (1.0 - np.cos(tilt))
    found[:, light] = (dni * cosine + sky + ground)[plane_of_window]
    return found


def _required(weather: Weather, name: str) -> Any:
    value = getattr(weather, name)
    if value is None:
        raise InvalidInput("Weather", name, "nothing", "", "must be given if a building has windows")
    return value
