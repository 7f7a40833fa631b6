"""The temperatures that a run is judged by."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.part import Number, OptionalNumber, Part


@dataclass(frozen=True, kw_only=True)
class Limits(Part):
    """Limits of the entering fluid temperature, and the least distance from freezing.

    A run counts the hours outside the limits; it isn't changed by them.

    Parameters
    ----------
    entering_fluid_min, entering_fluid_max : float or str, optional
        Lowest and highest entering fluid temperature [degC]; no limit where none is given.
    freezing_margin : float or str, default 3
        Least distance of the lowest leaving fluid temperature from the fluid's freezing point [K]; a run that
        comes closer says so.

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, or the lowest isn't below the highest.

    Examples
    --------
    >>> round(Limits(entering_fluid_min="30 degF", entering_fluid_max=35.0).entering_fluid_min, 3)
    -1.111
    """

    entering_fluid_min: OptionalNumber = OptionalNumber()
    entering_fluid_max: OptionalNumber = OptionalNumber()
    freezing_margin: Number = Number(default=3.0)
