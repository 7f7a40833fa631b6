"""A groundwater well, with or without a return well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.part import Checked, Number, OptionalNumber, Several, require
from loopdrift.basics.series import instants
from loopdrift.parts.aquifer import Aquifer, WaterLimit, mass_flow_of_water
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground_side import GroundSide, Measure

LEAST_SHARE = 0.02
"""Smallest flow that sizing tries, as a share of the sustained yield [-]."""

LEAST_FLOW = 1.1e-3
"""Smallest flow that sizing tries [kg/s]."""

FINEST_SHARE = 5e-4
"""Resolution of the flow, as a share of the sustained yield [-]."""


def _optional_flow(value: float | str | None, *, owner: str, field: str) -> float | None:
    """Return a flow of groundwater [kg/s]; None if none is given."""
    return None if value is None else mass_flow_of_water(value, owner=owner, field=field)


@dataclass(frozen=True, kw_only=True, repr=False)
class Well(GroundSide):
    """An open loop: groundwater through a heat exchanger or the heat pump, discharged or returned.

    Parameters
    ----------
    aquifer : Aquifer
        The aquifer.
    diameter : float or str
        Diameter of the bore at the screen [m].
    sustained_yield : float or str
        Sustained yield, from a pumping test [kg/s], or a volume flow as text.
    lift : float or str
        Height from the static water level to the point of discharge, plus friction losses [m].
    pump_efficiency : float or str
        Ratio of hydraulic to electric power of the well pump [-].
    flow : float or str, optional
        Flow of the well while it pumps [kg/s], or a volume flow as text. Without it, and without
        `effectiveness`, the well's water flows directly through the heat pump, at the design flow.
    effectiveness : float or str, optional
        Effectiveness of the heat exchanger between well water and loop fluid, relative to the smaller heat
        capacity rate [-].
    return_distance : float or str, optional
        Distance of the return well [m]; without it, the water is discharged to a surface body.
    lowest_discharge : float or str
        Minimum discharge temperature [degC].
    available_drawdown : float or str, optional
        Maximum drawdown in the well [m].
    pump_stops : bool, default True
        Whether the well pump stops with the compressor, as with a tank or a valve between them; otherwise it
        runs for the whole of every hour with demand.
    depth : float or str, optional
        Depth of each well [m]; affects only its price.
    quality : WaterLimit or sequence of WaterLimit, optional
        Results of a water analysis. Nothing is assumed without them.

    Raises
    ------
    InvalidInput
        If the flow exceeds the yield, the parts are incompatible, or a value is outside its range.

    Notes
    -----
    Drawdown and recovery follow Theis (1935), hour by hour; a return well raises the level. Between the
    wells, water flows along arcs, each with its own time of arrival (Gringarten & Sauty 1975 for the first);
    the heat capacity of the aquifer is that of the design's `Ground`. Neglected: regional flow, conduction to
    the layers above and below, which delays and attenuates the returned heat, and well losses.

    The well pumps at full flow for the share of the hour in which the compressor runs: the load over the
    capacity of the lowest stage, or the whole hour if the heat pump has no capacity. Temperatures of fluid
    and discharge apply while it runs, when the heat of the hour is exchanged in that share. Drawdown is that
    at the end of a single running period in the hour, added to that of the mean flow of all earlier hours;
    volume, and with it the water from a return well, follow the mean flow. The pump lifts the water from that
    level. Its electricity is included in that of a run, in the COP and in the cost, and also reported in a
    separate column; the design's `pump_power` is that of the circulation pump alone.

    The well's water has one temperature for each interval of 24 hours of pumping, or of 1/4096 of all hours
    in runs of more than 11 years, and returned water the mean temperature of such an interval: the run's
    error includes the effect. Nothing else is compressed. The level doesn't affect temperatures; it
    superposes all hours of pumping.

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
    sustained_yield: Checked[float] = Checked(mass_flow_of_water)
    lift: Number = Number()
    pump_efficiency: Number = Number()
    flow: Checked[float | None] = Checked(_optional_flow, None)
    effectiveness: OptionalNumber = OptionalNumber()
    return_distance: OptionalNumber = OptionalNumber()
    lowest_discharge: Number = Number()
    available_drawdown: OptionalNumber = OptionalNumber()
    pump_stops: bool = True
    depth: OptionalNumber = OptionalNumber()
    quality: Several[WaterLimit] = Several(WaterLimit)

    wall = "well's water"

    @property
    def sizes(self) -> Mapping[str, Measure | None]:
        """Flow up to the yield, and effectiveness of the heat exchanger; none without an exchanger."""
        if self.is_direct:
            return {}
        least = min(max(LEAST_SHARE * self.sustained_yield, LEAST_FLOW), self.sustained_yield)
        flow = Measure("kg/s", (least, self.sustained_yield), FINEST_SHARE * self.sustained_yield, False)
        return {"flow": flow, "effectiveness": Measure("", (0.3, 0.95), 1e-3, False)}

    def __post_init__(self) -> None:
        require(self.aquifer, Aquifer, owner="Well", field="aquifer")
        require(self.pump_stops, bool, owner="Well", field="pump_stops")
        super().__post_init__()

    @property
    def wells(self) -> int:
        """Number of wells, including the return well."""
        return 1 if self.return_distance is None else 2

    @property
    def priced(self) -> dict[str, float | None]:
        """Metres of well, if the depth is given, and pumps."""
        return {
            "well_drilling": None if self.depth is None else self.wells * self.depth,
            "well_pump": 1.0,
        }

    @property
    def is_direct(self) -> bool:
        """Whether the well's water flows directly through the heat pump."""
        return self.effectiveness is None

    def __str__(self) -> str:
        flow = "with the design flow" if self.flow is None else f"of {both(self.flow, 'kg/s', '.2f')}"
        meets = "through the heat pump"
        if self.effectiveness is not None:
            meets = f"through a heat exchanger of {self.effectiveness:.3g} effectiveness"
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
        """Return the breakthrough time of returned heat at steady pumping.

        Parameters
        ----------
        ground : Ground
            The ground; only its heat capacity matters.
        flow : float or str, optional
            Flow of the well [kg/s]; by default its own.

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
            allowed = "must be given: no water is returned"
            raise InvalidInput("Well", "return_distance", "nothing", "m", allowed)
        pumped = self.flow if flow is None else mass_flow_of_water(flow, owner="Well", field="flow")
        if pumped is None or not pumped > 0.0:
            raise InvalidInput("Well", "flow", pumped, "kg/s", "must be given, above 0 kg/s")
        return _core.breakthrough(
            pumped, self.return_distance, self.aquifer.thickness, ground.volumetric_heat_capacity
        )

    def returned_share(
        self, ground: Ground, times: ArrayLike, flow: float | str | None = None
    ) -> NDArray[np.float64]:
        """Return the share of the well's water that has the temperature of the returned water.

        Parameters
        ----------
        ground : Ground
            The ground.
        times : array_like
            Time since the start of steady pumping, any shape [s].
        flow : float or str, optional
            Flow of the well [kg/s]; by default its own.

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
