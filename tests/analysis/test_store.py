"""A stored study is believed only as it was written."""

import numpy as np
import pyarrow.parquet
import pytest
import xarray as xr

import loopdrift as ld
from loopdrift.analysis.study.planning import plan

FLIPS = 30


@pytest.fixture
def small_portions(monkeypatch):
    monkeypatch.setattr(plan, "CASE_YEARS", 2)


@pytest.fixture
def study(design, small_portions):
    return ld.Study(design, vary={"spacing": [5.0, 6.0], "depth": [90.0, 100.0, 110.0]})


@pytest.fixture
def stored(study, tmp_path):
    """What the study finds, and the folder that keeps it."""
    return study.run(1, store=tmp_path / "store"), tmp_path / "store"


def damaged(study, stored, name):
    """Run the study on from a store of which one file is damaged: it is named, found anew and mended."""
    found, folder = stored
    with pytest.warns(ld.DamagedStoreFile, match=rf"{name} is damaged or has been modified: its"):
        xr.testing.assert_identical(study.run(1, store=folder), found)
    xr.testing.assert_identical(study.run(1, store=folder), found)


def test_a_flipped_bit_is_found_anywhere(study, stored):
    file = stored[1] / "cases-00001.parquet"
    whole = file.read_bytes()
    chosen = np.random.default_rng(15).choice(8 * len(whole), FLIPS, replace=False)
    for bit in [*chosen.tolist(), 0, 8 * len(whole) - 1]:
        content = bytearray(whole)
        content[bit // 8] ^= 1 << bit % 8
        file.write_bytes(content)
        damaged(study, stored, "cases-00001.parquet")
        assert file.read_bytes() == whole


@pytest.mark.parametrize("cut", [0, 1, 100, -1])
def test_what_was_cut_off_is_found_anew(study, stored, cut):
    file = stored[1] / "cases-00002.parquet"
    file.write_bytes(file.read_bytes()[:cut])
    damaged(study, stored, "cases-00002.parquet")


def test_portions_that_changed_places_are_found_anew(study, stored):
    one, other = (stored[1] / f"cases-0000{number}.parquet" for number in (0, 1))
    one.write_bytes(other.read_bytes())
    damaged(study, stored, "cases-00000.parquet")


def test_rows_that_somebody_else_wrote_are_found_anew(study, stored):
    file = stored[1] / "cases-00000.parquet"
    table = pyarrow.parquet.read_table(file)
    for rows in ([0], [1, 0], [0, 1]):
        pyarrow.parquet.write_table(table.take(rows), file)
        damaged(study, stored, "cases-00000.parquet")


def test_a_damaged_identity_costs_nothing(study, stored, design):
    found, folder = stored
    identity = folder / "_study.json"
    whole = identity.read_bytes()
    for content in (b"", b"{", b"[]", b"3", b"\xff", b"[" * 100_000):
        identity.write_bytes(content)
        xr.testing.assert_identical(study.run(1, store=folder), found)
    other = ld.Study(design, vary={"depth": [90.0]})
    identity.unlink()
    with pytest.raises(ld.InvalidInput, match="holds another study"):
        other.run(1, store=folder)
    xr.testing.assert_identical(study.run(1, store=folder), found)
    assert identity.read_bytes() == whole


def test_a_table_reader_takes_the_folder_as_one_table(stored):
    found, folder = stored
    table = pyarrow.parquet.read_table(folder).to_pandas()
    assert sorted(table["case"]) == list(range(6))
    by_case = table.sort_values("case")["margin_K"].to_numpy().reshape(2, 3)
    np.testing.assert_array_equal(by_case, found["margin_K"])


@pytest.mark.filterwarnings("default:.*is damaged or has been modified")
def test_the_command_says_what_was_damaged(command, design_path, tmp_path):
    design_path.write_text(design_path.read_text() + "\n[study.vary]\nspacing = [5, 6]\n")
    study = ("study", design_path, "--years", "1", "--out", tmp_path / "out")
    said = command(*study)[1]
    file = tmp_path / "out" / "cases" / "cases-00000.parquet"
    file.write_bytes(file.read_bytes()[:-1])
    code, out, err = command(*study)
    assert (code, out) == (0, said)
    assert err == f"warning: {file} is damaged or has been modified: its cases are run again\n"
