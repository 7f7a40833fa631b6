"""The sun on windows, against the yearly sums of the public typical years that pvlib carries.

Source: National Solar Radiation Data Base, TMY3 (Wilcox & Marion 2008) and TMY2 (Marion & Urban 1995), read
from the installed pvlib package: global, direct and diffuse radiation of each hour as published.
"""

import dataclasses
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

import loopdrift as ld
from book import compare
from loopdrift.parts.building.sun import irradiance

DATA = Path(pvlib.__file__).parent / "data"


def window(azimuth: float = 180.0, tilt: float = 90.0) -> ld.Window:
    return ld.Window(area=1.0, u_value=1.0, g_value=0.5, azimuth=azimuth, tilt=tilt)


def typical_year(name: str) -> ld.Weather:
    if name == "12839.tm2":
        frame, place = pvlib.iotools.read_tmy2(DATA / name)
        frame = frame.assign(
            temp_air=frame["DryBulb"] / 10.0, ghi=frame["GHI"], dni=frame["DNI"], dhi=frame["DHI"]
        )
    else:
        frame, place = pvlib.iotools.read_tmy3(DATA / name)
    return ld.Weather.from_frame(frame, latitude=place["latitude"], longitude=place["longitude"])


def sun(weather: ld.Weather) -> pd.DataFrame:
    """Position of the sun at mid-hour by the algorithm of Reda & Andreas (2004)."""
    middle = pd.date_range("2023-01-01T00:30", periods=8760, freq="h") - pd.Timedelta(
        hours=weather.utc_offset
    )
    return pvlib.solarposition.get_solarposition(
        middle.tz_localize("UTC"), weather.latitude, weather.longitude
    )


def weather_without_diffuse(weather: ld.Weather) -> ld.Weather:
    return dataclasses.replace(weather, ghi=np.zeros(8760), dhi=np.zeros(8760))


@pytest.fixture(scope="module", params=["723170TYA.CSV", "703165TY.csv", "12839.tm2"])
def weather(request):
    return typical_year(request.param)


def test_a_horizontal_pane_gives_back_the_global_radiation(weather):
    """Direct on the horizontal and diffuse add up to the file's global sum, through sun and transposition.

    The files' own three sums close to 0.1 to 0.5 % with the sun at mid-hour; the same sum with pvlib's NREL
    positions of the sun (Reda & Andreas 2004) is met to 0.1 %, which is what Perez's low sun costs.
    """
    (flat,) = irradiance(weather, [window(tilt=0.0)])
    compare(flat.sum(), weather.ghi.sum(), rtol=0.006, unit="Wh/m2", what="global")
    compare(np.corrcoef(flat, weather.ghi)[0, 1], 1.0, atol=0.001, what="correlation")
    up = np.cos(np.radians(sun(weather)["zenith"].to_numpy())).clip(0.0)
    compare(
        flat.sum(),
        (weather.dni * up + weather.dhi).sum(),
        rtol=0.001,
        unit="Wh/m2",
        what="direct and diffuse",
    )


@pytest.mark.parametrize("azimuth", [0.0, 90.0, 180.0, 270.0])
def test_direct_light_by_another_position_of_the_sun(weather, azimuth):
    """Yearly direct light on walls, by the sun of Reda & Andreas (2004) and plain cosines.

    In the hours of sunrise and sunset both take a sun that is down at mid-hour to be on the horizon.
    """
    dark = weather_without_diffuse(weather)
    (wall,) = irradiance(dark, [window(azimuth)])
    position = np.radians(sun(weather)[["zenith", "azimuth"]].to_numpy())
    cosine = np.sin(position[:, 0].clip(max=np.pi / 2)) * np.cos(position[:, 1] - np.radians(azimuth))
    compare(wall.sum(), (weather.dni * cosine.clip(0.0)).sum(), rtol=0.003, unit="Wh/m2")


def test_a_pane_that_looks_down_sees_the_ground_alone(weather):
    (down,) = irradiance(weather, [window(tilt=180.0)])
    compare(down, 0.2 * weather.ghi, atol=1e-9, unit="W/m2")


def test_the_sun_moves_from_east_to_west_through_solar_noon(weather):
    """Mean hour of light from east and from west, about the solar noon of the place."""
    noon = 12.0 + weather.utc_offset - weather.longitude / 15.0
    east, south, west = (
        np.average(np.arange(24) + 0.5, weights=series.reshape(365, 24).mean(axis=0))
        for series in irradiance(weather, [window(90.0), window(180.0), window(270.0)])
    )
    compare(south, noon, atol=0.3, unit="h", what="south")
    compare(0.5 * (east + west), noon, atol=0.3, unit="h", what="between east and west")
    compare(west - east, 5.0, atol=2.0, unit="h", what="from east to west")


def test_light_from_all_sides_is_half_sky_half_ground_and_the_sun(weather):
    """The mean of vertical panes all around, against the closed form of each part of the light.

    Direct light gives dni sin(zenith) / pi, with the sun by Cooper's (1969) declination and the equation of
    time; the ground gives half its reflection; an even sky half its light, and Perez's sky some more about
    the sun and the horizon.
    """
    around = irradiance(weather, [window(azimuth) for azimuth in range(0, 360, 15)]).mean(axis=0)
    middle = np.arange(8760) + 0.5 - weather.utc_offset
    day = np.radians(360.0 * (middle / 24.0 - 81.0 + 1.0) / 365.0)
    declination = np.radians(23.45) * np.sin(day)
    equation_of_time = (9.87 * np.sin(2 * day) - 7.53 * np.cos(day) - 1.5 * np.sin(day)) / 60.0
    hour_angle = np.radians(15.0 * (middle + weather.longitude / 15.0 + equation_of_time - 12.0))
    latitude = np.radians(weather.latitude)
    up = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.cos(hour_angle)
    direct = weather.dni * np.where(up > 0.0, np.sqrt(1.0 - up.clip(-1.0, 1.0) ** 2), 0.0) / np.pi
    expected = direct.sum() + 0.1 * weather.ghi.sum() + 0.5 * weather.dhi.sum()
    compare(around.sum(), expected, rtol=0.12, unit="Wh/m2")
