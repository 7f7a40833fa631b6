"""The public typical years that pvlib carries: Sand Point AK and Greensboro NC (TMY3), Miami FL (TMY2).

Source: National Solar Radiation Data Base, TMY3 (Wilcox & Marion 2008) and TMY2 (Marion & Urban 1995), read
from the installed pvlib package.
"""

from pathlib import Path

import numpy as np
import pvlib
import pytest
from numpy.testing import assert_array_equal

import loopdrift as ld
from book import compare

DATA = Path(pvlib.__file__).parent / "data"


@pytest.mark.parametrize(("file", "utc_offset"), [("703165TY.csv", -9.0), ("723170TYA.CSV", -5.0)])
def test_typical_years_by_end_of_hour(file, utc_offset):
    """TMY3 stamps the end of each hour and takes its months from many years, leap years among them."""
    frame, place = pvlib.iotools.read_tmy3(DATA / file)
    weather = ld.Weather.from_frame(frame, latitude=place["latitude"], longitude=place["longitude"])
    assert_array_equal(weather.dry_bulb, frame["temp_air"].to_numpy())
    assert weather.utc_offset == utc_offset
    # The sun is up at noon of hour 12 and the first stamp, 01:00, is hour 0.
    assert frame.index[0].hour == 1
    compare(weather.ghi.reshape(365, 24).mean(axis=0).argmax(), 12, atol=1.0, unit="h")


def test_a_typical_year_by_beginning_of_hour():
    """pvlib stamps TMY2 by the beginning of the hour, under TMY2's own names and in tenths of a degree."""
    frame, place = pvlib.iotools.read_tmy2(DATA / "12839.tm2")
    weather = ld.Weather.from_frame(
        frame.assign(temp_air=frame["DryBulb"] / 10.0), altitude=place["altitude"]
    )
    assert_array_equal(weather.dry_bulb, frame["DryBulb"].to_numpy() / 10.0)
    assert frame.index[0].hour == 0
    assert weather.utc_offset == -5.0


def test_both_stampings_put_the_sun_in_the_same_place():
    """The mean hour of radiation is solar noon by the place's longitude, within a quarter of an hour."""
    greensboro, place = pvlib.iotools.read_tmy3(DATA / "723170TYA.CSV")
    miami, other_place = pvlib.iotools.read_tmy2(DATA / "12839.tm2")
    miami = miami.assign(temp_air=miami["DryBulb"] / 10.0, ghi=miami["GHI"])
    for frame, where in ((greensboro, place), (miami, other_place)):
        day = ld.Weather.from_frame(frame).ghi.reshape(365, 24).mean(axis=0)
        noon = np.average(np.arange(24) + 0.5, weights=day)
        compare(noon, 12.0 + where["TZ"] - where["longitude"] / 15.0, atol=0.25, unit="h")
