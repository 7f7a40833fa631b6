"""Spoilt files of hours: each is answered with its file, line, column, cell and what would do."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import loopdrift as ld

HOURS = pd.date_range("2023-01-01", periods=8760, freq="h")
BINARY = bytes(range(256)) * 3


def column(cell, *, header="heating_W", row=10, count=8760):
    cells = ["1"] * count
    cells[row] = cell
    return "\n".join([header, *cells]) + "\n"


def stamped(stamps, value="1", *, header="time,heating_W", form="%Y-%m-%dT%H:%M", sep=","):
    return "\n".join([header.replace(",", sep), *(f"{stamp:{form}}{sep}{value}" for stamp in stamps)]) + "\n"


def year(step):
    return pd.date_range("2023-01-01", "2024-01-01", freq=step, inclusive="left")


PLAIN = stamped(HOURS)
SPRING = PLAIN.replace("2023-03-26T02:00,1\n", "")
LOADS = {
    "empty": ("", ["line 1", "must have a header"]),
    "binary": (BINARY, ["line 1", "must be UTF-8 text, Latin-1 text, or an Excel workbook"]),
    "no header": (column("1", header="1"), ["line 1: '1'", "must be a header, such as heating_kW"]),
    "nothing but a header": ("heating_W\n", ["'0 hours were read'", "8760 for each of 1 to 100 years"]),
    "no load": ("time\n2023-01-01T00:00\n", ["must have a column heating_kW"]),
    "a recharge alone": (column("1", header="recharge_W"), ["'header'", "must have a column heating_kW"]),
    "gap": (
        stamped(HOURS.delete(100)),
        ["line 102, column 'heating_W'", "a gap at 5 January 04:00 (1 h)", "longest_gap = '1 h' fills it"],
    ),
    "gaps of several lengths": (
        stamped(HOURS.delete([*range(2000, 2030), 5000])),
        ["line 2002", "25 March 08:00 (30 h), 28 July 08:00 (1 h), 31 h in all", "longest_gap = '30 h'"],
    ),
    "last hours missing": (
        stamped(HOURS[:-2]),
        ["line 8759", "'2023-12-31T21:00'", "2 h less than 1 year", "whole years of 8760 h, from any day"],
    ),
    "one line more than a year": (
        stamped(pd.date_range("2023-01-01", periods=8761, freq="h")),
        ["line 8762", "'2024-01-01T00:00'", "1 h more than 1 year"],
    ),
    "repeat": (
        stamped(HOURS.insert(100, HOURS[100])),
        ["line 103, column 'time'", "'2023-01-05T04:00'", "once more: must be 2023-01-05T05:00"],
    ),
    "unknown columns below a title": (
        "Export, invented\n\n" + stamped(HOURS, "1;2", header="Zeit,Heizung,Kälte", sep=";"),
        ["line 3, column 'Heizung'", "unknown column", "any other heading can be named in columns"],
    ),
    "a point among decimal commas": (
        stamped(year("30min"), "1,5", sep=";").replace("2023-12-31T00:00;1,5", "2023-12-31T00:00;0.500"),
        ["line 17474, column 'heating_W'", "'0.500'", "with a decimal comma as elsewhere in the file"],
    ),
    "times of another zone": (
        stamped(HOURS - pd.Timedelta("1h"), form="%Y-%m-%dT%H:%M+00:00"),
        ["line 2, column 'time'", "the first must be that of a day", "time_zone, such as 'Europe/Berlin'"],
    ),
    "back in time": (
        stamped(HOURS[[*range(50), *range(20, 8730)]]),
        ["line 52", "'2023-01-01T20:00'", "is back in time: must be 2023-01-03T02:00"],
    ),
    "off the steps": (
        PLAIN.replace("2023-01-01T05:00", "2023-01-01T05:10"),
        ["line 7", "'2023-01-01T05:10'", "a whole number of steps of 60 min after the first"],
    ),
    "no time": (
        PLAIN.replace("2023-01-01T05:00", "noon"),
        ["line 7, column 'time'", "'noon'", "a time like 2023-01-01T00:00"],
    ),
    "no such day": (
        stamped(HOURS, form="%d/%m/%Y %H:%M").replace("31/12/2023 05:00", "32/12/2023 05:00"),
        ["line 8743", "'32/12/2023 05:00'", "must be a time like"],
    ),
    "day and month change places": (
        stamped(HOURS, form="%d/%m/%Y %H:%M").replace("31/12/2023 05:00", "12/31/2023 05:00"),
        ["line 8743", "'12/31/2023 05:00'", "must be a time like"],
    ),
    "dates that can be two": (
        stamped(HOURS[::31][:11], form="%d/%m/%Y %H:%M").replace("/01/", "/02/").replace("13/", "1/"),
        ["line 2", "can be two dates: give date_format = '%d/%m/%Y %H:%M' (day first)", "'%m/%d/%Y %H:%M'"],
    ),
    "first stamp of no day": (
        stamped(HOURS + pd.Timedelta(hours=13)),
        ["line 2", "'2023-01-01T13:00'", "00:00 (steps by their beginning), 00:30", "stamps = 'beginning'"],
    ),
    "steps of two hours": (stamped(year("2h")), ["line 3", "'steps of 120 min'", "must be 1, 2, 3"]),
    "months": (
        stamped(pd.date_range("2023-01-01", periods=12, freq="MS")),
        ["'steps of 44640 min'", "months go in by monthly sums"],
    ),
    "UTC": (stamped(HOURS, form="%Y-%m-%dT%H:%MZ"), ["line 2", "is UTC: give time_zone"]),
    "several zones": (
        stamped(HOURS, form="%Y-%m-%dT%H:%M+01:00").replace("05:00+01:00", "05:00-05:00"),
        ["'times of several time zones'", "must be times of one time zone"],
    ),
    "an hour of spring missing": (SPRING, ["26 March 02:00 (1 h)", "longest_gap"]),
    "hours that don't run": (
        "hour,heating_W\n" + "".join(f"{hour + (hour > 4)},1\n" for hour in range(8760)),
        ["line 7, column 'hour'", "'6'", "must be 5, the hour of the year"],
    ),
    "hours from 2 on": ("hour,heating_W\n2,1\n", ["line 2", "the first hour must be 0 (up to 8759) or 1"]),
    "29 February without a year": (
        "month,day,hour,heating_W\n2,29,0,1\n",
        ["line 2, column 'day'", "29 February needs a column year"],
    ),
    "half hours without times": (
        column("1", count=17520),
        ["line 17521", "may be 2 years of hours (cadence = '1 h') or a year of steps of 30 min (cadence ="],
    ),
    "quarters without times": (
        column("1", count=35040),
        ["may be 4 years of hours (cadence = '1 h') or a year of steps of 15 min (cadence = '15 min')"],
    ),
    "a leap year without times": (
        column("1", count=8784),
        ["may be hours of 366 days or a leap year of hours (cadence = '1 h')"],
    ),
    "short": (
        "heating_W\n" + "1\n" * 8000,
        ["line 8001", "'8000 hours were read'", "nearest are 8760 and 17520"],
    ),
    "negative": (column("-1"), ["line 12, column 'heating_W'", "'-1'", "a number from 0 to 1e+09 W"]),
    "text": (column("warm"), ["line 12, column 'heating_W'", "'warm'", "a number from 0"]),
    "nan": (column("NaN"), ["line 12, column 'heating_W'", "'NaN'", "a number from 0", "longest_gap"]),
    "infinite": (column("inf"), ["line 12, column 'heating_W'", "'inf'", "a number from 0"]),
    "a number of program text": (column("1_000"), ["line 12", "'1_000'", "a number from 0"]),
    "empty cell": (
        PLAIN.replace("2023-01-01T05:00,1", "2023-01-01T05:00,"),
        ["line 7, column 'heating_W'", "''", "a number from 0", "a gap at 1 January 05:00 (1 h)"],
    ),
    "a cell too many": (column("1,2"), ["line 12", "'2 cells'", "as the header has"]),
    "commas of thousands or decimals": (
        stamped(HOURS, "1,234", sep=";"),
        ["line 2", "can be 1234 or 1.234", "write it without comma"],
    ),
    "no unit": (
        column("1", header="heating"),
        ["line 1, column 'heating'", "has no unit: must be called like heating_kW, or unit be given"],
    ),
    "a thousand or a million": (
        column("1", header="heating (MBtu/h)"),
        ["line 1", "a thousand or a million Btu: must be kBtu/h or MMBtu/h"],
    ),
    "unknown unit": (column("1", header="heating [hp]"), ["line 1", "unknown unit 'hp'", "W, kW, MW"]),
    "unknown column": (
        column("1", header="heat_kW"),
        ["line 1, column 'heat_kW'", "did you mean heating_kW?"],
    ),
    "another unknown column": (
        column("1", header="meter 3"),
        ["line 1, column 'meter 3'", "unknown column", "can be named in columns"],
    ),
    "column twice": (
        "heating_W,heating_W\n" + "1,1\n" * 8760,
        ["line 1, column 'heating_W'", "must not stand beside heating_W: both hold heating"],
    ),
    "one column in two units": (
        "heating_W,heating_kW\n" + "1,1\n" * 8760,
        ["line 1, column 'heating_kW'", "must not stand beside heating_W"],
    ),
    "readings of a counter": (
        "heating_kWh\n" + "".join(f"{hour}\n" for hour in range(8760)),
        ["column 'heating_kWh'", "readings of a counter", "differences"],
    ),
    "shaped from something unknown": (
        "# shaped_from: stars\n" + column("1"),
        [
            "line 1",
            "'stars'",
            "must be one of months and peaks, months and peak, months, bills and peak, bills, peak, total",
        ],
    ),
}


@pytest.mark.parametrize("name", LOADS)
def test_loads(tmp_path, name, says):
    content, parts = LOADS[name]
    path = tmp_path / "given.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(ld.InvalidFile) as error:
        ld.Loads.read(path)
    says(error, ["given.csv, line ", *parts])


def test_a_workbook_is_answered_by_its_row(tmp_path, says):
    path = tmp_path / "given.xlsx"
    with pd.ExcelWriter(path, engine="openpyxl") as book:
        cells = pd.DataFrame({"heating_kW": ["1", "x", *["1"] * 8758]})
        cells.to_excel(book, sheet_name="a", index=False, startrow=2)
        cells.head(1).to_excel(book, sheet_name="b", index=False)
    with pytest.raises(ld.InvalidInput) as error:
        ld.Loads.read(path)
    says(error, ["Loads.sheet = nothing", "several hold what is looked for: must be one of 'a', 'b'"])
    with pytest.raises(ld.InvalidFile) as error:
        ld.Loads.read(path, sheet="a")
    says(error, ["given.xlsx, sheet 'a', line 5, column 'heating_kW'", "'x'"])
    with pytest.raises(ld.InvalidInput) as error:
        ld.Loads.read(path, sheet="c")
    says(error, ["Loads.sheet = 'c'", "must be one of 'a', 'b'"])


def test_parquet_is_answered_by_its_row(tmp_path, says):
    path = tmp_path / "given.parquet"
    pd.DataFrame({"heating_kW": np.r_[[1.0] * 6, -2.0, [1.0] * 8753]}).to_parquet(path)
    with pytest.raises(ld.InvalidFile) as error:
        ld.Loads.read(path)
    says(error, ["given.parquet, line 7, column 'heating_kW'", "'-2.0'"])
    path.write_bytes(b"PAR1 and no more")
    with pytest.raises(ld.InvalidFile) as error:
        ld.Loads.read(path)
    says(error, ["line 1", "must be a Parquet file"])


SAID = {
    "a zone that is none": ({"time_zone": "Mars/Olympus"}, ["time_zone", "'Europe/Berlin'", "'UTC+1'"]),
    "a fixed zone that is none": ({"time_zone": "UTC+20"}, ["time_zone", "from UTC-12 to UTC+14"]),
    "clocks that a zone never shows": (
        {"time_zone": "Europe/Berlin"},
        ["line 2020", "'2023-03-26T02:00'", "is no time in Europe/Berlin", "such as 'UTC+1'"],
    ),
    "a cadence beside others": ({"cadence": "15 min"}, ["line 3", "'steps of 60 min'", "steps of 15 min"]),
    "a unit beside another": ({"unit": "kW"}, ["line 1", "must have one unit, not kw and w"]),
    "a date format that fits no cell": ({"date_format": "%d.%m.%Y"}, ["line 2", "written as '%d.%m.%Y'"]),
    "a sheet of a text": ({"sheet": "a"}, ["Loads.sheet", "the file is no workbook"]),
    "stamps of nothing": ({"stamps": "start"}, ["Loads.stamps", "beginning, middle, end"]),
    "a column that isn't there": (
        {"columns": {"heating": "M1"}},
        ["columns.heating", "headings time, heating_W"],
    ),
    "a quantity that isn't there": (
        {"columns": {"heat": "heating_W"}},
        ["columns", "must be time or one of"],
    ),
    "a gap of a length": ({"longest_gap": "3 m"}, ["Loads.longest_gap", "a unit like h"]),
    "a unit of another kind": ({"unit": 7}, ["Loads.unit", "must be text"]),
}


@pytest.mark.parametrize("name", SAID)
def test_what_is_said_of_a_file_must_fit(tmp_path, name, says):
    options, parts = SAID[name]
    path = tmp_path / "given.csv"
    path.write_text(PLAIN)
    with pytest.raises((ld.InvalidFile, ld.InvalidInput)) as error:
        ld.Loads.read(path, **options)
    says(error, parts)


def test_frames_are_answered_by_their_row(says):
    frame = pd.DataFrame({"heating_W": 1.0}, HOURS)
    for spoilt, parts in (
        (frame.reset_index(drop=True), ["must have a DatetimeIndex"]),
        (frame["heating_W"], ["Loads.frame = Series: must be a DataFrame"]),
        (frame.drop(HOURS[100]), ["row 100", "a gap at 5 January 04:00 (1 h)"]),
        (frame.assign(heating_W=-1.0), ["row 0, column 'heating_W'", "from 0 to 1e+09 W"]),
        (frame.rename(columns={"heating_W": "heating"}), ["columns: has no unit"]),
        (frame.set_axis(HOURS.tz_localize("UTC")), ["row 0", "is UTC: give time_zone"]),
    ):
        with pytest.raises(ld.InvalidInput) as error:
            ld.Loads.from_frame(spoilt)
        says(error, parts)
