"""Heat pumps from curves and from performance tables."""

import pickle
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

DEMO = Path(ld.__file__).parent / "demo" / "unit.csv"
HEADER = "mode,entering_fluid_degC,capacity_kW,power_kW"


def test_the_demo_table_has_the_rating_points_of_the_standard():
    """ISO 13256-1 rates closed ground loops at 0 degC in heating and 25 degC in cooling (from memory)."""
    table = pd.read_csv(DEMO, comment="#").set_index(["mode", "entering_fluid_degC"])
    heat_pump = ld.HeatPump.from_table(DEMO)
    for mode, temperature in (("heating", 0), ("cooling", 25)):
        capacity, power = table.loc[(mode, temperature), ["capacity_kW", "power_kW"]]
        fitted = heat_pump.performance([temperature]).iloc[0]
        assert_allclose(fitted[f"{mode}_capacity_W"], 1000.0 * capacity, rtol=0.02)
        assert_allclose(fitted[f"{mode}_cop"], capacity / power, rtol=0.02)


def test_the_fit_is_that_of_another_least_squares():
    """Coefficients and residuals against numpy's polynomial fit of the same rows."""
    table = pd.read_csv(DEMO, comment="#")
    heat_pump = ld.HeatPump.from_table(DEMO)
    for name in ("heating", "cooling"):
        rows = table[table["mode"] == name]
        t, capacity = rows["entering_fluid_degC"].to_numpy(float), 1000.0 * rows["capacity_kW"].to_numpy()
        cop = rows["capacity_kW"].to_numpy() / rows["power_kW"].to_numpy()
        mode, quality = getattr(heat_pump, name), getattr(heat_pump.fit, name)
        expected_capacity = np.polynomial.Polynomial.fit(t, capacity, 2)
        assert_allclose(mode.capacity, expected_capacity.convert().coef, rtol=1e-9)
        assert_allclose(mode.cop, np.polynomial.Polynomial.fit(t, cop, 2).convert().coef, rtol=1e-9)
        assert quality.rows == len(rows)
        relative = expected_capacity(t) / capacity - 1.0
        assert_allclose(quality.capacity.rms, np.sqrt(np.mean(relative**2)), rtol=1e-9)
        worst = int(np.abs(relative).argmax())
        assert_allclose(quality.capacity.largest, relative[worst], rtol=1e-9)
        assert quality.capacity.line == rows.index[worst] + 4  # two comments, the header, lines from 1


def test_the_quality_prints_as_a_table():
    text = str(ld.HeatPump.from_table(DEMO).fit)
    assert "can't be said" not in text
    assert "heating: 9 rating points, -5 to 35 degC, terms 1, T, T2" in text
    assert "capacity: rms" in text
    assert ld.HeatPump.from_curves(heating_cop=[4.0]).fit is None


def test_performance_is_capacity_power_and_cop_over_the_known_range():
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[3.5, 0.1],
        heating_capacity=[12e3, 300.0],
        heating_range=(-5.0, 30.0),
        cooling_cop=[7.0, -0.1],
    )
    table = heat_pump.performance([0.0, 10.0, 35.0])
    assert_allclose(table["heating_capacity_W"], [12e3, 15e3, np.nan])
    assert_allclose(table["heating_power_W"], [12e3 / 3.5, 15e3 / 4.5, np.nan])
    assert_allclose(table["cooling_cop"], [7.0, 6.0, 3.5])
    assert "cooling_capacity_W" not in table
    assert list(heat_pump.performance().index[[0, -1]]) == [-10.0, 40.0]


def test_heat_pumps_are_values():
    heat_pump = ld.HeatPump.from_table(DEMO, degradation_coefficient=0.15)
    assert pickle.loads(pickle.dumps(heat_pump)) == heat_pump
    assert heat_pump.replace(degradation_coefficient=0.0) == ld.HeatPump.from_table(DEMO)
    assert "fit" not in heat_pump.for_engine()
    assert len({hash(heat_pump), hash(heat_pump.replace(degradation_coefficient=0.1))}) == 2


@pytest.mark.parametrize(
    ("curves", "message"),
    [
        ({}, "heating_cop = nothing"),
        ({"heating_cop": [1.5, 0.1]}, "heating_cop = 0.5000: must be above 1 from -10 to 40 degC"),
        ({"cooling_cop": [4.0, -0.1]}, "cooling_cop = .* must be above 0"),
        ({"heating_cop": []}, "1 to 4 coefficients"),
        ({"heating_cop": "abc"}, "must be a sequence of numbers"),
        ({"heating_capacity": [1e4]}, "heating_cop = nothing: must be given"),
        ({"heating_cop": [4.0], "degradation_coefficient": 0.2}, "must be 0 without heating_capacity"),
        ({"heating_cop": [4.0], "heating_range": (5.0, 5.0)}, "heating_range"),
        ({"heating_cop": [4.0], "heating_range": (5.0,)}, "must be 2 numbers"),
        ({"heating_cop": [4.0], "heating_capacity": [1e4], "degradation_coefficient": 0.7}, "from 0 to 0.5"),
        ({"heating_cop": [4.0], "heating_lock_out": -3.0}, "must be left out without heating_capacity"),
        ({"heating_cop": [4.0], "variable_speed": True}, "must be left out without performance at the low"),
        ({"heating_cop": [4.0], "variable_speed": "yes"}, "variable_speed"),
        ({"heating_cop": [4.0], "heating_low_cop": [4.5]}, "heating_low_capacity = nothing"),
        ({"heating_low_capacity": [4e3]}, "heating_low_cop = nothing: must be given"),
        ({"heating_low_cop": [4.5], "heating_low_capacity": [4e3]}, "heating_cop"),
        ({"heating_cop": [4.0], "heating_entering_load": 35.0}, "must be an EnteringLoadCorrection"),
        (
            {"cooling_entering_load": ld.EnteringLoadCorrection(reference=26.0, between=(20.0, 30.0))},
            "cooling_cop = nothing",
        ),
        (
            {
                "heating_cop": [4.0],
                "heating_entering_load": ld.EnteringLoadCorrection(reference=60.0, between=(25.0, 50.0)),
            },
            "heating_entering_load = 60 degC within",
        ),
        (
            {
                "heating_cop": [4.0],
                "heating_entering_load": ld.EnteringLoadCorrection(
                    reference=35.0, between=(25.0, 60.0), cop=[-0.2]
                ),
            },
            "heating_cop at an entering load temperature of 60 degC = -1.0",
        ),
    ],
)
def test_unphysical_curves_are_refused(curves, message):
    with pytest.raises(ld.InvalidInput, match=message):
        ld.HeatPump.from_curves(**curves)


def test_flow_and_entering_load_are_read_at_the_design_point(tmp_path):
    """The table is bilinear in flow and load side, so that any design point inside it is met."""
    rows = [
        f"heating,{t},{12 + 0.3 * t + 2.0 * m},{3.0 + 0.02 * load},{m},{load}"
        for t in (-5, 0, 10)
        for m in (0.4, 0.8)
        for load in (30, 45)
    ]
    path = tmp_path / "unit.csv"
    path.write_text("\n".join([HEADER + ",flow_kg_per_s,entering_load_degC", *rows]))
    heat_pump = ld.HeatPump.from_table(path, flow=0.5, heating_entering_load_temperature="95 degF")
    assert_allclose(heat_pump.performance([5.0])["heating_capacity_W"], 14.5e3, rtol=1e-9)
    assert heat_pump.fit.heating.terms == ("1", "T", "T2", "m", "T m", "L", "T L")
    with pytest.raises(
        ld.InvalidInput, match=r"HeatPump\.flow = 0\.9 kg/s: must be from 0\.4 kg/s .* to 0\.8 kg/s"
    ):
        ld.HeatPump.from_table(path, flow=0.9, heating_entering_load_temperature=35.0)
    with pytest.raises(ld.InvalidInput, match="heating_entering_load_temperature = nothing"):
        ld.HeatPump.from_table(path, flow=0.5)
    with pytest.raises(ld.InvalidInput, match="must be left out"):
        ld.HeatPump.from_table(DEMO, flow=0.5)


def test_a_bad_line_is_named(tmp_path):
    path = tmp_path / "unit.csv"
    path.write_text(f"# invented\n{HEADER}\nheating,0,12,3\nheating,5,13,0\n")
    with pytest.raises(ld.InvalidFile) as caught:
        ld.HeatPump.from_table(path)
    assert (caught.value.line, caught.value.column, caught.value.value) == (4, "power_kW", "0")


def test_a_lowest_stage_stands_in_the_table(tmp_path):
    """Both stages are straight lines, so that the fit meets them."""
    rows = [
        f"heating,{t},{scale * (12 + 0.3 * t)},{scale * (12 + 0.3 * t) / (cop + 0.1 * t)},{stage}"
        for t in (-5, 0, 10)
        for stage, scale, cop in (("full", 1.0, 3.5), ("low", 0.5, 4.0))
    ]
    path = tmp_path / "unit.csv"
    path.write_text("\n".join([HEADER + ",stage", *rows]))
    heat_pump = ld.HeatPump.from_table(path, variable_speed=True)
    assert_allclose(heat_pump.heating_low.capacity, [6e3, 150.0, 0.0], rtol=1e-9, atol=1e-6)
    assert_allclose(heat_pump.heating_low.cop, [4.0, 0.1, 0.0], rtol=1e-9, atol=1e-9)
    assert heat_pump.fit.heating_low.rows == 3
    assert "heating low: 3 rating points" in str(heat_pump.fit)
    assert heat_pump.fit.heating_low.capacity is heat_pump.fit.heating_low.power is None
    assert str(heat_pump.fit).count("error of the curves unknown") == 2
    assert "0.00 %" not in str(heat_pump.fit)
    path.write_text(path.read_text().replace("low", "second"))
    with pytest.raises(ld.InvalidFile, match="must be full or low"):
        ld.HeatPump.from_table(path)


def test_rating_points_stand_beside_what_the_maker_states():
    """ISO 13256-1 rates closed ground loops at 0 degC in heating and 25 degC in cooling (from memory)."""
    manufacturer_ratings = ld.ManufacturerRatings(heating_cop=3.0, cooling_capacity="4 refrigeration_ton")
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[3.3, 0.1],
        cooling_cop=[7.0, -0.1],
        cooling_capacity=[14e3],
        manufacturer_ratings=manufacturer_ratings,
    )
    rating = heat_pump.rating()
    assert_allclose(rating.loc[("heating", "cop"), ["curves", "manufacturer", "difference"]], [3.3, 3.0, 0.1])
    assert_allclose(rating.loc[("cooling", "cop"), "curves"], 4.5)
    assert np.isnan(rating.loc[("cooling", "cop"), "manufacturer"])
    assert_allclose(rating.loc[("cooling", "capacity_W"), "manufacturer"], 14067.4, rtol=1e-4)
    assert ("heating", "capacity_W") not in rating.index
    with pytest.raises(ld.InvalidInput, match=r"ManufacturerRatings\.heating_cop = -3\.0: must be above 0"):
        ld.ManufacturerRatings(heating_cop=-3.0)
    with pytest.raises(ld.InvalidInput, match="must be a ManufacturerRatings"):
        ld.HeatPump.from_curves(heating_cop=[4.0], manufacturer_ratings=3.0)


def test_the_table_is_drawn_over_its_curves():
    axes = ld.HeatPump.from_table(DEMO).plot(units="IP")
    assert [line.get_label() for line in axes.lines] == [
        *("heating", "heating, table", "cooling", "cooling, table")
    ]
    assert axes.get_xlabel() == "Entering fluid temperature [°F]"
    table = pd.read_csv(DEMO, comment="#")
    rows = table[table["mode"] == "heating"]
    assert_allclose(axes.lines[1].get_ydata(), rows["capacity_kW"] / rows["power_kW"])
    assert_allclose(axes.lines[1].get_xdata(), 1.8 * rows["entering_fluid_degC"] + 32.0)
