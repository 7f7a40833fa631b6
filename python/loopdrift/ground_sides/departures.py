"""Why a buried loop departs from the rule of thumb for its length: temperatures, loads and ground."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics import model_time
from loopdrift.basics.both_units import TON_OF_COOLING, both
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.words import percent
from loopdrift.ground_sides.rule import RuleOfThumb, Usual, explained
from loopdrift.model import key_figures
from loopdrift.model.moment import moment

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

METRES_PER_TON = Usual(45.0, 90.0, "m", "150 to 300 ft")
"""Length of bore or trench per ton of heating, or of cooling if that is larger."""

GROUND_TEMPERATURES = Usual(7.0, 21.0, "degC", "45 to 70 degF")
"""Ground temperature for buried loops."""

GROUND_DEPTH = 1.8
"""Depth at which that temperature is taken [m]."""


class Laid(NamedTuple):
    """The buried part of a loop."""

    length: float
    """Length of bores or trenches [m]."""
    noun: str
    """Name of one of them."""
    around: str
    """Surroundings of the pipes: a bore wall, soil."""
    season: Callable[[int], float] | None = None
    """Undisturbed temperature around the pipes by hour of the calendar year [degC]; None if constant."""


def per_ton(design: Design, run: Run | None, laid: Laid) -> Iterator[RuleOfThumb]:
    """Yield the rule for the length per ton, if there is a capacity.

    Parameters
    ----------
    design : Design
        The design.
    run : Run or None
        Its run.
    laid : Laid
        The buried part of the loop.
    """
    capacity, what = key_figures.capacity(design)
    if capacity > 0.0:
        length = laid.length / (capacity / TON_OF_COOLING)
        end = METRES_PER_TON.end(length)
        rule = RuleOfThumb(f"{laid.noun.capitalize()} per ton (3.517 kW) of {what}", length, METRES_PER_TON)
        yield explained(rule, of_length(design, run, laid, scale=length / end, usual=end))


def of_length(design: Design, run: Run | None, laid: Laid, *, scale: float, usual: float) -> str:
    """Return the reasons for the length of a loop.

    Parameters
    ----------
    design : Design
        The design.
    run : Run or None
        Its run.
    laid : Laid
        The buried part of the loop.
    scale : float
        Ratio of its length to that at the nearer end of the typical range [-].
    usual : float
        Length at that end [m per ton].
    """
    ground, hours = design.ground, key_figures.full_load_hours(design)
    mode = "cooling" if key_figures.is_for_cooling(design) else "heating"
    driven = (
        f"The load is {hours:,.0f} full-load hours of {mode} a year, the ground conductivity "
        f"{both(ground.conductivity, 'W/(m K)', 'g')}"
    )
    if run is None:
        return f"{driven}; {_allowed(design)}."
    worst = _worst_hour(run, laid)
    yearly = run.yearly.iloc[-1]
    given, drawn = sorted((yearly["heat_extracted_kWh"], yearly["heat_rejected_kWh"]))
    balance = (
        f"{percent(given / drawn)} of the yearly heat flow is balanced by flow in the opposite direction"
        if drawn > 0.0
        else "no heat flows"
    )
    side = "below" if worst.sign > 0.0 else "above"
    parts = ", ".join(f"{both(value, 'K', '.1f')} {name}" for name, value in worst.parts.items())
    return (
        f"{driven}; {balance}. In the critical hour, {worst.moment}, the loop {worst.verb} "
        f"{both(worst.per_metre, 'W/m')} with the fluid {both(worst.drop, 'K', '.1f')} {side} the "
        f"undisturbed ground: {parts}. With {both(usual, 'm', 'g')} per ton, the difference would be "
        f"{both(worst.scaled(scale), 'K', '.1f')}; the limits allow {both(worst.allowed, 'K', '.1f')}."
    )


def _allowed(design: Design) -> str:
    """Return how far the limits let the fluid depart from the undisturbed ground, on the critical side."""
    ground, highest = key_figures.undisturbed(design), design.limits.entering_fluid_max
    if not key_figures.is_for_cooling(design):
        span = ground - coldest_allowed(design)
        return f"the fluid may fall {both(span, 'K', '.1f')} below the undisturbed ground"
    if highest is None:
        return "no maximum fluid temperature is set"
    return f"the fluid may rise {both(highest - ground, 'K', '.1f')} above the undisturbed ground"


class _Worst(NamedTuple):
    """The hour of a run that is closest to its limits."""

    sign: float
    """1 for the cold limit, -1 for the warm limit."""
    moment: str
    per_metre: float
    """Heat [W/m]."""
    drop: float
    """Undisturbed ground less mean fluid temperature, with the sign reversed at the warm limit [K]."""
    parts: dict[str, float]
    """Contributions to that difference [K]."""
    surface: float
    """The part that doesn't depend on the length [K]."""
    allowed: float
    """The drop that the limits allow [K]."""

    @property
    def verb(self) -> str:
        """What the loop does with heat in that hour."""
        return "extracts" if self.sign > 0.0 else "rejects"

    def scaled(self, scale: float) -> float:
        """Return the drop with the length divided by a factor [K]."""
        return self.surface + scale * (self.drop - self.surface)


def _worst_hour(run: Run, laid: Laid) -> _Worst:
    design, hourly = run.design, run.hourly
    entering, leaving = (hourly[f"{which}_fluid_degC"].to_numpy() for which in ("entering", "leaving"))
    mean, wall = 0.5 * (entering + leaving), hourly["wall_degC"].to_numpy()
    cold, warm = int(entering.argmin()), int(entering.argmax())
    half = 0.5 * abs(entering - leaving)
    coldest = coldest_allowed(design, half[cold])
    highest = design.limits.entering_fluid_max
    warmest = math.inf if highest is None else highest + half[warm]
    is_warm = warmest - mean[warm] < mean[cold] - coldest
    hour, sign, allowed = (warm, -1.0, warmest) if is_warm else (cold, 1.0, coldest)
    year, of_year = divmod(hour, HOURS_PER_YEAR)
    at_start = key_figures.undisturbed(design)
    ground = at_start + key_figures.warmed_by(design, hour)
    usual_wall = float(wall[year * HOURS_PER_YEAR : (year + 1) * HOURS_PER_YEAR].mean())
    surface = 0.0
    if laid.season is not None:
        calendar = (model_time.hour_of_calendar_year(design.start_month) + of_year) % HOURS_PER_YEAR
        surface = sign * (at_start - laid.season(calendar))
    years = sign * (ground - usual_wall)
    parts = {"in the mean of that year": years}
    if surface:
        parts["from the season at the surface"] = surface
    parts["from the loads of that season and hour"] = sign * (usual_wall - float(wall[hour])) - surface
    parts[f"between the fluid and the {laid.around}"] = sign * float(wall[hour] - mean[hour])
    return _Worst(
        sign=sign,
        moment=moment(design, year + 1, of_year),
        per_metre=abs(float(hourly["heat_extracted_W"].iloc[hour])) / laid.length,
        drop=sign * (ground - float(mean[hour])),
        parts=parts,
        surface=surface,
        allowed=sign * (ground - allowed),
    )


def coldest_allowed(design: Design, half: float = 0.0) -> float:
    """Return the lowest mean fluid temperature that the limits allow [degC].

    `half` is half of the fluid's temperature change in the heat pump [K].
    """
    limits = design.limits
    coldest = design.fluid.freezing_point + limits.freezing_margin + half
    if limits.entering_fluid_min is None:
        return coldest
    return max(coldest, limits.entering_fluid_min - half)
