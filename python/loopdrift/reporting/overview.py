"""A design on a page of plain text: what follows from it before any hour is run."""

from __future__ import annotations

import calendar
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from loopdrift import _core
from loopdrift.analysis.cost import require_priced
from loopdrift.analysis.key_figures import flow_in_words, peaks, undisturbed
from loopdrift.basics.both_units import BTU_PER_WH, both, both_degrees, kilowatts
from loopdrift.basics.words import counted, span
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.trench_field.field import TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.parts.plant.fit_quality import UNKNOWN, ModeQuality
from loopdrift.reporting.assumptions import assumptions
from loopdrift.reporting.rules_of_thumb import rules_of_thumb
from loopdrift.reporting.summary import WIDTH

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.parts.bore import Bore, BoreResistance
    from loopdrift.parts.loads import Loads
    from loopdrift.parts.plant.heat_pump import HeatPump

LABEL_WIDTH = 15
_WARMED_BY = {
    "superheat_in_cooling": "by superheat in cooling",
    "superheat_in_heating": "by superheat in heating",
    "heat_pump": "by the heat pump",
    "element": "by an element",
}


def overview(design: Design, *, units: Literal["SI", "IP"] = "SI") -> str:
    """Return what follows from a design before any hour is run.

    Bores or trenches and flow, freezing point, regime and resistance at the undisturbed temperature and at
    the lower limit of the entering fluid, loads, distribution, hot water, how well the heat pump's curves
    meet its table, what is assumed, and rules of thumb.

    Parameters
    ----------
    design : Design
        The design.
    units : {"SI", "IP"}, default "SI"
        Units of the loads by month; the sentences give both where they matter.

    Returns
    -------
    str
        Lines of plain text, the last one ended.

    Raises
    ------
    InvalidInput
        If a run of the design would have no cost.
    """
    require_priced(design)
    page = "\n".join(_labelled(label, text) for label, text in facts(design))
    return f"{page}\n\n{_months(design.loads, units)}\n"


def facts(design: Design) -> list[tuple[str, str]]:
    """Return the same as labels and texts."""
    return [
        _loop(design),
        ("flow", _flow(design)),
        ("fluid", _fluid(design)),
        *_resistances(design),
        *_piping(design),
        ("loads", _loads(design)),
        *_distribution(design),
        *_hot_water(design),
        *_heat_pump(design),
        *_rating(design),
        ("assumed", assumptions(design)),
        *(("rule of thumb", str(rule)) for rule in rules_of_thumb(design)),
    ]


def _loop(design: Design) -> tuple[str, str]:
    field, ground = design.ground_side, design.ground
    if isinstance(field, BoreField):
        return "bores", _bores(design, field)
    if isinstance(field, Pond):
        warmth = (
            f"water taken to follow the air at {both_degrees(undisturbed(design))} in the mean of the year"
        )
        return "pond", f"{field}; {warmth}"
    if isinstance(field, Well):
        return "well", f"{field}, of {both(field.sustained_yield, 'kg/s', '.2f')} that it gives for good"
    return "trenches", (
        f"{field}, in ground of {both(ground.conductivity, 'W/(m K)', 'g')} at "
        f"{both_degrees(undisturbed(design))} in the mean of the year, below a surface that swings by "
        f"{both(field.surface.amplitude, 'K', '.1f')}"
    )


def _bores(design: Design, field: BoreField) -> str:
    shallowest, deepest = field.depths.min(), field.depths.max()
    depths = both(deepest, "m", "g")
    if shallowest != deepest:
        depths = f"{both(shallowest, 'm', 'g')} to {depths}"
    leaning = f", leaning by {span(field.inclination)} deg" if field.leans else ""
    return (
        f"{counted(field.count, 'bore')} of {depths}, {both(field.total_depth, 'm')} in all{leaning}, in "
        f"ground of {both(design.ground.conductivity, 'W/(m K)', 'g')} at "
        f"{both_degrees(undisturbed(design))} along them"
    )


def _flow(design: Design) -> str:
    count = design.ground_side.count
    each = "" if count == 1 else f", {flow_in_words(design, 1.0 / count)} in each {_noun(design)}"
    return f"{flow_in_words(design)} in all{each}"


def _fluid(design: Design) -> str:
    limits, freezing_point = design.limits, design.fluid.freezing_point
    text = f"{design.fluid} freezes at {both_degrees(freezing_point)}"
    if limits.entering_fluid_min is not None:
        text += (
            f", {both(limits.entering_fluid_min - freezing_point, 'K', '.1f')} below the lower limit of the "
            f"entering fluid, {both_degrees(limits.entering_fluid_min)}"
        )
    return f"{text}; the leaving fluid is to stay {both(limits.freezing_margin, 'K', 'g')} above"


def _resistances(design: Design) -> Iterator[tuple[str, str]]:
    """Yield regime and resistance of the pipes or the deepest bore at each temperature of interest."""
    field = design.ground_side
    temperatures = [undisturbed(design)]
    if design.limits.entering_fluid_min is not None:
        temperatures.append(design.limits.entering_fluid_min)
    if isinstance(field, Well):
        return
    if isinstance(field, TrenchField | Pond):
        for temperature in temperatures:
            yield (
                "resistance",
                f"at {both_degrees(temperature)} {_pipe_resistance(design, field, temperature)}",
            )
        return
    bore = max(field.bores, key=lambda bore: bore.depth)
    if bore.resistance is not None:
        yield "bore", f"measured effective resistance {both(bore.resistance, 'm K/W', '.4g')}"
        return
    for temperature in temperatures:
        yield "resistance", f"at {both_degrees(temperature)} {_resistance(design, bore, temperature)}"


def _pipe_resistance(design: Design, field: TrenchField | Pond, temperature: float) -> str:
    found = _core.pipe_resistance(
        field.pipe.for_engine(), design.fluid.for_engine(), design.flow / field.count, temperature
    )
    film = found["film"]
    return (
        f"{film['regime']} flow, Reynolds number {film['reynolds']:,.0f}; "
        f"{both(found['local'], 'm K/W', '.4f')} from fluid to "
        f"{'soil' if isinstance(field, TrenchField) else 'water'}"
    )


def _resistance(design: Design, bore: Bore, temperature: float) -> str:
    found = bore.resistance_at(
        ground=design.ground,
        fluid=design.fluid,
        flow=design.flow / design.ground_side.count,
        temperature=temperature,
    )
    return (
        f"{_regime(found)}; bore resistance {both(found.local, 'm K/W', '.4f')} local, "
        f"{both(found.effective, 'm K/W', '.4f')} over the whole bore"
    )


def _regime(found: BoreResistance) -> str:
    text = f"{found.regime} flow, Reynolds number {found.reynolds:,.0f}"
    if found.inner_reynolds is None:
        return text
    return f"in the gap {text}; inside {found.inner_regime}, {found.inner_reynolds:,.0f}"


def _piping(design: Design) -> Iterator[tuple[str, str]]:
    if design.piping is not None:
        from loopdrift.reporting import hydraulics as text

        yield from text.lines(design, design.piping)


def _loads(design: Design) -> str:
    heating, cooling = peaks(design)
    if isinstance(design.ground_side, Well):
        return f"heating and hot water up to {kilowatts(heating)}; cooling up to {kilowatts(cooling)}"
    length, noun = _length(design), _noun(design)
    return (
        f"heating and hot water up to {kilowatts(heating)}, {both(heating / length, 'W/m', '.1f')} of "
        f"{noun}; cooling up to {kilowatts(cooling)}, {both(cooling / length, 'W/m', '.1f')}"
        + _recharge(design.loads)
    )


def _recharge(loads: Loads) -> str:
    if loads.peak["recharge"] <= 0.0:
        return ""
    energy = loads.recharge.sum() / 1000.0 / loads.years
    return f"; {both(energy, 'kWh')} a year are given to the loop from elsewhere"


def _months(loads: Loads, units: Literal["SI", "IP"]) -> str:
    """Return heat and largest hour of each month; of several years the mean and the largest."""
    of_heat, of_power, per_kwh = ("kWh", "kW", 1.0) if units == "SI" else ("kBtu", "kBtu/h", BTU_PER_WH)
    table = loads.monthly().groupby(level="month")
    columns = [["month", "", *calendar.month_name[1:], "year"]]
    for name, peak in loads.peak.items():
        if peak > 0.0:
            heat = per_kwh * table[f"{name}_kWh"].mean().to_numpy()
            most = per_kwh * table[f"{name}_peak_W"].max().to_numpy() / 1e3
            columns.append(
                [name.replace("_", " "), f"[{of_heat}]", *(f"{each:,.0f}" for each in (*heat, heat.sum()))]
            )
            columns.append(["up to", f"[{of_power}]", *(f"{each:.1f}" for each in (*most, most.max()))])
    rows = zip(*columns, strict=True)
    return "\n".join(
        f"{label:<{LABEL_WIDTH}}{''.join(f' {cell:>10}' for cell in cells)}".rstrip()
        for label, *cells in rows
    )


def _distribution(design: Design) -> Iterator[tuple[str, str]]:
    """Yield what enters the heat pump from the building, and what moving it takes."""
    given = design.distribution
    if given is None:
        return
    heating, cooling = both_degrees(given.heating_side), both_degrees(given.cooling_side)
    if given.weather is None:
        text = f"air enters the heat pump at {heating} in heating and {cooling} in cooling"
    else:
        text = (
            f"water enters the heat pump at {heating} on a day of {both_degrees(given.cold_day)}, at "
            f"{both_degrees(given.mild_heating_side)} on a day of {both_degrees(given.mild_day)}; in cooling "
            f"at {cooling}"
        )
    energy = design.distribution_power.sum() / 1000.0 / design.loads.years
    movers = "fans" if given.weather is None else "pumps"
    yield "distribution", f"{text}; its {movers} take {energy:,.0f} kWh a year"


def _hot_water(design: Design) -> Iterator[tuple[str, str]]:
    """Yield what the tank gives in a mean year, and where its heat comes from."""
    water, tank = design.hot_water, design.tank
    if water is None or tank is None:
        return
    heat = {name: tank[f"{name}_W"].sum() / 1000.0 / design.loads.years for name in ("drawn", *_WARMED_BY)}
    made = sum(heat[name] for name in _WARMED_BY)
    shares = ", ".join(
        f"{heat[name] / made:.0%} {what}" for name, what in _WARMED_BY.items() if heat[name] > 0.0
    )
    yield (
        "hot water",
        f"{both(1000.0 * water.daily_volume, 'L', 'g')} a day at {both_degrees(water.use_temperature)}, "
        f"{both(heat['drawn'], 'kWh')} a year, from a tank of {both(1000.0 * water.volume, 'L', 'g')}"
        + (f", warmed {shares}" if made > 0.0 else ""),
    )


def _heat_pump(design: Design) -> Iterator[tuple[str, str]]:
    yield "heat pump", _stages(design.heat_pump)
    fit = design.heat_pump.fit
    if fit is None:
        return
    for name, mode in vars(fit).items():
        if mode is None:
            continue
        low, high = mode.entering_fluid_range
        stage = ", lowest stage" if name.endswith("_low") else ""
        yield (
            f"{name.removesuffix('_low')} table",
            f"{mode.rows} points{stage} from {both_degrees(low)} to {both_degrees(high)}; {_missed(mode)}",
        )


def _missed(mode: ModeQuality) -> str:
    """Return how far the curves miss a table, as far as that can be said."""
    capacity, power = mode.capacity, mode.power
    if capacity is None or power is None:
        return UNKNOWN
    return (
        f"curves miss its capacity by {capacity.rms:.1%} rms and {abs(capacity.largest):.1%} at most, its "
        f"power by {power.rms:.1%} and {abs(power.largest):.1%}"
    )


def _stages(heat_pump: HeatPump) -> str:
    if heat_pump.heating_low is None and heat_pump.cooling_low is None:
        text = "one stage"
    else:
        text = "variable speed" if heat_pump.variable_speed else "two stages"
    if heat_pump.fit is None:
        text += ", given by its curves"
    for mode, lock_out, side in (
        ("heat", heat_pump.heating_lock_out, "below"),
        ("cool", heat_pump.cooling_lock_out, "above"),
    ):
        if lock_out is not None:
            text += f"; doesn't {mode} with fluid {side} {both_degrees(lock_out)}"
    return text


def _rating(design: Design) -> Iterator[tuple[str, str]]:
    """Yield what the curves make of the rating points where the maker states something there."""
    if design.heat_pump.maker is None:
        return
    rating = design.heat_pump.rating().dropna().reset_index()
    for row in rating.to_dict("records"):
        mode, figure = row["mode"], row["figure"]
        name, digits = ("COP", 2) if figure == "cop" else ("capacity [W]", 0)
        yield (
            "rating point",
            f"{mode} {name} {row['curves']:,.{digits}f} at {both_degrees(row['entering_fluid_degC'])} by the "
            f"curves, {row['maker']:,.{digits}f} by the maker: {row['difference']:+.1%} (rating point of ISO "
            "13256-1 for closed ground loops, from memory)",
        )


def _noun(design: Design) -> str:
    """Return what shares the flow."""
    nouns = {BoreField: "bore", TrenchField: "pipe", Pond: "coil", Well: "loop"}
    return nouns[type(design.ground_side)]


def _length(design: Design) -> float:
    """Return the length of all bores or pipes [m]."""
    field = design.ground_side
    if isinstance(field, Well):
        return 0.0
    return field.total_depth if isinstance(field, BoreField) else field.total_length


def _labelled(label: str, text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"{label:<{LABEL_WIDTH}} ",
        subsequent_indent=" " * (LABEL_WIDTH + 1),
        break_on_hyphens=False,
    )
