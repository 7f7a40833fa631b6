"""A design on a page of plain text: everything that follows from it without a run."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Literal

from loopdrift.analysis.cost import require_priced
from loopdrift.analysis.unusual import unusual
from loopdrift.basics.both_units import both, both_degrees, factor, inch_pound_first, kilowatts
from loopdrift.basics.model_time import MONTHS
from loopdrift.basics.words import WIDTH, percent
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.clearance import clearances, misplaced
from loopdrift.model.key_figures import flow_in_words, peaks
from loopdrift.model.phases import Phases
from loopdrift.parts.plant.distribution import AirDistribution
from loopdrift.parts.plant.fit_quality import UNKNOWN, ModeQuality
from loopdrift.reporting import loads
from loopdrift.reporting.rules_of_thumb import rules_of_thumb

if TYPE_CHECKING:
    from loopdrift.model.design import Design
    from loopdrift.parts.loads import Loads
    from loopdrift.parts.plant.heat_pump import HeatPump

LABEL_WIDTH = 15
_WARMED_BY = {
    "desuperheater_in_cooling": "by desuperheating in cooling",
    "desuperheater_in_heating": "by desuperheating in heating",
    "heat_pump": "by the heat pump",
    "element": "by the electric element",
}


def overview(plant: Design | Phases, *, units: Literal["SI", "IP"] = "SI") -> str:
    """Return everything that follows from a design, or from a plant that changes, without a run.

    Ground side and flow, freezing point, flow regime and resistance at the undisturbed temperature and at
    the minimum entering fluid temperature, distribution, hot water, fit of the heat pump's curves to its
    table, assumptions and rules of thumb; figures and origin of the loads, and what looks wrong in them.

    Parameters
    ----------
    plant : Design or Phases
        The design; of a plant that changes, that of year 1, and then what each change makes different.
    units : {"SI", "IP"}, default "SI"
        Units of the loads by month, and those that sentences give first.

    Returns
    -------
    str
        Lines of plain text, ending with a newline.

    Raises
    ------
    InvalidInput
        If the prices don't allow the cost of a run to be computed.
    """
    phases = plant.phases if isinstance(plant, Phases) else Phases.of(plant).phases
    for phase in phases:
        require_priced(phase.design)
    in_order = inch_pound_first if units == "IP" else str

    def lines(facts: Iterable[tuple[str, str]]) -> str:
        return "\n".join(_labelled(label, in_order(text)) for label, text in facts)

    known: set[tuple[str, str]] = set()
    parts = []
    for phase in phases:
        design = phase.design
        paragraphs = (facts(design), loads.of_loads(design.loads), loads.beside_heat_pump(design))
        news = [[fact for fact in paragraph if fact not in known] for paragraph in paragraphs]
        known.update(*news)
        of_months = months(design.loads, units) if phase is phases[0] or "loads" in phase.changed else ""
        heading = f"{phase}"[:1].upper() + f"{phase}"[1:] if phase.changed else ""
        parts += [heading, *map(lines, news), of_months]
    return "\n\n".join(part for part in parts if part) + "\n"


def facts(design: Design) -> list[tuple[str, str]]:
    """Return the same content as pairs of label and text."""
    kind = kind_of(design.ground_side)
    return [
        *(() if design.project is None else design.project.lines),
        *kind.facts(design),
        *_warming(design),
        ("flow", _flow(design)),
        ("fluid", _fluid(design)),
        *kind.resistances(design),
        *_distances(design),
        *_piping(design),
        ("loads", _loads(design)),
        *_distribution(design),
        *_hot_water(design),
        *_heat_pump(design),
        *_table(design),
        *_rating(design),
        ("assumptions", kind.assumptions(design)),
        *(("rule of thumb", str(rule)) for rule in rules_of_thumb(design)),
        *(("caution", str(each)) for each in unusual(design)),
    ]


def _warming(design: Design) -> Iterator[tuple[str, str]]:
    if design.ground.warming is not None:
        yield "warming", f"{design.ground.warming}, alike along the whole loop"


def _flow(design: Design) -> str:
    count = design.ground_side.count
    each = "" if count == 1 else f", {flow_in_words(design, 1.0 / count)} per {design.ground_side.branch}"
    return f"{flow_in_words(design)} in total{each}"


def _fluid(design: Design) -> str:
    limits, freezing_point = design.limits, design.fluid.freezing_point
    text = f"{design.fluid} freezes at {both_degrees(freezing_point)}"
    if limits.entering_fluid_min is not None:
        text += (
            f", {both(limits.entering_fluid_min - freezing_point, 'K', '.1f')} below the minimum entering "
            f"fluid temperature of {both_degrees(limits.entering_fluid_min)}"
        )
    return f"{text}; required freezing margin of the leaving fluid {both(limits.freezing_margin, 'K', 'g')}"


def _distances(design: Design) -> Iterator[tuple[str, str]]:
    kind = kind_of(design.ground_side)
    beside = design.site, design.ground_side.paths, kind.built(design).places.noun
    for text in (*misplaced(*beside), *map(str, clearances(*beside))):
        yield "site", text


def _piping(design: Design) -> Iterator[tuple[str, str]]:
    if design.piping is not None:
        from loopdrift.analysis.hydraulics import text

        yield from text.lines(design, design.piping)


def _loads(design: Design) -> str:
    heating, cooling = peaks(design)
    length, noun = design.ground_side.exchange_length, design.ground_side.branch
    peak_of = {"peak heating and hot water": heating, "peak cooling": cooling}
    parts = []
    for name, peak in peak_of.items():
        if peak > 0.0:
            each = "" if length is None else f", {both(peak / length, 'W/m', '.1f')} of {noun}"
            parts.append(f"{name} {kilowatts(peak)}{each}")
    if design.loads.peak["recharge"] > 0.0:
        energy = design.loads.recharge.sum() / 1000.0 / design.loads.years
        parts.append(f"recharge of {both(energy, 'kWh')} a year")
    return "; ".join(parts) or "none"


def peak_form(largest: float) -> str:
    """Return the format of peak loads [kW, kBtu/h], of which the largest is given: two digits at least."""
    return ".1f" if largest >= 1.0 else ".2f"


def months(loads: Loads, units: Literal["SI", "IP"]) -> str:
    """Return heat and peak hour of each month; for several years, the mean heat and the highest peak."""
    of_heat, of_power, per_kwh = (
        ("kWh", "kW", 1.0) if units == "SI" else ("kBtu", "kBtu/h", factor("kWh", "kBtu"))
    )
    table = loads.monthly().groupby(level="month")
    columns = [["month", "", *MONTHS, "year"]]
    for name, peak in loads.peak.items():
        if peak > 0.0:
            heat = per_kwh * table[f"{name}_kWh"].mean().to_numpy()
            most = per_kwh * table[f"{name}_peak_W"].max().to_numpy() / 1e3
            columns.append(
                [name.replace("_", " "), f"[{of_heat}]", *(f"{each:,.0f}" for each in (*heat, heat.sum()))]
            )
            columns.append(
                [
                    "peak",
                    f"[{of_power}]",
                    *(f"{each:{peak_form(most.max())}}" for each in (*most, most.max())),
                ]
            )
    rows = zip(*columns, strict=True)
    return "\n".join(
        f"{label:<{LABEL_WIDTH}}{''.join(f' {cell:>10}' for cell in cells)}".rstrip()
        for label, *cells in rows
    )


def _distribution(design: Design) -> Iterator[tuple[str, str]]:
    """Yield the entering load temperatures, and the electricity of fans or pumps."""
    given = design.distribution
    if given is None:
        return
    if isinstance(given, AirDistribution):
        movers = "fans"
        text = (
            f"air enters the heat pump at {both_degrees(given.heating_air)} in heating and "
            f"{both_degrees(given.cooling_air)} in cooling"
        )
    else:
        movers = "pumps"
        text = (
            f"water enters the heat pump at {both_degrees(given.return_water)} when it is "
            f"{both_degrees(given.cold_day)} outdoors and at {both_degrees(given.mild_return_water)} when it "
            f"is {both_degrees(given.mild_day)}; in cooling at {both_degrees(given.cooling_water)}"
        )
    energy = design.distribution_power.sum() / 1000.0 / design.loads.years
    yield "distribution", f"{text}; its {movers} use {energy:,.0f} kWh of electricity a year"


def _hot_water(design: Design) -> Iterator[tuple[str, str]]:
    """Yield the hot water drawn in a mean year, and the sources of its heat."""
    water, tank = design.hot_water, design.tank
    if water is None or tank is None:
        return
    heat = {name: tank[f"{name}_W"].sum() / 1000.0 / design.loads.years for name in ("drawn", *_WARMED_BY)}
    made = sum(heat[name] for name in _WARMED_BY)
    shares = ", ".join(
        f"{percent(heat[name] / made)} {what}" for name, what in _WARMED_BY.items() if heat[name] > 0.0
    )
    yield (
        "hot water",
        f"{both(1000.0 * water.daily_volume, 'L', 'g')} a day at {both_degrees(water.use_temperature)}, "
        f"{both(heat['drawn'], 'kWh')} a year, from a tank of {both(1000.0 * water.volume, 'L', 'g')}"
        + (f", heated {shares}" if made > 0.0 else ""),
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


def _table(design: Design) -> Iterator[tuple[str, str]]:
    """Yield how the heat pump's table was read: conditions, what was filled in, and the sensible share."""
    table = design.heat_pump.table
    if table is None:
        return
    if table.notes:
        yield "table", "; ".join(dict.fromkeys(table.notes))
    share = table.sensible_share
    if share is not None:
        low, high = share
        yield (
            "sensible share",
            f"{percent(low)} to {percent(high)} of the cooling capacity cools the air, the rest dries it. "
            "Cooling loads are total: divide a load without drying by that share",
        )


def _missed(mode: ModeQuality) -> str:
    """Return the deviation of the curves from a table, as far as it is known."""
    capacity, power = mode.capacity, mode.power
    if capacity is None or power is None:
        return UNKNOWN
    return (
        f"the curves deviate in capacity by {percent(capacity.rms, '.1f')} rms and "
        f"{percent(abs(capacity.largest), '.1f')} at most, in power by {percent(power.rms, '.1f')} and "
        f"{percent(abs(power.largest), '.1f')}"
    )


def _stages(heat_pump: HeatPump) -> str:
    if heat_pump.heating_low is None and heat_pump.cooling_low is None:
        text = "one stage"
    else:
        text = "variable speed" if heat_pump.variable_speed else "two stages"
    if heat_pump.fit is None:
        text += ", given by performance curves"
    for mode, lock_out, side in (
        ("heating", heat_pump.heating_lock_out, "below"),
        ("cooling", heat_pump.cooling_lock_out, "above"),
    ):
        if lock_out is not None:
            text += f"; no {mode} with entering fluid {side} {both_degrees(lock_out)}"
    return text


def _rating(design: Design) -> Iterator[tuple[str, str]]:
    """Yield the curves' performance at the rating points that the manufacturer states."""
    if design.heat_pump.manufacturer_ratings is None:
        return
    rating = design.heat_pump.rating().dropna().reset_index()
    for row in rating.to_dict("records"):
        mode, figure = row["mode"], row["figure"]
        name, digits = ("COP", 2) if figure == "cop" else ("capacity [W]", 0)
        yield (
            "rating point",
            f"{mode} {name} at {both_degrees(row['entering_fluid_degC'])}: {row['curves']:,.{digits}f} from "
            f"the curves, {row['manufacturer']:,.{digits}f} from the manufacturer, difference "
            f"{percent(row['difference'], '+.1f')} (rating point of ISO 13256-1 for closed ground loops, "
            "from memory)",
        )


def _labelled(label: str, text: str) -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=f"{label:<{LABEL_WIDTH}} ",
        subsequent_indent=" " * (LABEL_WIDTH + 1),
        break_on_hyphens=False,
    )
