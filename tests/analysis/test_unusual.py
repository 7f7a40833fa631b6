"""Possible but unusual values are named, with the unit that they were most likely meant in."""

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.analysis.unusual import unusual

SEASON = np.cos(2 * np.pi * np.arange(8760) / 8760)


@pytest.fixture(scope="module")
def usual():
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    return ld.Design(
        ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0),
        ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.2),
        flow=0.4,
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0, 0.05], heating_capacity=[8000.0, 200.0]),
        loads=ld.Loads(heating=np.clip(8000.0 * SEASON, 0.0, None)),
        pump_power=150.0,
    )


def bores(depth=100.0, spacing=6.0, **changes):
    given = {"buried_depth": 2.0, "diameter": 0.15, "resistance": 0.1} | changes
    return ld.BoreField.grid(ld.Bore(depth=depth, **given), columns=2, rows=1, spacing=spacing)


def test_usual_designs_have_no_cautions(usual):
    assert unusual(usual) == []


CHANGES = {
    "degC for degF": (
        lambda d: {"ground": d.ground.replace(temperature=47.0)},
        "ground.temperature",
        'If it is in degF, write "47 degF"',
    ),
    "warm ground under a heated house": (
        lambda d: {"ground": d.ground.replace(temperature=25.0)},
        "ground.temperature",
        "where a building is mostly heated",
    ),
    "metres for feet": (lambda d: {"ground_side": bores(270.0)}, "ground_side.bore.depth", 'write "270 ft"'),
    "metres for feet apart": (
        lambda d: {"ground_side": bores(spacing=20.0)},
        "ground_side.spacing",
        'write "20 ft"',
    ),
    "a wide bore": (
        lambda d: {"ground_side": bores(diameter=0.6)},
        "ground_side.bore.diameter",
        "100 to 200 mm",
    ),
    "a pump of a tenth of the load": (
        lambda d: {"pump_power": 800.0},
        "pump_power",
        "10 % of the peak load of 8.0 kW",
    ),
    "a heat pump of a tenth of the load": (
        lambda d: {"loads": ld.Loads(heating=np.clip(100e3 * SEASON, 0.0, None)), "flow": 5.0},
        "heat_pump",
        "10 % of the peak load of 100.0 kW",
    ),
    "kg/s for gal/min": (lambda d: {"flow": 6.0}, "flow", 'If it is in gal/min, write "6 gal/min"'),
    "a limit in degF": (
        lambda d: {"limits": ld.Limits(entering_fluid_max=90.0)},
        "limits.entering_fluid_max",
        'write "90 degF"',
    ),
}


@pytest.mark.parametrize(("change", "key", "said"), CHANGES.values(), ids=CHANGES)
def test_each_slip_is_named(usual, change, key, said):
    (found,) = unusual(usual.replace(**change(usual)))
    assert found.key == key
    assert said in str(found)


def test_piles_and_fans_are_usual(usual):
    pile = ld.Bore(depth=25.0, buried_depth=1.0, diameter=0.6, resistance=0.1)
    assert unusual(usual.replace(ground_side=ld.BoreField.grid(pile, columns=4, rows=2, spacing=6.0))) == []
    fan = ld.BoreField(
        ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1),
        positions=[[0, 0], [1, 0]],
        inclination=[0, 25],
        direction=[0, 90],
    )
    assert unusual(usual.replace(ground_side=fan)) == []


def test_ground_beside_the_weather(usual):
    water = ld.WaterDistribution(
        ld.Weather.sample("cold continental"), return_water=30.0, mild_return_water=23.0, cold_day=-20.0
    )
    side = ld.EnteringLoadCorrection(reference=30.0, between=(20.0, 55.0), cop=[-0.05])
    unit = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05], heating_capacity=[8000.0, 200.0], heating_entering_load=side
    )
    warm = usual.ground.replace(temperature=16.0)
    (found,) = unusual(usual.replace(distribution=water, heat_pump=unit, ground=warm))
    assert "where the air has 4.8 degC" in str(found)


def test_check_and_run_show_them(command, usual, tmp_path):
    usual.replace(pump_power=800.0).write(tmp_path / "design.toml")
    _, out, _ = command("check", tmp_path / "design.toml")
    assert "caution" in out and "pump_power: 800 W" in out
    _, out, _ = command("run", tmp_path / "design.toml", "--years", "1")
    assert "Unusual input: pump_power: 800 W" in out
