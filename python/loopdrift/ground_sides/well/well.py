"""A well of groundwater, alone or with one that takes the water back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Number, OptionalNumber, require
from loopdrift.basics.series import instants
from loopdrift.parts.aquifer import Aquifer, WaterLimit, mass_flow_of_water
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground_side import GroundSide


@dataclass(frozen=True, kw_only=True, repr=False)
class Well(GroundSide):
    """An open loop: groundwater through a heat exchanger or the heat pump, and away or back into the ground.

    Parameters
    ----------
    aquifer : Aquifer
        What it draws from.
    diameter : float or str
        Diameter of the bore at the screen [m].
    sustained_yield : float or str
        Most that the well gives for good, from a pumping test [kg/s], or a volume flow as text.
    lift : float or str
        Height from the resting water level to where the water goes, with the friction on the way [m].
    pump_efficiency : float or str
        Hydraulic power over electric power of the well's pump [-].
    flow : float or str, optional
        Flow of the well while it pumps [kg/s], or a volume flow as text. Without it, and without
        `effectiveness`, the well's water goes through the heat pump itself, with the design's flow.
    effectiveness : float or str, optional
        Of the heat exchanger between the well's water and the loop's fluid, over the smaller of both [-].
    return_distance : float or str, optional
        Distance of the well that takes the water back [m]; without it the water goes to a surface body.
    lowest_discharge : float or str
        Temperature below which the water must not be discharged [degC].
    available_drawdown : float or str, optional
        Most that the level may fall in the well [m].
    pump_stops : bool, default True
        Whether the well's pump stops with the compressor, as with a tank or a valve between them; otherwise
        it pumps through every hour with demand.
    depth : float or str, optional
        Depth of each well [m]; only its price depends on it.
    quality : sequence of WaterLimit, optional
        What an analysis of the water found. Nothing is assumed where nothing is given.

    Raises
    ------
    InvalidInput
        If the flow is more than the yield, the parts don't go together, or a value is outside its range.

    Notes
    -----
    The level falls and recovers by Theis (1935), hour by hour; a return well lifts it. Between the wells
    water flows along arcs, each with its own time of arrival (Gringarten & Sauty 1975 for the first);
    the heat capacity of the aquifer is that of the design's `Ground`. Left out: the aquifer's own flow,
    conduction with the layers above and below, which delays and damps what arrives, and well losses.
    The well pumps with its full flow for the share of the hour in which the compressor runs: the load over
    the capacity of the lowest stage, or the whole hour where the heat pump has no capacity. Temperatures of
    fluid and discharge are those while it runs, when the heat of the hour passes in that share. The level
    is that at the end of one stretch of running in the hour, on top of what the mean flow of all hours
    before makes of it; volume, and so what comes back from a return well, follow the mean flow. The pump
    lifts the water out of that drawdown. What it takes is in the electricity of a run, its COP and its cost,
    and beside them in a column of its own; the design's `pump_power` is that of the circulation pump alone.

    The well's water keeps one temperature for 24 hours of pumping, in runs of more than 11 years for a
    4096th of all hours, and has the mean of what was returned in such intervals: what that costs stands
    in the run's error. Nothing else is compressed. The level has no part in the temperatures; it is the
    sum of all hours of pumping.

    References
    ----------
    Gringarten, A. C. & Sauty, J. P. (1975). A theoretical study of heat extraction from aquifers with uniform
    regional flow. J. Geophys. Res. 80, 4956-4962.

    Examples
    --------
    >>> well = Well(
    ...     aquifer=Aquifer(temperature=11.0, thickness=15.0, transmissivity=2e-3, storativity=2e-4),
    ...     diameter=0.3,
    ...     sustained_yield="5 L/s",
    ...     lift=15.0,
    ...     pump_efficiency=0.5,
    ...     flow="1.5 L/s",
    ...     effectiveness=0.8,
    ...     return_distance=60.0,
    ...     lowest_discharge=4.0,
    ... )
    >>> ground = Ground(conductivity=2.0, volumetric_heat_capacity=2.5e6, temperature=11.0)
    >>> round(well.breakthrough_time(ground) / 86400)
    260
    """

    aquifer: Aquifer
    diameter: Number = Number()
    sustained_yield: float
    lift: Number = Number()
    pump_efficiency: Number = Number()
    flow: float | None = None
    effectiveness: OptionalNumber = OptionalNumber()
    return_distance: OptionalNumber = OptionalNumber()
    lowest_discharge: Number = Number()
    available_drawdown: OptionalNumber = OptionalNumber()
    pump_stops: bool = True
    depth: OptionalNumber = OptionalNumber()
    quality: Sequence[WaterLimit] = ()

    wall = "well's water"

    def __post_init__(self) -> None:
        require(self.aquifer, Aquifer, owner="Well", field="aquifer")
        require(self.pump_stops, bool, owner="Well", field="pump_stops")
        if not isinstance(self.quality, Sequence) or isinstance(self.quality, str):
            raise InvalidInput("Well", "quality", repr(self.quality), "", "must be a list of WaterLimit")
        for each in self.quality:
            require(each, WaterLimit, owner="Well", field="quality")
        object.__setattr__(self, "quality", tuple(self.quality))
        sustained = mass_flow_of_water(self.sustained_yield, "Well", "sustained_yield")
        object.__setattr__(self, "sustained_yield", sustained)
        if self.flow is not None:
            object.__setattr__(self, "flow", mass_flow_of_water(self.flow, "Well", "flow"))
        super().__post_init__()

    @property
    def wells(self) -> int:
        """Number of wells, with the one that takes the water back."""
        return 1 if self.return_distance is None else 2

    @property
    def priced(self) -> dict[str, float | None]:
        """Metres of well, where its depth is known, and pumps."""
        return {
            "well_drilling": None if self.depth is None else self.wells * self.depth,
            "well_pump": 1.0,
        }

    @property
    def is_direct(self) -> bool:
        """Whether the well's own water goes through the heat pump."""
        return self.effectiveness is None

    def __str__(self) -> str:
        flow = "with the design's flow" if self.flow is None else f"of {both(self.flow, 'kg/s', '.2f')}"
        meets = "through the heat pump" if self.is_direct else "through a heat exchanger"
        goes = "a surface body"
        if self.return_distance is not None:
            goes = f"a return well {both(self.return_distance, 'm', '.1f')} away"
        return f"a well {flow} at {both_degrees(self.aquifer.temperature)}, {meets}, to {goes}"

    def for_engine(self) -> dict[str, Any]:
        """Return the well as the engine reads it."""
        fields = super().for_engine()
        del fields["quality"]
        return {"kind": "well", **fields, "aquifer": self.aquifer.for_engine()}

    def breakthrough_time(self, ground: Ground, flow: float | str | None = None) -> float:
        """Return the time of steady pumping after which the first of the returned heat arrives.

        Parameters
        ----------
        ground : Ground
            The ground, of which the heat capacity counts.
        flow : float or str, optional
            Flow of the well [kg/s]; its own unless given.

        Returns
        -------
        float
            Time [s].

        Raises
        ------
        InvalidInput
            If there is no return well, or no flow.
        """
        require(ground, Ground, owner="Well", field="ground")
        if self.return_distance is None:
            raise InvalidInput("Well", "return_distance", "nothing", "m", "must be given: nothing returns")
        pumped = self.flow if flow is None else mass_flow_of_water(flow, "Well", "flow")
        if pumped is None or not pumped > 0.0:
            raise InvalidInput("Well", "flow", pumped, "kg/s", "must be given, above 0 kg/s")
        return _core.breakthrough(
            pumped, self.return_distance, self.aquifer.thickness, ground.volumetric_heat_capacity
        )

    def returned_share(
        self, ground: Ground, times: ArrayLike, flow: float | str | None = None
    ) -> NDArray[np.float64]:
        """Return the share of the well's water that has the temperature of what was returned.

        Parameters
        ----------
        ground : Ground
            The ground.
        times : array_like
            Time since steady pumping began, any shape [s].
        flow : float or str, optional
            Flow of the well [kg/s]; its own unless given.

        Returns
        -------
        ndarray
            Share of the flow, the shape of `times` [-].

        Raises
        ------
        InvalidInput
            As `breakthrough_time`.
        """
        at = instants(times, owner="Well")
        return _core.returned_share(at.ravel() / self.breakthrough_time(ground, flow)).reshape(at.shape)
