"""Designs as files: what is written is read back, and every fault is named with file and key."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from loopdrift import Fluid, Ground, Limits
from loopdrift.basics.errors import InvalidDesignFile, InvalidFile, InvalidInput

bore = pytest.importorskip("loopdrift.parts.bore")
bore_field = pytest.importorskip("loopdrift.ground_sides.bore_field.field")
heat_pump = pytest.importorskip("loopdrift.parts.plant.heat_pump")
loads = pytest.importorskip("loopdrift.parts.loads")
Design = pytest.importorskip("loopdrift.api.design").Design

TEXT = """
flow = "9 gal/min"
pump_power = 120

[ground]
kind = "properties"
conductivity = 2.1
volumetric_heat_capacity = 2.3e6
temperature = "51 degF"

[ground_side]
kind = "bore grid"
columns = 2
rows = 1
spacing = "20 ft"

[ground_side.bore]
depth = "300 ft"
buried_depth = 2.0
diameter = 0.15
grout_conductivity = 1.5

[ground_side.bore.pipes]
kind = "U-tube"
pipe = {kind = "SDR", dimension_ratio = 11, outer_diameter = 0.032}
shank_spacing = 0.07

[fluid]
kind = "tabulated"
name = "propylene glycol"
mass_fraction = 0.2

[heat_pump]
kind = "curves"
heating_cop = [3.6, 0.08]
cooling_cop = [6.0, -0.08]

[loads]
kind = "file"
path = "loads.csv"

[limits]
entering_fluid_min = -1
"""


@pytest.fixture
def read(tmp_path):
    hour = np.arange(8760)
    loads.Loads(heating=np.maximum(0.0, 1e4 * np.cos(hour / 1400.0))).write(tmp_path / "loads.csv")

    def read(text):
        path = tmp_path / "design.toml"
        path.write_text(text, encoding="utf-8")
        return Design.read(path)

    return read


def test_what_stands_in_the_file(read):
    design = read(TEXT)
    assert design.ground == Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature="51 degF")
    assert design.fluid == Fluid("propylene glycol", mass_fraction=0.2)
    assert design.limits == Limits(entering_fluid_min=-1.0)
    assert_allclose(design.ground_side.positions[1] - design.ground_side.positions[0], [6.096, 0.0])
    assert_allclose(design.ground_side.bores[0].depth, 91.44)
    density = design.fluid.density_at(design.ground.temperature)
    assert_allclose(design.flow, 9 * 3.785411784e-3 / 60 * density, rtol=1e-9)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("", ""),
        ('kind = "U-tube"', 'kind = "double U-tube"'),
        (
            'kind = "tabulated"\nname = "propylene glycol"\nmass_fraction = 0.2',
            "kind = 'constant'\ndensity = 1e3\nheat_capacity = 4e3\nconductivity = 0.5\nviscosity = 2e-3\n"
            "freezing_point = -5",
        ),
        (
            'kind = "file"\npath = "loads.csv"',
            "kind = 'heat loss'\nloss_coefficient = 200\nheating_kWh = 9e3\n"
            "weather = {kind = 'sample', name = SAMPLE}",
        ),
        (
            "heating_cop = [3.6, 0.08]",
            "heating_cop = [3.6, 0.08]\nheating_capacity = [2e4]\nheating_low_cop = [4.0, 0.08]\n"
            "heating_low_capacity = [1e4]\nvariable_speed = true\nheating_lock_out = -5\n"
            "heating_entering_load = {reference = 35, between = [25, 50], cop = [-0.05]}",
        ),
    ],
)
def test_what_is_written_is_read_back(read, tmp_path, old, new):
    weather = pytest.importorskip("loopdrift.parts.weather.weather").Weather
    design = read(TEXT.replace(old, new.replace("SAMPLE", repr(weather.samples()[0]))) if old else TEXT)
    (tmp_path / "copies").mkdir()
    design.write(tmp_path / "copies" / "copy.toml")
    assert (tmp_path / "copies" / "copy-loads.csv").exists()
    assert Design.read(tmp_path / "copies" / "copy.toml") == design


@pytest.mark.parametrize(
    ("old", "new", "key", "message"),
    [
        ('depth = "300 ft"', "depth = -5", "ground_side.bore.depth", "must be from 1 to 2000 m"),
        ('depth = "300 ft"', "", "ground_side.bore.depth", "nothing: must be given"),
        ('depth = "300 ft"', "dept = 90\ndepth = 1", "ground_side.bore.dept", "did you mean 'depth'"),
        ("spacing = ", "spacng = 1\nspacing = ", "ground_side.spacng", "did you mean 'spacing'"),
        ("columns = 2", "columns = 2.5", "ground_side.columns", "must be a whole number"),
        (
            "columns = 2",
            "columns = 2\npositions = []",
            "ground_side.positions",
            "belongs to kind 'bore field', not to 'bore grid'",
        ),
        ('kind = "U-tube"', 'kind = "W-tube"', "ground_side.bore.pipes.kind", "must be one of U-tube"),
        ("ratio = 11", "ratio = 1", "ground_side.bore.pipes.pipe.dimension_ratio", "must be above 2"),
        ('"9 gal/min"', '"9 ft"', "flow", "must be a number with a unit like kg/s"),
        ("pump_power = 120", "pump_powr = 120", "pump_powr", "did you mean 'pump_power'"),
        ('name = "prop', 'name = "brop', "fluid.name", "did you mean 'propylene glycol'"),
        ("[limits]\nentering_fluid_min = -1", "[[limits]]", "limits", "must be a table"),
        ('path = "loads.csv"', "path = 5", "loads.path", "must be the path of a file"),
        ("[limits]", "[limits]\nkind = 'all'", "limits.kind", "is no known key"),
    ],
)
def test_faults_are_named(read, old, new, key, message):
    assert old in TEXT
    with pytest.raises(InvalidDesignFile) as caught:
        read(TEXT.replace(old, new, 1))
    assert caught.value.key == key
    assert f"design.toml, line {caught.value.line}: {key} = " in str(caught.value)
    assert message in str(caught.value)


def test_a_file_that_is_no_toml_names_the_line(read):
    with pytest.raises(InvalidFile) as caught:
        read("flow = 1\npump_power = = 2\n")
    assert caught.value.line == 2


def test_a_part_of_the_wrong_type_is_named(read):
    design = read(TEXT)
    with pytest.raises(InvalidInput, match=r"Design.ground_side = .*: must be a BoreField"):
        design.replace(ground_side=design.ground_side.bores[0])
    with pytest.raises(InvalidInput, match=r"Design.start_month = 13"):
        design.replace(start_month=13)
