"""Hourly weather: the invented samples, tables and files."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld

SAMPLES = Path(__file__).parents[2] / "weather-samples"
MEANS = {"cold continental": 4.8, "high dry": 11.7, "hot humid": 25.2, "mild maritime": 10.6}


def frame(start: str = "2023-01-01T00:00") -> pd.DataFrame:
    """A year whose temperature is its hour modulo 30."""
    stamps = pd.date_range(start, periods=8760, freq="h")
    return pd.DataFrame({"temp_air": np.arange(8760.0) % 30}, index=stamps)


@pytest.mark.parametrize("name", ld.Weather.samples())
def test_samples_are_sane(name):
    weather = ld.Weather.sample(name)
    assert_allclose(weather.dry_bulb.mean(), MEANS[name], atol=0.1)  # the table of weather-samples/README.md
    assert -30.0 < weather.dry_bulb.min() < weather.dry_bulb.max() < 40.0
    assert 1.0 <= weather.relative_humidity.min() < weather.relative_humidity.max() <= 100.0
    for radiation in (weather.ghi, weather.dni, weather.dhi):
        assert radiation.min() == 0.0
    assert 0.0 <= weather.wind_speed.min() < weather.wind_speed.max() < 30.0
    # Warm or cold days last: the day's mean is close to that of the day before, less the season.
    days = weather.dry_bulb.reshape(365, 24).mean(axis=1)
    season = pd.Series(np.tile(days, 3)).rolling(61, center=True).mean().to_numpy()[365:730]
    persistence = np.corrcoef((days - season)[1:], (days - season)[:-1])[0, 1]
    assert 0.4 < persistence < 0.95


@pytest.mark.parametrize("name", ld.Weather.samples())
def test_radiation_of_samples_closes_with_the_sun_at_mid_hour(name):
    weather = ld.Weather.sample(name)
    offset = pd.Timedelta(hours=weather.utc_offset)
    middle = pd.date_range("2023-01-01T00:30", periods=8760, freq="h") - offset
    sun = pvlib.solarposition.get_solarposition(
        middle.tz_localize("UTC"), weather.latitude, weather.longitude, weather.altitude
    )
    zenith = np.radians(sun["zenith"].to_numpy())
    assert_allclose(weather.ghi, weather.dhi + weather.dni * np.cos(zenith).clip(0.0), atol=0.06)
    night = zenith > np.pi / 2
    assert_array_equal(weather.ghi[night], 0.0)
    assert_array_equal(weather.dni[night], 0.0)


def test_the_script_makes_the_same_files_again(tmp_path):
    subprocess.run([sys.executable, SAMPLES / "make_samples.py", tmp_path], check=True)
    for path in sorted(SAMPLES.glob("*.csv")):
        again, stored = (pd.read_csv(p, comment="#", index_col="time") for p in (tmp_path / path.name, path))
        assert_array_equal(again.index, stored.index)
        for column in stored:
            # Another machine's sine may round one digit the other way; radiation jumps where it is split.
            last_digit = 1.0 if column in ("relative_humidity", "ghi", "dni", "dhi") else 0.1
            assert_allclose(again[column], stored[column], atol=1.001 * last_digit)
        assert path.stat().st_size < 600_000


def test_an_unknown_sample_brings_the_nearest_name():
    assert sorted(MEANS) == ld.Weather.samples()
    with pytest.raises(ld.InvalidInput, match="did you mean 'cold continental'"):
        ld.Weather.sample("cold contintal")


def test_stamps_by_beginning_and_by_end_give_the_same_weather():
    beginning = ld.Weather.from_frame(frame())
    assert beginning == ld.Weather.from_frame(frame("2023-01-01T01:00"))
    assert_array_equal(beginning.dry_bulb, np.arange(8760.0) % 30)


def test_years_may_change_from_month_to_month():
    """Hour-ending stamps of a typical year: the end of 28 February of a leap year is 29 February 00:00."""
    mixed = frame("2023-01-01T01:00")
    years = np.where(mixed.index.month <= 2, 1996, 1987)
    stamps = [stamp.replace(year=int(year)) for stamp, year in zip(mixed.index, years, strict=True)]
    stamps[59 * 24 - 1] = pd.Timestamp("1996-02-29T00:00")
    mixed.index = pd.DatetimeIndex(stamps)
    assert ld.Weather.from_frame(mixed) == ld.Weather.from_frame(frame())


def test_bad_stamps_are_refused_with_their_row():
    cases = [
        (frame().drop(frame().index[100]), "row 100, column 'temp_air': a gap at 5 January 04:00"),
        (
            frame().iloc[[*range(50), *range(49, 8759)]],
            "row 50, .* comes once more: must be 2023-01-03T02:00",
        ),
        (frame().iloc[:8000], "row 7999, .*: 8000 hours were read"),
        (frame("2023-01-01T00:20"), "row 0, .*: the first must be that of a day"),
        (frame().iloc[:0], "columns: must be 8760"),
        (frame().reset_index(drop=True), "must have a DatetimeIndex"),
        (frame().rename(columns={"temp_air": "t"}), "must have a column temp_air"),
    ]
    for table, message in cases:
        with pytest.raises(ld.InvalidInput, match=message):
            ld.Weather.from_frame(table)


def test_missing_and_impossible_values_are_refused_with_their_hour():
    for bad in (np.nan, 70.0):
        table = frame()
        table.iloc[77, 0] = bad
        with pytest.raises(ld.InvalidInput, match=r"row 77, column 'temp_air': must be a number from -90"):
            ld.Weather.from_frame(table)
        values = frame()["temp_air"].to_numpy().copy()
        values[77] = bad
        with pytest.raises(ld.InvalidInput, match=r"Weather\.dry_bulb = .* degC: hour 77: must be from -90"):
            ld.Weather(dry_bulb=values)
    with pytest.raises(ld.InvalidInput, match=r"Weather\.latitude = 91"):
        ld.Weather(dry_bulb=np.zeros(8760), latitude=91.0)


def test_half_hour_stamps_leap_days_and_short_steps_are_read():
    hours = np.arange(8760.0) % 30
    assert_array_equal(ld.Weather.from_frame(frame("2023-01-01T00:30")).dry_bulb, hours)
    stamps = pd.date_range("2024-01-01", periods=8784, freq="h")
    leap = (stamps.month == 2) & (stamps.day == 29)
    values = np.full(8784, 50.0)
    values[~leap] = hours
    read = ld.Weather.from_frame(pd.DataFrame({"temp_air": values}, stamps))
    assert_array_equal(read.dry_bulb, hours)
    assert dict(read.origin)["leap day"] == "29 February left out"
    half_hours = pd.date_range("2023-01-01T00:00", periods=17520, freq="30min")
    halves = pd.DataFrame({"temp_air": np.repeat(hours, 2) + np.tile([-0.5, 0.5], 8760)}, half_hours)
    assert_allclose(ld.Weather.from_frame(halves).dry_bulb, hours, rtol=1e-12, atol=1e-12)


def test_temperatures_of_the_trade_are_read(tmp_path):
    stamps = pd.date_range("2023-01-01", periods=8760, freq="h").strftime("%m/%d/%Y %H:%M")
    table = pd.DataFrame({"Date": stamps, "Outdoor temperature [°F]": 50.0, "RH (%)": 40, "note": "ok"})
    table.to_csv(tmp_path / "weather.csv", index=False)
    weather = ld.Weather.read(tmp_path / "weather.csv")
    assert_allclose(weather.dry_bulb, 10.0, rtol=1e-12)
    assert_allclose(weather.relative_humidity, 40.0, rtol=1e-12)


def test_arrays_cannot_be_written_to():
    with pytest.raises(ValueError, match="read-only"):
        ld.Weather(dry_bulb=np.zeros(8760)).dry_bulb[0] = 1.0


def test_files_are_refused_with_their_line(tmp_path):
    text = (SAMPLES / "high_dry.csv").read_text()
    lines = text.splitlines()

    def refused(change, message):
        changed = lines.copy()
        change(changed)
        (tmp_path / "weather.csv").write_text("\n".join(changed))
        with pytest.raises(ld.InvalidFile, match=message):
            ld.Weather.read(tmp_path / "weather.csv")

    refused(lambda all: all.__setitem__(20, "2023-01-01T12:00,,40,0,0,0,1"), "line 21, column 'temp_air': ''")
    refused(lambda all: all.__setitem__(20, "noon,1,40,0,0,0,1"), "line 21, column 'time': 'noon'")
    refused(lambda all: all.pop(20), "line 21, column 'temp_air': 'no row': .*a gap")
    refused(
        lambda all: all.__setitem__(7, all[7].replace("temp_air", "air")),
        "line 8: .*must have a column temp_air",
    )
    refused(lambda all: all.__setitem__(7, "time,temp_air"), "line 9: 'more cells': must have 2 cells")
    refused(lambda all: all.__setitem__(3, "# latitude_deg: north"), "line 4, column 'latitude_deg'")
    (tmp_path / "crlf.csv").write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert ld.Weather.read(tmp_path / "crlf.csv") == ld.Weather.sample("high dry")


def test_what_is_written_is_read_back_to_the_bit(tmp_path):
    sample = ld.Weather.sample("mild maritime")
    odd = np.random.default_rng(5).uniform(-30.0, 40.0, 8760)
    for weather in (
        sample,
        ld.Weather(dry_bulb=odd),
        ld.Weather(dry_bulb=odd, wind_speed=np.full(8760, 0.1 + 0.2), latitude=1 / 3, utc_offset=-3.5),
    ):
        weather.write(tmp_path / "weather.csv")
        assert ld.Weather.read(tmp_path / "weather.csv") == weather
    with pytest.raises(OSError, match="No such file"):
        sample.write(tmp_path / "nowhere" / "weather.csv")
