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


HEADER = "mode,entering_fluid_degC,capacity_kW,power_kW"
POINTS = [f"heating,{at},{10 + 0.3 * at},3" for at in (-5, 0, 5, 10, 15)]


def rated(*points, header=HEADER):
    return "\n".join([header, *POINTS, *points]) + "\n"


TABLES = {
    "empty": ("", ["line 1", "must have a header"]),
    "binary": (BINARY, ["line 1", "must be UTF-8 text"]),
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
    "empty": ("", ["line 1", "must have a header"]),
    "binary": (BINARY, ["line 1", "must be UTF-8 text"]),
    "no time": (
        weather("9", header="when,temp_air").replace("2023-", "in 2023-"),
        ["must have a column time"],
    ),
    "text": (weather("warm"), ["line 11", "column 'temp_air'", "'warm'", "from -90 to 60 degC"]),
    "empty cell": (weather(""), ["line 11", "column 'temp_air'", "''", "from -90 to 60 degC"]),
    "too hot": (weather("99"), ["line 11", "column 'temp_air'", "'99'", "from -90 to 60 degC"]),
    "no temperature": (weather("9", header="time,temp"), ["line 1", "must have a column temp_air"]),
    "place in words": (
        "# latitude_deg: north\n" + weather("9"),
        ["line 1", "column 'latitude_deg'", "'north'", "from -90 to 90 deg"],
    ),
}

READERS = {"table": ld.HeatPump.from_table, "weather": ld.Weather.read}
FILES = [
    pytest.param(READERS[kind], content, parts, id=f"{kind}-{name}")
    for kind, cases in (("table", TABLES), ("weather", WEATHERS))
    for name, (content, parts) in cases.items()
]


@pytest.mark.parametrize(("read", "content", "parts"), FILES)
def test_files(tmp_path, read, content, parts, says):
    path = tmp_path / "given.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(ld.InvalidFile) as error:
        read(path)
    says(error, ["given.csv, line ", *parts])


@pytest.mark.parametrize("read", [*READERS.values(), ld.Loads.read, ld.Design.read])
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
        (True, None, ["HeatPump.flow = nothing", "from 0.3 kg/s (4.8 gal/min) to 0.6 kg/s"]),
        (True, 3.0, ["HeatPump.flow = 3.0 kg/s", "from 0.3 kg/s (4.8 gal/min) to 0.6 kg/s"]),
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
