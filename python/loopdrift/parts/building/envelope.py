"""The building envelope."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.part import Number, Part


@dataclass(frozen=True, kw_only=True)
class Opaque(Part):
    """An opaque part of the envelope: walls, a roof, a floor, a door.

    Parameters
    ----------
    area : float or str
        Area without windows [m2].
    u_value : float or str
        Heat transmittance from rooms to outdoors [W/(m2 K)].
    exposure : float or str, default 1
        Share of the temperature difference between rooms and outdoors that acts on it [-]: 1 outdoors, less
        on the ground or next to an unheated room; about 0.6 for a floor on the ground (common practice, no
        source).

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.
    """

    area: Number = Number()
    u_value: Number = Number()
    exposure: Number = Number(default=1.0)


@dataclass(frozen=True, kw_only=True)
class Window(Part):
    """Windows of one orientation.

    Parameters
    ----------
    area : float or str
        Area including frames [m2].
    u_value : float or str
        Heat transmittance including frames [W/(m2 K)].
    g_value : float or str
        Solar heat gain coefficient: share of the sun's heat that the glass transmits at normal incidence [-].
    azimuth : float or str
        Orientation, clockwise from north: 90 for east, 180 for south [deg].
    tilt : float or str, default 90
        Angle from the horizontal, 90 in a wall, 0 in a flat roof [deg].
    shading : float or str, default 1
        Share of the sun that passes trees, overhangs and blinds, the same all year [-].
    frame_share : float or str, default 0.25
        Share of the area that is frame [-].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.
    """

    area: Number = Number()
    u_value: Number = Number()
    g_value: Number = Number()
    azimuth: Number = Number()
    tilt: Number = Number(default=90.0)
    shading: Number = Number(default=1.0)
    frame_share: Number = Number(default=0.25)
