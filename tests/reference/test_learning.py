"""Ground and bores learned from logs of plants whose ground is known, made without the engine.

The logs come from `invented_plant`: a dense reference solution of the ground and a line for the heat pump,
with loads that aren't those of the design (10 % off, and with weather of their own), noise that lasts for
days, a gap, and a sensor with an offset. All of it is invented.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import loopdrift as ld
from book import at_least
from invented_plant import SPECIFIC, YEAR, InventedPlant, lasting, other_loads, yearly_loads

PLANT = InventedPlant()
TRUTH = {
    "conductivity": PLANT.conductivity,
    "volumetric_heat_capacity": PLANT.heat_capacity,
    "temperature": PLANT.temperature,
    "resistance": PLANT.resistance,
}
YEARS, TRIES = 4, 8


def design() -> ld.Design:
    """The plant as its designer had thought it to be: other ground, another resistance, its yearly loads."""
    heating, cooling = yearly_loads()
    return ld.Design(
        ground=ld.Ground(conductivity=2.4, volumetric_heat_capacity=2.4e6, temperature=11.0),
        ground_side=ld.BoreField(
            ld.Bore(
                depth=PLANT.depth,
                buried_depth=PLANT.buried_depth,
                diameter=2 * PLANT.radius,
                resistance=0.13,
            ),
            positions=PLANT.positions,
        ),
        fluid=ld.Fluid.constant(
            density=1020.0, heat_capacity=SPECIFIC, conductivity=0.48, viscosity=2e-3, freezing_point=-10.0
        ),
        flow=PLANT.flow,
        heat_pump=ld.HeatPump.from_curves(
            heating_cop=list(PLANT.heating_cop),
            heating_capacity=[20e3],
            cooling_cop=list(PLANT.cooling_cop),
            cooling_capacity=[20e3],
        ),
        loads=ld.Loads(heating=heating, cooling=cooling),
        limits=ld.Limits(entering_fluid_min=-6.0),
    )


def log(seed: int, *, years: int = YEARS, measured: bool, off: float = 0.1) -> ld.PlantLog:
    """A logger's rows of six hours, with a gap; heat, 3 % off, only if it is measured; a sensor 0.2 K off."""
    rng = np.random.default_rng(seed)
    entering, heat, _ = PLANT.run(*other_loads(rng, years, off, scatter=off))
    rows = entering.size // 6
    seen = entering.reshape(rows, 6).mean(axis=1)
    seen += 0.2 * rng.standard_normal() + 0.1 * lasting(rng, rows, 20.0) + 0.1 * rng.standard_normal(rows)
    meter = np.exp(0.03 * rng.standard_normal())
    seen[rows // 2 : rows // 2 + 120] = np.nan
    return ld.PlantLog(
        times=6 * 3600.0 * np.arange(rows),
        first=0.0,
        entering_fluid=seen,
        heat=meter * heat.reshape(rows, 6).mean(axis=1) if measured else None,
        step=6.0,
    )


def covered(seed: int, measured: bool) -> list[bool]:
    """Whether each true value is within its 95 % interval."""
    learned = ld.learn(design(), log(seed, measured=measured))
    ends = {name: learned.interval(name) for name in TRUTH}
    return [ends[name][0] <= value <= ends[name][1] for name, value in TRUTH.items()]


@pytest.mark.parametrize("measured", [True, False])
def test_intervals_hold_the_truth(measured: bool) -> None:
    """95 % on average; of 100 tries run once, see the guide."""
    held = np.array([covered(seed, measured) for seed in range(TRIES)])
    at_least(held.mean(), 0.85, what="share of 95 % intervals that hold the true value")


def test_the_forecast_is_nearer_to_the_plant_than_the_design() -> None:
    heating, cooling = yearly_loads()
    entering, _, _ = PLANT.run(np.tile(heating, 15), np.tile(cooling, 15))
    lowest = entering[-YEAR:].min()
    found = ld.learn(design(), log(3, measured=True, off=0.0)).forecast(15, count=32)
    last = found.table.iloc[-1]
    learned, first = (last[f"entering_fluid_min_{which}_degC"] for which in ("median", "design"))
    assert abs(learned - lowest) < 0.5 * abs(first - lowest)


def test_one_season_tells_that_it_is_one() -> None:
    whole = log(5, measured=True)
    winter = slice(0, 240)
    short = ld.PlantLog(
        times=np.asarray(whole.times)[winter],
        first=0.0,
        entering_fluid=np.asarray(whole.entering_fluid)[winter],
        heat=np.asarray(whole.heat)[winter],
        step=6.0,
    )
    learned = ld.learn(design(), short)
    said = " ".join(map(str, learned.findings))
    assert "months of the year" in said and "drift" in said
    assert learned.hidden
    wide, narrow = (
        each.interval("volumetric_heat_capacity") for each in (learned, ld.learn(design(), whole))
    )
    assert wide[1] / wide[0] > 1.5 * narrow[1] / narrow[0]


def test_an_offset_hides_the_undisturbed_temperature() -> None:
    learned = ld.learn(design(), log(7, measured=True))
    assert any("together" in each and "offset" in each for each in learned.hidden)
    exact = ld.learn(design(), log(7, measured=True), sensor_error=0.0)
    assert exact.errors["temperature"] < 0.5 * learned.errors["temperature"]


def rows(**changes: object) -> dict[str, object]:
    dates = pd.date_range("2020-01-01", periods=200, freq="D")
    return {"date": dates, "entering_fluid_degC": np.full(200, 8.0), **changes}


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda: {"date": rows()["date"]}, "entering_fluid"),
        (lambda: rows(entering_fluid_degC=np.full(200, np.nan)), "entering_fluid"),
        (lambda: rows(entering_fluid_degC=np.full(200, 46.0)), "degF"),
        (lambda: rows(entering_fluid_degC=np.full(200, 281.0)), "degC"),
        (lambda: rows(date=rows()["date"][::-1]), "after"),
        (lambda: {"date": rows()["date"][:5], "entering_fluid_degC": np.full(5, 8.0)}, "rows"),
        (lambda: rows(date=["yesterday"] * 200), "date"),
    ],
)
def test_unusable_files(made, said, tmp_path) -> None:
    path = tmp_path / "log.csv"
    pd.DataFrame(made()).to_csv(path, index=False)
    with pytest.raises((ld.InvalidInput, ld.InvalidFile), match=said):
        ld.learn(design(), path)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"unknown": ["conductivty"]}, "conductivity"),
        ({"unknown": []}, "unknown"),
        ({"unknown": ["spacing"]}, "unknown"),
        ({"unknown": ["temperature", "offset"]}, "only one of temperature and offset"),
        ({"unknown": ["conductivity", "conductivity"]}, "unknown"),
        ({"load_error": -0.1}, "load_error"),
        ({"load_error": "2 K"}, "load_error"),
        ({"sensor_error": 50.0}, "sensor_error"),
    ],
)
def test_wrong_arguments(given, said) -> None:
    with pytest.raises(ld.InvalidInput, match=said):
        ld.learn(design(), log(1, years=1, measured=True), **given)


@pytest.mark.parametrize(
    "wrong",
    [
        {"times": np.arange(200.0)[::-1]},
        {"entering_fluid": np.zeros(3)},
        {"rows": "middle"},
        {"step": -1.0},
        {"first": "no date"},
        {"started": "31/31/2020"},
        {"first": -5.0},
    ],
)
def test_wrong_logs(wrong) -> None:
    given = {"times": 86400.0 * np.arange(200), "first": "2020-01-01", "entering_fluid": np.full(200, 8.0)}
    with pytest.raises(ld.InvalidInput, match=f"PlantLog.{next(iter(wrong))}"):
        ld.PlantLog(**(given | wrong))
