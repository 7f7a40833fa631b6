"""Text with units into SI, and SI tables into inch-pound ones."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput

FINITE = st.floats(min_value=-1e6, max_value=1e6)


def si(value, unit):
    return units.to_si(value, unit, owner="Part", field="number")


@given(FINITE)
def test_a_plain_number_is_taken_as_it_is(value):
    assert si(value, "W/(m K)") == value


@given(FINITE)
def test_text_without_a_unit_is_a_number_in_si(value):
    assert si(repr(value), "m") == value


@pytest.mark.parametrize(
    "unit", ["m", "m3/s", "W", "W/(m K)", "J/(m3 K)", "J/(kg K)", "m K/W", "kg/s", "K/m", "Pa s"]
)
@settings(deadline=None)  # the first text imports pint
@given(value=FINITE)
def test_text_in_the_unit_itself_keeps_the_number(unit, value):
    assert_allclose(si(f"{value!r} {unit}", unit), value, rtol=1e-12)


@settings(deadline=None)  # the first text imports pint
@given(FINITE)
def test_temperatures_and_differences_in_fahrenheit(value):
    assert_allclose(si(f"{value!r} degF", "degC"), (value - 32.0) / 1.8, rtol=1e-9, atol=1e-9)
    assert_allclose(si(f"{value!r} degF", "K"), value / 1.8, rtol=1e-12, atol=1e-12)


# Exact by definition: ft = 0.3048 m, US gal = 3.785411784 L, lb = 0.45359237 kg, Btu(IT) = 1055.05585262 J,
# ton of refrigeration = 12 000 Btu/h.
@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("300 ft", "m", 91.44),
        ("6 in", "m", 0.1524),
        ("9 gpm", "m3/s", 9 * 3.785411784e-3 / 60),
        ("9 gal/min", "m3/s", 9 * 3.785411784e-3 / 60),
        ("3 ton", "W", 3 * 12_000 * 1055.05585262 / 3600),
        ("2.5 tons", "W", 2.5 * 12_000 * 1055.05585262 / 3600),
        ("3 refrigeration_ton", "W", 3 * 12_000 * 1055.05585262 / 3600),
        ("1.2 Btu/(h ft degF)", "W/(m K)", 1.2 * 1055.05585262 / 3600 / 0.3048 * 1.8),
        ("0.2 h ft degF/Btu", "m K/W", 0.2 * 3600 * 0.3048 / 1.8 / 1055.05585262),
        ("62.4 lb/ft3", "kg/m3", 62.4 * 0.45359237 / 0.3048**3),
        ("20 %", "", 0.2),
        ("20 percent", "", 0.2),
    ],
)
def test_units_of_the_trade(text, unit, value):
    assert_allclose(si(text, unit), value, rtol=1e-6)


@pytest.mark.parametrize(
    "text",
    ["300 kg", "3 furlongs_per", "5 (", "x", "", "1e999 m", "nan", "inf m", "5 os.system", "5 m**9999999"],
)
def test_what_is_no_length_is_refused_by_name(text):
    with pytest.raises(InvalidInput) as caught:
        si(text, "m")
    assert (caught.value.owner, caught.value.field) == ("Part", "number")


@settings(deadline=None)  # the first text imports pint
@given(st.text(max_size=12))
def test_no_text_raises_anything_else(text):
    try:
        value = si(text, "m")
    except InvalidInput:
        return
    assert np.isfinite(value)


@pytest.mark.parametrize("value", [True, None, [1.0, 2.0], float("nan")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(InvalidInput):
        si(value, "m")


def test_a_volume_flow_is_taken_at_the_density():
    flow = units.mass_flow("9 gal/min", lambda: 1000.0, owner="Design", field="flow")
    assert_allclose(flow, 9 * 3.785411784 / 60, rtol=1e-9)


@pytest.mark.parametrize("value", [0.5, "0.5", "0.5 kg/s", "1800 kg/h"])
def test_a_mass_flow_asks_for_no_density(value):
    def density():
        raise AssertionError

    assert_allclose(units.mass_flow(value, density, owner="Design", field="flow"), 0.5, rtol=1e-12)


def test_a_flow_of_another_kind_is_refused():
    with pytest.raises(InvalidInput, match=r"Design.flow = 3 ft: must be a number with a unit like kg/s"):
        units.mass_flow("3 ft", lambda: 1000.0, owner="Design", field="flow")


def test_a_table_in_inch_pound_units():
    table = pd.DataFrame(
        {
            "entering_fluid_min_degC": [0.0, 10.0],
            "drift_K": [0.0, 1.0],
            "heat_extracted_W": [0.0, 1000.0],
            "electricity_W": [1.0, 2.0],
            "heat_extracted_kWh": [3.0, 4.0],
            "electricity_kWh": [3.0, 4.0],
            "hot_water_element_W": [3.0, 4.0],
            "cost_per_kWh": [1.0, 2.0],
            "depth_m": [0.3048, 30.48],
            "flow_kg_per_s": [0.45359237 / 3600, 1.0],
            "conductivity_W_per_mK": [1.0, 2.0],
            "seasonal_cop": [3.5, 4.0],
        },
        index=[1, 2],
    )
    before = table.copy()
    converted = units.to_inch_pound(table)
    pd.testing.assert_frame_equal(table, before)
    assert list(converted.columns) == [
        "entering_fluid_min_degF",
        "drift_delta_degF",
        "heat_extracted_Btu_per_h",
        "electricity_W",
        "heat_extracted_kBtu",
        "electricity_kWh",
        "hot_water_element_W",
        "cost_per_kBtu",
        "depth_ft",
        "flow_lb_per_h",
        "conductivity_Btu_per_h_ft_degF",
        "seasonal_cop",
    ]
    assert list(converted.index) == [1, 2]
    assert_allclose(converted["entering_fluid_min_degF"], [32.0, 50.0], rtol=1e-9)
    assert_allclose(converted["drift_delta_degF"], [0.0, 1.8], rtol=1e-9)
    assert_allclose(converted["heat_extracted_Btu_per_h"], [0.0, 3412.141633], rtol=1e-6)
    assert_allclose(converted["electricity_W"], [1.0, 2.0])
    assert_allclose(converted["heat_extracted_kBtu"], np.array([3.0, 4.0]) * 3.412141633, rtol=1e-9)
    assert_allclose(converted["cost_per_kBtu"], np.array([1.0, 2.0]) / 3.412141633, rtol=1e-9)
    assert_allclose(converted["depth_ft"], [1.0, 100.0], rtol=1e-9)
    assert_allclose(converted["flow_lb_per_h"], [1.0, 3600 / 0.45359237], rtol=1e-9)
    assert_allclose(converted["conductivity_Btu_per_h_ft_degF"], np.array([1.0, 2.0]) * 0.5777893, rtol=1e-6)
