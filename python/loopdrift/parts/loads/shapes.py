"""Hours shaped from sums and peaks: straight lines over a distance from the hour that needs most."""

from __future__ import annotations

import numpy as np

from loopdrift.basics.model_time import HOURS_PER_DAY
from loopdrift.basics.series import Series


def line_to_peak(distance: Series, peak: float, total: float) -> Series:
    """Return loads that fall on a straight line with the distance, and meet a peak and a sum exactly.

    ``load = peak x max(0, 1 - distance / reach)``, with the one reach that meets the sum. With the outdoor
    temperature above that of the coldest hour as the distance, this is the signature of a heated building: a
    straight line over the outdoor temperature that ends at a balance point (variable-base degree hours,
    ASHRAE Handbook of Fundamentals, chapter on energy estimating; from memory), whose base and slope follow
    from peak and sum.

    Parameters
    ----------
    distance : numpy.ndarray
        Zero in the hour that needs most, greater the less an hour needs; any unit.
    peak : float
        Largest hourly mean [W].
    total : float
        Sum over the hours [W h], from one hour of the peak to all hours of it.

    Returns
    -------
    numpy.ndarray
        Hourly means [W].

    Examples
    --------
    >>> line_to_peak(np.array([0.0, 5.0, 10.0, 20.0]), peak=3000.0, total=4500.0)
    array([3000., 1500.,    0.,    0.])
    """
    size = distance.size
    hours = total / peak if peak > 0.0 else 0.0
    ascending = np.sort(distance)
    nearest = int(np.count_nonzero(ascending == ascending[0]))
    if hours <= nearest:
        # Fewer hours of the peak than hours that are alike: the first of them.
        load = np.zeros(size)
        alike = np.flatnonzero(distance == ascending[0])
        whole = int(hours)
        load[alike[:whole]] = peak
        if whole < alike.size:
            load[alike[whole]] = total - whole * peak
        return load
    if hours >= size:
        return np.full(size, peak)
    sums = np.cumsum(ascending - ascending[0])
    counts = np.arange(1, size + 1)
    with np.errstate(divide="ignore", invalid="ignore"):
        reaches = np.where(counts > hours, sums / (counts - hours), np.inf)
    # With k hours on the line, the next one is beyond its end.
    beyond = np.append(ascending[1:] - ascending[0], np.inf)
    k = int(np.flatnonzero(reaches <= beyond)[0])
    line: Series = peak * np.clip(1.0 - (distance - ascending[0]) / reaches[k], 0.0, None)
    return line


def line_from_base(difference: Series, total: float) -> Series:
    """Return loads proportional to the degrees beyond a base that meet a sum exactly.

    Parameters
    ----------
    difference : numpy.ndarray
        Degrees beyond the base in each hour, negative on the other side of it [K].
    total : float
        Sum over the hours [W h].

    Returns
    -------
    numpy.ndarray
        Hourly means [W]; the same in all hours where none is beyond the base.
    """
    degree_hours = np.clip(difference, 0.0, None)
    known = float(degree_hours.sum())
    if known <= 0.0:
        return np.full(difference.size, total / difference.size)
    return degree_hours * (total / known)


def line_of_slope(need: Series, slope: float, total: float) -> Series:
    """Return loads on a line of a known slope that ends where a sum is met exactly.

    ``load = slope x max(0, end + need)``: a building's loss per kelvin is the same in all months, while sun
    and people move its balance point.

    Parameters
    ----------
    need : numpy.ndarray
        Degrees by which an hour needs more, such as the negative outdoor temperature for heating [K].
    slope : float
        Load per kelvin [W/K].
    total : float
        Sum over the hours [W h].

    Examples
    --------
    >>> line_of_slope(np.array([2.0, 0.0, -7.0]), slope=100.0, total=400.0)
    array([300., 100.,   0.])
    """
    if slope <= 0.0:
        return np.full(need.size, total / need.size)
    descending = np.sort(need)[::-1]
    counts = np.arange(1, need.size + 1)
    ends = (total / slope - np.cumsum(descending)) / counts
    k = int(np.flatnonzero(np.append(descending[1:] + ends[:-1] <= 0.0, True))[0])
    line: Series = slope * np.clip(ends[k] + need, 0.0, None)
    return line * (total / float(line.sum()))


def of_day(hours: dict[int, float]) -> Series:
    """Return shares of a day's sum by the hours in which they fall, shape (24,)."""
    shares = np.zeros(HOURS_PER_DAY)
    shares[list(hours)] = list(hours.values())
    return shares


PEAKS_OF_DAY = {
    "heating": (of_day({6: 0.5, 7: 0.3, 8: 0.2}), of_day({6: 1.0})),
    "cooling": (of_day({14: 0.25, 15: 0.3, 16: 0.25, 17: 0.2}), of_day({15: 1.0})),
}
"""Hours of a day in which a peak falls that is above the line over outdoor temperature, as after a night's
set-back; the second is for peaks that the first can't make. Common practice, no source."""


def raised_to_peak(load: Series, peak: float, name: str) -> Series | None:
    """Return loads whose largest hour is a peak, from others whose largest is smaller.

    The same share of each day's sum is moved into the hours of `PEAKS_OF_DAY`, so that all days keep their
    sums.

    Parameters
    ----------
    load : numpy.ndarray
        Hourly means of whole days [W].
    peak : float
        Largest hourly mean [W].
    name : {"heating", "cooling"}
        The load.

    Returns
    -------
    numpy.ndarray or None
        Hourly means [W]; None if no hour can reach the peak, or one is above it already.
    """
    if load.max() > peak:
        return None
    days = load.reshape(-1, HOURS_PER_DAY)
    for shares in PEAKS_OF_DAY[name]:
        more = days.sum(axis=1, keepdims=True) * shares - days
        with np.errstate(divide="ignore", invalid="ignore"):
            needed = np.where(more > 0.0, (peak - days) / more, np.inf)
        hour = int(needed.argmin())
        share = float(needed.flat[hour])
        if share <= 1.0:
            raised = days + share * more
            raised.flat[hour] = peak
            below: Series = np.minimum(raised.ravel(), peak)
            return below
    return None
