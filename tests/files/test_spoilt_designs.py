"""Design files with many faults: all are named at once, each with its line and what would do."""

import re

import pytest

import loopdrift as ld

GOOD = """\
flow = "9 gal/min"
[ground]
kind = "properties"
conductivity = 2.1
volumetric_heat_capacity = 2.3e6
temperature = "51 °F"

[ground_side]
kind = "bore grid"
columns = 2
rows = 1
spacing = "20 ft"

[ground_side.bore]
depth = "270'"
buried_depth = "5'6\\""
diameter = "6 inch"
grout_conductivity = 1.5

[ground_side.bore.pipes]
kind = "U-tube"
pipe = {kind = "SDR", dimension_ratio = 11, outer_diameter = "1-1/4\\""}
shank_spacing = 0.07

[fluid]
kind = "tabulated"
name = "propylene glycol"
mass_fraction = 0.2

[heat_pump]
kind = "curves"
heating_cop = [3.6, 0.08]

[loads]
kind = "values"
heating = 3000.0
"""


def faults(tmp_path, text):
    """Return what is said of a design file, a line for each fault."""
    path = tmp_path / "house.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises((ld.LoopdriftError, OSError)) as caught:
        ld.Design.read(path)
    said = [str(caught.value), *getattr(caught.value, "__notes__", ())]
    return [each.replace(str(tmp_path) + "/", "") for each in said]


def test_the_good_one_is_good(tmp_path):
    path = tmp_path / "house.toml"
    path.write_text(GOOD, encoding="utf-8")
    design = ld.Design.read(path)
    (bore,) = design.ground_side.bores
    assert abs(bore.depth - 270 * 0.3048) < 1e-12
    assert abs(bore.buried_depth - 5.5 * 0.3048) < 1e-12
    assert abs(bore.pipes.pipe.outer_diameter - 1.25 * 0.0254) < 1e-12
    assert abs(design.ground.temperature - 19 / 1.8) < 1e-9


ONE_FAULT = {
    "a near miss of a key": ("conductivity = 2.1", "condctivity = 2.1", 4, "did you mean 'conductivity'?"),
    "a capital": ("[fluid]", "[Fluid]", 25, "did you mean 'fluid'?"),
    "a unit in the key": ('temperature = "51 °F"', "temperature_degF = 51", 6, 'temperature = "51 degF"'),
    "feet in the key": ('depth = "270\'"', "depth_ft = 270", 15, 'did you mean depth = "270 ft"?'),
    "no quotes": ('"9 gal/min"', "9 gal/min", 1, 'write flow = "9 gal/min"'),
    "curly quotes": (
        '"propylene glycol"',
        "\u201cpropylene glycol\u201d",
        27,
        'write name = "propylene glycol"',
    ),
    "feet without quotes": ('"270\'"', "270'", 15, 'write depth = "270\'"'),
    "a decimal comma": ("= 1.5", "= 1,5", 18, "write grout_conductivity = 1.5"),
    "a colon": ("columns = 2", "columns: 2", 10, "write columns = 2"),
    "a capital truth": ("[ground]", "pump_stops = True\n[ground]", 2, "write pump_stops = true"),
    "a unit's case": ('"20 ft"', '"20 Ft"', 12, "did you mean 'ft'?"),
    "a unit of another kind": (
        '"9 gal/min"',
        '"9 gal"',
        1,
        "must be a number with a unit like kg/s; did you mean 'gal/min'?",
    ),
    "thousand or million": ("heating = 3000.0", 'heating = "30 MBtuh"', 36, "write kBtu or MMBtu"),
    "a comma of thousands": ("heating = 3000.0", 'heating = "30,000 Btu/h"', 36, "write 30000 or 30.000"),
    "the trade's conductivity": ("= 2.1", '= "1.2 Btu/hr-ft-F"', 4, "did you mean 'Btu/(h ft degF)'?"),
    "millikelvin": ("= 2.1", '= "2.1 W/mK"', 4, "did you mean 'W/(m K)'?"),
    "degrees of nothing": ('"51 °F"', '"51 °"', 6, "must be a number with a unit like degC"),
    "a date with points": (
        "[ground]",
        "[project]\ndate = {day = 05.03.2024}\n[ground]",
        3,
        "a date is written as year-month-day, such as 2024-03-05",
    ),
    "two keys alike": ("columns = 2", "columns = 2\ncolumns = 3", 11, "must be TOML"),
    "an open header": ("[fluid]", "[fluid", 25, "must be TOML"),
    "a table that isn't there": (
        '[loads]\nkind = "values"\nheating = 3000.0',
        "[loads]\nkind = 'file'\npath = 'none.csv'",
        0,
        "No such file",
    ),
    "not 12 inches": ("5'6\\\"", "5'14\\\"", 16, "must be a number with a unit like m"),
}


@pytest.mark.parametrize(("old", "new", "line", "said"), ONE_FAULT.values(), ids=ONE_FAULT)
def test_each_fault_with_its_line_and_cure(tmp_path, old, new, line, said):
    assert old in GOOD
    found, *where = faults(tmp_path, GOOD.replace(old, new, 1))
    assert said in found
    assert all(re.match("named in house.toml, line 3[4-6]: loads$", each) for each in where)
    if line:
        assert f"house.toml, line {line}: " in found


def test_all_faults_at_once(tmp_path):
    changes = ["a near miss of a key", "a decimal comma", "curly quotes", "no quotes", "a comma of thousands"]
    text = GOOD
    for name in changes:
        old, new, *_ = ONE_FAULT[name]
        text = text.replace(old, new, 1)
    text = (
        text.replace("columns = 2", "columns = 2.5")
        .replace('"U-tube"', '"W-tube"')
        .replace("51 °F", "510 °F")
    )
    found = faults(tmp_path, text)
    assert len(found) == len(changes) + 3
    lines = [int(each.split("line ")[1].split(":")[0]) for each in found]
    assert lines == [1, 4, 6, 10, 18, 21, 27, 36]


def test_two_numbers_of_one_table(tmp_path):
    text = GOOD.replace("= 1.5", "= 150").replace('diameter = "6 inch"', "diameter = 6")
    found = faults(tmp_path, text)
    assert ["line 17" in found[0], "line 18" in found[1]] == [True, True]
    assert "ground_side.bore.diameter = 6 m: must be from 0.02 to 2 m" in found[0]


def test_two_numbers_of_a_class_method(tmp_path):
    """A pipe by its dimension ratio and a heat pump by its curves are made by class methods."""
    text = GOOD.replace('outer_diameter = "1-1/4\\""', "outer_diameter = 32, conductivity = 4e4")
    text = text.replace(
        "heating_cop = [3.6, 0.08]",
        "heating_cop = [3.6, 0.08]\nheating_lock_out = -80\ndegradation_coefficient = 2",
    )
    assert text.count("4e4") == 1
    found = " ".join(faults(tmp_path, text))
    for said in (
        "outer_diameter = 32 m",
        "conductivity = 40000 W/(m K)",
        "heating_lock_out = -80",
        "degradation_coefficient = 2",
    ):
        assert said in found, said


def test_items_of_lists_have_lines(tmp_path):
    text = GOOD + (
        "[prices]\ndiscount_rate = 0.03\nelectricity = { price = 0.2 }\n[[prices.alternatives]]\n"
        'name = "furnace"\nefficiency = 0.9\n[[prices.alternatives]]\nname = "boiler"\nefficency = 0.8\n'
    )
    (found,) = faults(tmp_path, text)
    assert "house.toml, line 45: prices.alternatives[1].efficency = 0.8: is no known key" in found


def test_files_and_key_of_a_table_are_named(tmp_path):
    (tmp_path / "unit.csv").write_text("mode,EWT °F,HC kBtu/h,power kW\nheating,32,30,3\n", encoding="utf-8")
    text = GOOD.replace('"curves"\nheating_cop = [3.6, 0.08]', '"table"\npath = ["unit.csv"]').replace(
        "columns = 2", "columns = 0"
    )
    found = faults(tmp_path, text)
    assert "unit.csv, line 1: 'HC kBtu/h': unknown; in kBtu/h it could be capacity" in found[0]
    assert any("'EWT °F': entering fluid temperature in degF" in each for each in found)


def test_a_file_of_many_faults_names_the_first_twenty(tmp_path) -> None:
    """Each is a line; a file of thousands doesn't fill the terminal."""
    path = tmp_path / "many.toml"
    path.write_text("\n".join(f"unknown_{number} = 1" for number in range(1000)))
    with pytest.raises(ld.InvalidDesignFile) as caught:
        ld.Design.read(path)
    assert len(caught.value.__notes__) == 20
    assert re.fullmatch(r"and 9\d\d more|and 1,\d\d\d more", caught.value.__notes__[-1])


def test_numbers_that_only_a_constructor_knows(tmp_path) -> None:
    """Of a grid, its bore, months, a water analysis and outlines: all at once, each with its key."""
    text = GOOD.replace("rows = 1", "rows = 0").replace('spacing = "20 ft"', 'spacing = "20 parsec"')
    text = text.replace('diameter = "6 inch"', "diameter = 6").replace("= 11,", "= 1.5,")
    text = text.replace('kind = "values"\nheating = 3000.0', 'kind = "months"\nweather = "hot humid"')
    text += 'heating_months = [1, -2, 3, 4, 5, 6, 7, 8, 9, 10, "11 m", 12]\n'
    text += "[site]\nhouse = [[0, 0], [9, 1e9], [9, 9]]\n"
    found = faults(tmp_path, text)
    for said, line in (
        ("ground_side.rows = 0: must be a whole number from 1 to 1000", 11),
        ("ground_side.spacing = 20 parsec: unknown unit parsec", 12),
        ("ground_side.bore.diameter = 6 m: must be from 0.02 to 2 m", 17),
        ("ground_side.bore.pipes.pipe.dimension_ratio = 1.5: must be above 2", 22),
        ("loads.heating_months[1] = -2 kWh: must be from 0 to 1e+09 kWh", 37),
        ("loads.heating_months[10] = 11 m: must be a number with a unit like kWh", 37),
        ("site.house[1][1] = 1000000000 m: must be from -100000 to 100000 m", 39),
    ):
        assert any(each.startswith(f"house.toml, line {line}: {said}") for each in found), (said, found)
    assert len(found) == 7


def test_the_place_that_names_a_file_is_said(tmp_path) -> None:
    text = GOOD.replace('kind = "values"\nheating = 3000.0', 'kind = "file"\npath = "none.csv"')
    text = text.replace('kind = "curves"\nheating_cop = [3.6, 0.08]', 'kind = "table"\npath = "unit.csv"')
    (tmp_path / "unit.csv").write_text("\n", encoding="utf-8")
    found = faults(tmp_path, text)
    assert "named in house.toml, line 36: loads" in found
    assert "named in house.toml, line 32: heat_pump" in found


def test_a_negative_spacing_is_named_beside_other_faults(tmp_path) -> None:
    text = GOOD.replace('spacing = "20 ft"', 'spacing = "-20 ft"').replace("columns = 2", "columns = 0")
    found = faults(tmp_path, text)
    assert any("ground_side.spacing = -20 ft" in each and "must be above 0 m" in each for each in found)
    assert any("ground_side.columns = 0" in each for each in found)


def test_curves_of_both_modes_and_stages(tmp_path) -> None:
    """Each curve is looked at alone, so that the first fault of one mode hides no other."""
    curves = (
        "heating_cop = [0.6, 0.08]\nheating_capacity = [-5.0]\ncooling_cop = [-1.0]\n"
        "cooling_capacity = [9e3]\ncooling_low_cop = [5.0]\ncooling_low_capacity = [1.0, 2.0, 3.0, 4.0, 5.0]"
    )
    found = faults(tmp_path, GOOD.replace("heating_cop = [3.6, 0.08]", curves))
    for said, line in (
        ("heat_pump.heating_cop = -0.2000: must be above 1 from -10 to 40 degC", 32),
        ("heat_pump.heating_capacity = -5.0000 W: must be above 0 W", 33),
        ("heat_pump.cooling_cop = -1.0000: must be above 0 from -10 to 40 degC", 34),
        ("heat_pump.cooling_low_capacity = [1.0, 2.0, 3.0, 4.0, 5.0] W: must have 1 to 4 coefficients", 37),
    ):
        assert any(each.startswith(f"house.toml, line {line}: {said}") for each in found), (said, found)
    assert len(found) == 4


def test_coefficients_that_are_no_numbers(tmp_path) -> None:
    curves = 'heating_cop = ["a", 0.08, "b"]\ncooling_cop = [nan]\ncooling_capacity = 5'
    found = faults(tmp_path, GOOD.replace("heating_cop = [3.6, 0.08]", curves))
    assert ["heating_cop[0]" in found[0], "heating_cop[2]" in found[1], "cooling_cop[0]" in found[2]] == [
        True
    ] * 3


@pytest.mark.parametrize(
    ("curves", "said"),
    [
        (
            "heating_cop = [0.6]\nheating_capacity = [-5.0]\nheating_range = [30, -5]",
            [
                "line 32: heat_pump.heating_cop = 0.6000: must be above 1 from -5 to 30 degC",
                "line 33: heat_pump.heating_capacity = -5.0000 W: must be above 0 W from -5 to 30 degC",
                "line 34: heat_pump.heating_range = [30.0, -5.0] degC: must be a lower and a higher",
            ],
        ),
        (
            "heating_cop = [0.6]\nheating_range = [-200, 30]\ncooling_range = [1, 2, 3]\ncooling_cop = [-1]",
            [
                "line 32: heat_pump.heating_cop = 0.6000: must be above 1 from -10 to 40 degC",
                "line 33: heat_pump.heating_range = [-200.0, 30.0] degC: must be a lower and a higher",
                "line 34: heat_pump.cooling_range = (1.0, 2.0, 3.0): must be 2 numbers",
                "line 35: heat_pump.cooling_cop = -1.0000: must be above 0 from -10 to 40 degC",
            ],
        ),
        (
            'heating_cop = ["a", 0.08]\nheating_capacity = [-5.0]\ncooling_cop = [-1]\nvariable_speed = true',
            [
                "line 32: heat_pump.heating_cop[0] = 'a': must be a number",
                "line 33: heat_pump.heating_capacity = -5.0000 W: must be above 0 W",
                "line 34: heat_pump.cooling_cop = -1.0000: must be above 0",
                "line 35: heat_pump.variable_speed = true: must be left out without performance at",
            ],
        ),
        (
            "heating_cop = [0.6]\nheating_capacity = [9e3]\nheating_low_cop = [4.0]\n"
            "heating_low_capacity = [10e3]\ncooling_lock_out = 30",
            [
                "line 32: heat_pump.heating_cop = 0.6000: must be above 1",
                "line 35: heat_pump.heating_low_capacity = 10000.0 W: must be below heating_capacity",
                "line 36: heat_pump.cooling_lock_out = 30 degC: must be left out: the heat pump has no",
            ],
        ),
        (
            "heating_capacity = [-5.0]\nheating_low_cop = [0.5]\nheating_low_capacity = [1.0]\n"
            'variable_speed = "yes"\ncooling_cop = 5',
            [
                "line 30: heat_pump.heating_cop = nothing: must be given with other curves of heating",
                "line 32: heat_pump.heating_capacity = -5.0000 W: must be above 0 W",
                "line 33: heat_pump.heating_low_cop = 0.5000: must be above 1",
                "line 35: heat_pump.variable_speed = 'yes': must be true or false",
                "line 36: heat_pump.cooling_cop = 5: must be a sequence of numbers",
            ],
        ),
        (
            "heating_cop = [0.6]\nheating_entering_load = {reference = 'x', between = [1], cop = 3}\n"
            "manufacturer_ratings = {heating_cop = -3}",
            [
                "line 32: heat_pump.heating_cop = 0.6000: must be above 1",
                "line 33: heat_pump.heating_entering_load.reference = 'x': must be a number",
                "line 33: heat_pump.heating_entering_load.between = (1.0,): must be 2 numbers",
                "line 33: heat_pump.heating_entering_load.cop = 3: must be a sequence of numbers",
                "line 34: heat_pump.manufacturer_ratings.heating_cop = -3.0: must be above 0",
            ],
        ),
        (
            "colour = 'red'\nheating_cop = [0.6]",
            [
                "line 32: heat_pump.colour = 'red': is no known key",
                "line 33: heat_pump.heating_cop = 0.6000: must be above 1",
            ],
        ),
        (
            "heating_rangee = [30, 0]\nheating_cop = [0.6]",
            ["line 32: heat_pump.heating_rangee = [30, 0]: is no known key; did you mean 'heating_range'?"],
        ),
    ],
    ids=[
        *("range", "limits and count", "text", "stages", "no COP", "tables within"),
        *("unknown key", "misspelt key, on which the curves depend"),
    ],
)
def test_a_fault_of_a_heat_pump_hides_no_other(tmp_path, curves, said) -> None:
    found = faults(tmp_path, GOOD.replace("heating_cop = [3.6, 0.08]", curves))
    for each in said:
        assert any(each in one for one in found), (each, found)
    assert len(found) == len(said), found


def test_a_fault_of_bills_hides_no_other(tmp_path) -> None:
    bills = ", ".join(['"98 thrm"', '"85 therm"', '"7o therm"', *['"40 therm"'] * 9])
    loads = f"""
kind = "bills"
weather = {{ kind = "sample", name = "cold continental" }}
efficiency = 9
heating_peak = -3
monthly_bills = [{bills}]
"""
    start = GOOD.index("[loads]") + len("[loads]")
    end = GOOD.find("\n[", start)
    found = faults(tmp_path, GOOD[:start] + loads + (GOOD[end:] if end > 0 else ""))
    for said in (
        "loads.efficiency = 9.0: must be from 0.05 to 6",
        "loads.heating_peak = -3 W",
        "loads.monthly_bills[0] = 98 thrm: unknown unit thrm",
        "loads.monthly_bills[2] = 7o therm",
    ):
        assert any(said in each for each in found), (said, found)
    assert len(found) == 4


def test_a_curve_that_holds_over_the_range_meant_is_no_fault(tmp_path) -> None:
    """The COP falls below 1 at -10 degC, but not where the wrong range may end."""
    curves = "heating_cop = [3.0, 0.25]\nheating_range = [30, 0]"
    (found,) = faults(tmp_path, GOOD.replace("heating_cop = [3.6, 0.08]", curves))
    assert "heat_pump.heating_range = [30.0, 0.0] degC" in found


def test_conditions_of_a_performance_table(tmp_path) -> None:
    """They are judged beside a file that can't be read."""
    unit = 'kind = "table"\npath = "none.csv"\nair_flow = "9 parsec"\nheating_entering_load_temperature = "x"'
    found = faults(tmp_path, GOOD.replace('kind = "curves"\nheating_cop = [3.6, 0.08]', unit))
    assert any("line 33: heat_pump.air_flow = 9 parsec: unknown unit" in each for each in found)
    assert any("line 34: heat_pump.heating_entering_load_temperature = 'x'" in each for each in found)


BUILDING = """\
kind = "building"
weather = "mild maritime"
[loads.building]
floor_area = 140
infiltration = 0.2
walls = {area = 150, u_value = 0.25}
"""


@pytest.mark.parametrize(
    ("weeks", "said"),
    [
        (
            'cooling_set_point = "7 m"\noccupancy = {0 = 1.0, 25 = 1}\nequipment_use = [1, 2]',
            [
                "line 41: loads.building.cooling_set_point = 7 m: must be a number with a unit like degC",
                "line 42: loads.building.occupancy.working_day = '25': must have hours from 0 to 23",
                "line 43: loads.building.equipment_use.working_day = [1, 2]: must be one value, 24, or",
            ],
        ),
        (
            'occupancy = {working_day = {30 = 1}, saturday = {40 = 2}}\nequipment_use = {0 = "1 m", 9 = "x"}',
            [
                "line 41: loads.building.occupancy.working_day = '30'",
                "line 41: loads.building.occupancy.saturday = '40'",
                "line 42: loads.building.equipment_use = 1 m: must be a number without a unit",
                "line 42: loads.building.equipment_use = 'x': must be a number without a unit",
            ],
        ),
        (
            "occupancy = 2.0\nequipment_use = {0 = -1}\nheating_set_point = 200",
            [
                "line 41: loads.building.occupancy = 2: Monday from 00:00: must be from 0 to 1",
                "line 42: loads.building.equipment_use = -1: Monday from 00:00: must be from 0 to 1",
                "line 43: loads.building.heating_set_point = 200 degC: Monday from 00:00",
            ],
        ),
    ],
    ids=["hours", "days and units", "ranges"],
)
def test_weeks_of_a_building(tmp_path, weeks, said) -> None:
    found = faults(tmp_path, GOOD.replace('kind = "values"\nheating = 3000.0', BUILDING + weeks))
    for each in said:
        assert any(each in one for one in found), (each, found)
    assert len(found) == len(said)


def test_series_of_loads_and_weather(tmp_path) -> None:
    loads = 'heating = -1\ncooling = [1, 2, 3]\nhot_water = "3 m"\nrecharge = nan'
    found = faults(tmp_path, GOOD.replace("heating = 3000.0", loads))
    assert [each.split("line ")[1].split(" = ")[0] for each in found] == [
        "36: loads.heating",
        "37: loads.cooling",
        "38: loads.hot_water",
        "39: loads.recharge",
    ]
    with pytest.raises(ld.InvalidInput, match=r"dry_bulb = 1 hourly values") as caught:
        ld.Weather(dry_bulb=[7.0], ghi=[-5.0] * 8760, latitude=100.0)
    assert [(each.field, each.value) for each in caught.value.others] == [
        ("ghi", "-5.0"),
        ("latitude", "100.0"),
    ]


def test_a_unit_in_a_key_is_read_only_for_keys_of_the_same_kind(tmp_path) -> None:
    """Loads by their peak have full-load hours, but no ``heating`` that could be given in hours."""
    loads = 'kind = "peak"\nweather = "cold continental"\nheating_peak = 9e3\nheating_hours = 2000'
    found = faults(tmp_path, GOOD.replace('kind = "values"\nheating = 3000.0', loads))
    assert not any('heating = "2000 hours"' in each for each in found), found
    assert any("loads.heating_hours = 2000: is no known key" in each for each in found)
