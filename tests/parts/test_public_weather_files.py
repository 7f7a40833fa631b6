"""Public weather files by name, their formats written here with invented values or shipped with pvlib."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld

DATA = Path(pvlib.__file__).parent / "data"
SAMPLE = ld.Weather.sample("mild maritime")
STAMPS = pd.date_range("2023-01-01", periods=8760, freq="h")
PLACE = {"latitude": 50.0, "longitude": 7.5, "altitude": 30.0}


def epw(path, *, longitude=7.5, zone=1.0, spoilt=None):
    """Write an EPW file: eight lines before the hours, 35 columns, hours 1 to 24 (from memory)."""
    lines = [
        f"LOCATION,Nowhere,-,XXX,invented,0,50.0,{longitude},{zone},30.0",
        *("DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"),
        *("HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,invented", "COMMENTS 2"),
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    years = np.where(STAMPS.month <= 2, 1996, 1987)  # months of several years, one of them a leap year
    columns = zip(years, STAMPS, SAMPLE.dry_bulb, SAMPLE.ghi, SAMPLE.dni, SAMPLE.dhi, strict=True)
    for year, stamp, temperature, ghi, dni, dhi in columns:
        cells = [
            year,
            stamp.month,
            stamp.day,
            stamp.hour + 1,
            60,
            "?9",
            temperature,
            5.0,
            70,
            101300,
            0,
            0,
            300,
        ]
        cells += [ghi, dni, dhi, 0, 0, 0, 0, 180, 3.5, *[0] * 13]
        lines.append(",".join(map(str, cells)))
    if spoilt:
        row, value = spoilt
        cells = lines[8 + row].split(",")
        cells[6] = value
        lines[8 + row] = ",".join(cells)
    path.write_text("\n".join(lines) + "\n")


def pvgis_csv(path):
    """Write a PVGIS typical year: times in UTC, months of several years (from memory)."""
    utc = np.roll(np.arange(8760), -1)  # hour 0 of UTC is hour 1 of UTC+1
    years = np.where(STAMPS.month <= 2, 2008, 2013)
    rows = [
        f"{year}{stamp:%m%d:%H%M},{SAMPLE.dry_bulb[k]},70.0,{SAMPLE.ghi[k]},{SAMPLE.dni[k]},{SAMPLE.dhi[k]},"
        "300.0,3.5,180.0,101300.0"
        for year, stamp, k in zip(years, STAMPS, utc, strict=True)
    ]
    months = [f"{month},{2008 if month <= 2 else 2013}" for month in range(1, 13)]
    head = ["Latitude (decimal degrees): 50.0", "Longitude (decimal degrees): 7.5", "Elevation (m): 30.0"]
    names = "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP"
    notes = ["", "T2m: invented", "RH: invented"]
    path.write_text("\n".join([*head, "month,year", *months, names, *rows, *notes]) + "\n")


def nsrdb(path):
    """Write an NSRDB file with stamps at half hours (from memory)."""
    keys = "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time Zone"
    values = "invented,1,-,-,-,50.0,7.5,1,30,1"
    names = "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Relative Humidity,Wind Speed"
    rows = [
        f"2023,{stamp.month},{stamp.day},{stamp.hour},30,{ghi},{dni},{dhi},{temperature},70,3.5"
        for stamp, ghi, dni, dhi, temperature in zip(
            STAMPS, SAMPLE.ghi, SAMPLE.dni, SAMPLE.dhi, SAMPLE.dry_bulb, strict=True
        )
    ]
    path.write_text("\n".join([keys, values, names, *rows]) + "\n")


@pytest.mark.parametrize(
    ("write", "name", "kind", "said"),
    [
        (epw, "typical.epw", "EPW", {}),
        (nsrdb, "typical.csv", "NSRDB", {}),
        (pvgis_csv, "typical.csv", "PVGIS", {"time_zone": "Europe/Berlin"}),
    ],
)
def test_public_files_are_known_by_their_beginning(tmp_path, write, name, kind, said):
    write(tmp_path / name)
    weather = ld.Weather.read(tmp_path / name, **said)
    assert_allclose(weather.dry_bulb, SAMPLE.dry_bulb, rtol=1e-12)
    assert_allclose(weather.ghi, SAMPLE.ghi, rtol=1e-12)
    assert_allclose(weather.wind_speed, 3.5, rtol=1e-12)
    assert {name: getattr(weather, name) for name in PLACE} == PLACE
    assert weather.utc_offset == 1.0
    assert dict(weather.origin)["file"] == f"{name}, {kind}"
    weather.write(tmp_path / "again.csv")
    again = ld.Weather.read(tmp_path / "again.csv")
    assert again == weather and again.origin == weather.origin


@pytest.mark.parametrize(
    ("name", "kind"), [("703165TY.csv", "TMY3"), ("723170TYA.CSV", "TMY3"), ("12839.tm2", "TMY2")]
)
def test_shipped_typical_years_by_name(name, kind):
    weather = ld.Weather.read(DATA / name)
    assert dict(weather.origin)["file"] == f"{name}, {kind}"
    assert weather.latitude is not None and weather.utc_offset is not None
    if kind == "TMY3":
        frame, place = pvlib.iotools.read_tmy3(DATA / name, encoding="iso-8859-1")
        assert_array_equal(weather.dry_bulb, frame["temp_air"].to_numpy())
        assert (weather.latitude, weather.longitude) == (place["latitude"], place["longitude"])
    else:
        frame, _ = pvlib.iotools.read_tmy2(DATA / name)
        assert_allclose(weather.dry_bulb, frame["DryBulb"].to_numpy() / 10.0, rtol=1e-12)
        assert_allclose(weather.wind_speed, frame["Wspd"].to_numpy() / 10.0, rtol=1e-12)


def test_hours_of_utc_are_said_to_be_off(tmp_path, says):
    """Files of UTC need the zone where the sun would stand hours off."""
    pvgis_csv(tmp_path / "typical.csv")
    text = (tmp_path / "typical.csv").read_text().replace("degrees): 7.5", "degrees): 105.0")
    (tmp_path / "east.csv").write_text(text)
    with pytest.raises(ld.InvalidInput) as error:
        ld.Weather.read(tmp_path / "east.csv")
    says(
        error, ["longitude = 105.0 deg", "puts solar noon 7.0 h from 12:00", "not UTC, which time_zone turns"]
    )


def test_a_wrong_sign_is_refused(tmp_path, says):
    epw(tmp_path / "west.epw", longitude=-75.0, zone=5.0)
    with pytest.raises(ld.InvalidInput) as error:
        ld.Weather.read(tmp_path / "west.epw")
    says(error, ["Weather.longitude = -75.0", "10.0 h from 12:00", "sign of the longitude"])
    with pytest.raises(ld.InvalidInput) as error:
        ld.Weather(dry_bulb=SAMPLE.dry_bulb, ghi=SAMPLE.ghi, latitude=-50.0)
    says(error, ["Weather.latitude = -50.0 deg", "has summer in January", "sign of the latitude"])


@pytest.mark.parametrize(
    ("spoilt", "parts"),
    [
        ((3, "99.9"), ["typical.epw, line 12, column 'temp_air'", "a gap at 1 January 03:00 (1 h)"]),
        ((3, "75.0"), ["typical.epw, line 12, column 'temp_air'", "'75.0'", "from -90 to 60 degC"]),
        ((3, "warm"), ["typical.epw, line 9", "must be EPW"]),
    ],
)
def test_spoilt_public_files_are_answered_by_line(tmp_path, says, spoilt, parts):
    epw(tmp_path / "typical.epw", spoilt=spoilt)
    with pytest.raises(ld.InvalidFile) as error:
        ld.Weather.read(tmp_path / "typical.epw")
    says(error, parts)
    if spoilt[1] == "99.9":
        filled = ld.Weather.read(tmp_path / "typical.epw", longest_gap="1 h").dry_bulb
        assert_allclose(filled[3], 0.5 * (SAMPLE.dry_bulb[2] + SAMPLE.dry_bulb[4]), rtol=1e-12)


def test_a_service_answer_that_is_cut_off(tmp_path):
    (tmp_path / "typical.json").write_text(json.dumps({"outputs": {"tmy_hourly": []}, "inputs": {}}))
    with pytest.raises(ld.InvalidFile, match="must be PVGIS"):
        ld.Weather.read(tmp_path / "typical.json")
    shutil.copy(DATA / "703165TY.csv", tmp_path / "cut.csv")
    lines = (tmp_path / "cut.csv").read_text().splitlines()[:5000]
    (tmp_path / "cut.csv").write_text("\n".join(lines) + "\n")
    with pytest.raises(ld.InvalidFile, match=r"line 5000, .*4998 hours were read"):
        ld.Weather.read(tmp_path / "cut.csv")
