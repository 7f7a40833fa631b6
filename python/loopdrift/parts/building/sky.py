"""Position of the sun, and diffuse light from the sky on a tilted plane."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

SOLAR_CONSTANT = 1366.1
"""Mean irradiance outside the atmosphere [W/m2]; ASTM E490 (2000)."""

_LOWEST_COSINE = np.cos(np.radians(85.0))  # below it, Perez takes the sun to be brighter by no more

_CLEARNESS = [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2]
_BRIGHTNESS_AROUND_THE_SUN = np.array(
    [
        [-0.008, 0.588, -0.062],
        [0.130, 0.683, -0.151],
        [0.330, 0.487, -0.221],
        [0.568, 0.187, -0.295],
        [0.873, -0.392, -0.362],
        [1.132, -1.237, -0.412],
        [1.060, -1.600, -0.359],
        [0.678, -0.327, -0.250],
    ]
)
_BRIGHTNESS_OF_THE_HORIZON = np.array(
    [
        [-0.060, 0.072, -0.022],
        [-0.019, 0.066, -0.029],
        [0.055, -0.064, -0.026],
        [0.109, -0.152, -0.014],
        [0.226, -0.462, 0.001],
        [0.288, -0.823, 0.056],
        [0.264, -1.127, 0.131],
        [0.156, -1.377, 0.251],
    ]
)


class Sun(NamedTuple):
    """Where the sun stands, as a unit vector of shape (times,) each, and how strong it is."""

    east: NDArray[np.float64]
    north: NDArray[np.float64]
    up: NDArray[np.float64]
    """At least 0: a sun below the horizon is taken to stand on it."""
    extraterrestrial: NDArray[np.float64]
    """Irradiance outside the atmosphere [W/m2]."""

    def cosine(self, tilt: NDArray[np.float64], azimuth: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the cosine of the angle of incidence on planes, 0 if the sun is behind them.

        Parameters
        ----------
        tilt : numpy.ndarray
            From the horizontal [rad], shape (planes, 1).
        azimuth : numpy.ndarray
            Clockwise from north [rad], shape (planes, 1).
        """
        toward = np.sin(azimuth) * self.east + np.cos(azimuth) * self.north
        return np.maximum(np.cos(tilt) * self.up + np.sin(tilt) * toward, 0.0)


def sun(hours: NDArray[np.float64], *, latitude: float, longitude: float) -> Sun:
    """Return the position and the strength of the sun.

    Parameters
    ----------
    hours : numpy.ndarray
        Hours of universal time since the beginning of the year [h], shape (times,).
    latitude, longitude : float
        North and east of Greenwich [deg].

    References
    ----------
    Spencer, J. W. (1971). Fourier series representation of the position of the sun. Search 2(5), 172:
    declination, equation of time and distance of the sun.
    """
    day = 2.0 * np.pi / 365.0 * (hours / 24.0)  # day angle [rad]
    declination = (
        0.006918
        - 0.399912 * np.cos(day)
        + 0.070257 * np.sin(day)
        - 0.006758 * np.cos(2.0 * day)
        + 0.000907 * np.sin(2.0 * day)
        - 0.002697 * np.cos(3.0 * day)
        + 0.00148 * np.sin(3.0 * day)
    )
    equation_of_time = (
        0.0000075
        + 0.001868 * np.cos(day)
        - 0.032077 * np.sin(day)
        - 0.014615 * np.cos(2.0 * day)
        - 0.040849 * np.sin(2.0 * day)
    )
    square_of_distance = 1.0 / (
        1.00011
        + 0.034221 * np.cos(day)
        + 0.00128 * np.sin(day)
        + 0.000719 * np.cos(2.0 * day)
        + 0.000077 * np.sin(2.0 * day)
    )
    hour_angle = np.radians(15.0 * hours + longitude - 180.0) + equation_of_time
    phi = np.radians(latitude)
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.cos(phi) * np.sin(declination) - np.sin(phi) * np.cos(declination) * np.cos(hour_angle)
    up = np.sin(phi) * np.sin(declination) + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    # In the hour of sunrise there can be direct light although the sun is below the horizon at half-time.
    horizontal = np.where(up < 0.0, np.hypot(east, north), 1.0)
    return Sun(
        east / horizontal, north / horizontal, np.maximum(up, 0.0), SOLAR_CONSTANT / square_of_distance
    )


def air_mass(zenith: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the way of the light through the atmosphere, relative to that of a sun overhead [-].

    Parameters
    ----------
    zenith : numpy.ndarray
        Angle of the sun from the vertical [rad], 0 to pi/2.

    References
    ----------
    Kasten, F. & Young, A. T. (1989). Revised optical air mass tables and approximation formula. Applied
    Optics 28(22), 4735-4738.
    """
    elevation = 90.0 - np.degrees(zenith)
    return 1.0 / (np.cos(zenith) + 0.50572 * (elevation + 6.07995) ** -1.6364)


def diffuse_light(
    sun: Sun,
    cosine: NDArray[np.float64],
    tilt: NDArray[np.float64],
    *,
    dni: NDArray[np.float64],
    dhi: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the irradiance of planes by a sky that is brighter around the sun and at the horizon [W/m2].

    Parameters
    ----------
    sun : Sun
        At each time.
    cosine : numpy.ndarray
        Of the angle of incidence [-], shape (planes, times), from `Sun.cosine`.
    tilt : numpy.ndarray
        Of the planes from the horizontal [rad], shape (planes, 1).
    dni, dhi : numpy.ndarray
        Direct normal and diffuse horizontal irradiance [W/m2], shape (times,).

    Returns
    -------
    numpy.ndarray
        Shape (planes, times) [W/m2].

    References
    ----------
    Perez, R., Ineichen, P., Seals, R., Michalsky, J. & Stewart, R. (1990). Modeling daylight availability and
    irradiance components from direct and global irradiance. Solar Energy 44(5), 271-289: table 6 and the
    equations of its model of tilted planes.
    """
    found = np.zeros((len(tilt), len(dhi)))
    bright = dhi > 0.0  # clearness divides by diffuse light; without it the sky adds nothing
    dni, dhi, up, cosine = dni[bright], dhi[bright], sun.up[bright], cosine[:, bright]
    zenith = np.arccos(up)
    clearness = ((dhi + dni) / dhi + 1.041 * zenith**3) / (1.0 + 1.041 * zenith**3)
    brightness = dhi * air_mass(zenith) / sun.extraterrestrial[bright]
    sky = np.searchsorted(_CLEARNESS, clearness, side="right")
    terms = np.stack([np.ones_like(zenith), brightness, zenith])
    around = np.maximum(np.sum(_BRIGHTNESS_AROUND_THE_SUN[sky].T * terms, axis=0), 0.0)
    horizon = np.sum(_BRIGHTNESS_OF_THE_HORIZON[sky].T * terms, axis=0)
    light = (
        0.5 * (1.0 - around) * (1.0 + np.cos(tilt))
        + around * cosine / np.maximum(up, _LOWEST_COSINE)
        + horizon * np.sin(tilt)
    )
    found[:, bright] = np.maximum(dhi * light, 0.0)
    return found
