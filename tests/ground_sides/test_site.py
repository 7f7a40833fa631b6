"""What a site offers: numbers, files, and what bad input gets."""

import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.command_line import DEMO

LOAM = 'soil = { kind = "soil", soil = "loam", temperature = 9.0 }\n'
WEATHER = 'weather = { kind = "sample", name = "cold continental" }\n'


def site_file(tmp_path, text):
    path = tmp_path / "site.toml"
    path.write_text(text)
    return path


def test_land_is_a_rectangle():
    land = ld.Land(area="2 acre", length="120 m")
    assert_allclose(land.width, 2 * 4046.87 / 120.0, rtol=1e-5)
    assert_allclose(land.diagonal, (120.0**2 + land.width**2) ** 0.5)
    square = ld.Land(area=900.0)
    assert_allclose([square.longer, square.width], 30.0)


def test_the_demo_s_site_is_read():
    site = ld.Site.read(DEMO / "site.toml")
    assert_allclose(site.land.area, 4046.87, rtol=1e-5)
    assert_allclose(site.drilling.max_depth, 400 * 0.3048)
    assert_allclose(site.excavation.rock_depth, 8 * 0.3048)
    assert_allclose(site.water.depth, 10 * 0.3048)
    assert_allclose(site.groundwater.sustained_yield, 60 * 3.785411784e-3 / 60 * 999.97)
    assert site.groundwater.quality == ()


def test_what_is_written_comes_back(tmp_path):
    site = ld.Site.read(DEMO / "site.toml")
    pond = ld.Proposal(name="coils in the pond", ground_side=ld.Design.read(DEMO / "pond.toml").ground_side)
    site = site.replace(candidates=[*site.candidates, pond])
    site.write(tmp_path / "site.toml")
    assert ld.Site.read(tmp_path / "site.toml") == site
    number = len(site.candidates)
    names = {"site.toml", "site-weather.csv", f"site-candidate-{number}-weather.csv"}
    assert {path.name for path in tmp_path.iterdir()} == names
    ld.Site().write(tmp_path / "empty.toml")
    assert ld.Site.read(tmp_path / "empty.toml") == ld.Site()


def test_what_is_left_out_is_not_there(tmp_path):
    site = ld.Site.read(site_file(tmp_path, '[land]\narea = "1 acre"\n'))
    assert (site.drilling, site.excavation, site.water, site.groundwater) == (None, None, None, None)
    assert str(ld.Site()) == "nothing"


@pytest.mark.parametrize(
    ("make", "field", "value"),
    [
        (lambda: ld.Land(area=0.0), "area", "0.0"),
        (lambda: ld.Land(area="-10 m2"), "area", "-10 m2 (-10.0 m2)"),
        (lambda: ld.Land(area=900.0, length=20.0), "length", "20.0"),
        (lambda: ld.Drilling(max_depth=0.0), "max_depth", "0.0"),
        (lambda: ld.Drilling(max_depth="deep"), "max_depth", "'deep'"),
        (lambda: ld.Drilling(max_depth=50.0, ground="clay"), "ground", "'clay'"),
        (lambda: ld.Excavation(soil=soil(), rock_depth=-1.0), "rock_depth", "-1.0"),
        (lambda: ld.Excavation(soil="clay"), "soil", "'clay'"),
        (lambda: ld.OpenWater(area=0.0, depth=3.0), "area", "0.0"),
        (lambda: ld.OpenWater(area=4000.0, depth="0 ft"), "depth", "0 ft (0.0 m)"),
        (lambda: ld.OpenWater(area=4000.0, depth=3.0, bank_slope=-1.0), "bank_slope", "-1.0"),
        (lambda: groundwater(sustained_yield=0.0), "sustained_yield", "0.0"),
        (lambda: groundwater(sustained_yield="4 ft"), "sustained_yield", "4 ft"),
        (lambda: groundwater(lift=-1.0), "lift", "-1.0"),
        (lambda: groundwater(return_distance=0.0), "return_distance", "0.0"),
        (lambda: groundwater(quality="good"), "quality", "'good'"),
        (lambda: ld.Site(land="1 acre"), "land", "'1 acre'"),
        (lambda: ld.Site(water=ld.OpenWater(area=4000.0, depth=3.0)), "weather", "None"),
    ],
)
def test_bad_numbers_are_named(make, field, value):
    with pytest.raises(ld.InvalidInput) as caught:
        make()
    assert (caught.value.field, caught.value.value) == (field, value)
    assert caught.value.allowed.startswith("must ")


def soil():
    return ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.2e6, temperature=9.0)


def groundwater(**changes):
    aquifer = ld.Aquifer(temperature=10.0, thickness=12.0, transmissivity=3e-3, storativity=3e-4)
    given = {"sustained_yield": 3.0, "lift": 10.0, "lowest_discharge": 3.0}
    return ld.Groundwater(aquifer=aquifer, **{**given, **changes})


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[land]\narea = 0.0\n", "land.area = 0 m2: must be from 1 to 1e+08 m2"),
        ("[land]\naera = 100.0\n", "land.aera = 100.0: is no known key; did you mean 'area'?"),
        ("[land]\n", "land.area = nothing: must be given"),
        ("[lands]\narea = 100.0\n", "did you mean 'land'?"),
        (
            WEATHER + '[excavation]\nrock_depth = "-3 ft"\n' + LOAM,
            "excavation.rock_depth = -3 ft (-0.9144 m)",
        ),
        (WEATHER + "[excavation]\nrock_depth = 3.0\n", "excavation.soil = nothing: must be given"),
        ("[excavation]\n" + LOAM, "weather"),
        (
            WEATHER + '[excavation]\nsoil = { kind = "soil", soil = "sand", temperature = 9.0 }\n',
            "must be one of dry clay",
        ),
        ("water = 3\n", "water = 3: must be a table"),
        ("[land\n", "line 1"),
    ],
)
def test_bad_files_are_named(tmp_path, text, said):
    with pytest.raises((ld.InvalidDesignFile, ld.InvalidFile)) as caught:
        ld.Site.read(site_file(tmp_path, text))
    assert "site.toml" in str(caught.value)
    assert said in str(caught.value)
