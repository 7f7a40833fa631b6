"""The dose of antifreeze that a run needs, and the effects of each dose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import number_within
from loopdrift.basics.words import InALine
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.fluid.sources import by_name

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.model.run import Run

STEP = 0.01
"""Step of the search over mass fractions [-]."""


@dataclass(frozen=True)
class Antifreeze(InALine):
    """The dose that keeps a freezing margin, compared with other doses.

    Parameters
    ----------
    fluid : Fluid
        The mixture with the smallest mass fraction that keeps the margin.
    margin : float
        The required margin [K].
    coldest : float
        Coldest leaving fluid of the run [degC].
    table : pandas.DataFrame
        One row a dose, by mass fraction, water first, all at the design's mass flow: ``temperature_degC``
        (the run's lowest mean fluid temperature, or the lowest of the mixture's table if it would be
        frozen), ``freezing_point_degC``, ``margin_K``, ``viscosity_Pa_s``; with known pipes ``reynolds``,
        ``regime`` and ``bore_resistance_mK_per_W`` (of a pipe ``pipe_resistance_mK_per_W``); with piping
        ``pressure_drop_Pa`` and ``electricity_pump_W``, regardless of the pump's curve.
    """

    fluid: Fluid
    margin: float
    coldest: float
    table: pd.DataFrame

    def __str__(self) -> str:
        row, water = self.table.loc[self.fluid.mass_fraction], self.table.iloc[0]
        text = (
            f"{self.fluid} freezes at {row['freezing_point_degC']:.1f} degC, "
            f"{row['margin_K']:.1f} K below the lowest leaving fluid temperature of {self.coldest:.1f} degC; "
            f"the required margin is {self.margin:g} K."
        )
        if "bore_resistance_mK_per_W" in self.table:
            text += (
                f" Bore resistance: {row['bore_resistance_mK_per_W']:.4f} m K/W; with water "
                f"{water['bore_resistance_mK_per_W']:.4f} m K/W."
            )
        if "electricity_pump_W" in self.table:
            text += (
                f" Pump power: {row['electricity_pump_W']:.0f} W; with water "
                f"{water['electricity_pump_W']:.0f} W at {water['temperature_degC']:.1f} degC."
            )
        return text


def antifreeze(run: Run, name: str, margin: float | str, doses: Sequence[float]) -> Antifreeze:
    """Return the smallest sufficient dose of an antifreeze for a run; see `Run.antifreeze`."""
    wanted = number_within(margin, "K", owner="Antifreeze", field="margin", least=0.0, most=50.0)
    if by_name(name).most == 0.0:
        raise InvalidInput("Antifreeze", "name", repr(name), "", "must be an antifreeze")
    if isinstance(doses, str) or not isinstance(doses, Sequence):
        raise InvalidInput("Antifreeze", "doses", repr(doses), "", "must be a sequence of mass fractions")
    coldest = float(run.hourly["leaving_fluid_degC"].min())
    found = _least(name, coldest, wanted)
    fractions = [units.to_si(dose, "", owner="Antifreeze", field="doses") for dose in doses]
    mixtures = {fraction: Fluid(name, mass_fraction=fraction) for fraction in fractions}
    mixtures[found.mass_fraction] = found
    fluids = [Fluid("water"), *(mixtures[fraction] for fraction in sorted(mixtures))]
    return Antifreeze(found, wanted, coldest, _table(run, fluids, coldest))


def _least(name: str, coldest: float, margin: float) -> Fluid:
    """Return the mixture with the smallest mass fraction that freezes `margin` below the coldest fluid."""
    freezing_point = coldest - margin

    def freezes(thousandths: int) -> float:
        return Fluid(name, mass_fraction=thousandths / 1000.0).freezing_point

    coarse, most = round(1000.0 * STEP), by_name(name).most
    for upper in range(coarse, round(1000.0 * most) + 1, coarse):
        if freezes(upper) <= freezing_point:
            lower = upper - coarse
            while upper - lower > 1:
                middle = (lower + upper) // 2
                lower, upper = (lower, middle) if freezes(middle) <= freezing_point else (middle, upper)
            return Fluid(name, mass_fraction=upper / 1000.0)
    allowed = (
        f"must be smaller: {name} with a mass fraction of {most:g} doesn't reach a freezing point of "
        f"{freezing_point:.1f} degC"
    )
    raise InvalidInput("Antifreeze", "margin", margin, "K", allowed)


def _table(run: Run, fluids: list[Fluid], coldest: float) -> pd.DataFrame:
    import pandas as pd

    design, hourly = run.design, run.hourly
    coldest_mean = float(((hourly["entering_fluid_degC"] + hourly["leaving_fluid_degC"]) / 2.0).min())
    side = design.ground_side
    rows = []
    for fluid in fluids:
        temperature = max(coldest_mean, fluid.temperature_range[0])
        row: dict[str, float | str] = {
            "temperature_degC": temperature,
            "freezing_point_degC": fluid.freezing_point,
            "margin_K": coldest - fluid.freezing_point,
            "viscosity_Pa_s": float(fluid.properties([temperature])["viscosity_Pa_s"].iloc[0]),
        }
        if side.has_known_pipes:
            flow = side.flow_in_pipes(
                ground=design.ground, fluid=fluid, flow=design.flow, temperature=temperature
            )
            row |= {
                "reynolds": flow.reynolds,
                "regime": flow.regime,
                f"{flow.where}_resistance_mK_per_W": flow.resistance,
            }
        if design.piping is not None:
            piping = design.piping
            drop = piping.pressure_drop(
                ground_side=design.ground_side, fluid=fluid, flow=design.flow, temperature=temperature
            )["pressure_drop_Pa"].sum()
            volume_flow = design.flow / fluid.density_at(temperature)
            row |= {
                "pressure_drop_Pa": drop,
                "electricity_pump_W": drop * volume_flow / piping.pump.efficiency,
            }
        rows.append(row)
    index = pd.Index([fluid.mass_fraction for fluid in fluids], name="mass_fraction")
    return pd.DataFrame(rows, index=index)
