"""The mean hour of a year's radiation, by which a file's clock is compared with its place."""

import numpy as np
import pytest

from loopdrift.parts.weather.place import _mean_hour

MIDDLES = np.arange(24) + 0.5


@pytest.mark.parametrize("noon", [0.5, 9.0, 12.0, 12.7, 18.0, 23.0])
def test_days_that_are_symmetric_about_an_hour_have_it_as_their_mean(noon):
    day = np.clip(np.cos(2.0 * np.pi * (MIDDLES - noon) / 24.0), 0.0, None)
    assert _mean_hour(np.tile(900.0 * day, 365)) == pytest.approx(noon, abs=0.03)
