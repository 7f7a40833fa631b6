"""Whether the sun in a year's radiation stands where the place has it."""

from __future__ import annotations

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.series import Series

MOST_OFF = 3.5
"""Most hours between solar noon and 12:00 of a time zone; the widest on Earth are a little above 3 h."""
MOST_CLOUDED = 1.5
"""Hours that clouds may shift the middle of a year's radiation; 0.25 h in public typical years."""


def require_sun_of_place(ghi: Series | None, longitude: float | None, utc_offset: float | None) -> None:
    """Refuse a longitude that doesn't fit the time zone or the hours of sun.

    The mean hour of radiation is solar noon, ``12 + utc_offset - longitude / 15``, as the equation of time
    nearly cancels out over a year.

    Parameters
    ----------
    ghi : numpy.ndarray, optional
        Global radiation in each hour of the year [W/m2].
    longitude : float, optional
        East positive [deg].
    utc_offset : float, optional
        Local standard time less UTC [h].

    Raises
    ------
    InvalidInput
        If they don't fit; with the hours between them.
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
            allowed = f"has the sun {abs(off):.1f} h off noon at utc_offset = {utc_offset:g} h: {cure}"
            raise InvalidInput("Weather", "longitude", longitude, "deg", allowed)
    noon = None if ghi is None else _mean_hour(ghi)
    if noon is None:
        return
    expected = 12.0 if utc_offset is None else 12.0 + utc_offset - longitude / 15.0
    off = _around(noon - expected)
    if abs(off) > (MOST_OFF if utc_offset is None else MOST_CLOUDED):
        allowed = (
            f"has the sun highest at {expected % 24.0:.1f} h, the data's stands highest at {noon:.1f} h, "
            f"{abs(off):.1f} h off: {cure}"
        )
        raise InvalidInput("Weather", "longitude", longitude, "deg", allowed)


def _mean_hour(ghi: Series) -> float | None:
    """Return the mean hour of a year's radiation; none where it hardly knows day and night."""
    by_hour = ghi.reshape(-1, 24).sum(axis=0)
    total = by_hour.sum()
    if total <= 0.0:
        return None
    turned = np.sum(by_hour * np.exp(2j * np.pi * (np.arange(24) + 0.5) / 24.0)) / total
    return float(np.angle(turned) * 12.0 / np.pi % 24.0) if abs(turned) > 0.3 else None


def _around(hours: float) -> float:
    """Return a difference of hours of the day, from -12 to 12."""
    return (hours + 12.0) % 24.0 - 12.0
