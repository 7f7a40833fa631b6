"""Notes below a heat pump's table, and what a missing condition is answered with."""

import pytest

import loopdrift as ld
from loopdrift.parts.plant.performance_table.table import PerformanceTable

TABLE = """\
EWT (°F),GPM,Heating capacity (kBtu/h),Heating power (kW)
30,8,30.1,2.61
30,12,31.0,2.64
50,8,38.4,2.80
50,12,39.9,2.83
70,8,47.0,3.02
70,12,48.8,3.05
"""
NOTE = "Ratings at 1,200 cfm, 70 °F entering air, and water only, without antifreeze."


@pytest.fixture
def unit(tmp_path):
    def unit(text):
        path = tmp_path / "unit.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return unit


def test_a_note_with_commas_is_no_row(unit):
    plain, noted = (PerformanceTable.read(unit(text)) for text in (TABLE, f"{TABLE}{NOTE}\n"))
    assert noted.points == plain.points
    assert noted.notes[0].startswith("line 8 is taken as a note: 'Ratings at 1, 200 cfm, 70 °F")


@pytest.mark.parametrize("row", ["30,8,none at all,2.61", "thirty,8,30.1,2.61", "about thirty,8,30.1,2.61"])
def test_a_row_with_a_bad_cell_is_no_note(unit, row):
    with pytest.raises(ld.InvalidFile) as error:
        PerformanceTable.read(unit(f"{TABLE}{row}\n"))
    assert error.value.line == 8


def test_a_missing_flow_is_named_without_a_unit_and_with_few_digits(unit, says):
    with pytest.raises(ld.InvalidInput) as error:
        ld.HeatPump.from_table(unit(TABLE))
    says(error, ["HeatPump.flow = nothing: must be from 0.504"])
    says(error, ["kg/s (8.00 gal/min) to 0.757", "kg/s (12.0 gal/min)"])
