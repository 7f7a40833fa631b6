"""Assumptions of a run about bores, and the effect of each.

The figures are examples, computed in `tests/reference/test_assumptions.py`.
"""

from __future__ import annotations

from loopdrift.basics.both_units import both
from loopdrift.basics.words import counted, percent
from loopdrift.ground_sides.bore_field.along_the_bore import AlongTheBore
from loopdrift.ground_sides.bore_field.around.layers import Departure
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.parts.bore import DoubleUTube
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.warming import assumed

GROUNDWATER_GAIN = 3.0
"""Reduction by groundwater of the bore walls' departure from undisturbed [K]: 1e-7 m/s, year 20, 12 bores of
100 m 5 m apart, 5 W/m of net yearly heat, ground of 2 W/(m K)."""

CONDUCTIVITY_LOSS = 0.8
"""Temperature drop of the demo's bores in year 20 with 10 % less conductivity [K]."""

LAMINAR_LOSS = 1.5
"""Temperature drop in year 20 with 20 % less flow, which is laminar in the coldest hours [K]."""

SERIES_RESISTANCE = 0.6
"""Ratio of resistances of the demo's bore with a double U-tube in series and in parallel, where half the flow
is laminar [-]."""


HEAT = 30.0
"""Heat flow per metre of bore for which effects along the bore are shown [W/m]."""

WORTH_SAYING = 0.1
"""Smallest effect that is shown [K]."""


def assumptions(
    field: BoreField, ground: Ground, along: AlongTheBore | None, layers: Departure | None
) -> str:
    """Return the assumptions about a bore field, in a sentence.

    Parameters
    ----------
    field : BoreField
        The field.
    ground : Ground
        The ground around it.
    along : AlongTheBore or None
        Effects that are neglected along its deepest bore; None for measured resistances.
    layers : Departure or None
        How far the layers of the ground depart from their mean; None without layers.
    """
    laminar = both(LAMINAR_LOSS, "K", "g")
    text = (
        f"{_groundwater(ground)}; {_uniform(ground, layers)}; {assumed(ground.warming)}; equal flow in every "
        f"bore, even where depths differ (20 % less flow makes a bore about {laminar} colder if it becomes "
        "laminar, and has almost no effect if it stays turbulent)"
    )
    if any(isinstance(bore.pipes, DoubleUTube) for bore in field.bores):
        share = percent(1.0 - SERIES_RESISTANCE)
        text += (
            "; both U-tubes of a bore in parallel (in series, each carries twice the flow: up to "
            f"{share} less resistance if half the flow is laminar, and several times the pressure drop)"
        )
    return text + ("" if along is None else _along(along))


def _uniform(ground: Ground, layers: Departure | None) -> str:
    """Return what is assumed of the ground's uniformity."""
    if layers is None:
        loss = both(CONDUCTIVITY_LOSS, "K", "g")
        return (
            f"uniform ground at all depths (in the demo, 10 % less conductivity makes year 20 about {loss} "
            "colder)"
        )
    ends = [each.conductivity for each in ground.layers]
    least, most = (both(end(ends), "W/(m K)", "g") for end in (min, max))
    return (
        f"the mean of {counted(len(ends), 'layer')} of {least} to {most} at all depths (in the layers "
        "themselves, constant heat for 1 day to 30 years would make the difference between fluid and "
        f"undisturbed ground {_span(layers)}, more so in the middle of a large field)"
    )


def _span(layers: Departure) -> str:
    least, most = layers
    if least < 0.0 < most:
        return f"from {percent(-least)} smaller to {percent(most)} larger"
    low, high = sorted((abs(least), abs(most)))
    return f"{percent(low)} to {percent(high)} {'larger' if most > 0.0 else 'smaller'}"


def _groundwater(ground: Ground) -> str:
    """Return what is assumed of the groundwater."""
    if ground.darcy_flux > 0.0:
        return (
            "groundwater that flows at the given rate and direction at all depths and in all years (rarely "
            "known: a lower rate means more drift), without thermal dispersion"
        )
    gain = both(GROUNDWATER_GAIN, "K", "g")
    return (
        f"no groundwater flow (for 3 x 4 bores {both(5.0, 'm')} apart with {both(5.0, 'W/m')} of net yearly "
        f"heat, a flow of 1e-7 m/s, about {both(3.0, 'm')} a year, brings the bore walls about {gain} closer "
        "to undisturbed in year 20)"
    )


def _along(along: AlongTheBore) -> str:
    """Return the effects that are neglected along a bore, if they are large enough."""
    heat, text = both(HEAT, "W/m"), ""
    if abs(along.one_wall) * HEAT > WORTH_SAYING:
        off = both(abs(along.one_wall) * HEAT, "K", ".1f")
        side = "farther from" if along.one_wall > 0.0 else "closer to"
        text += (
            f"; uniform wall temperature along a bore (at {heat}, the fluid is up to {off} {side} the "
            "ground temperature than with fluid and ground coupled along the bore)"
        )
    if along.first_hour * HEAT > WORTH_SAYING:
        off = both(along.first_hour * HEAT, "K", ".1f")
        text += (
            f"; no transit time of the fluid in a bore, which is {along.minutes:.0f} min (at {heat}, the "
            f"fluid is up to {off} too close to the ground temperature in the first hour after a start)"
        )
    return text
