"""The straight line of the fluid temperature over the logarithm of time."""

from __future__ import annotations

import numpy as np

from loopdrift.analysis.measured.noise import generalised
from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.response_test.record import Record, averaged
from loopdrift.parts.bore import Bore

EARLIEST = 5.0
"""Earliest time of the window, in r^2 / a: there the line source's response is straight to about a tenth."""
_HOUR = 3600.0


def usual_window(
    record: Record, bore: Bore, heat_capacity: float, conductivity: float
) -> tuple[float, float]:
    """Return start and end of the usual window since the first row [s].

    It begins 5 r^2 / a after the heater's start, where a is the diffusivity of the ground, and ends with the
    heat, or where the heat breaks off if that leaves at least as long a window as the time before it.

    Parameters
    ----------
    record : Record
        The record.
    bore : Bore
        The bore.
    heat_capacity : float
        Volumetric heat capacity of the ground [J/(m3 K)].
    conductivity : float
        Conductivity of the ground [W/(m K)].
    """
    radius = bore.diameter / 2.0
    begin = record.start + EARLIEST * radius**2 * heat_capacity / conductivity
    steady = record.first_break
    if steady is not None and steady - begin >= begin - record.start:
        return begin, steady - record.cadence
    return begin, record.end


def straight_line(
    record: Record,
    bore: Bore,
    heat_capacity: float,
    undisturbed: tuple[float, float],
    window: tuple[float, float],
) -> FoundGround:
    """Find conductivity and bore resistance from the slope and height of the line.

    T(t) = T0 + q R + q / (4 pi k) [ln(4 a t / r^2) - gamma], with q the heat per metre, R the bore
    resistance, k and a conductivity and diffusivity of the ground, r the bore's radius, and gamma Euler's
    constant.

    Parameters
    ----------
    record : Record
        The record.
    bore : Bore
        The bore.
    heat_capacity : float
        Volumetric heat capacity of the ground [J/(m3 K)].
    undisturbed : tuple of float
        Undisturbed temperature and its standard error [degC].
    window : tuple of float
        Start and end of the part that is used, since the first row [s].

    References
    ----------
    Mogensen, P. (1983). Fluid to duct wall heat transfer in duct system heat storages. Proceedings of the
    International Conference on Subsurface Heat Storage in Theory and Practice, Stockholm, 652-657.
    """
    begin, end = window
    middle, which = record.intervals(begin, end)
    since = record.times - record.start
    logarithm = np.log(np.maximum(since, 1.0))
    columns = averaged(np.column_stack([np.ones_like(since), logarithm]), which)
    measured = averaged(record.mean, which)
    line = generalised(middle, columns, measured)
    height, slope = line.values
    q = record.heat_between(record.start, end) / bore.depth
    temperature, temperature_error = undisturbed
    conductivity = q / (4.0 * np.pi * slope)

    def resistance_of(height: float, slope: float) -> float:
        k = q / (4.0 * np.pi * slope)
        reach = np.log(4.0 * k / (heat_capacity * (bore.diameter / 2.0) ** 2)) - np.euler_gamma
        return float((height - temperature - slope * reach) / q)

    resistance = resistance_of(height, slope)
    # Derivatives of conductivity and resistance by height, slope and undisturbed temperature.
    step = 1e-6 * slope
    by_slope = (resistance_of(height, slope + step) - resistance_of(height, slope - step)) / (2.0 * step)
    turn = np.array([[0.0, -conductivity / slope, 0.0], [1.0 / q, by_slope, -1.0 / q], [0.0, 0.0, 1.0]])
    known = np.zeros((3, 3))
    known[:2, :2] = line.covariance
    known[2, 2] = temperature_error**2
    return FoundGround(
        method="straight line",
        conductivity=float(conductivity),
        resistance=resistance,
        temperature=temperature,
        covariance=turn @ known @ turn.T,
        begin=begin / _HOUR,
        end=end / _HOUR,
        heat=q,
        hours=middle / _HOUR,
        measured=measured,
        fitted=columns @ line.values,
    )


def rough_conductivity(record: Record, depth: float) -> float:
    """Return the conductivity by the plain slope over the last two thirds of the heat, 0.5 to 6 W/(m K).

    Without a usable slope it is 2 W/(m K).

    Parameters
    ----------
    record : Record
        The record.
    depth : float
        Depth of the bore [m].
    """
    since = record.times - record.start
    late = (since > (record.end - record.start) / 3.0) & (record.times <= record.end) & record.is_running
    late &= ~np.isnan(record.mean)
    if late.sum() < 3:
        return 2.0
    slope = float(np.polyfit(np.log(since[late]), record.mean[late], 1)[0])
    q = record.heat_between(record.start, record.end) / depth
    return float(np.clip(q / (4.0 * np.pi * slope), 0.5, 6.0)) if slope * q > 0.0 else 2.0
