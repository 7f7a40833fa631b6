"""A stored study is read as it is used, and gives what a study in memory gives."""

from __future__ import annotations

import numpy as np
import pyarrow.parquet
import pytest
import xarray as xr
from numpy.testing import assert_array_equal
from scipy import stats

import loopdrift as ld
from loopdrift.analysis.study import stored
from loopdrift.analysis.study.planning import plan

GRID = {"spacing": [5.0, 6.0], "depth": [90.0, 100.0, 110.0], "fluid": None}


@pytest.fixture(scope="module")
def kept(design, tmp_path_factory):
    """A grid over numbers and labels in portions of two years, in memory and in a folder."""
    folder = tmp_path_factory.mktemp("store")
    fluids = {"own": design.fluid, "water": ld.Fluid("water")}
    study = ld.Study(design, vary={**GRID, "fluid": fluids})
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plan, "CASE_YEARS", 6)
        lazy = study.run(2, store=folder, load=False)
        return study.run(2), lazy, folder


def test_it_is_the_same_dataset(kept):
    memory, lazy, folder = kept
    xr.testing.assert_identical(lazy.load(), memory)
    xr.testing.assert_identical(ld.open_study(folder).load(), memory)
    assert len(list(folder.glob("cases-*.parquet"))) == 4


def test_only_what_is_used_is_read(kept, monkeypatch):
    memory, _, folder = kept
    found = ld.open_study(folder)
    read = []
    original = stored._read

    def count(path, columns, identity):
        read.append((path.name, columns))
        return original(path, columns, identity)

    monkeypatch.setattr(stored, "_read", count)
    name = "entering_fluid_min_degC"
    chosen = found[name].sel(spacing=6.0, depth=[110.0, 90.0], fluid="water", year=2)
    assert_array_equal(chosen, memory[name].sel(spacing=6.0, depth=[110.0, 90.0], fluid="water", year=2))
    assert {columns[0] for _, columns in read} == {name}
    assert 1 <= len(read) <= 2
    assert found["failure"][0, 0, 0].item() == ""


def test_samples_have_their_values(design, tmp_path, monkeypatch):
    monkeypatch.setattr(plan, "CASE_YEARS", 3)
    unknown = {"ground.conductivity": stats.uniform(1.8, 0.4), "heating_scale": stats.norm(1.0, 0.1)}
    study = ld.Study(design, samples=ld.Samples(unknown, count=8))
    lazy = study.run(1, store=tmp_path, load=False)
    xr.testing.assert_identical(lazy.load(), study.run(1))


def test_what_is_unfinished_says_so(design, tmp_path, monkeypatch):
    monkeypatch.setattr(plan, "CASE_YEARS", 2)
    study = ld.Study(design, vary={"depth": [80.0, 90.0, 100.0, 110.0]})

    def interrupt(done: int) -> None:
        if done >= 2:
            raise KeyboardInterrupt

    with pytest.raises(ld.StudyStopped) as stop:
        study.run(1, store=tmp_path, load=False, progress=interrupt)
    found = stop.value.dataset
    # Both portions run at once: the one that finishes first is kept, the other isn't.
    portions = found["failure"].to_numpy().reshape(2, 2).tolist()
    assert sorted(portions) == [["", ""], ["not run: the study was stopped"] * 2]
    not_run = found["failure"].to_numpy() != ""
    assert np.isnan(found["margin_K"].to_numpy()).tolist() == not_run.tolist()
    study.run(1, store=tmp_path, load=False)
    xr.testing.assert_identical(ld.open_study(tmp_path).load(), study.run(1))


def test_all_portions_have_one_schema(design, tmp_path, monkeypatch):
    """Also where one portion has a pond's columns, or nothing but failures."""
    monkeypatch.setattr(plan, "CASE_YEARS", 1)
    pond = ld.Pond.basin(
        area=4000.0,
        depth=3.0,
        bank_slope=3.0,
        pipe=ld.Pipe.sdr(11, outer_diameter=0.032),
        circuits=4,
        length=80.0,
        weather=ld.Weather.sample("cold continental"),
    )
    sides = {"bores": design.ground_side, "pond": pond}
    found = ld.Study(design, vary={"ground_side": sides, "ground.conductivity": [2.0, -1.0]}).run(
        1, store=tmp_path
    )
    schemas = [pyarrow.parquet.read_schema(path).remove_metadata() for path in tmp_path.glob("cases-*")]
    assert len(schemas) == 4 and all(schema == schemas[0] for schema in schemas)
    assert np.isnan(found["ice_max_m"].sel(ground_side="bores")).all()
    assert np.isfinite(found["ice_max_m"].sel(ground_side="pond")[0]).all()


def test_few_portions_wait(design, monkeypatch):
    """Portions are made as workers get free, not all at the start."""
    from concurrent.futures import ThreadPoolExecutor

    monkeypatch.setattr(plan, "CASE_YEARS", 1)
    made, finished, ahead = [], [], []
    original = plan.Plan.portion

    def portion(self, number, cache=None):
        made.append(number)
        ahead.append(len(made) - len(finished))
        return original(self, number, cache)

    monkeypatch.setattr(plan.Plan, "portion", portion)
    study = ld.Study(design, vary={"depth": np.linspace(80.0, 120.0, 12).tolist()})
    with ThreadPoolExecutor(1) as pool:
        found = study.run(1, client=pool, progress=finished.append)
    assert (found["failure"] == "").all() and len(made) == 12
    assert max(ahead) <= 3


def test_bad_folders(design, tmp_path, kept):
    with pytest.raises(ld.InvalidInput, match="unless store is given"):
        ld.Study(design, vary={"depth": [80.0]}).run(1, load=False)
    with pytest.raises(ld.InvalidInput, match="must hold a stored study"):
        ld.open_study(tmp_path)
    with pytest.raises(ld.InvalidInput, match="must hold a stored study"):
        ld.open_study(tmp_path / "nowhere")
    for path in kept[2].iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    broken = tmp_path / "cases-00001.parquet"
    broken.write_bytes(broken.read_bytes()[:-30])
    with pytest.raises(ld.InvalidInput, match=r"cases-00001\.parquet: is damaged or of another study"):
        ld.open_study(tmp_path)
