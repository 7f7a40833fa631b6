"""A fluid is added by one file: invented brine, whose properties are the same at all temperatures."""

import shutil

import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.basics.errors import InvalidInput
from loopdrift.parts.fluid import sources
from loopdrift.parts.fluid.concentrate import dose

BRINE = """
text = "Invented, for a test"
coolprop = ""
warmest = 50.0
most = 0.3
pure_density = 2000.0

[curves]
fractions = [0.0, 0.3]
temperatures = [-20.0, 50.0]
density = [[1100.0], [100.0]]  # 1000 kg/m3 of water, 1200 of the strongest brine
heat_capacity = [[3800.0], [-400.0]]
conductivity = [[0.5], [-0.1]]
log_viscosity = [[-6.0], [0.5]]
freezing_point = [-5.0, -5.0]
"""


@pytest.fixture
def with_brine(tmp_path, monkeypatch):
    folder = shutil.copytree(sources.FOLDER, tmp_path / "fluids")
    (folder / "test-brine.toml").write_text(BRINE)
    monkeypatch.setattr(sources, "FOLDER", folder)


@pytest.mark.usefixtures("with_brine")
def test_a_file_adds_a_fluid():
    brine = ld.Fluid("test brine", mass_fraction=0.15)
    assert str(brine) == "test brine 15 % by mass"
    assert brine.source == "Invented, for a test"
    assert brine.temperature_range == (-5.0, 50.0)
    assert_allclose(brine.freezing_point, -5.0)
    row = brine.properties([10.0]).iloc[0]
    assert_allclose(row, [1100.0, 3800.0, 0.5, 0.002478752], rtol=1e-6)
    assert_allclose(dose(brine, 1.0).antifreeze, 0.15 * 1100.0 / 2000.0)


@pytest.mark.usefixtures("with_brine")
def test_an_added_fluid_is_written_read_and_run(design, tmp_path):
    brine = ld.Fluid("test brine", mass_fraction=0.15)
    path = tmp_path / "brine.toml"
    design.replace(fluid=brine).write(path)
    again = ld.Design.read(path)
    assert again.fluid == brine
    assert again.run(1).antifreeze("test brine", margin=1.0).fluid.name == "test brine"


@pytest.mark.usefixtures("with_brine")
def test_messages_name_an_added_fluid_and_its_range():
    with pytest.raises(InvalidInput, match="did you mean 'test brine'"):
        ld.Fluid("test brin", mass_fraction=0.1)
    with pytest.raises(InvalidInput, match=r"at most 0.3 for test brine"):
        ld.Fluid("test brine", mass_fraction=0.4)
