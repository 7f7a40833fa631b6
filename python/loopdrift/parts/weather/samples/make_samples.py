"""Generate the invented climates of this folder: four CSV files of 8760 hours and their table in README.md.

Run ``python weather-samples/make_samples.py`` with numpy, pandas and pvlib installed. The same seeds give the
same files. pvlib supplies the solar position (its NREL algorithm) and the irradiance models (Haurwitz and
Erbs). The rest is a small weather generator: yearly and daily waves, spells that last for days, and
cloudiness as correlated noise.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib

HERE = Path(__file__).resolve().parent
HOURS = np.arange(8760)
DAY_OF_YEAR = HOURS // 24
YEAR = 2023
TABLE_BEGINS, TABLE_ENDS = "<!-- table begins -->", "<!-- table ends -->"


@dataclass(frozen=True, kw_only=True)
class Climate:
    """Parameters of a climate; temperatures in degC, differences in K."""

    name: str
    seed: int
    latitude: float
    longitude: float
    altitude: float
    utc_offset: int
    yearly_mean: float
    yearly_swing: float
    coldest_day: float
    daily_swing: float
    spell_deviation: float
    spell_days: float
    winter_spell_share: float
    cloudiness: float
    cloud_deviation: float
    summer_cloud_shift: float
    humidity_mean: float
    wind_mean: float


CLIMATES = (
    Climate(
        name="cold continental",
        seed=11,
        latitude=48.2,
        longitude=75.0,
        altitude=320.0,
        utc_offset=5,
        yearly_mean=5.0,
        yearly_swing=15.5,
        coldest_day=18.0,
        daily_swing=4.2,
        spell_deviation=3.2,
        spell_days=3.0,
        winter_spell_share=1.9,
        cloudiness=0.5,
        cloud_deviation=0.3,
        summer_cloud_shift=-0.06,
        humidity_mean=70.0,
        wind_mean=3.8,
    ),
    Climate(
        name="mild maritime",
        seed=12,
        latitude=50.6,
        longitude=-7.5,
        altitude=25.0,
        utc_offset=0,
        yearly_mean=10.6,
        yearly_swing=6.0,
        coldest_day=30.0,
        daily_swing=2.4,
        spell_deviation=2.3,
        spell_days=2.5,
        winter_spell_share=1.2,
        cloudiness=0.66,
        cloud_deviation=0.24,
        summer_cloud_shift=-0.06,
        humidity_mean=82.0,
        wind_mean=5.2,
    ),
    Climate(
        name="hot humid",
        seed=13,
        latitude=18.5,
        longitude=105.0,
        altitude=10.0,
        utc_offset=7,
        yearly_mean=25.2,
        yearly_swing=4.8,
        coldest_day=20.0,
        daily_swing=3.2,
        spell_deviation=1.8,
        spell_days=2.5,
        winter_spell_share=1.6,
        cloudiness=0.48,
        cloud_deviation=0.26,
        summer_cloud_shift=0.1,
        humidity_mean=80.0,
        wind_mean=2.8,
    ),
    Climate(
        name="high dry",
        seed=14,
        latitude=34.0,
        longitude=-105.0,
        altitude=1850.0,
        utc_offset=-7,
        yearly_mean=11.8,
        yearly_swing=10.5,
        coldest_day=14.0,
        daily_swing=7.0,
        spell_deviation=2.4,
        spell_days=2.5,
        winter_spell_share=1.6,
        cloudiness=0.26,
        cloud_deviation=0.28,
        summer_cloud_shift=0.02,
        humidity_mean=42.0,
        wind_mean=3.4,
    ),
)


def slow_noise(generator: np.random.Generator, days: float) -> np.ndarray:
    """Return 8760 values of mean 0 and standard deviation 1 with a correlation time of `days`."""
    keep = np.exp(-1.0 / (24.0 * days))
    spectrum = np.fft.rfft(generator.standard_normal(HOURS.size))
    spectrum /= np.abs(1.0 - keep * np.exp(-2j * np.pi * np.fft.rfftfreq(HOURS.size)))
    spectrum[0] = 0.0
    noise = np.fft.irfft(spectrum, HOURS.size)
    return noise / noise.std()


def radiation(climate: Climate, clouds: np.ndarray) -> pd.DataFrame:
    """Return ghi, dni and dhi [W/m2] under `clouds` (0 clear to 1 overcast), with the sun at mid-hour."""
    middle = pd.date_range(
        f"{YEAR}-01-01T00:30", periods=HOURS.size, freq="h", tz=f"Etc/GMT{-climate.utc_offset:+d}"
    )
    sun = pvlib.solarposition.get_solarposition(middle, climate.latitude, climate.longitude, climate.altitude)
    clear = pvlib.clearsky.haurwitz(sun["apparent_zenith"])["ghi"].to_numpy()
    thinner_air = 1.0 + 0.04 * climate.altitude / 1000.0
    zenith = sun["zenith"].to_numpy()
    ghi = np.where(
        zenith < 87.0, clear * thinner_air * (1.0 - 0.75 * clouds**3.4), 0.0
    )  # Kasten & Czeplak 1980
    split = pvlib.irradiance.erbs(ghi, zenith, middle)
    return pd.DataFrame(
        {"zenith": zenith, "ghi": ghi, "dni": np.asarray(split["dni"]), "dhi": np.asarray(split["dhi"])}
    )


def make(climate: Climate) -> pd.DataFrame:
    """Return one climate with pvlib's column names, rounded as in its file."""
    generator = np.random.default_rng(climate.seed)
    spell, fast, cloud_walk, damp, gusts = (
        slow_noise(generator, days) for days in (climate.spell_days, 0.25, 0.6, 1.5, 0.4)
    )
    season = np.cos(2.0 * np.pi * (HOURS / 24.0 - climate.coldest_day) / 365.0)  # 1 in the middle of winter

    clouds = climate.cloudiness - climate.summer_cloud_shift * season + climate.cloud_deviation * cloud_walk
    clouds = np.clip(clouds - 0.05 * spell * season, 0.0, 1.0)
    sky = radiation(climate, clouds)

    openness = 1.0 - 0.65 * pd.Series(clouds).rolling(24, center=True, min_periods=1).mean().to_numpy()
    hour_angle = 2.0 * np.pi * (HOURS % 24 + 0.5 - 15.0) / 24.0
    daily = np.cos(hour_angle) + 0.22 * np.cos(2.0 * hour_angle)
    spells = (
        climate.spell_deviation * spell * (1.0 + (climate.winter_spell_share - 1.0) * 0.5 * (1.0 + season))
    )
    mean_of_day = climate.yearly_mean - climate.yearly_swing * season + spells
    temp_air = mean_of_day + 1.1 * climate.daily_swing * openness * daily * (1.0 - 0.25 * season) + 0.5 * fast

    humidity = (
        climate.humidity_mean
        - 2.2 * (temp_air - mean_of_day)
        + 18.0 * (clouds - clouds.mean())
        + 7.0 * damp
        + 3.0 * season
    )
    wind = climate.wind_mean * np.exp(0.5 * gusts - 0.125) * (1.0 + 0.25 * np.cos(hour_angle))

    dni, dhi = sky["dni"].round(0), sky["dhi"].round(0)
    dni = dni.where(sky["ghi"] > 0.0, 0.0)
    up = np.cos(np.radians(sky["zenith"])).clip(lower=0.0)
    return pd.DataFrame(
        {
            "temp_air": temp_air.round(1),
            "relative_humidity": np.clip(humidity, 5.0, 100.0).round(0),
            "ghi": (dhi + dni * up).round(1),
            "dni": dni,
            "dhi": dhi,
            "wind_speed": np.clip(wind, 0.0, 30.0).round(1),
        }
    )


def write(climate: Climate, folder: Path) -> None:
    """Write one climate's CSV file."""
    comments = (
        f'# Invented climate "{climate.name}", made by make_samples.py; nothing in it was measured.',
        "# Stamps name the beginning of the hour in local standard time.",
        "# Units: temp_air degC, relative_humidity %, ghi dni dhi W/m2, wind_speed m/s.",
        f"# latitude_deg: {climate.latitude}",
        f"# longitude_deg: {climate.longitude}",
        f"# altitude_m: {climate.altitude}",
        f"# utc_offset_h: {climate.utc_offset}",
    )
    hours = make(climate)
    hours.insert(
        0, "time", pd.date_range(f"{YEAR}-01-01", periods=HOURS.size, freq="h").strftime("%Y-%m-%dT%H:%M")
    )
    path = folder / f"{climate.name.replace(' ', '_')}.csv"
    text = "\n".join(comments) + "\n" + hours.to_csv(index=False, lineterminator="\n", float_format="%g")
    path.write_text(text, encoding="utf-8", newline="\n")


def table() -> str:
    """Return the yearly figures of the climates as a Markdown table."""
    lines = [
        "| climate | mean degC | lowest degC | highest degC | heating degree days below 18 degC "
        "| cooling degree days above 18 degC | ghi kWh/m2 | mean humidity % |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for climate in CLIMATES:
        hours = make(climate)
        days = hours["temp_air"].groupby(DAY_OF_YEAR).mean()
        lines.append(
            f"| {climate.name} | {hours['temp_air'].mean():.1f} | {hours['temp_air'].min():.1f} "
            f"| {hours['temp_air'].max():.1f} | {(18.0 - days).clip(lower=0.0).sum():.0f} "
            f"| {(days - 18.0).clip(lower=0.0).sum():.0f} | {hours['ghi'].sum() / 1000.0:.0f} "
            f"| {hours['relative_humidity'].mean():.0f} |"
        )
    return "\n".join(lines)


def main(folder: Path = HERE) -> None:
    """Write all files into `folder`, and the table into its README.md if there is one."""
    for climate in CLIMATES:
        write(climate, folder)
    page = folder / "README.md"
    if page.exists():
        before, rest = page.read_text(encoding="utf-8").split(TABLE_BEGINS)
        after = rest.split(TABLE_ENDS)[1]
        text = f"{before}{TABLE_BEGINS}\n{table()}\n{TABLE_ENDS}{after}"
        page.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
