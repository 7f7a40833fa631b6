"""Check of a year's radiation against the place's solar time."""

from __future__ import annotations

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.series import Series

MOST_OFF = 3.5
"""Greatest difference between solar noon and 12:00 of a time zone [h]; on Earth it slightly exceeds 3 h."""
MOST_CLOUDED = 1.5
"""Greatest shift of the mean hour of radiation by clouds [h]; 0.25 h in public typical years."""


def require_sun_of_place(ghi: Series | None, longitude: float | None, utc_offset: float | None) -> None:
    """Refuse a longitude that doesn't match the time zone or the hours of radiation.

    The mean hour of radiation is solar noon, ``12 + utc_offset - longitude / 15``, as the equation of time
    nearly averages out over a year.

    Parameters
    ----------
    ghi : numpy.ndarray, optional
        Global horizontal irradiance in each hour, shape (8760,) [W/m2].
    longitude : float, optional
        East positive [deg].
    utc_offset : float, optional
        Local standard time minus UTC [h].

    Raises
    ------
    InvalidInput
        If they don't match; the message gives the difference in hours.
    """
    if longitude is None:
        return
    cure = (
        "check the sign of the longitude (east positive), utc_offset, "
        "and that hours are local standard time, not UTC"
    )
    if utc_offset is not None:
        off = _around(utc_offset - longitude / 15.0)
        if abs(off) > MOST_OFF:
            allowed = f"puts solar noon {abs(off):.1f} h from 12:00 at utc_offset = {utc_offset:g} h: {cure}"
            raise InvalidInput("Weather", "longitude", longitude, "deg", allowed)
    noon = None if ghi is None else _mean_hour(ghi)
    if noon is None:
        return
    expected = 12.0 if utc_offset is None else 12.0 + utc_offset - longitude / 15.0
    off = _around(noon - expected)
    if abs(off) > (MOST_OFF if utc_offset is None else MOST_CLOUDED):
        allowed = (
            f"puts solar noon at {expected % 24.0:.1f} h, but that of the data is at {noon:.1f} h, "
            f"{abs(off):.1f} h away: {cure}"
        )
        raise InvalidInput("Weather", "longitude", longitude, "deg", allowed)


def _mean_hour(ghi: Series) -> float | None:
    """Return the mean hour of a year's radiation [h]; None if it hardly differs between day and night."""
    by_hour = ghi.reshape(-1, 24).sum(axis=0)
    total = by_hour.sum()
    if total <= 0.0:
        return None
    turned = np.sum(by_hour * np.exp(2j * np.pi * (np.arange(24) + 0.5) / 24.0)) / total
    return float(np.angle(turned) * 12.0 / np.pi % 24.0) if abs(turned) > 0.3 else None


def _around(hours: float) -> float:
    """Return a difference between hours of the day, from -12 to 12."""
    return (hours + 12.0) % 24.0 - 12.0
