"""Check of a year's radiation and temperature against the place's solar time and seasons."""

from __future__ import annotations

from typing import Any

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import month_of_hours
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
        "and that hours are local standard time, not UTC, which time_zone turns"
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


_TROPICS = 23.5
"""Latitude within which the sun stands high all year [deg]."""
_WARMER = 3.0
"""Difference of temperature that parts summer and winter [K]."""


def require_season_of_place(dry_bulb: Series, ghi: Series | None, latitude: float | None) -> None:
    """Refuse a latitude whose summer is the data's winter.

    Parameters
    ----------
    dry_bulb : numpy.ndarray
        Outdoor temperature in each hour of the year [degC].
    ghi : numpy.ndarray, optional
        Global radiation in each hour of the year [W/m2].
    latitude : float, optional
        North positive [deg].

    Raises
    ------
    InvalidInput
        If sun and warmth of June to August and of December to February fit only the other hemisphere.
    """
    if latitude is None or abs(latitude) < _TROPICS:
        return
    month = month_of_hours(start_month=1)
    june, december = np.isin(month, (6, 7, 8)), np.isin(month, (12, 1, 2))
    warmer = float(dry_bulb[june].mean() - dry_bulb[december].mean())
    brighter = 0.0 if ghi is None else float(ghi[june].mean() - ghi[december].mean())
    summer, winter = ("July", "January") if latitude > 0.0 else ("January", "July")
    north = 1.0 if latitude > 0.0 else -1.0
    if north * warmer < -_WARMER and north * brighter <= 0.0:
        allowed = (
            f"has summer in {summer}, the data are {abs(warmer):.0f} K warmer around {winter}: check the "
            "sign of the latitude (north positive)"
        )
        raise InvalidInput("Weather", "latitude", latitude, "deg", allowed)


def refuse_turned_utc(frame: Any) -> None:
    """Refuse a year of UTC whose index was turned to another zone, where its first hour may be either.

    Parameters
    ----------
    frame : pandas.DataFrame
        Rows by their index.

    Raises
    ------
    InvalidInput
        If the index begins at 01:00 with what is midnight in UTC.
    """
    index: Any = getattr(frame, "index", None)
    if getattr(index, "tz", None) is None or not len(index):
        return
    first, in_utc = index[0], index[0].tz_convert("UTC")
    if first.utcoffset() and first.hour == 1 and in_utc.hour == 0:
        allowed = (
            "is hour 0 of a year of UTC, or the end of the first local hour: give stamps = 'beginning' for "
            "the first, 'end' for the second"
        )
        raise InvalidInput("Weather", "frame", first, "", f"row 0: {allowed}")


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
