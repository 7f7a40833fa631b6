"""Bad files: a message with the file, its line, what stands there and its cure."""

import pandas as pd
import pytest

import loopdrift as ld

HOURS = pd.date_range("2023-01-01", periods=8760, freq="h")
BINARY = bytes(range(256)) * 3


def column(cell, *, header="heating_W", row=10):
    cells = ["1"] * 8760
    cells[row] = cell
    return "\n".join([header, *cells]) + "\n"


def stamped(stamps, value="1", *, header="time,heating_W"):
    return "\n".join([header, *(f"{stamp:%Y-%m-%dT%H:%M},{value}" for stamp in stamps)]) + "\n"


LOADS = {
    "empty": ("", ["line 1", "must have a header"]),
    "binary": (BINARY, ["line 2", "must be UTF-8 text"]),
    "no header": (column("1", header="1"), ["line 1", "'column 1'", "no known column; known are heating_W"]),
    "nothing but a header": ("heating_W\n", ["'0 hours were read'", "8760 for each of 1 to 100 years"]),
    "leap day": (
        stamped(pd.date_range("2024-01-01", periods=8784, freq="h")),
        ["line 1418", "column 'time'", "'2024-02-29T00:00'", "leave its 24 hours out"],
    ),
    "gap": (
        stamped(HOURS.delete(100)),
        ["line 102", "'2023-01-05T05:00'", "a gap: must be 2023-01-05T04:00"],
    ),
    "repeat": (
        stamped(HOURS.insert(100, HOURS[100])),
        ["line 103", "'2023-01-05T04:00'", "once more: must be 2023-01-05T05:00"],
    ),
    "no time": (
        stamped(HOURS).replace("2023-01-01T05:00", "noon"),
        ["line 7", "'noon'", "a time like 2023-01-01T00:00"],
    ),
    "negative": (column("-1"), ["line 12", "column 'heating_W'", "'-1'", "a number from 0"]),
    "text": (column("warm"), ["line 12", "column 'heating_W'", "'warm'", "a number from 0"]),
    "nan": (column("NaN"), ["line 12", "column 'heating_W'", "'NaN'", "a number from 0"]),
    "infinite": (column("inf"), ["line 12", "column 'heating_W'", "'inf'", "a number from 0"]),
    "empty cell": (
        stamped(HOURS).replace("2023-01-01T05:00,1", "2023-01-01T05:00,"),
        ["line 7", "column 'heating_W'", "''", "a number from 0"],
    ),
    "a cell too many": (column("1,2"), ["line 12", "'2 cells'", "as the header has"]),
    "short": ("heating_W\n" + "1\n" * 8000, ["'8000 hours were read'", "nearest are 8760 and 17520"]),
    "unknown column": (
        column("1", header="heating_kw"),
        ["line 1", "'heating_kw'", "did you mean heating_kW?"],
    ),
    "column twice": (
        "heating_W,heating_W\n" + "1,1\n" * 8760,
        ["line 1", "'heating_W'", "must not stand beside heating_W"],
    ),
    "one column in two units": (
        "heating_W,heating_kW\n" + "1,1\n" * 8760,
        ["line 1", "'heating_kW'", "must not stand beside heating_W"],
    ),
}

HEADER = "mode,entering_fluid_degC,capacity_kW,power_kW"
POINTS = [f"heating,{at},{10 + 0.3 * at},3" for at in (-5, 0, 5, 10, 15)]


def rated(*points, header=HEADER):
    return "\n".join([header, *POINTS, *points]) + "\n"


TABLES = {
    "empty": ("", ["line 1", "must have a header"]),
    "binary": (BINARY, ["line 2", "must be UTF-8 text"]),
    "nothing but a header": (HEADER + "\n", ["'no rating point'", "lines for heating, cooling or both"]),
    "unknown mode": (rated("heeting,3,10,3"), ["line 7", "column 'mode'", "'heeting'", "heating or cooling"]),
    "negative": (
        rated("heating,3,-10,3"),
        ["line 7", "column 'capacity_kW'", "'-10'", "a number from 0.001"],
    ),
    "text": (rated("heating,3,ten,3"), ["line 7", "column 'capacity_kW'", "'ten'", "a number from 0.001"]),
    "COP below 1": (rated("heating,3,10,30"), ["line 7", "column 'power_kW'", "COP of 0.33", "above 1"]),
    "a cell too few": (rated("heating,3"), ["line 7", "'2 cells'", "must have 4 cells"]),
    "unknown column": (
        rated(header=HEADER.replace("power", "powr")),
        ["line 1", "'powr_kW'", "did you mean power_kW?"],
    ),
}


def weather(cell, *, header="time,temp_air", row=9):
    lines = stamped(HOURS, "5", header=header).splitlines()
    lines[row + 1] = f"{HOURS[row]:%Y-%m-%dT%H:%M},{cell}"
    return "\n".join(lines) + "\n"


WEATHERS = {
    "empty": ("", ["line 1", "must have a column time"]),
    "binary": (BINARY, ["line 2", "must be UTF-8 text"]),
    "text": (weather("warm"), ["line 11", "column 'temp_air'", "'warm'", "from -90 to 60 degC"]),
    "empty cell": (weather(""), ["line 11", "column 'temp_air'", "''", "from -90 to 60 degC"]),
    "too hot": (weather("99"), ["line 11", "column 'temp_air'", "'99'", "from -90 to 60 degC"]),
    "no temperature": (weather("9", header="time,temp"), ["line 1", "must have a column temp_air"]),
    "place in words": (
        "# latitude_deg: north\n" + weather("9"),
        ["line 1", "column 'latitude_deg'", "'north'", "from -90 to 90 deg"],
    ),
}

READERS = {"loads": ld.Loads.read, "table": ld.HeatPump.from_table, "weather": ld.Weather.read}
FILES = [
    pytest.param(READERS[kind], content, parts, id=f"{kind}-{name}")
    for kind, cases in (("loads", LOADS), ("table", TABLES), ("weather", WEATHERS))
    for name, (content, parts) in cases.items()
]


@pytest.mark.parametrize(("read", "content", "parts"), FILES)
def test_files(tmp_path, read, content, parts, says):
    path = tmp_path / "given.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(ld.InvalidFile) as error:
        read(path)
    says(error, ["given.csv, line ", *parts])


@pytest.mark.parametrize("read", [*READERS.values(), ld.Design.read])
def test_files_that_are_not_there(tmp_path, read):
    with pytest.raises(FileNotFoundError, match=r"gone\.csv"):
        read(tmp_path / "gone.csv")
    with pytest.raises(IsADirectoryError, match=tmp_path.name):
        read(tmp_path)


def test_a_table_of_one_temperature(tmp_path, says):
    (tmp_path / "unit.csv").write_text(f"{HEADER}\n{POINTS[0]}\n")
    with pytest.raises(ld.InvalidInput) as error:
        ld.HeatPump.from_table(tmp_path / "unit.csv")
    says(error, ["HeatPump.entering_fluid", "-5 degC", "at least two temperatures"])


@pytest.mark.parametrize(
    ("flows", "flow", "parts"),
    [
        (True, None, ["HeatPump.flow = nothing kg/s", "from 0.3 to 0.6 kg/s"]),
        (True, 3.0, ["HeatPump.flow = 3 kg/s", "from 0.3 to 0.6 kg/s"]),
        (False, 3.0, ["HeatPump.flow = 3 kg/s", "left out"]),
    ],
)
def test_flow_beside_a_table(tmp_path, flows, flow, parts, says):
    lines = [HEADER, *POINTS]
    if flows:
        lines = [f"{HEADER},flow_kg_per_s", *(f"{point},{each}" for point in POINTS for each in (0.3, 0.6))]
    (tmp_path / "unit.csv").write_text("\n".join(lines))
    with pytest.raises(ld.InvalidInput) as error:
        ld.HeatPump.from_table(tmp_path / "unit.csv", flow=flow)
    says(error, parts)
