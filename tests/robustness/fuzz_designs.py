"""Designs drawn over the ranges of every number: all ground sides, bores, fluids, heat pumps and loads.

Most numbers of a design lie near what is usual; some anywhere in their range, on its ends or just outside.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w

from loopdrift.basics.part import quantities

HOURS = np.arange(8760)
_SEASON = np.cos(2.0 * np.pi * (HOURS / 8760 - 0.06))
LOADS: dict[str, dict[str, Any]] = {
    "swing": {"heating_W": 8e3 * _SEASON.clip(0.0), "cooling_W": 4e3 * (-_SEASON).clip(0.0)},
    "on-off": {"heating_W": 6e3 * (HOURS % 7 < 3), "cooling_W": 5e3 * (HOURS % 11 == 0)},
    "steady": {"heating_W": np.full(8760, 3e3), "hot_water_W": np.full(8760, 400.0)},
    "recharged": {"heating_W": 9e3 * _SEASON.clip(0.0), "recharge_W": 3e3 * (-_SEASON).clip(0.0)},
    "one hour": {"heating_W": 2e4 * (HOURS == 20)},
    "none": {"cooling_W": np.zeros(8760)},
}
"""Hours that drawn designs name, beside them as CSV."""

USUAL: dict[str, dict[str, float]] = {
    "Ground": {"conductivity": 2.0, "volumetric_heat_capacity": 2.3e6, "temperature": 10.0, "gradient": 0.02},
    "Bore": {
        "depth": 90.0, "buried_depth": 2.0, "diameter": 0.15,
        "resistance": 0.1, "grout_conductivity": 1.5, "grout_heat_capacity": 3e6,
    },
    "Pipe": {"outer_diameter": 0.032, "wall_thickness": 0.003, "conductivity": 0.4, "roughness": 1.5e-6},
    "UTube": {"shank_spacing": 0.07},
    "TrenchField": {"length": 90.0, "spacing": 4.0},
    "Coil": {"diameter": 0.8, "pitch": 0.5, "depth": 1.8},
    "SurfaceWave": {"amplitude": 10.0, "coldest_day": 30.0},
    "Aquifer": {"temperature": 10.0, "thickness": 12.0, "transmissivity": 3e-3, "storativity": 3e-4},
    "Well": {
        "diameter": 0.3, "depth": 30.0, "sustained_yield": 4.0, "lift": 14.0, "pump_efficiency": 0.5,
        "flow": 1.4, "effectiveness": 0.8, "return_distance": 70.0, "lowest_discharge": 3.0,
        "available_drawdown": 8.0,
    },
    "Pond": {"extinction_depth": 1.0, "inflow": 1.0, "inflow_temperature": 8.0, "length": 90.0},
    "OpenWater": {"area": 5000.0, "depth": 3.6, "bank_slope": 3.0},
    "HeatPump": {"degradation_coefficient": 0.1, "heating_lock_out": -8.0, "cooling_lock_out": 40.0},
    "Limits": {
        "entering_fluid_min": -4.0, "entering_fluid_max": 35.0, "freezing_margin": 3.0, "wall_min": 0.5,
        "backup_share": 0.1, "unmet_cooling_share": 0.1, "hours_outside_table": 100.0,
    },
    "HotWater": {
        "daily_volume": 0.3, "volume": 0.3, "use_temperature": 42.0, "cold_temperature": 10.0,
        "set_point": 50.0, "desuperheater_limit": 60.0, "loss_coefficient": 2.0, "ambient_temperature": 18.0,
        "desuperheater_heating_share": 0.05, "desuperheater_cooling_share": 0.05,
    },
    "Design": {"flow": 1.0, "pump_power": 150.0},
}  # fmt: skip


class Draw:
    """Draws the parts of one design.

    Parameters
    ----------
    rng : random.Random
        Where chance comes from.
    """

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.strange = rng.choice((0.0, 0.02, 0.1, 0.4))
        """Share of the numbers that are not near what is usual."""

    def scaled(self, usual: float, least: float, most: float) -> float:
        """Return a number of a range: near the usual, anywhere, on an end or outside."""
        rng = self.rng
        if rng.random() > self.strange:
            return min(max(usual * 10.0 ** rng.uniform(-0.3, 0.3), least), most)
        how = rng.random()
        if how < 0.3:
            return rng.choice((least, most))
        if how < 0.4:
            return rng.choice(
                (math.nextafter(least, -math.inf), 2.0 * most + 1.0, math.nextafter(most, 1e99))
            )
        if how < 0.7:
            return min(max(usual * 10.0 ** rng.uniform(-3.0, 3.0), least), most)
        if least > 0.0:
            return math.exp(rng.uniform(math.log(least), math.log(most)))
        return rng.uniform(least, most)

    def number(self, owner: str, name: str) -> float:
        """Return a number of a part."""
        _, least, most = quantities(owner)[name]
        return self.scaled(USUAL[owner][name], least, most)

    def numbers(self, owner: str, *required: str, maybe: tuple[str, ...] = ()) -> dict[str, Any]:
        """Return numbers of a part: some that it needs, and others that may be left out."""
        given = [*required, *(name for name in maybe if self.rng.random() < 0.4)]
        return {name: self.number(owner, name) for name in given}

    def count(self, usual: int, most: int) -> int:
        """Return a number of things."""
        if self.rng.random() > self.strange:
            return self.rng.randint(1, usual)
        return self.rng.choice((0, 1, most, most + 1, self.rng.randint(1, most)))

    def ground(self) -> dict[str, Any]:
        """Return a ground, by its properties or its soil."""
        if self.rng.random() < 0.2:
            soil = self.rng.choice(("moist sand", "wet clay", "dry sand", "wet sand"))
            return {"kind": "soil", "soil": soil} | self.numbers("Ground", "temperature", maybe=("gradient",))
        needed = ("conductivity", "volumetric_heat_capacity", "temperature")
        return {"kind": "properties"} | self.numbers("Ground", *needed, maybe=("gradient",))

    def pipe(self) -> dict[str, Any]:
        """Return a pipe, by its wall or its dimension ratio."""
        rest = self.numbers("Pipe", "outer_diameter", maybe=("conductivity", "roughness"))
        if self.rng.random() < 0.5:
            return {"kind": "SDR"} | rest | {"dimension_ratio": self.scaled(11.0, 2.1, 100.0)}
        return {"kind": "wall thickness"} | rest | self.numbers("Pipe", "wall_thickness")

    def bore(self) -> dict[str, Any]:
        """Return a bore: measured, or with pipes in grout."""
        rng = self.rng
        bore = self.numbers("Bore", "depth", "buried_depth", "diameter")
        kind = rng.choice(("measured", "measured", "U-tube", "U-tube", "double U-tube", "coaxial"))
        if kind == "measured":
            return bore | self.numbers("Bore", "resistance")
        bore |= self.numbers("Bore", "grout_conductivity", maybe=("grout_heat_capacity",))
        if kind == "coaxial":
            diameter = self.scaled(0.11, 0.005, 1.0)
            outer = {"kind": "wall thickness", "outer_diameter": diameter, "wall_thickness": 0.005}
            return bore | {"pipes": {"kind": kind, "inner": self.pipe(), "outer": outer}}
        pipe = self.pipe()
        if rng.random() < 0.9:  # a hole and a spacing that these pipes go into
            around = pipe["outer_diameter"]
            apart = around * (2.0 if kind == "double U-tube" else 1.4) * rng.uniform(1.0, 1.5)
            return bore | {
                "diameter": (apart + around) * rng.uniform(1.001, 1.5),
                "pipes": {"kind": kind, "pipe": pipe, "shank_spacing": apart},
            }
        return bore | {"pipes": {"kind": kind, "pipe": pipe} | self.numbers("UTube", "shank_spacing")}

    def bore_field(self) -> dict[str, Any]:
        """Return a field: a grid, or bores anywhere, which may lean and differ."""
        rng = self.rng
        step = self.scaled(6.0, 0.05, 1000.0)
        if rng.random() < 0.5:
            sides = {"columns": self.count(8, 40), "rows": self.count(5, 20)}
            return {"kind": "bore grid", "bore": self.bore(), "spacing": step} | sides
        count = max(self.count(20, 60), 1)
        side = math.ceil(math.sqrt(count))
        places = rng.sample([(x, y) for x in range(side) for y in range(side)], count)
        off = rng.choice((0.0, 0.3, 1.0))
        positions = [
            [step * (x + rng.uniform(-off, off)), step * (y + rng.uniform(-off, off))] for x, y in places
        ]
        field: dict[str, Any] = {"kind": "bore field", "bore": self.bore(), "positions": positions}
        if rng.random() < 0.3:
            bores = [
                field["bore"],
                *(field["bore"] | self.numbers("Bore", "depth", "buried_depth") for _ in range(3)),
            ]
            field["bore"] = [rng.choice(bores) for _ in places]
        elif rng.random() < 0.4:
            del field["positions"][8:]  # more of them take long
            shown = field["positions"]
            field["inclination"] = [rng.choice((0.0, self.scaled(20.0, 0.0, 90.0))) for _ in shown]
            field["direction"] = [rng.choice((0.0, 180.0, rng.uniform(0.0, 360.0))) for _ in shown]
        return field

    def surface(self) -> dict[str, Any]:
        """Return the year of a surface."""
        if self.rng.random() < 0.2:
            return {"kind": "weather", "weather": self.weather()}
        return {"kind": "amplitude"} | self.numbers("SurfaceWave", "amplitude", "coldest_day")

    def weather(self) -> dict[str, Any]:
        """Return one of the climates."""
        names = ("cold continental", "mild maritime", "hot humid", "high dry")
        return {"kind": "sample", "name": self.rng.choice(names)}

    def trench_field(self) -> dict[str, Any]:
        """Return straight pipes, in rows or anywhere, or coils."""
        rng = self.rng
        field: dict[str, Any] = {"kind": "trench field", "pipe": self.pipe(), "surface": self.surface()}
        field |= self.numbers("TrenchField", "length") | {"trenches": self.count(6, 60)}
        if field["trenches"] != 1:
            field |= self.numbers("TrenchField", "spacing")
        if rng.random() < 0.4:
            coil = self.numbers("Coil", "diameter", "pitch", "depth") | {"upright": rng.random() < 0.5}
            return field | {"coil": coil}
        depth, gap = self.scaled(1.8, 0.0, 20.0), self.scaled(0.4, 0.001, 20.0)
        if rng.random() < 0.5:
            sides = {"columns": self.count(3, 6), "rows": self.count(2, 6)}
            return field | sides | {"kind": "trench rows", "depth": depth, "gap": gap}
        pipes = [[gap * rng.uniform(-2, 2), depth * rng.uniform(0.6, 1.0)] for _ in range(self.count(4, 6))]
        return field | {"pipes": pipes}

    def pond(self) -> dict[str, Any]:
        """Return coils in a pond."""
        basin = self.numbers("OpenWater", "area", "depth", "bank_slope")
        inflow = ("inflow", "inflow_temperature") if self.rng.random() < 0.3 else ()
        rest = self.numbers("Pond", "length", *inflow, maybe=("extinction_depth",))
        own = {
            "kind": "pond basin",
            "pipe": self.pipe(),
            "circuits": self.count(12, 1000),
            "weather": self.weather(),
        }
        return own | basin | rest

    def well(self) -> dict[str, Any]:
        """Return a well, or a pair of them."""
        needed = ("diameter", "sustained_yield", "lift", "pump_efficiency", "lowest_discharge")
        pair = ("flow", "effectiveness") if self.rng.random() < 0.6 else ()
        maybe = ("return_distance", "available_drawdown", "depth")
        aquifer = self.numbers("Aquifer", "temperature", "thickness", "transmissivity", "storativity")
        stops = {"pump_stops": False} if self.rng.random() < 0.3 else {}
        return (
            {"kind": "well", "aquifer": aquifer} | self.numbers("Well", *needed, *pair, maybe=maybe) | stops
        )

    def fluid(self) -> dict[str, Any]:
        """Return water, a mixture or constants."""
        rng = self.rng
        if rng.random() < 0.3:
            constants = {
                "kind": "constant",
                "density": self.scaled(1000.0, 300.0, 3000.0),
                "heat_capacity": self.scaled(4000.0, 500.0, 1e4),
                "conductivity": self.scaled(0.5, 0.01, 10.0), "viscosity": self.scaled(2e-3, 1e-5, 10.0),
                "freezing_point": rng.choice((-20.0, -10.0, 0.0, self.scaled(-10.0, -200.0, 100.0))),
            }  # fmt: skip
            return constants
        name = rng.choice(("propylene glycol", "ethylene glycol", "ethanol", "methanol", "water"))
        mixture = {"kind": "tabulated", "name": name}
        return mixture | ({} if name == "water" else {"mass_fraction": self.scaled(0.2, 0.0, 0.7)})

    def heat_pump(self) -> dict[str, Any]:
        """Return a heat pump by its table or by curves."""
        rng = self.rng
        every = "degradation_coefficient", "heating_lock_out", "cooling_lock_out"
        more = self.numbers("HeatPump", maybe=every)
        if rng.random() < 0.3:
            return {"kind": "table", "path": "unit.csv"} | more
        curves: dict[str, Any] = {
            "kind": "curves",
            "heating_cop": [self.scaled(4.0, 0.5, 30.0), self.scaled(0.04, -1.0, 1.0)],
            "cooling_cop": [self.scaled(9.0, 0.5, 30.0), -self.scaled(0.05, -1.0, 1.0)],
        }
        if rng.random() < 0.6:
            curves["heating_capacity"] = [self.scaled(9e3, 1.0, 1e8), self.scaled(200.0, -1e6, 1e6)]
        if rng.random() < 0.4:
            curves["cooling_capacity"] = [self.scaled(9e3, 1.0, 1e8)]
        if rng.random() < 0.3:
            curves["heating_range"] = [-self.scaled(5.0, -50.0, 50.0), self.scaled(25.0, -50.0, 90.0)]
        told = [name in curves for name in ("heating_capacity", "cooling_capacity")]
        known = [
            name for name, has in zip(every, (all(told), *told), strict=True) if has
        ]  # without it: refused
        return curves | {
            name: more[name] for name in (known if rng.random() < 0.9 else every) if name in more
        }

    def loads(self) -> dict[str, Any]:
        """Return hours of a file, or a heat loss in a climate."""
        if self.rng.random() < 0.9:
            return {"kind": "file", "path": f"{self.rng.choice(list(LOADS))}.csv"}
        loss = {"heat_loss": self.scaled(9e3, 1.0, 1e9), "design_outdoor": self.scaled(-15.0, -70.0, 30.0)}
        energy = {"heating_kWh": self.scaled(2e4, 0.0, 1e10), "cooling_kWh": self.scaled(3e3, 0.0, 1e10)}
        return {"kind": "heat loss", "weather": self.weather()} | loss | energy

    def design(self) -> dict[str, Any]:
        """Return the table of a design."""
        rng = self.rng
        kinds: tuple[Callable[[], dict[str, Any]], ...] = (
            *(self.bore_field, self.bore_field, self.bore_field),
            *(self.trench_field, self.pond, self.well),
        )
        table = {
            "ground": self.ground(),
            "ground_side": rng.choice(kinds)(),
            "fluid": self.fluid(),
            "flow": self.number("Design", "flow"),
            "heat_pump": self.heat_pump(),
            "loads": self.loads(),
            "limits": self.numbers("Limits", maybe=tuple(USUAL["Limits"])),
        } | self.numbers("Design", maybe=("pump_power",))
        if rng.random() < 0.1:
            maybe = tuple(USUAL["HotWater"])[2:]
            table["hot_water"] = self.numbers("HotWater", "daily_volume", "volume", maybe=maybe)
        if rng.random() < 0.2:
            table["pump_stops"] = True
        return table


def text(rng: random.Random) -> str:
    """Return a design as a file; its first line is what is done with it."""
    draw = Draw(rng)
    table = draw.design()
    done = "run"
    if rng.random() < 0.15:
        what = {"bore": ("depth", "spacing", "bores"), "trench": ("length", "spacing")}
        measures = what.get(table["ground_side"]["kind"].partition(" ")[0], ("depth",))
        ends = sorted(draw.scaled(usual, 0.1, 2000.0) for usual in (20.0, 200.0))
        done = f"size {rng.choice(measures)} {ends[0]!r} {ends[1]!r}"
    elif rng.random() < 0.1:
        done = "g-function"
    return f"# {done}\n{tomli_w.dumps(table)}"


def write_loads(folder: Path) -> None:
    """Write the loads that drawn designs name."""
    for name, series in LOADS.items():
        columns = np.column_stack(list(series.values()))
        np.savetxt(folder / f"{name}.csv", columns, "%.6g", ",", header=",".join(series), comments="")
