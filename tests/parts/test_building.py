"""A building's loads: weeks, properties of the need, files."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld

WEATHER = ld.Weather.sample("cold continental")
WINDOWS = [
    ld.Window(area=12.0, u_value=1.1, g_value=0.55, azimuth=180.0, shading=0.8),
    ld.Window(area=6.0, u_value=1.1, g_value=0.55, azimuth=90.0),
]
HOUSE = ld.Building(
    floor_area="1500 ft2",
    walls=[ld.Opaque(area=140.0, u_value=0.28), ld.Opaque(area=4.0, u_value=1.4)],
    roof=ld.Opaque(area=90.0, u_value=0.18),
    floor=ld.Opaque(area=80.0, u_value=0.3, exposure=0.6),
    windows=WINDOWS,
    infiltration=0.15,
    ventilation=0.4,
    heat_recovery=0.8,
    occupants=4,
    occupancy=ld.Week({0: 1.0, 8: 0.3, 16: 0.8}, saturday=0.8),
    equipment="450 W",
    equipment_use=0.5,
    heating_set_point=21.0,
    cooling_set_point="79 degF",
)


def yearly(building: ld.Building, weather: ld.Weather = WEATHER) -> tuple[float, float]:
    """Heating and cooling of a year [kWh]."""
    loads = building.loads(weather)
    return loads.heating.sum() / 1e3, loads.cooling.sum() / 1e3


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (20.0, [20.0] * 24),
        ([float(hour) for hour in range(24)], list(range(24))),
        (np.arange(24.0), list(range(24))),
        ({6: 20.0, 22: 17.0}, [17.0] * 6 + [20.0] * 16 + [17.0] * 2),
        ({"22": 17.0, "6": 20.0, "12": 19.0}, [17.0] * 6 + [20.0] * 6 + [19.0] * 10 + [17.0] * 2),
    ],
)
def test_a_day_in_each_of_its_forms(day, expected):
    hours = ld.Week(day, sunday=5.0).hours("degC", owner="Building", field="heating_set_point")
    assert_array_equal(np.reshape(hours, (7, 24))[:6], [expected] * 6)
    assert_array_equal(hours[-24:], 5.0)


def test_the_weekend_is_like_saturday_unless_sunday_is_given():
    hours = ld.Week(1.0, 0.2).hours("", owner="Building", field="occupancy")
    assert_array_equal(hours, [1.0] * 120 + [0.2] * 48)


def test_occupancy_and_equipment_make_the_internal_gains():
    """0.3 of four people of 70 W and half of 450 W on Monday at 9, 0.8 of them on Saturday."""
    gains = HOUSE.hourly(WEATHER)["internal_gains_W"]
    assert_allclose(gains[9], 0.3 * 4 * 70.0 + 225.0)
    assert_allclose(gains[5 * 24 + 9], 0.8 * 4 * 70.0 + 225.0)
    assert_allclose(gains[7 * 24 + 9], gains[9])


def test_loads_are_what_the_hours_say():
    loads, hours = HOUSE.loads(WEATHER, hot_water="250 W"), HOUSE.hourly(WEATHER)
    assert_array_equal(loads.heating, hours["heating_W"])
    assert_array_equal(loads.cooling, hours["cooling_W"])
    assert_array_equal(loads.hot_water, 250.0)
    assert_allclose(hours["air_degC"][hours["heating_W"] > 0.0], 21.0, atol=1e-9)
    assert_allclose(hours["air_degC"][hours["cooling_W"] > 0.0], (79 - 32) / 1.8, atol=1e-9)
    free = HOUSE.hourly(WEATHER, free_running=True)
    assert_array_equal(free[["heating_W", "cooling_W"]], 0.0)
    assert_array_equal(free["solar_gains_W"], hours["solar_gains_W"])
    assert free["air_degC"].min() < 10.0


def test_the_year_goes_round():
    """Weather that begins half a year later gives the same hours, half a year later.

    The half year is of 26 weeks, so that the days of the week stay.
    """
    shift = 26 * 168
    names = ("dry_bulb", "ghi", "dni", "dhi")
    turned = ld.Weather(
        **{name: np.roll(getattr(WEATHER, name), shift) for name in names}, latitude=0.0, longitude=0.0
    )
    dark = HOUSE.replace(windows=(), occupancy=1.0)
    assert_allclose(
        dark.loads(turned).heating[shift : shift + 4000], dark.loads(WEATHER).heating[:4000], atol=1e-3
    )


@settings(max_examples=12, deadline=None)
@given(better=st.floats(0.3, 0.99), place=st.sampled_from(["walls", "roof", "floor", "windows"]))
def test_more_insulation_never_needs_more_heat(better, place):
    parts = tuple(part.replace(u_value=better * part.u_value) for part in getattr(HOUSE, place))
    assert yearly(HOUSE.replace(**{place: parts}))[0] < yearly(HOUSE)[0]


@settings(max_examples=8, deadline=None)
@given(equipment=st.floats(460.0, 5000.0), people=st.integers(4, 20))
def test_gains_never_raise_heating_nor_lower_cooling(equipment, people):
    more, house = HOUSE.replace(equipment=equipment, occupants=people).loads(WEATHER), HOUSE.loads(WEATHER)
    assert (more.heating <= house.heating + 1e-6).all()
    assert (more.cooling >= house.cooling - 1e-6).all()


@settings(max_examples=8, deadline=None)
@given(shading=st.floats(0.0, 0.79))
def test_shade_never_lowers_heating_nor_raises_cooling(shading):
    shaded = HOUSE.replace(windows=[window.replace(shading=shading) for window in WINDOWS]).loads(WEATHER)
    assert (shaded.heating >= HOUSE.loads(WEATHER).heating - 1e-6).all()
    assert (shaded.cooling <= HOUSE.loads(WEATHER).cooling + 1e-6).all()


def test_set_back_saves_heat_and_asks_for_more_in_the_morning():
    night = HOUSE.replace(heating_set_point=ld.Week({6: 21.0, 22: 17.0}))
    assert yearly(night)[0] < yearly(HOUSE)[0]
    peak = night.loads(WEATHER).heating.reshape(365, 24).max(axis=0)
    assert peak.argmax() == 6
    assert peak.max() > 1.3 * HOUSE.loads(WEATHER).peak["heating"]


def test_less_power_lets_the_air_sink_until_it_is_caught_up():
    plain = HOUSE.hourly(WEATHER)
    power = 0.7 * plain["heating_W"].max()
    weak = HOUSE.replace(heating_power=power).hourly(WEATHER)
    assert_allclose(weak["heating_W"].max(), power, rtol=1e-12)
    short = weak["air_degC"] < 21.0 - 1e-9
    assert 10 < short.sum() < 2000
    assert_allclose(weak["heating_W"][short], power, rtol=1e-12)


def test_windows_by_orientation():
    """A south window gets most sun in winter, and east and west the same in this climate within a tenth."""
    by = {
        azimuth: HOUSE.replace(windows=WINDOWS[0].replace(azimuth=azimuth)).hourly(WEATHER)["solar_gains_W"]
        for azimuth in (0.0, 90.0, 180.0, 270.0)
    }
    winter = {azimuth: gains[:1416].sum() for azimuth, gains in by.items()}
    assert max(winter, key=winter.get) == 180.0
    assert min(winter, key=winter.get) == 0.0
    assert_allclose(by[90.0].sum(), by[270.0].sum(), rtol=0.1)


def test_a_building_without_windows_needs_no_sun():
    dark = ld.Weather(dry_bulb=WEATHER.dry_bulb)
    assert yearly(HOUSE.replace(windows=()), dark)[0] > 0.0


def test_buildings_are_values():
    assert pickle.loads(pickle.dumps(HOUSE)) == HOUSE
    assert HOUSE.replace(mass="heavy") != HOUSE
    assert_allclose(HOUSE.floor_area, 139.35456)
    mass = {"mass": "heavy", "heat_capacity": 260e3}
    assert HOUSE.replace(**mass).loads(WEATHER) == HOUSE.replace(mass="heavy").loads(WEATHER)


FILE = """
[loads]
kind = "building"
weather = { kind = "sample", name = "cold continental" }
hot_water = "250 W"
[loads.building]
floor_area = "1500 ft2"
roof = { area = 90.0, u_value = 0.18 }
floor = { area = 80.0, u_value = 0.3, exposure = 0.6 }
windows = [
    { area = 12.0, u_value = 1.1, g_value = 0.55, azimuth = 180.0, shading = 0.8 },
    { area = 6.0, u_value = 1.1, g_value = 0.55, azimuth = 90.0 },
]
infiltration = 0.15
ventilation = 0.4
heat_recovery = 0.8
occupants = 4
occupancy = { working_day = { 0 = 1.0, 8 = 0.3, 16 = 0.8 }, saturday = 0.8 }
equipment = "450 W"
equipment_use = 0.5
heating_set_point = 21.0
cooling_set_point = "79 degF"
[[loads.building.walls]]
area = 140.0
u_value = 0.28
[[loads.building.walls]]
area = 4.0
u_value = 1.4
"""


def test_a_building_in_a_design_file(design_path):
    table = '[loads]\nkind = "file"\npath = "house-loads.csv"\n'
    text = design_path.read_text()
    assert table in text
    design_path.write_text(text.replace(table, "") + FILE)
    assert ld.Design.read(design_path).loads == HOUSE.loads(WEATHER, hot_water=250.0)


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ("u_value = 0.18", "u_value = 0.0018", "loads.building.roof.u_value", "from 0.01 to 10"),
        ("azimuth = 90.0", "azimut = 90.0", "loads.building.windows[1].azimut", "did you mean 'azimuth'"),
        ("area = 4.0", 'area = "4 m"', "loads.building.walls[1].area", "a unit like m2"),
        ("8 = 0.3", "8 = 30", "loads.building.occupancy", "Monday from 08:00: must be from 0 to 1"),
        ("8 = 0.3", "25 = 0.3", "loads.building.occupancy.working_day", "hours from 0 to 23"),
        ("infiltration = 0.15", "", "loads.building.infiltration", "must be given"),
        (
            "heating_set_point = 21.0",
            "heating_set_point = 28.0",
            "loads.building.heating_set_point",
            "at most",
        ),
        ('hot_water = "250 W"', "heating_kWh = 5000", "loads.heating_kWh", "belongs to kind 'heat loss'"),
        ("equipment_use = 0.5", "mass = 7", "loads.building.mass", "must be one of very light"),
    ],
)
def test_faults_of_a_building_in_a_design_file_are_named(design_path, old, new, key, said):
    text = design_path.read_text().replace('[loads]\nkind = "file"\npath = "house-loads.csv"\n', "") + FILE
    assert old in text
    design_path.write_text(text.replace(old, new))
    with pytest.raises(ld.InvalidDesignFile) as caught:
        ld.Design.read(design_path)
    assert caught.value.key == key
    assert said in str(caught.value)
