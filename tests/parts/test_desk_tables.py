"""Heat pumps' tables as makers print them, all invented: read to the last digit, or refused with a cure.

Each table states the same unit, whose numbers in SI are written here; the test turns them into the table's
units by factors of its own.
"""

import itertools

import numpy as np
import openpyxl
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.parts.plant.performance_table.pages import UnreadHeader
from loopdrift.parts.plant.performance_table.reduction import Correction
from loopdrift.parts.plant.performance_table.table import PerformanceTable

BTU_PER_H = 1055.05585262 / 3600.0
GPM = 231 * 0.0254**3 / 60 * 999.97
CFM = 0.3048**3 / 60
TEMPERATURES = (-5.0, 0.0, 10.0, 20.0)
FLOWS = (0.3, 0.6)
AIR = (0.4, 0.6)


def capacity(mode, t, m=0.45, v=0.5):
    return (
        8000.0 + 210.0 * t + 900.0 * m + 400.0 * v
        if mode == "heating"
        else 9500.0 - 60.0 * t + 500.0 * m + 800.0 * v
    )


def power(mode, t, m=0.45, v=0.5):
    return (
        2400.0 + 9.0 * t + 50.0 * m + 60.0 * v
        if mode == "heating"
        else 1900.0 + 22.0 * t - 40.0 * m + 50.0 * v
    )


def fahrenheit(t):
    return 1.8 * t + 32.0


def line(*cells, sep=",", decimal="."):
    return sep.join(repr(float(c)).replace(".", decimal) if not isinstance(c, str) else c for c in cells)


def modes(form, **with_axes):
    """Return lines of both modes over all temperatures and axes."""
    axes = itertools.product(("heating", "cooling"), TEMPERATURES, *with_axes.values())
    return [form(*values) for values in axes]


def si(mode, t, *others):
    return mode, t, capacity(mode, t), power(mode, t)


PLAIN = ["mode,entering_fluid_degC,capacity_W,power_W", *modes(lambda *v: line(*si(*v)))]
INCH_POUND = [
    "Invented unit, 2 tons",
    "",
    "Mode,EWT (°F),Capacity (kBtu/h),Power input kW",
    *modes(lambda m, t: line(m, fahrenheit(t), capacity(m, t) / BTU_PER_H / 1e3, power(m, t) / 1e3)),
]
SEMICOLONS = [
    "Betrieb ohne Gewähr",
    "mode;source inlet temperature °C;total capacity [kW];electrical power [kW]",
    *modes(lambda m, t: line(m, t, capacity(m, t) / 1e3, power(m, t) / 1e3, sep=";", decimal=",")),
]
TABS = [
    "# flow: 9 gal/min",
    "mode\tentering water temp, degF\tcapacity, MBH\tpower, W",
    *modes(lambda m, t: line(m, fahrenheit(t), capacity(m, t) / BTU_PER_H / 1e3, power(m, t), sep="\t")),
]
UNITS_BELOW = [
    "mode,EWT,capacity,power",
    ",°F,MBtu/h,kW".replace("MBtu/h", "kBtu/h"),
    *modes(lambda m, t: line(m, fahrenheit(t), capacity(m, t) / BTU_PER_H / 1e3, power(m, t) / 1e3)),
]
WIDE = [
    "EFT degC,heating capacity kW,heating power kW,total cooling kW,cooling power kW",
    *(
        line(t, *(f(m, t) / 1e3 for m in ("heating", "cooling") for f in (capacity, power)))
        for t in TEMPERATURES
    ),
]
RATIOS = [
    "EWT F,heating capacity Btu/h,heating COP,cooling capacity Btu/h,EER",
    *(
        line(
            fahrenheit(t),
            capacity("heating", t) / BTU_PER_H,
            capacity("heating", t) / power("heating", t),
            capacity("cooling", t) / BTU_PER_H,
            capacity("cooling", t) / BTU_PER_H / power("cooling", t),
        )
        for t in TEMPERATURES
    ),
]
BLOCKS = [
    "Heating",
    "EWT °F,capacity kBtu/h,power kW,leaving water °F",
    *(
        line(fahrenheit(t), capacity("heating", t) / BTU_PER_H / 1e3, power("heating", t) / 1e3, 30.0)
        for t in TEMPERATURES
    ),
    "",
    "Cooling",
    "EWT °F,total kBtu/h,sensible kBtu/h,power kW",
    *(
        line(
            fahrenheit(t),
            capacity("cooling", t) / BTU_PER_H / 1e3,
            0.75 * capacity("cooling", t) / BTU_PER_H / 1e3,
            power("cooling", t) / 1e3,
        )
        for t in TEMPERATURES
    ),
]
MERGED = ["mode,EWT degC,pressure drop kPa,capacity kW,power kW"]
for mode in ("heating", "cooling"):
    for n, t in enumerate(TEMPERATURES):
        MERGED.append(line("" if n else mode, t, 12.0, capacity(mode, t) / 1e3, power(mode, t) / 1e3))
        MERGED.append(line("", "", 25.0, "-", "n/a"))
DESKS = {
    "plain SI": (PLAIN, "utf-8"),
    "inch-pound under a title": (INCH_POUND, "utf-8"),
    "semicolons and decimal commas in Latin-1": (SEMICOLONS, "latin-1"),
    "tabs with a mark": (TABS, "utf-8-sig"),
    "units in a row of their own": (UNITS_BELOW, "utf-8"),
    "both modes in one row": (WIDE, "utf-8"),
    "COP and EER": (RATIOS, "utf-8"),
    "a block for each mode, total and sensible": (BLOCKS, "utf-8"),
    "merged cells and points without performance": (MERGED, "utf-8"),
}


def check(table, **axes):
    """Compare the points of a table with the unit's own numbers."""
    frame = table.frame()
    wanted = list(itertools.product(("heating", "cooling"), TEMPERATURES, *axes.values()))
    frame = frame.sort_values(["mode", "entering_fluid", *axes], ascending=[False] + [True] * (1 + len(axes)))
    assert list(frame["mode"]) == [mode for mode, *_ in wanted]
    for n, name in enumerate(["entering_fluid", *axes], start=1):
        assert_allclose(frame[name].astype(float), [each[n] for each in wanted], rtol=1e-9, atol=1e-9)
    keys = {"flow": "m", "air_flow": "v"}
    conditions = [dict(zip(map(keys.get, axes), rest, strict=True)) for _, _, *rest in wanted]
    for name, function in (("capacity", capacity), ("power", power)):
        numbers = [
            function(mode, t, **given) for (mode, t, *_), given in zip(wanted, conditions, strict=True)
        ]
        assert_allclose(frame[name], numbers, rtol=1e-9)


@pytest.mark.parametrize(("lines", "encoding"), DESKS.values(), ids=DESKS)
def test_the_same_unit_from_every_desk(tmp_path, lines, encoding):
    path = tmp_path / "unit.csv"
    path.write_bytes("\n".join(lines).encode(encoding))
    check(PerformanceTable.read(path))
    unit = ld.HeatPump.from_table(path)
    assert_allclose(unit.performance([5.0])["heating_capacity_W"], capacity("heating", 5.0), rtol=1e-9)


@pytest.mark.parametrize(
    ("header", "factor"),
    [("flow_gpm", GPM), ("GPM", GPM), ("water flow (L/s)", 0.99997), ("loop flow m3/h", 999.97 / 3600)],
)
def test_flow_in_any_unit(tmp_path, header, factor):
    form = lambda mode, t, m: line(mode, t, capacity(mode, t, m), power(mode, t, m), m / factor)  # noqa: E731
    lines = [f"mode,ewt_degC,capacity_W,power_W,{header}", *modes(form, flow=FLOWS)]
    (tmp_path / "unit.csv").write_text("\n".join(lines))
    check(PerformanceTable.read(tmp_path / "unit.csv"), flow=FLOWS)
    unit = ld.HeatPump.from_table(tmp_path / "unit.csv", flow=f"{0.5 / GPM!r} gal/min")
    assert_allclose(unit.performance([5.0])["heating_capacity_W"], capacity("heating", 5.0, 0.5), rtol=1e-9)


def air_lines(v, header="EWT °F,capacity kBtu/h,power kW"):
    for mode in ("heating", "cooling"):
        yield from [f"{mode.title()} performance", header]
        yield from (
            line(fahrenheit(t), capacity(mode, t, v=v) / BTU_PER_H / 1e3, power(mode, t, v=v) / 1e3)
            for t in TEMPERATURES
        )


def pages_in_a_file(folder):
    lines = [each for v in AIR for each in (f"Air flow: {v / CFM!r} cfm", *air_lines(v))]
    (folder / "unit.csv").write_text("\n".join(lines))
    return folder / "unit.csv"


def sheets_of_a_workbook(folder):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for v in AIR:
        for mode in ("heating", "cooling"):
            sheet = book.create_sheet(f"{mode} {v * 1e3:g} L per s")
            sheet.append(["Invented unit"])
            sheet.append(["Air flow", v / CFM, "cfm"])
            sheet.append(["EWT", "capacity", "power input"])
            sheet.append(["°F", "kBtu/h", "kW"])
            for t in TEMPERATURES:
                sheet.append(
                    [fahrenheit(t), capacity(mode, t, v=v) / BTU_PER_H / 1e3, power(mode, t, v=v) / 1e3]
                )
    book.save(folder / "unit.xlsx")
    return folder / "unit.xlsx"


def files_of_a_folder(folder):
    paths = []
    for mode, v in itertools.product(("heating", "cooling"), AIR):
        path = folder / f"unit_{mode}_{v * 1e3:.0f}.csv"
        path.write_text(
            "\n".join(
                [
                    "EWT degC;capacity W;power W;CFM",
                    *(
                        line(t, capacity(mode, t, v=v), power(mode, t, v=v), v / CFM, sep=";")
                        for t in TEMPERATURES
                    ),
                ]
            )
        )
        paths.append(path)
    return paths


def test_the_last_page_is_meant_by_its_own_unit(tmp_path):
    """67 °F is the last page of a table in °F, although the two differ in their last bit as degC."""
    rows = [
        f"{fluid},{bulb},{30.0 + 0.1 * bulb},{2.0 + 0.01 * fluid}"
        for bulb in (61, 64, 67, 71)
        for fluid in (50, 65, 80, 95)
    ]
    for last in (67, 71):
        wanted = [row for row in rows if int(row.split(",")[1]) <= last]
        header = "EWT (°F),EAT WB (°F),Total cooling kBtu/h,Power kW"
        (tmp_path / "unit.csv").write_text("\n".join([header, *wanted]))
        unit = ld.HeatPump.from_table(tmp_path / "unit.csv", cooling_wet_bulb=f"{last} °F")
        expected = (30.0 + 0.1 * last) * 1055.05585262e3 / 3600.0
        assert_allclose(unit.performance([20.0])["cooling_capacity_W"], expected, rtol=1e-9)


@pytest.mark.parametrize("last", ["80 °F", "60 °F"])
def test_the_last_entering_load_is_meant_by_its_own_unit(tmp_path, last):
    rows = [
        f"{mode},{fluid},{side},{10.0 + 0.2 * fluid},{2.0 + 0.01 * side}"
        for mode in ("heating", "cooling")
        for fluid in (20, 40, 60, 80)
        for side in (60, 67, 71, 80)
    ]
    (tmp_path / "unit.csv").write_text("\n".join(["mode,EWT (°F),EAT (°F),capacity kW,power kW", *rows]))
    unit = ld.HeatPump.from_table(
        tmp_path / "unit.csv", heating_entering_load_temperature=last, cooling_entering_load_temperature=last
    )
    assert_allclose(unit.performance([10.0])["heating_capacity_W"], 1e3 * (10.0 + 0.2 * 50.0), rtol=1e-6)


@pytest.mark.parametrize("made", [pages_in_a_file, sheets_of_a_workbook, files_of_a_folder])
def test_a_page_for_each_air_flow(tmp_path, made):
    """Capacity and power are straight in the air flow, so that what lies between two pages is met."""
    path = made(tmp_path)
    check(PerformanceTable.read(path), air_flow=AIR)
    unit = ld.HeatPump.from_table(path, air_flow=f"{0.45 / CFM!r} cfm")
    assert_allclose(
        unit.performance([5.0])["heating_capacity_W"], capacity("heating", 5.0, v=0.45), rtol=1e-9
    )
    assert "read at an air flow of 0.45 m3/s" in " ".join(unit.table.notes)
    with pytest.raises(
        ld.InvalidInput, match=r"air_flow = nothing.*: must be from 0\.4 m3/s \(847\.6 cfm\) to 0\.6 m3/s"
    ):
        ld.HeatPump.from_table(path)
    with pytest.raises(
        ld.InvalidInput, match=r"air_flow = 0\.7.*: must be from 0\.4 m3/s \(847\.6 cfm\) to 0\.6 m3/s"
    ):
        ld.HeatPump.from_table(path, air_flow=0.7)


def test_dry_and_wet_bulb_of_the_air(tmp_path):
    """Total cooling follows the wet bulb here; the sensible share is kept."""
    total = lambda t, w: 9000.0 - 50.0 * t + 200.0 * (w - 19.0)  # noqa: E731
    rows = [
        line(t, 26.7, w, total(t, w), 0.7 * total(t, w), 2000.0)
        for t in TEMPERATURES
        for w in (15.0, 19.0, 22.0)
    ]
    header = "EWT degC,EAT DB degC,EAT WB degC,total cooling W,sensible cooling W,cooling power W"
    (tmp_path / "unit.csv").write_text("\n".join([header, *rows]))
    unit = ld.HeatPump.from_table(tmp_path / "unit.csv", cooling_wet_bulb="64 degF")
    wet = (64.0 - 32.0) / 1.8
    assert_allclose(unit.performance([5.0])["cooling_capacity_W"], total(5.0, wet), rtol=1e-9)
    assert_allclose(unit.table.sensible_share, [0.7, 0.7], rtol=1e-9)
    assert any("entering load temperature in cooling" in note for note in unit.table.notes)


def test_factors_multiply_the_table(tmp_path):
    (tmp_path / "unit.csv").write_text("\n".join(PLAIN))
    unit = ld.HeatPump.from_table(
        tmp_path / "unit.csv",
        antifreeze_factors=Correction(heating_capacity=0.95, cooling_power=1.02),
        air_flow_factors=Correction(heating_capacity="98 %", heating_power=0.99),
    )
    at = unit.performance([5.0])
    # The COP is fitted, not the power: a quotient of straight lines is no parabola.
    assert_allclose(at["heating_capacity_W"], 0.95 * 0.98 * capacity("heating", 5.0), rtol=1e-9)
    bare = ld.HeatPump.from_table(tmp_path / "unit.csv").performance([5.0])
    assert_allclose(at["heating_cop"] / bare["heating_cop"], 0.95 * 0.98 / 0.99, rtol=1e-9)
    assert_allclose(at["cooling_cop"] / bare["cooling_cop"], 1 / 1.02, rtol=1e-9)
    with pytest.raises(ld.InvalidInput, match=r"Correction\.heating_capacity = 95.*from 0\.2 to 2"):
        Correction(heating_capacity=95)


def changed(lines, old, new):
    assert any(old in each for each in lines)
    return [each.replace(old, new) for each in lines]


FLOW_LINES = [
    "mode,EWT degC,capacity kW,power kW,flow",
    "heating,0,10,3,9",
]
SPOILT = {
    "no unit": (
        changed(PLAIN, "capacity_W", "capacity"),
        ["line 1", "'capacity': capacity, but without a unit", "'capacity_kW'"],
    ),
    "a flow without unit": (
        FLOW_LINES,
        ["line 1", "flow on the loop side, but without a unit", "'flow_L_per_s'"],
    ),
    "a unit of another kind": (
        changed(PLAIN, "power_W", "power_kPa"),
        ["line 1", "'power_kPa': power, but not in 'kPa'", "'power_kW'"],
    ),
    "a letter too many": (
        changed(PLAIN, "power_W", "powwer_W"),
        ["line 1", "'powwer_W'", "did you mean power_kW?"],
    ),
    "an abbreviation of one maker": (
        changed(INCH_POUND, "Capacity (kBtu/h)", "Q1 (kBtu/h)"),
        ["line 3", "'Q1 (kBtu/h)': unknown; in kBtu/h it could be capacity, sensible capacity, power"],
    ),
    "a thousand or a million": (
        changed(INCH_POUND, "kBtu/h", "MBtu/h"),
        ["line 3", "'MBtu/h' is a thousand Btu in the trade and a million in SI: write kBtu or MMBtu"],
    ),
    "no power": (["mode,EWT degC,capacity kW", "heating,0,10"], ["line 1", "the table must have power_kW"]),
    "no mode": (["EWT degC,capacity kW,power kW", "0,10,3"], ["line 1", "the table must have mode"]),
    "no temperature": (["mode,capacity kW,power kW", "heating,10,3"], ["must have entering_fluid_degC"]),
    "capacity in a wrong unit": (
        changed(PLAIN, "capacity_W", "capacity_Btu_per_h"),
        ["line 2", "column 'power_W'", "a COP of", "must be above 1 and up to 20"],
    ),
    "more sensible than total": (
        [*BLOCKS[:-1], "68,30,31,2"],
        ["line 13", "column 'sensible kBtu/h'", "'31'", "must be at most the total capacity of its row"],
    ),
    "both decimal signs": (
        [*SEMICOLONS, "heating;5.5;10,1;3,1"],
        ["line 11", "'5.5'", "must write decimals as '-5,0' in line 3 does"],
    ),
    "one capacity in two units": (
        ["mode,EWT degC,capacity kW,capacity Btu/h,power kW", "heating,0,10,34121,3"],
        ["line 1", "'capacity Btu/h'", "must not stand beside 'capacity kW'"],
    ),
    "a cell too many": ([*PLAIN, "heating,3,10,3,9"], ["line 10", "'5 cells'", "must have 4 cells"]),
    "a column without name": (
        ["mode,EWT degC,,power kW", "heating,0,10,3"],
        ["column 3", "must have a name"],
    ),
    "half a point": (
        [*PLAIN, "heating,3,10000,-"],
        ["line 10", "column 'power_W'", "'-'", "must be a number"],
    ),
    "a page without air flow": (
        [*BLOCKS[:7], "Air flow: 900 cfm", *BLOCKS[7:]],
        ["must state its air flow, as other pages of the table do"],
    ),
    "prose": (["We thank you for your order.", "Yours"], ["line 1", "must have a header"]),
}


@pytest.mark.parametrize(("lines", "parts"), SPOILT.values(), ids=SPOILT)
def test_what_would_do_is_said(tmp_path, lines, parts, says):
    path = tmp_path / "unit.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(ld.InvalidFile) as error:
        ld.HeatPump.from_table(path)
    says(error, ["unit.csv, line ", *parts])


def test_a_refused_header_lists_every_column(tmp_path):
    (tmp_path / "unit.csv").write_text("mode,EWT °F,HC kBtu/h,power kW\nheating,32,30,3\n")
    with pytest.raises(UnreadHeader) as error:
        PerformanceTable.read(tmp_path / "unit.csv")
    assert [name for name, _ in error.value.columns] == ["mode", "EWT °F", "HC kBtu/h", "power kW"]
    assert "'EWT °F': entering fluid temperature in degF" in error.value.__notes__


def test_a_rating_point_that_has_no_neighbour(tmp_path):
    lines = [
        "EWT degC,heating capacity W,heating power W,CFM",
        "0,8e3,2e3,900",
        "0,9e3,2e3,1200",
        "5,9e3,2e3,1200",
    ]
    (tmp_path / "unit.csv").write_text("\n".join(lines))
    with pytest.raises(ld.InvalidFile, match=r"line 4.*also be rated on the other side of the air flow"):
        ld.HeatPump.from_table(tmp_path / "unit.csv", air_flow="1000 cfm")


def test_the_worst_line_is_that_of_its_file(tmp_path):
    """The fit of two files says where its largest difference stands."""
    rng = np.random.default_rng(1)
    for mode in ("heating", "cooling"):
        rows = [line(t, capacity(mode, t) * rng.uniform(0.9, 1.1), power(mode, t)) for t in range(0, 30, 3)]
        (tmp_path / f"{mode}.csv").write_text("\n".join(["# x", "EWT degC,capacity W,power W", *rows]))
    unit = ld.HeatPump.from_table([tmp_path / "heating.csv", tmp_path / "cooling.csv"])
    worst = unit.fit.cooling.capacity
    assert worst.path.endswith("cooling.csv")
    text = (tmp_path / "cooling.csv").read_text().splitlines()[worst.line - 1].split(",")
    at = unit.performance([float(text[0])])["cooling_capacity_W"]
    assert_allclose(at / float(text[1]) - 1.0, worst.largest, rtol=1e-6)
