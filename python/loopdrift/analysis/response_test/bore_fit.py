"""The engine's own bore, fitted to a record: heat that varies, power cuts, and heat stored in the bore."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
import scipy.optimize
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from loopdrift import _core
from loopdrift.analysis.measured.noise import generalised
from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.response_test.record import Record, averaged, superposed
from loopdrift.parts.bore import Bore
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground

Numbers = NDArray[np.float64]

_HOUR = 3600.0
_TIMES = 40
_LEAST_TIME = 60.0  # s
_LIMITS = {"conductivity": (0.2, 10.0), "grout_conductivity": (0.2, 10.0), "resistance": (0.005, 1.0)}
_STEP = 1e-3
"""Step of numerical derivatives, relative."""


@dataclass(frozen=True)
class TestedBore:
    """What is known of a tested bore and its ground.

    Parameters
    ----------
    bore : Bore
        The bore; its grout conductivity, or its measured resistance, is only where the search begins.
    fluid : Fluid
        The fluid.
    flow : float
        Its mean flow [kg/s].
    heat_capacity : float
        Volumetric heat capacity of the ground [J/(m3 K)].
    """

    bore: Bore
    fluid: Fluid
    flow: float
    heat_capacity: float

    @property
    def is_measured(self) -> bool:
        """Whether the bore is known by its resistance alone."""
        return self.bore.pipes is None

    @property
    def unknown(self) -> str:
        """Name of the number of the bore that is fitted."""
        return "resistance" if self.is_measured else "grout_conductivity"

    def with_unknown(self, value: float) -> Bore:
        """Return the bore with another resistance [m K/W] or grout conductivity [W/(m K)]."""
        return self.bore.replace(**{self.unknown: value})

    def ground(self, conductivity: float) -> Ground:
        """Return the ground with a conductivity [W/(m K)]; its temperature plays no part."""
        return Ground(
            conductivity=conductivity, volumetric_heat_capacity=self.heat_capacity, temperature=10.0
        )

    def resistance(self, conductivity: float, unknown: float, temperature: float) -> float:
        """Return the effective resistance of the bore [m K/W]."""
        if self.is_measured:
            return unknown
        found = self.with_unknown(unknown).resistance_at(
            ground=self.ground(conductivity), fluid=self.fluid, flow=self.flow, temperature=temperature
        )
        return found.effective


class _Model:
    """The mean fluid temperature of a bore with the heat of a record, as intervals see it."""

    def __init__(self, record: Record, tested: TestedBore, begin: float, end: float, settling: float) -> None:
        self._tested = tested
        self._record = record
        self.middle, self.which = record.intervals(begin, end, settling)
        self.measured = averaged(record.mean, self.which)
        self.temperature = float(np.nanmean(record.mean))
        self._ends, heat = record.steps
        self._heat = heat / tested.bore.depth
        self._nodes = np.geomspace(_LEAST_TIME, record.duration, _TIMES)
        self._fluid = tested.fluid.for_engine()
        # A logger sees that the heater was switched, but not when between two rows. So the energy of that
        # interval is another unknown, unless the rows after it aren't used.
        switches = record.switches[: 0 if settling else None]
        self._pulses = [record.pulse(row) / tested.bore.depth for row in switches]

    def rise(self, conductivity: float, unknown: float) -> Numbers:
        """Return the rise above the undisturbed temperature in each interval [K]."""
        return self._in_intervals(self._heat, conductivity, unknown)

    def switched(self, values: Numbers) -> Numbers:
        """Return the rise with 1 J more in the interval of each switch, shape (intervals, switches) [K]."""
        conductivity, unknown = np.exp(values[:2]).tolist()
        found = [self._in_intervals(pulse, conductivity, unknown) for pulse in self._pulses]
        return np.column_stack(found) if found else np.empty((self.middle.size, 0))

    def _in_intervals(self, heat: Numbers, conductivity: float, unknown: float) -> Numbers:
        rise = superposed(heat, self._step_response(conductivity, unknown)) / (2.0 * np.pi * conductivity)
        at_rows = np.interp(self._record.times, np.append(0.0, self._ends), np.append(0.0, rise))
        return averaged(at_rows, self.which)

    @functools.lru_cache(maxsize=4)  # noqa: B019 - a model lives as long as its fit
    def _step_response(self, conductivity: float, unknown: float) -> Numbers:
        """Return the dimensionless response of the mean fluid at the ends of the steps [-]."""
        tested = self._tested
        response, _ = _core.bore_response(
            tested.with_unknown(unknown).for_engine(),
            tested.ground(conductivity).for_engine(),
            self._fluid,
            flow=tested.flow if np.isfinite(tested.flow) else 1.0,  # a measured resistance has no flow
            temperature=self.temperature,
            times=self._nodes,
        )
        at = np.log(np.maximum(self._ends, _LEAST_TIME))
        by_step: Numbers = CubicSpline(np.log(self._nodes), response)(at)
        return by_step

    def predicted(self, values: Numbers) -> Numbers:
        """Return the temperature in each interval, from the two logarithms and the temperature [degC]."""
        conductivity, unknown = np.exp(values[:2]).tolist()
        rise: Numbers = values[2] + self.rise(conductivity, unknown)
        return rise

    def slopes(self, values: Numbers) -> Numbers:
        """Return the derivatives of `predicted`, shape (intervals, 3)."""
        here = self.predicted(values)
        by_first, by_second = (
            (self.predicted(values + _STEP * each) - here) / _STEP for each in np.eye(3)[:2]
        )
        return np.column_stack([by_first, by_second, np.ones_like(self.middle)])


def fit_bore(
    record: Record,
    tested: TestedBore,
    *,
    begin: float,
    end: float,
    settling: float = 0.0,
    start: tuple[float, float],
    known_temperature: float | None = None,
) -> FoundGround:
    """Fit conductivity, bore resistance and undisturbed temperature to a record.

    First plain least squares, then steps of generalised least squares with the noise that it left.

    Parameters
    ----------
    record : Record
        The record.
    tested : TestedBore
        What is known of bore and ground.
    begin, end : float
        Times between which temperatures are compared, since the first row [s]; the heat before counts too.
    settling : float, default 0
        Time after each change of the heat in which temperatures aren't compared [s].
    start : tuple of float
        Conductivity [W/(m K)] and undisturbed temperature [degC] at which the search begins.
    known_temperature : float, optional
        Undisturbed temperature, if it isn't to be fitted [degC].
    """
    model = _Model(record, tested, begin, end, settling)
    name = tested.unknown
    first = getattr(tested.bore, name)
    least = np.log([_LIMITS["conductivity"][0], _LIMITS[name][0]])
    most = np.log([_LIMITS["conductivity"][1], _LIMITS[name][1]])
    values = np.array([*np.clip(np.log([start[0], first]), least, most), known_temperature or start[1]])
    free = np.array([True, True, known_temperature is None])

    def full(some: Numbers) -> Numbers:
        every = values.copy()
        every[free] = some
        return every

    found = scipy.optimize.least_squares(
        lambda some: model.predicted(full(some)) - model.measured,
        values[free],
        jac=lambda some: model.slopes(full(some))[:, free],
        bounds=(np.append(least, -90.0)[free], np.append(most, 90.0)[free]),
        xtol=1e-4,
        ftol=1e-4,
    )
    values = full(found.x)
    count = int(free.sum())
    for _ in range(3):
        slopes, switched = model.slopes(values)[:, free], model.switched(values)
        left = model.measured - model.predicted(values)
        estimate = generalised(model.middle, np.column_stack([slopes, switched]), left)
        energies = estimate.values[count:]
        values = full(values[free] + estimate.values[:count])
        values[:2] = np.clip(values[:2], least, most)
    conductivity, unknown = np.exp(values[:2])
    covariance = np.zeros((3, 3))
    covariance[np.ix_(free, free)] = estimate.covariance[:count, :count]

    def resistance(k: float, u: float) -> float:
        return tested.resistance(k, u, model.temperature)

    up, down = np.exp(_STEP), np.exp(-_STEP)
    by_k = (resistance(conductivity * up, unknown) - resistance(conductivity * down, unknown)) / (2.0 * _STEP)
    by_u = (resistance(conductivity, unknown * up) - resistance(conductivity, unknown * down)) / (2.0 * _STEP)
    turn = np.array([[conductivity, 0.0, 0.0], [by_k, by_u, 0.0], [0.0, 0.0, 1.0]])
    return FoundGround(
        method="fitted bore",
        conductivity=float(conductivity),
        resistance=resistance(conductivity, unknown),
        temperature=float(values[2]),
        covariance=turn @ covariance @ turn.T,
        begin=begin / _HOUR,
        end=end / _HOUR,
        heat=record.heat_between(record.start, end) / tested.bore.depth,
        hours=model.middle / _HOUR,
        measured=model.measured,
        fitted=model.predicted(values) + model.switched(values) @ energies,
        grout_conductivity=None if tested.is_measured else float(unknown),
    )
