"""The heat that must be added to the loop, or removed from it, to limit the entering fluid's drift."""

from __future__ import annotations

import math
import reprlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeAlias, TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift.basics import notebook
from loopdrift.basics.both_units import both
from loopdrift.basics.errors import FluidFreezes, InvalidInput
from loopdrift.basics.model_time import HOURS_OF_MONTHS
from loopdrift.basics.numbers import number_within
from loopdrift.basics.series import array
from loopdrift.basics.words import change, counted
from loopdrift.model.design import Design, check_years
from loopdrift.model.judgement import LABELS
from loopdrift.model.progress import Progress, Reporting
from loopdrift.parts.loads import Loads

D = TypeVar("D", bound=Design)

Monthly: TypeAlias = NDArray[np.float64]

RESOLUTION = 0.002
"""Resolution of the search, as a share of the greatest recharge in the range [-]."""

QUIET = 0.5
"""Share of the peak month's load below which a month is recharged by default [-]."""

_HOURS = np.array(HOURS_OF_MONTHS)


@dataclass(frozen=True, eq=False, repr=False)
class Recharge(Generic[D]):
    """Result of the search for a recharge; prints as a sentence.

    Parameters
    ----------
    holds : bool
        Whether the drift stays within the limit and the design with that recharge holds.
    monthly : numpy.ndarray
        Recharge in each month from January [W], shape (12,); negative if heat is removed from the loop.
    design : Design
        The design with that recharge added to its own.
    years : int
        Horizon.
    limit : float
        Limit to the departure of a year's mean entering fluid temperature from that of the first year [K].
    drift : float
        Greatest departure with the recharge, negative below the first year [K]; minus infinity if the fluid
        freezes.
    drift_without : float
        Greatest departure without the recharge [K].
    runs : int
        Number of hourly coupled runs.
    broken : tuple of str
        Other limits that the design with that recharge breaks, by their names in `Limits`; the search
        considers only the drift.
    """

    holds: bool
    monthly: Monthly
    design: D
    years: int
    limit: float
    drift: float
    drift_without: float
    runs: int
    broken: tuple[str, ...] = ()

    @property
    def yearly(self) -> float:
        """Recharge per year [kWh], negative if heat is removed from the loop."""
        return float(self.monthly @ _HOURS) / 1000.0

    def __repr__(self) -> str:
        verdict = "holds" if self.holds else "does not hold"
        return f"<Recharge: up to {np.abs(self.monthly).max():.4g} W, {verdict}>"

    def _repr_html_(self) -> str:
        return notebook.heading("Recharge") + notebook.sentences([str(self)])

    def __str__(self) -> str:
        mean = "the yearly mean entering fluid temperature"
        within = f"within {both(self.limit, 'K', '.4g')} of the first year"
        way = "removed from" if self.yearly < 0.0 else "added to"
        power = both(float(np.abs(self.monthly).max()) / 1000.0, "kW", ".2f")
        recharge = f"{both(abs(self.yearly), 'kWh')} a year {way} the loop, at most {power} in any month"
        if not self.monthly.any():
            recharge = "no recharge"
        moves, without = (_moves(drift, self.years) for drift in (self.drift, self.drift_without))
        if abs(self.drift) > self.limit:
            return (
                f"No recharge in the range keeps {mean} {within}. Nearest: with {recharge}, it {moves}; "
                f"without recharge, it {without}."
            )
        text = f"With {recharge}, {mean} {moves}, {within}"
        text = f"{text}; without recharge, it {without}." if self.monthly.any() else f"{text}."
        if not self.broken:
            return text
        labels = ", ".join(LABELS[name] for name in self.broken)
        return f"{text} But the design does not hold. Limits exceeded: {labels}."


def _moves(drift: float, years: int) -> str:
    if math.isinf(drift):
        return "falls until the fluid freezes"
    return f"{change(drift, tense='present')} in {counted(years, 'year')}"


@dataclass(frozen=True, eq=False)
class _Tried:
    """The run with one recharge."""

    monthly: Monthly
    design: Design
    moved: NDArray[np.float64]
    """Mean entering fluid temperature of each year less that of the first [K]; -infinity if it freezes."""
    imbalance: float
    """Heat extracted less heat rejected in the last year [kWh]; NaN if the fluid freezes."""
    broken: tuple[str, ...]
    """The limits that the design breaks, by their names in `Limits`."""

    @property
    def drift(self) -> float:
        return float(self.moved[np.abs(self.moved).argmax()])


def find_recharge(
    design: D,
    drift: float | str,
    *,
    years: int,
    profile: ArrayLike | None,
    most: float | str | None,
    progress: Progress,
) -> Recharge[D]:
    """Find the smallest recharge that limits the drift; see `Design.find_recharge`."""
    horizon = check_years(years, owner="Recharge")
    if horizon == 1:
        raise InvalidInput("Recharge", "years", 1, "", "must be at least 2: one year shows no drift")
    limit = number_within(drift, "K", owner="Recharge", field="drift", above=0.0)
    greatest = None if most is None else number_within(most, "W", owner="Recharge", field="most", above=0.0)
    given = None if profile is None else _profile(profile)
    tried: list[_Tried] = []
    with Reporting(progress, owner="Recharge", unit="run") as tell:

        def run(monthly: Monthly) -> _Tried:
            tried.append(_tried(design, monthly, horizon))
            if tell is not None:
                tell(len(tried))
            return tried[-1]

        without = run(np.zeros(12))
        found = without
        if abs(without.drift) > limit:
            sign = -math.copysign(1.0, without.drift)
            shape = sign * (_quiet_months(design.loads, sign) if given is None else given)
            if greatest is None:
                greatest = _twice_the_imbalance(without, shape)
            if greatest > 0.0:
                found = _least(run, shape, greatest, limit, without)
            if abs(found.drift) > limit:
                found = min(tried, key=lambda each: abs(each.drift))
    holds = abs(found.drift) <= limit and not found.broken
    return Recharge(
        holds,
        found.monthly,
        cast(D, found.design),
        horizon,
        limit,
        found.drift,
        without.drift,
        len(tried),
        found.broken,
    )


def _least(
    run: Callable[[Monthly], _Tried], shape: Monthly, greatest: float, limit: float, without: _Tried
) -> _Tried:
    """Return the smallest recharge with which the fluid drifts by no more than `limit`.

    The drift decreases almost linearly with the recharge. Each step tries the intersection of the line
    through both ends of the bracket with the limit, or bisects where that converges slowly.
    """
    sign = np.sign(shape.sum())

    def beyond(found: _Tried) -> float:
        return float((-sign * found.moved).max()) - limit

    low, high = (0.0, without), (greatest, run(greatest * shape))
    resolution = RESOLUTION * greatest
    halve = False
    while beyond(high[1]) <= 0.0 and high[0] - low[0] > 1.001 * resolution:
        width, above, below = high[0] - low[0], beyond(low[1]), beyond(high[1])
        place = low[0] + width * (0.5 if halve or math.isinf(above - below) else above / (above - below))
        place = min(max(place, low[0] + 0.5 * resolution), high[0] - 0.5 * resolution)
        found = run(place * shape)
        low, high = (low, (place, found)) if beyond(found) <= 0.0 else ((place, found), high)
        halve = not halve and high[0] - low[0] > 0.5 * width
    return high[1]


def _tried(design: Design, monthly: Monthly, years: int) -> _Tried:
    """Run a design with a recharge [W] added to its own."""
    loads = design.loads
    recharge = np.tile(np.repeat(monthly, _HOURS), loads.years)
    recharged = design.replace(loads=loads.with_series(recharge=loads.recharge + recharge))
    try:
        run = recharged.run(years)
    except FluidFreezes:
        return _Tried(monthly, recharged, np.full(years, -np.inf), math.nan, ("frozen_fluid",))
    yearly, broken = run.yearly, tuple(each.name for each in run.judgement.broken)
    means = yearly["entering_fluid_mean_degC"].to_numpy()
    imbalance = (yearly["heat_extracted_kWh"] - yearly["heat_rejected_kWh"]).iloc[-1]
    return _Tried(monthly, recharged, means - means[0], float(imbalance), broken)


def _quiet_months(loads: Loads, sign: float) -> Monthly:
    """Return 1 for the months that are recharged by default, 0 for the others.

    They are the months with less than half of the peak month's heating and hot water, or of its cooling if
    heat is removed; all months if there are none.
    """
    names = ["heating_kWh", "hot_water_kWh"] if sign > 0.0 else ["cooling_kWh"]
    by_month = loads.monthly()[names].sum(axis="columns").groupby(level="month").mean().to_numpy()
    quiet = by_month < QUIET * by_month.max()
    return np.asarray(quiet if quiet.any() else ~quiet, dtype=np.float64)


def _twice_the_imbalance(without: _Tried, shape: Monthly) -> float:
    """Return the power [W] with which a shape adds twice the ground's heat deficit of the last year.

    Zero or less if there is no such deficit: the drift then has another cause.
    """
    if math.isnan(without.imbalance):
        allowed = "must be given where the fluid freezes without recharge"
        raise InvalidInput("Recharge", "most", None, "W", allowed)
    return 2.0 * 1000.0 * without.imbalance / float(shape @ _HOURS)


def _profile(given: ArrayLike) -> Monthly:
    """Return the profile scaled to a maximum of 1."""
    profile = array(given, "any unit", owner="Recharge", field="profile")
    if (
        profile.shape != (12,)
        or not np.isfinite(profile).all()
        or profile.min() < 0.0
        or profile.max() == 0.0
    ):
        allowed = "must be 12 numbers, zero or more, not all of them zero"
        raise InvalidInput("Recharge", "profile", reprlib.repr(profile.tolist()), "", allowed)
    return np.asarray(profile / profile.max())
