"""Files as they lie on a desk, written here (all invented): read right to the last digits.

Each way of writing has the same loads, so that sums, peaks and first hour are known without the reader.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

BTU_PER_HOUR = 1055.05585262 / 3600.0
HOUR = np.arange(8760)
HEATING = np.round(np.clip(6000.0 * np.cos(2 * np.pi * HOUR / 8760) + 800.0 * np.sin(HOUR), 0.0, None), 0)
COOLING = np.round(np.clip(-4000.0 * np.cos(2 * np.pi * HOUR / 8760) + 500.0 * np.cos(HOUR), 0.0, None), 0)
PLAIN = {"heating": HEATING, "cooling": COOLING}


def model_year(year: int = 2023, step: str = "h") -> pd.DatetimeIndex:
    """The steps of a year without 29 February."""
    stamps = pd.date_range(f"{year}-01-01", f"{year + 1}-01-01", freq=step, inclusive="left")
    return stamps[~((stamps.month == 2) & (stamps.day == 29))]


def finer(values: np.ndarray, per_hour: int) -> np.ndarray:
    """Shorter steps with the same hourly means, which differ within the hour."""
    swing = np.arange(per_hour) - (per_hour - 1) / 2.0
    return (values[:, None] * (1.0 + swing / per_hour)).ravel()


def table(
    stamps, *, heating=HEATING, cooling=COOLING, form="%Y-%m-%dT%H:%M", unit="kW", scale=1e3
) -> pd.DataFrame:
    written = stamps.strftime(form) if form else stamps
    return pd.DataFrame(
        {"time": written, f"heating_{unit}": heating / scale, f"cooling_{unit}": cooling / scale}
    )


def csv(frame, path, **how):
    frame.to_csv(path, index=False, **how)


WAYS = {}


def way(write):
    WAYS[write.__name__.replace("_", " ")] = write
    return write


@way
def iso_stamps(path):
    csv(table(model_year()), path)


@way
def semicolons_and_decimal_commas(path):
    csv(table(model_year(), form="%d.%m.%Y %H:%M"), path, sep=";", decimal=",")


@way
def tabs_and_utf16(path):
    csv(table(model_year()), path, sep="\t", encoding="utf-16")


@way
def byte_order_mark_and_carriage_returns(path):
    csv(table(model_year(), form="%Y-%m-%d %H:%M:%S"), path, encoding="utf-8-sig", lineterminator="\r\n")


@way
def latin_1_with_titles_above(path):
    head = "Gebäude 3, Zähler 7\nJahr 2023\n\n"
    frame = table(model_year()).assign(**{"außen [°C]": 3.5})
    path.write_bytes((head + frame.to_csv(index=False)).encode("latin-1"))


@way
def us_dates_with_am_and_pm(path):
    csv(table(model_year(), form="%m/%d/%Y %I:%M %p"), path)


@way
def uk_dates(path):
    csv(table(model_year(), form="%d/%m/%Y %H:%M"), path)


@way
def two_digit_years(path):
    csv(table(model_year(), form="%m/%d/%y %H:%M"), path)


@way
def months_by_name(path):
    csv(table(model_year(), form="%d-%b-%Y %H:%M"), path)


@way
def midnight_without_a_clock(path):
    frame = table(model_year(), form="%d/%m/%Y %H:%M")
    frame["time"] = frame["time"].str.replace(" 00:00", "", regex=False)
    csv(frame, path)


@way
def hours_to_24(path):
    frame = table(model_year())
    ends = model_year() + pd.Timedelta(hours=1)
    of_day = np.where(ends.hour == 0, "24:00", ends.strftime("%H:%M"))
    frame["time"] = [
        f"{day} {clock}" for day, clock in zip(model_year().strftime("%d.%m.%Y"), of_day, strict=True)
    ]
    csv(frame, path, sep=";")


@way
def date_and_time_apart(path):
    frame = table(model_year(), form="%m/%d/%Y")
    frame.insert(1, "Time", model_year().strftime("%H:%M"))
    csv(frame.rename(columns={"time": "Date"}), path)


@way
def date_and_hour_1_to_24(path):
    frame = table(model_year(), form="%Y-%m-%d")
    frame.insert(1, "hour", model_year().hour + 1)
    csv(frame.rename(columns={"time": "date"}), path)


@way
def month_day_and_hour(path):
    stamps = model_year()
    frame = table(stamps).drop(columns="time")
    csv(frame.assign(month=stamps.month, day=stamps.day, hour=stamps.hour), path)


@way
def days_of_a_spreadsheet(path):
    days = (model_year() - pd.Timestamp("1899-12-30")) / pd.Timedelta(days=1)
    csv(table(model_year()).assign(time=days), path)


@way
def quarters_of_a_leap_year(path):
    stamps = pd.date_range("2024-01-01", "2025-01-01", freq="15min", inclusive="left")
    leap = np.asarray((stamps.month == 2) & (stamps.day == 29))
    values = {name: np.full(len(stamps), 777.0) for name in PLAIN}
    for name, hourly in PLAIN.items():
        values[name][~leap] = finer(hourly, 4)
    csv(table(stamps, **values), path)


@way
def half_hours_by_their_ends_in_btu(path):
    stamps = model_year(step="30min") + pd.Timedelta(minutes=30)
    values = {name: finer(hourly, 2) for name, hourly in PLAIN.items()}
    csv(table(stamps, **values, unit="MBH", scale=1e3 * BTU_PER_HOUR), path)


@way
def energy_of_quarters(path):
    values = {name: finer(hourly, 4) / 4.0 for name, hourly in PLAIN.items()}
    csv(table(model_year(step="15min"), **values, unit="kWh"), path)


@way
def energy_in_kbtu_of_ten_minutes(path):
    values = {name: finer(hourly, 6) / 6.0 for name, hourly in PLAIN.items()}
    csv(table(model_year(step="10min"), **values, unit="kBtu", scale=1e3 * BTU_PER_HOUR), path)


@way
def therms(path):
    csv(table(model_year(), unit="therm", scale=1e5 * BTU_PER_HOUR), path)


@way
def tons_and_brackets(path):
    frame = table(model_year(), unit="ton", scale=12e3 * BTU_PER_HOUR)
    csv(frame.set_axis(["Date/Time", "Heating load [ton]", "Cooling load (tons)"], axis=1), path)


@way
def from_july_to_june(path):
    stamps = pd.date_range("2023-07-01", "2024-06-30 23:00", freq="h")
    leap = np.asarray((stamps.month == 2) & (stamps.day == 29))
    first = 181 * 24
    values = {name: np.full(len(stamps), 777.0) for name in PLAIN}
    for name, hourly in PLAIN.items():
        values[name][~leap] = np.roll(hourly, -first)
    csv(table(stamps, **values), path)


def of_berlin() -> pd.DatetimeIndex:
    """A year of hours in standard time, as the clocks of Berlin show it."""
    return model_year().tz_localize("Etc/GMT-1").tz_convert("Europe/Berlin")


@way
def clocks_that_change_seen_in_the_stamps(path):
    csv(table(of_berlin().tz_localize(None)), path)


@way
def quarters_of_clocks_that_change(path):
    stamps = model_year(step="15min").tz_localize("Etc/GMT-1").tz_convert("Europe/Berlin").tz_localize(None)
    csv(table(stamps, **{name: finer(hourly, 4) for name, hourly in PLAIN.items()}), path)


@way
def offsets_from_utc_that_change(path):
    csv(table(of_berlin(), form="%Y-%m-%dT%H:%M%z"), path)


@way
def a_workbook(path):
    frame = table(model_year(), form=None)
    with pd.ExcelWriter(path, engine="openpyxl") as book:
        pd.DataFrame({"notes": ["read by hand"]}).to_excel(book, sheet_name="notes", index=False)
        frame.to_excel(book, sheet_name="meter", index=False, startrow=3)


@way
def parquet(path):
    table(model_year(), form=None).set_index("time").to_parquet(path)


ENDS = {"a workbook": "meter.xlsx", "parquet": "meter.parquet"}


@pytest.mark.parametrize("name", WAYS)
def test_a_file_without_a_doubt_needs_no_option(tmp_path, name):
    path = tmp_path / ENDS.get(name, "meter.csv")
    WAYS[name](path)
    loads = ld.Loads.read(path)
    assert loads.years == 1
    for what, expected in PLAIN.items():
        found = getattr(loads, what)
        assert_allclose(found.sum(), expected.sum(), rtol=1e-9)
        assert_allclose(found.max(), expected.max(), rtol=1e-9)
        assert_allclose(found[0], expected[0], rtol=1e-9, atol=1e-9)
        assert_allclose(found, expected, rtol=1e-9, atol=1e-6)


SAID = {
    "a meter's own headings": (
        lambda path: csv(table(model_year()).set_axis(["Read at", "M1 (kW)", "M2"], axis=1), path),
        {"columns": {"time": "Read at", "heating": "M1 (kW)", "cooling": "M2"}, "unit": "kW"},
    ),
    "a unit for all": (
        lambda path: csv(table(model_year()).set_axis(["time", "heating", "cooling"], axis=1), path),
        {"unit": "kW"},
    ),
    "quarters without times": (
        lambda path: csv(
            table(model_year(step="15min"), **{k: finer(v, 4) for k, v in PLAIN.items()}).drop(
                columns="time"
            ),
            path,
        ),
        {"cadence": "15 min"},
    ),
    "a date format": (
        lambda path: csv(table(model_year(), form="%Y.%d.%m %H-%M"), path),
        {"date_format": "%Y.%d.%m %H-%M"},
    ),
    "UTC": (
        lambda path: csv(
            table(model_year().tz_localize("Etc/GMT-1").tz_convert("UTC"), form="%Y-%m-%dT%H:%MZ"), path
        ),
        {"time_zone": "Europe/Berlin"},
    ),
    "a zone's clocks": (
        lambda path: csv(table(of_berlin().tz_localize(None)), path),
        {"time_zone": "Europe/Berlin"},
    ),
    "one sheet of several": (
        lambda path: _two_sheets(path),
        {"sheet": "house"},
    ),
}


def _two_sheets(path):
    with pd.ExcelWriter(path, engine="openpyxl") as book:
        table(model_year(), form=None).to_excel(book, sheet_name="house", index=False)
        table(model_year(), form=None).head(5).to_excel(book, sheet_name="barn", index=False)


@pytest.mark.parametrize("name", SAID)
def test_what_a_file_leaves_open_can_be_said(tmp_path, name):
    write, said = SAID[name]
    path = tmp_path / ("meter.xlsx" if "sheet" in said else "meter.csv")
    write(path)
    loads = ld.Loads.read(path, **said)
    for what, expected in PLAIN.items():
        assert_allclose(getattr(loads, what), expected, rtol=1e-9, atol=1e-6)


def test_headings_of_several_lines_and_odd_names_of_files(tmp_path):
    path = tmp_path / " meter\n7 .xlsx"
    frame = table(model_year(step="30min"), **{name: np.repeat(v, 2) for name, v in PLAIN.items()}, form=None)
    frame.set_axis(["time", "Heating\nload\n[kW]", "Cooling  [kW]"], axis=1).to_excel(path, index=False)
    loads = ld.Loads.read(path)
    assert_allclose(loads.heating, HEATING, rtol=1e-9, atol=1e-6)
    assert dict(loads.origin)["file"] == "meter\\n7 .xlsx"
    loads.write(tmp_path / "again.csv")
    assert ld.Loads.read(tmp_path / "again.csv").origin == loads.origin


def test_gaps_are_filled_up_to_the_limit_and_listed(tmp_path):
    """Two hours by a straight line; a day by the mean of the days before and after."""
    frame = table(model_year())
    frame.loc[100:101, "heating_kW"] = np.nan
    path = tmp_path / "meter.csv"
    csv(frame.drop(index=range(24 * 40, 24 * 41)), path)
    loads = ld.Loads.read(path, longest_gap="24 h")
    assert_allclose(loads.heating[100:102], np.interp([100, 101], [99, 102], HEATING[[99, 102]]), rtol=1e-12)
    day = slice(24 * 40, 24 * 41)
    around = 0.5 * (HEATING[24 * 39 : 24 * 40] + HEATING[24 * 41 : 24 * 42])
    assert_allclose(loads.heating[day], around, rtol=1e-12)
    others = np.ones(8760, dtype=bool)
    others[[100, 101, *range(24 * 40, 24 * 41)]] = False
    assert_allclose(loads.heating[others], HEATING[others], rtol=1e-12)
    said = dict(loads.origin)
    assert said["gaps in heating"].startswith("26 h filled by a straight line, longer than 3 h by")
    assert "5 January 04:00 (2 h), 10 February 00:00 (24 h)" in said["gaps in heating"]
    assert said["file"] == "meter.csv"


def test_what_was_done_is_kept(tmp_path):
    path = tmp_path / "meter.csv"
    quarters_of_a_leap_year(path)
    loads = ld.Loads.read(path)
    said = dict(loads.origin)
    assert said["steps"] == "15 min, averaged to hours"
    assert said["leap day"] == (
        "29 February left out, with heating 18.6 kWh (0.0636 million Btu), "
        "cooling 18.6 kWh (0.0636 million Btu)"
    )
    loads.write(tmp_path / "again.csv")
    assert ld.Loads.read(tmp_path / "again.csv").origin == loads.origin
    from_july_to_june(path)
    assert dict(ld.Loads.read(path).origin)["first step"] == (
        "1 July 2023, 00:00 in standard time, turned to begin on 1 January"
    )
    clocks_that_change_seen_in_the_stamps(path)
    assert "26 March 2023 and 29 October 2023" in dict(ld.Loads.read(path).origin)["clock"]
    latin_1_with_titles_above(path)
    assert dict(ld.Loads.read(path).origin)["left out"] == "außen [°C]"


def test_a_frame_is_read_by_its_index():
    stamps = pd.date_range("2023-07-01", "2024-06-30 23:45", freq="15min", tz="Europe/Berlin")
    frame = pd.DataFrame({"heating": np.full(len(stamps), 1.5)}, stamps)
    frame.attrs["units"] = {"heating": "kWh"}
    loads = ld.Loads.from_frame(frame)
    assert_allclose(loads.heating, 6000.0, rtol=1e-12)
    assert "summer time turned into UTC+1 h" in dict(loads.origin)["clock"]
    periods = pd.DataFrame({"cooling_W": HEATING}, pd.period_range("2023-01-01", periods=8760, freq="h"))
    assert_allclose(ld.Loads.from_frame(periods).cooling, HEATING, rtol=1e-12)


def test_quantities_of_a_frame_are_honoured():
    pint = pytest.importorskip("pint")
    kilowatts = pint.UnitRegistry().kilowatt
    cells = pd.Series([2.0 * kilowatts] * 8760, index=model_year(), dtype=object)
    assert_allclose(ld.Loads.from_frame(pd.DataFrame({"heating": cells})).heating, 2000.0, rtol=1e-12)


def test_zones_of_half_hours_share_their_hours():
    """A year of UTC at a place of UTC+5:30: each local hour is half of two hours of the file."""
    utc = pd.DataFrame({"heating_W": HEATING}, model_year().tz_localize("UTC"))
    loads = ld.Loads.from_frame(utc, time_zone="UTC+5:30")
    expected = 0.5 * (np.roll(HEATING, 5) + np.roll(HEATING, 6))
    assert_allclose(loads.heating, expected, rtol=1e-12, atol=1e-9)
