"""Why a design departs from a rule of thumb: from its temperatures, its loads and its ground."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis import key_figures
from loopdrift.basics import model_time
from loopdrift.basics.both_units import BTU_PER_H_FT, both, both_degrees
from loopdrift.basics.series import HOURS_PER_YEAR
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run

HOURS_OF_MONTH = 720
HEAT_OF_WATER = 4.19e6
"""Heat capacity of water per volume [J/(m3 K)]."""


def laid_length(field: BoreField | TrenchField) -> tuple[float, str]:
    """Return the length of all bores or trenches [m], and what they are."""
    if isinstance(field, BoreField):
        return field.total_depth, "bore"
    return field.trenches * field.length, "trench"


def of_length(design: Design, run: Run | None, *, scale: float, usual: float) -> str:
    """Return why a loop is as long as it is.

    Parameters
    ----------
    design : Design
        The design.
    run : Run or None
        Its run.
    scale : float
        Its length over that of the rule's nearer end [-].
    usual : float
        That end [m per ton].
    """
    ground, hours = design.ground, key_figures.full_load_hours(design)
    verb = "cools" if key_figures.is_for_cooling(design) else "heats"
    driven = (
        f"It {verb} for {hours:,.0f} full-load hours a year, in ground that conducts "
        f"{both(ground.conductivity, 'W/(m K)', 'g')}"
    )
    if run is None:
        return f"{driven}, and {_allowed(design)}."
    worst = _worst_hour(run)
    yearly = run.yearly.iloc[-1]
    given, drawn = sorted((yearly["heat_extracted_kWh"], yearly["heat_rejected_kWh"]))
    balance = (
        f"{given / drawn:.0%} of the heat is balanced by its opposite" if drawn > 0.0 else "no heat moves"
    )
    side = "below" if worst.sign > 0.0 else "above"
    parts = ", ".join(f"{both(value, 'K', '.1f')} {name}" for name, value in worst.parts.items())
    return (
        f"{driven}, and {balance} within a year. In the hour that decides, {worst.moment}, each metre "
        f"{worst.verb} {worst.per_metre:.0f} W or each foot {BTU_PER_H_FT * worst.per_metre:.0f} Btu/h, with "
        f"the fluid {both(worst.drop, 'K', '.1f')} {side} the undisturbed ground: {parts}. With "
        f"{both(usual, 'm', 'g')} per ton it would take {both(worst.scaled(scale), 'K', '.1f')}, where the "
        f"limits allow {both(worst.allowed, 'K', '.1f')}."
    )


def _allowed(design: Design) -> str:
    """Return how far the limits let the fluid go from the undisturbed ground, on the side that decides."""
    ground, highest = key_figures.undisturbed(design), design.limits.entering_fluid_max
    if not key_figures.is_for_cooling(design):
        span = ground - _coldest_allowed(design)
        return f"the fluid may fall {both(span, 'K', '.1f')} below the undisturbed ground"
    if highest is None:
        return "no limit is set to how warm the fluid may get"
    return f"the fluid may rise {both(highest - ground, 'K', '.1f')} above the undisturbed ground"


def of_trench_depth(design: Design, field: TrenchField, usual: Sequence[float]) -> str:
    """Return what the depth of trenches makes of the year, beside the usual depths [m]."""
    swing, *others = (float(np.ptp(_year(design, field, depth))) / 2.0 for depth in (field.bottom, *usual))
    return (
        f"At their depth the soil swings by {both(swing, 'K', '.1f')} either way over the year, at "
        f"{both(usual[0], 'm', 'g')} by {both(others[0], 'K', '.1f')} and at {both(usual[1], 'm', 'g')} by "
        f"{both(others[1], 'K', '.1f')}."
    )


def of_surface(design: Design, field: TrenchField, depth: float) -> str:
    """Return what makes the ground at a depth [m] as warm as it is."""
    ground = design.ground
    swing = float(np.ptp(_year(design, field, depth))) / 2.0
    diffusivity = ground.conductivity / ground.volumetric_heat_capacity
    return (
        f"The year's mean is {both_degrees(ground.temperature)}; of "
        f"{both(field.surface.amplitude, 'K', '.1f')} by which the surface swings, "
        f"{both(swing, 'K', '.1f')} reach {both(depth, 'm', 'g')} through soil of "
        f"{both(1e6 * diffusivity, 'mm2/s', '.2f')}."
    )


def of_mean_ground(design: Design, field: BoreField) -> str:
    """Return what the ground along bores has to do with that near the surface."""
    along, limits = key_figures.undisturbed(design), _coldest_allowed(design)
    return (
        f"Along bores of {both(field.depths.max(), 'm')} it has {both_degrees(along)}, "
        f"{both(along - limits, 'K', '.1f')} above the coldest fluid that the limits allow."
    )


def of_pond_area(pond: Pond, run: Run | None) -> str:
    """Return what the heat of the hardest month is to the pond."""
    if run is None:
        return f"It holds {both(pond.volume, 'm3')}."
    sums = _running_sums(run.hourly["heat_extracted_W"].to_numpy())
    most = float(np.abs(sums).max()) * 3600.0
    return (
        f"In the 30 days with the most, the loop moves {both(most / 3.6e6, 'kWh')}, by which the pond's "
        f"{both(pond.volume, 'm3')} alone would change by "
        f"{both(most / (pond.volume * HEAT_OF_WATER), 'K', '.1f')}; {_water(run)}"
    )


def of_pond_depth(pond: Pond, run: Run | None) -> str:
    """Return what the depth leaves below the ice."""
    if run is None:
        return f"It holds {both(pond.volume, 'm3')}."
    ice = float(run.hourly["ice_m"].max())
    return (
        f"Ice takes up to {both(ice, 'm', '.2f')} and leaves {both(pond.depth - ice, 'm', '.2f')} of water; "
        f"{_water(run)}"
    )


def of_well_flow(well: Well, run: Run | None, *, scale: float, usual: float) -> str:
    """Return what the flow makes of the water's temperature.

    Parameters
    ----------
    well : Well
        The well.
    run : Run or None
        Its run.
    scale : float
        Its flow over that of the rule's nearer end [-].
    usual : float
        That end [kg/s per ton].
    """
    if run is None:
        above = well.aquifer.temperature - well.lowest_discharge
        return f"The water may be cooled by {both(above, 'K', '.1f')} before it is too cold to be discharged."
    hourly = run.hourly
    change = hourly["wall_degC"] - hourly["discharge_degC"]
    most, coldest = float(change.abs().max()), float(hourly["discharge_degC"].min())
    return (
        f"The loop changes the water's temperature by up to {both(most, 'K', '.1f')}; with "
        f"{both(usual, 'kg/s', 'g')} per ton it would be {both(most * scale, 'K', '.1f')}. Discharged it has "
        f"at least {both_degrees(coldest)}, where {both_degrees(well.lowest_discharge)} are allowed."
    )


class _Worst(NamedTuple):
    """The hour of a run that comes closest to its limits."""

    sign: float
    """1 where the fluid is too cold, -1 where it is too warm."""
    moment: str
    per_metre: float
    """Heat [W/m]."""
    drop: float
    """Undisturbed ground less mean fluid, the other way round where the fluid is warm [K]."""
    parts: dict[str, float]
    """What adds up to that [K]."""
    surface: float
    """The part that the length doesn't change [K]."""
    allowed: float
    """The drop that the limits allow [K]."""

    @property
    def verb(self) -> str:
        """What a metre of the loop does with heat."""
        return "gives" if self.sign > 0.0 else "takes"

    def scaled(self, scale: float) -> float:
        """Return the drop with a length that is less by a factor [K]."""
        return self.surface + scale * (self.drop - self.surface)


def _worst_hour(run: Run) -> _Worst:
    from loopdrift.reporting.findings import moment

    design, hourly = run.design, run.hourly
    entering, leaving = (hourly[f"{which}_fluid_degC"].to_numpy() for which in ("entering", "leaving"))
    mean, wall = 0.5 * (entering + leaving), hourly["wall_degC"].to_numpy()
    cold, warm = int(entering.argmin()), int(entering.argmax())
    half = 0.5 * abs(entering - leaving)
    coldest = _coldest_allowed(design, half[cold])
    highest = design.limits.entering_fluid_max
    warmest = math.inf if highest is None else highest + half[warm]
    is_warm = warmest - mean[warm] < mean[cold] - coldest
    hour, sign, allowed = (warm, -1.0, warmest) if is_warm else (cold, 1.0, coldest)
    year, of_year = divmod(hour, HOURS_PER_YEAR)
    ground = key_figures.undisturbed(design)
    usual_wall = float(wall[year * HOURS_PER_YEAR : (year + 1) * HOURS_PER_YEAR].mean())
    field, surface = design.ground_side, 0.0
    if isinstance(field, TrenchField):
        calendar = (model_time.hour_of_calendar_year(design.start_month) + of_year) % HOURS_PER_YEAR
        depths = [field.depth] if field.pipes is None else field.pipes[:, 1]
        around = [_year(design, field, float(depth))[calendar] for depth in depths]
        surface = sign * (ground - float(np.mean(around)))
    length, noun = laid_length(field) if isinstance(field, BoreField | TrenchField) else (1.0, "")
    years = sign * (ground - usual_wall)
    parts = {"in the mean of that year": years}
    if surface:
        parts["from the season at the surface"] = surface
    parts["from the heat of that season and hour"] = sign * (usual_wall - float(wall[hour])) - surface
    parts[f"between the fluid and the {'soil' if noun == 'trench' else 'bore wall'}"] = sign * float(
        wall[hour] - mean[hour]
    )
    return _Worst(
        sign=sign,
        moment=moment(design, year + 1, of_year),
        per_metre=abs(float(hourly["heat_extracted_W"].iloc[hour])) / length,
        drop=sign * (ground - float(mean[hour])),
        parts=parts,
        surface=surface,
        allowed=sign * (ground - allowed),
    )


def _coldest_allowed(design: Design, half: float = 0.0) -> float:
    """Return the coldest mean fluid that the limits allow, `half` of its change above what leaves."""
    limits = design.limits
    coldest = design.fluid.freezing_point + limits.freezing_margin + half
    if limits.entering_fluid_min is None:
        return coldest
    return max(coldest, limits.entering_fluid_min - half)


def _year(design: Design, field: TrenchField, depth: float) -> NDArray[np.float64]:
    """Return the year of the undisturbed soil at a depth, hour by hour [degC]."""
    return field.surface.temperature(design.ground, depth=depth, hours=np.arange(HOURS_PER_YEAR))


def _running_sums(heat: NDArray[np.float64]) -> NDArray[np.float64]:
    sums: NDArray[np.float64] = np.concatenate([[0.0], heat.cumsum()])
    return np.asarray(sums[HOURS_OF_MONTH:] - sums[:-HOURS_OF_MONTH])


def _water(run: Run) -> str:
    """Return what the water and the limits are left with."""
    wall, entering = run.hourly["wall_degC"], run.hourly["entering_fluid_degC"]
    text = f"the water at the coils has {both_degrees(wall.min())} to {both_degrees(wall.max())}"
    least = run.design.limits.entering_fluid_min
    if least is None:
        return f"{text}."
    return f"{text}, and the fluid stays {both(entering.min() - least, 'K', '.1f')} above its lower limit."
