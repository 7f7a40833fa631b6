"""The registry of columns against the engine's own, the documentation and the units of tables."""

import inspect
from importlib.resources import files

import pandas as pd
import pytest

import loopdrift as ld
from loopdrift.basics.units import to_inch_pound
from loopdrift.model import columns

DEMO = files("loopdrift") / "demo"
KINDS = {"design": "bore field", "trenches": "trench field", "pond": "pond", "well": "well"}
TABLES = {"hourly": columns.HOURLY, "yearly": columns.YEARLY | columns.OF_RUNS}


@pytest.fixture(scope="module", params=KINDS)
def run(request) -> ld.Run:
    """A year of the demo of each kind of ground side, with ducts and a tank."""
    design = ld.Design.read(DEMO / f"{request.param}.toml")
    loads = ld.Loads(heating=design.loads.heating, cooling=design.loads.cooling)
    tank = ld.HotWater(
        daily_volume="160 L", volume="300 L", desuperheater_cooling_share=0.1, desuperheater_heating_share=0.1
    )
    return design.replace(loads=loads, distribution=ld.AirDistribution(fan_share=0.02), hot_water=tank).run(1)


@pytest.mark.parametrize("table", TABLES)
def test_a_run_has_the_columns_of_the_registry(run, table):
    kind = run.design.ground_side.for_engine()["kind"]
    expected = {
        name
        for name, column in TABLES[table].items()
        if column.only in ("", kind, "distribution", "hot_water")
    }
    assert set(getattr(run, table)) == expected


def test_the_engine_gives_no_column_beside_the_registry(run):
    assert set(run._hourly) <= set(columns.HOURLY)
    assert set(run._yearly) <= set(columns.YEARLY)


@pytest.mark.parametrize("table", TABLES)
def test_the_documentation_names_every_column(table):
    text = inspect.getattr_static(ld.Run, table).__doc__
    assert [name for name in TABLES[table] if f"``{name}``" not in text] == []


@pytest.mark.parametrize("name", columns.HOURLY | columns.YEARLY | columns.OF_RUNS)
def test_names_end_with_their_unit_in_both_systems(name):
    column = (columns.HOURLY | columns.YEARLY | columns.OF_RUNS)[name]
    written = {"kg/s": "kg_per_s"}.get(column.unit, column.unit)
    assert name.endswith(f"_{written}") or (column.unit in ("h", "1") and name == name.lower())
    (turned,) = to_inch_pound(pd.DataFrame({name: [1.0]}))
    other = column.unit_in("IP", name)
    ending = {"Btu/h": "Btu_per_h", "lb/h": "lb_per_h"}.get(other, other)
    assert turned.endswith(f"_{ending}") or (turned == name and other in ("", "h", column.unit))
