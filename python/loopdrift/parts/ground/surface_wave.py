"""The yearly temperature wave of the ground's surface and below it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

import numpy as np

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.model_time import DAYS_PER_YEAR, HOURS_PER_YEAR, SECONDS_PER_HOUR
from loopdrift.basics.part import Number, Part, require
from loopdrift.basics.series import array
from loopdrift.parts.constructors import register

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from loopdrift.parts.ground.ground import Ground
    from loopdrift.parts.weather.weather import Weather


@dataclass(frozen=True, kw_only=True)
class SurfaceWave(Part):
    """The yearly wave of the surface temperature about its mean, `Ground.temperature`.

    Parameters
    ----------
    amplitude : float or str
        Half the difference between the highest and the lowest surface temperature of the wave [K].
    coldest_day : float or str
        Time from the beginning of the calendar year to the lowest surface temperature [d].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts.

    References
    ----------
    Kusuda, T. & Achenbach, P. R. (1965). Earth temperature and thermal diffusivity at selected stations in
    the United States. ASHRAE Transactions 71(1), 61-75.

    Examples
    --------
    >>> import loopdrift as ld
    >>> ground = ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.4e6, temperature=10.0)
    >>> wave = SurfaceWave(amplitude=12.0, coldest_day=31.0)
    >>> wave.temperature(ground, depth=1.5, hours=[31 * 24, 60 * 24]).round(2)
    array([4.55, 3.44])
    """

    amplitude: Number = Number()
    coldest_day: Number = Number()

    @classmethod
    def from_weather(cls, weather: Weather) -> Self:
        """Return the yearly harmonic of the air temperature, fitted by least squares.

        The surface is assumed to follow the air. Sun, snow and plants cause differences: bare ground is
        warmer in summer, and snow keeps it warmer in winter. The mean of this wave is
        ``weather.dry_bulb.mean()``.

        Parameters
        ----------
        weather : Weather
            The weather.

        Returns
        -------
        SurfaceWave
            The wave.
        """
        from loopdrift.parts.weather.weather import Weather

        require(weather, Weather, owner="SurfaceWave", field="weather")
        turn = 2.0 * np.pi * (np.arange(HOURS_PER_YEAR) + 0.5) / HOURS_PER_YEAR
        harmonics = np.column_stack([np.ones(HOURS_PER_YEAR), np.cos(turn), np.sin(turn)])
        _, cosine, sine = np.linalg.lstsq(harmonics, weather.dry_bulb, rcond=None)[0]
        coldest = np.arctan2(-sine, -cosine) % (2.0 * np.pi)
        return cls(
            amplitude=float(np.hypot(cosine, sine)),
            coldest_day=float(DAYS_PER_YEAR * coldest / (2.0 * np.pi)),
        )

    def temperature(self, ground: Ground, *, depth: float | str, hours: ArrayLike) -> NDArray[np.float64]:
        """Return the temperature of otherwise undisturbed ground.

        Parameters
        ----------
        ground : Ground
            The ground.
        depth : float or str
            Depth below the surface [m].
        hours : array_like
            Time from the beginning of the calendar year, any shape [h].

        Returns
        -------
        ndarray
            Temperature, the shape of `hours` [degC].

        Raises
        ------
        InvalidInput
            If a value isn't a number in its unit.
        """
        from loopdrift.parts.ground.ground import Ground

        require(ground, Ground, owner="SurfaceWave", field="ground")
        metres = units.to_si(depth, "m", owner="SurfaceWave", field="depth")
        times = SECONDS_PER_HOUR * array(hours, "h", owner="SurfaceWave", field="hours")
        found = _core.surface_wave(self.for_engine(), ground.for_engine(), metres, times.ravel())
        return found.reshape(times.shape)


register(SurfaceWave, {"amplitude": SurfaceWave, "weather": SurfaceWave.from_weather})
