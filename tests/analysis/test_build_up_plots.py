"""Charts of heat build-up: what they say, in which units, and that nothing global is touched."""

from __future__ import annotations

import matplotlib
import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift import plots

matplotlib.use("Agg")
import matplotlib.pyplot as plt


@pytest.fixture(autouse=True)
def figures():
    before = matplotlib.rcParams.copy()
    yield
    assert matplotlib.rcParams == before
    plt.close("all")


def yearly(final: float = 6.0) -> pd.DataFrame:
    year = np.arange(1, 101)
    way = 2.0 * np.exp(-year / 20.0)
    columns = {f"entering_fluid_{which}_degC": final + at + way for which, at in LEVELS.items()}
    return pd.DataFrame(columns, index=pd.Index(year, name="year"))


LEVELS = {"min": -5.0, "mean": 0.0, "max": 7.0}
FOUND = ld.HeatBuildUp(20, yearly(), {which: 6.0 + at for which, at in LEVELS.items()}, 1, 1e-3)
RECOVERY = ld.Recovery(20, 10.0, 4.0, pd.Series([7.0, 8.0, 8.5], index=[1, 2, 3]), 1e-3)


@pytest.mark.parametrize(("units", "label", "scale"), [("SI", "K", 1.0), ("IP", "°F", 1.8)])
def test_drift_begins_at_zero(units: plots.style.Units, label: str, scale: float) -> None:
    ax = plots.drift({"one": yearly(), "other": yearly().iloc[:20]}, units=units)
    assert ax.get_ylabel() == f"Drift of the mean\nentering fluid [{label}]"
    one, other = ax.lines[:2]
    means = yearly()["entering_fluid_mean_degC"]
    assert_allclose(one.get_ydata(), scale * (means - means[1]), atol=1e-12)
    assert len(other.get_xdata()) == 20 and one.get_linestyle() != other.get_linestyle()
    assert [text.get_text() for text in ax.get_legend().get_texts()] == ["one", "other"]


@pytest.mark.parametrize(("units", "ends"), [("SI", "6.0 °C"), ("IP", "42.8 °F")])
def test_where_it_ends_is_drawn(units: plots.style.Units, ends: str) -> None:
    ax = plots.heat_build_up(FOUND, units=units)
    texts = [text.get_text() for text in ax.texts]
    assert f"mean, steady\n{ends}" in texts
    assert FOUND.settled_year == 48
    assert "90 % of the drift\nin year 48" in texts
    assert any(list(line.get_xdata()) == [48, 48] for line in ax.lines)
    assert ends.split()[1] in ax.get_ylabel()


def test_no_year_is_marked_where_there_is_none() -> None:
    still = ld.HeatBuildUp(20, yearly(), {which: -20.0 for which in LEVELS}, 1, 1e-3)
    assert still.settled_year is None
    texts = [text.get_text() for text in plots.heat_build_up(still).texts]
    assert not any("90 %" in text for text in texts)


@pytest.mark.parametrize(
    ("units", "values"), [("SI", [4.0, 7.0, 8.0, 8.5]), ("IP", [39.2, 44.6, 46.4, 47.3])]
)
def test_recovery_begins_with_operation(units: plots.style.Units, values: list[float]) -> None:
    ax = plots.recovery(RECOVERY, units=units)
    assert_allclose(ax.lines[0].get_xdata(), [0, 1, 2, 3])
    assert_allclose(ax.lines[0].get_ydata(), values)
    assert ax.get_xlabel() == "Years since the plant stopped, after 20 of operation"
    assert ax.get_ylabel() == f"Bore wall temperature [{'°F' if units == 'IP' else '°C'}]"


def test_they_draw_where_they_are_told_and_refuse_unknown_units() -> None:
    charts = [(plots.drift, {"one": yearly()}), (plots.heat_build_up, FOUND), (plots.recovery, RECOVERY)]
    for chart, found in charts:
        _, ax = plt.subplots()
        assert chart(found, ax=ax) is ax
        plt.close("all")
        with pytest.raises(ld.InvalidInput, match="must be SI or IP"):
            chart(found, units="cgs")
        assert not plt.get_fignums()
