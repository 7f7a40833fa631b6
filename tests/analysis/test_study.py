"""Studies: what varies, what comes back, and what stays when they are ended in the middle."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from numpy.testing import assert_array_equal
from scipy import stats

import loopdrift as ld
from loopdrift.analysis.study import store
from loopdrift.analysis.study.planning import plan
from loopdrift.model.columns import BY_CASE
from loopdrift.model.columns import YEARLY as OF_YEARS

YEARLY = [name for name, column in OF_YEARS.items() if not column.only]
SPACINGS, DEPTHS, CONDUCTIVITIES = [4.0, 6.0, 9.0], [80.0, 100.0], [1.5, 2.0, 2.5]
GRID = {"spacing": SPACINGS, "bore.depth": DEPTHS, "ground.conductivity": CONDUCTIVITIES}

# What the processes of the tests below run: three cases a portion, the grid of the design in a file.
SCRIPT = """
import sys
import loopdrift as ld
from loopdrift.analysis.study.planning import plan
plan.CASE_YEARS = 3
if __name__ == "__main__":
    design, folder, grid = ld.Design.read(sys.argv[1]), sys.argv[2], eval(sys.argv[3])
    study = ld.Study(design, vary=grid)
"""


@pytest.fixture(scope="module")
def grid(design: ld.Design) -> xr.Dataset:
    return ld.Study(design, vary=GRID).run(1)


@pytest.fixture
def small_portions(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "CASE_YEARS", 3)


def changed(design: ld.Design, spacing: float, depth: float, conductivity: float) -> ld.Design:
    bore = design.ground_side.bores[0].replace(depth=depth)
    field = ld.BoreField.grid(bore, columns=2, rows=1, spacing=spacing)
    return design.replace(ground_side=field, ground=design.ground.replace(conductivity=conductivity))


def assert_same(found: xr.Dataset, expected: xr.Dataset) -> None:
    """The same bits, names and attributes."""
    xr.testing.assert_identical(found, expected)


def test_the_grid_has_what_varies_as_dimensions(grid: xr.Dataset) -> None:
    assert dict(grid.sizes) == {"spacing": 3, "bore.depth": 2, "ground.conductivity": 3, "year": 1}
    assert grid["bore.depth"].attrs == {"units": "m", "long_name": "bore depth"}
    assert set(grid.data_vars) == set(YEARLY) | set(BY_CASE)
    for name, variable in grid.variables.items():
        assert variable.attrs["long_name"], name
    for name in YEARLY:
        assert grid[name].attrs["units"], name


def test_each_case_is_the_run_of_its_design(design: ld.Design, grid: xr.Dataset) -> None:
    for spacing, depth, conductivity in ((4.0, 100.0, 1.5), (9.0, 80.0, 2.5)):
        run = changed(design, spacing, depth, conductivity).run(1)
        case = grid.sel({"spacing": spacing, "bore.depth": depth, "ground.conductivity": conductivity})
        for name in YEARLY:
            assert_array_equal(case[name], run.yearly[name], err_msg=name)
        entering = run.hourly["entering_fluid_degC"][run.hourly["electricity_W"] > 0.0]
        assert case["deciding_limit"] == "entering_fluid_min"
        assert case["margin_K"] == entering.min() + 2.0
        assert (case["deciding_year"], case["deciding_hour"]) == entering.idxmin()


def test_anything_can_vary(design: ld.Design) -> None:
    thin, thick = (
        ld.Fluid.constant(
            density=1000.0, heat_capacity=heat, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
        )
        for heat in (3800.0, 4200.0)
    )
    weak = ld.HeatPump.from_curves(heating_cop=[3.0], cooling_cop=[4.0])
    warm = ld.Loads(cooling=3000.0)
    found = ld.Study(
        design,
        cases=[
            {"fluid": thin, "heat_pump": weak, "loads": warm, "flow": "0.6 kg/s", "start_month": 7},
            {"fluid": thick, "heat_pump": weak, "loads": design.loads, "flow": 0.5, "start_month": 1},
        ],
    ).run(1)
    first = design.replace(fluid=thin, heat_pump=weak, loads=warm, flow=0.6, start_month=7).run(1)
    second = design.replace(fluid=thick, heat_pump=weak).run(1)
    for case, run in enumerate((first, second)):
        assert_array_equal(found["electricity_kWh"][case], run.yearly["electricity_kWh"])
        assert_array_equal(found["entering_fluid_min_degC"][case], run.yearly["entering_fluid_min_degC"])
    assert found["flow"].to_numpy().tolist() == [0.6, 0.5]


def test_columns_and_rows_of_a_grid_vary(design: ld.Design) -> None:
    sides = {"columns": [1, 3], "rows": np.arange(1, 3), "spacing": [4.0, 6.0]}
    design = design.replace(flow=2.0)
    found = ld.Study(design, vary=sides).run(1)
    assert found["columns"].to_numpy().tolist() == [1, 3] and found["rows"].to_numpy().tolist() == [1, 2]
    assert found["columns"].attrs["long_name"] == "columns"
    bore = design.ground_side.bores[0]
    for columns, rows, spacing in ((3, 1, 4.0), (1, 2, 6.0), (3, 2, 6.0)):
        field = ld.BoreField.grid(bore, columns=columns, rows=rows, spacing=spacing)
        run = design.replace(ground_side=field).run(1)
        chosen = found.sel(columns=columns, rows=rows, spacing=spacing)
        assert_array_equal(chosen["entering_fluid_min_degC"], run.yearly["entering_fluid_min_degC"])
    alone = found.sel(columns=1, rows=1)["failure"].to_numpy()
    assert all("a single bore has no spacing" in text for text in alone)
    odd = ld.Study(design, vary={"rows": [0, 2.5]}).run(1)["failure"].to_numpy()
    assert all("must be a whole number from 1 to 1000" in text for text in odd)


@pytest.mark.parametrize("positions", [[[0, 0], [5, 0], [0, 5]], [[0, 0], [5, 0], [11, 0]], [[0, 0]]])
def test_only_grids_have_columns(design: ld.Design, positions: list) -> None:
    odd = design.replace(ground_side=ld.BoreField(design.ground_side.bores[0], positions=positions))
    with pytest.raises(ld.InvalidInput, match="unknown parameter"):
        ld.Study(odd, vary={"ground_side.columns": [2]})
    fields = [design.ground_side, odd.ground_side]
    found = ld.Study(design, cases=[{"ground_side": field, "columns": 2} for field in fields]).run(1)
    assert found["failure"][0] == ""
    assert "can be varied only for a rectangular grid" in found["failure"][1].item()


def test_a_grid_may_stand_anywhere(design: ld.Design) -> None:
    field = design.ground_side
    moved = design.replace(
        ground_side=field.replace(positions=field.positions[::-1] + np.array([40.0, -7.0]))
    )
    found = ld.Study(moved, vary={"columns": [2, 3]}).run(1)
    wide = design.replace(ground_side=ld.BoreField.grid(field.bores[0], columns=3, rows=1, spacing=6.0))
    for columns, other in ((2, design), (3, wide)):
        run = other.run(1)
        assert_array_equal(found["electricity_kWh"].sel(columns=columns), run.yearly["electricity_kWh"])


def test_loads_are_scaled(design: ld.Design) -> None:
    scales = {"heating_scale": [0.8, 1.0], "loads.cooling_scale": [1.0, 1.5]}
    found = ld.Study(design, vary=scales).run(1)
    loads = ld.Loads(heating=0.8 * design.loads.heating, cooling=1.5 * design.loads.cooling)
    for case, run in (
        (found[{"heating_scale": 0, "loads.cooling_scale": 1}], design.replace(loads=loads).run(1)),
        (found[{"heating_scale": 1, "loads.cooling_scale": 0}], design.run(1)),
    ):
        for name in YEARLY:
            assert_array_equal(case[name], run.yearly[name], err_msg=name)
    bad = ld.Study(design, vary={"heating_scale": [-1.0, "50 percent"]}).run(1)
    assert bad["failure"][0].item().startswith("Loads.heating = -")
    assert bad["failure"][1] == "" and bad["heating_scale"][1] == 0.5


def test_samples_of_the_loads(design: ld.Design) -> None:
    unknown = {"loads.heating_scale": stats.norm(1.0, 0.1), "ground.conductivity": stats.uniform(1.8, 0.4)}
    samples = ld.Samples(unknown, count=8)
    found = ld.Study(design, samples=samples).run(1)
    table = samples.table()
    loads = ld.Loads(heating=table.iloc[5, 0] * design.loads.heating, cooling=design.loads.cooling)
    ground = design.ground.replace(conductivity=table.iloc[5, 1])
    run = design.replace(loads=loads, ground=ground).run(1)
    assert_array_equal(found["entering_fluid_min_degC"][5], run.yearly["entering_fluid_min_degC"])


def test_kept_responses_change_nothing(design: ld.Design, grid: xr.Dataset, tmp_path: Path) -> None:
    cache = tmp_path / "new" / "cache"
    study = ld.Study(design, vary=GRID)
    assert_same(study.run(1, cache=cache), grid)
    kept = {path.name: path.read_bytes() for path in cache.iterdir()}
    assert kept and all(name.endswith(".response") for name in kept)
    assert_same(study.run(1, cache=cache), grid)
    for path in cache.iterdir():
        path.write_bytes(path.read_bytes()[:-20] + b"something quite else")
    assert_same(study.run(1, cache=cache), grid)
    assert {path.name: path.read_bytes() for path in cache.iterdir()} == kept


def test_processes_share_kept_responses(
    design: ld.Design, grid: xr.Dataset, small_portions: None, tmp_path: Path
) -> None:
    """Two at once, a third that was killed before; what is there in the end is whole."""
    design.write(tmp_path / "house.toml")
    cache, store = tmp_path / "cache", str(tmp_path / "store")
    cache.mkdir()
    (cache / ".tmpAb3xYz").write_bytes(b"unfinished")
    script = SCRIPT + "    study.run(1, store=folder + sys.argv[4], cache=sys.argv[5])\n"
    command = [sys.executable, "-c", script, tmp_path / "house.toml", store, repr(GRID)]
    processes = [subprocess.Popen([*command, number, cache]) for number in "12"]
    assert [process.wait() for process in processes] == [0, 0]
    read = ld.Design.read(tmp_path / "house.toml")
    for number in "12":
        assert_same(ld.Study(read, vary=GRID).run(1, store=store + number), grid)
    assert_same(ld.Study(read, vary=GRID).run(1, cache=cache), grid)


def test_a_cache_that_cannot_be(design: ld.Design, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(OSError, match="file"):
        ld.Study(design, vary={"depth": [80.0]}).run(1, cache=tmp_path / "file")


def test_parts_are_labelled(design: ld.Design) -> None:
    pair = design.ground_side
    three = ld.BoreField.grid(pair.bores[0], columns=3, rows=1, spacing=6.0)
    layouts = {"pair": pair, "three in line": three}
    found = ld.Study(design, vary={"ground_side": layouts, "pump_power": ["0.1 kW", 0]}).run(1)
    assert found["ground_side"].to_numpy().tolist() == ["pair", "three in line"]
    assert found["pump_power"].to_numpy().tolist() == [100.0, 0.0]
    run = design.replace(ground_side=three, pump_power=100.0).run(1)
    chosen = found.sel(ground_side="three in line", pump_power=100.0)
    assert_array_equal(chosen["electricity_kWh"], run.yearly["electricity_kWh"])


def test_a_table_gives_cases(design: ld.Design) -> None:
    table = pd.DataFrame({"depth": [80.0, 90.0], "ground.temperature": [9.0, 12.0]}, index=[7, 9])
    found = ld.Study(design, cases=table).run(1)
    assert found["margin_K"].dims == ("case",)
    assert found["depth"].dims == ("case",)
    run = design.replace(
        ground=design.ground.replace(temperature=12.0),
        ground_side=design.ground_side.replace(bore=design.ground_side.bores[0].replace(depth=90.0)),
    ).run(1)
    assert_array_equal(found["entering_fluid_mean_degC"][1], run.yearly["entering_fluid_mean_degC"])


def test_what_cannot_be_run_is_a_row_with_its_reason(design: ld.Design, grid: xr.Dataset) -> None:
    found = ld.Study(
        design,
        vary={"spacing": [0.0, 4.0], "depth": [80.0], "ground.conductivity": [1.5, 2.0]},
    ).run(1)
    bad = found.sel(spacing=0.0)
    assert bad["entering_fluid_min_degC"].isnull().all()  # noqa: PD003
    assert all(text.startswith("BoreField.spacing = 0.0 m") for text in bad["failure"].to_numpy().ravel())
    good = found.sel(spacing=4.0, depth=80.0)
    assert (good["failure"] == "").all()
    same = grid.sel({"spacing": 4.0, "bore.depth": 80.0, "ground.conductivity": [1.5, 2.0]})
    assert_array_equal(good["electricity_kWh"], same["electricity_kWh"])


def test_limits_that_cannot_hold(design: ld.Design) -> None:
    """One is broken all the time, one is no limit at all, and one fluid freezes."""
    found = ld.Study(design, vary={"limits.entering_fluid_min": [25.0, 40.0]}).run(1)
    assert found["margin_K"][0] < -15.0
    assert found["hours_outside_limits"][0] == found["hours_running"][0]
    assert found["failure"][1].item().startswith("Limits.entering_fluid_min = 40 degC: must be below")
    frozen = ld.Study(design, cases=[{"ground.temperature": -4.0}, {"ground.temperature": 10.0}]).run(1)
    assert "must be below the leaving fluid temperature" in frozen["failure"][0].item()
    assert frozen["entering_fluid_min_degC"].isnull().to_numpy().tolist() == [[True], [False]]  # noqa: PD003
    assert frozen["margin_K"][0] < -5.0 and frozen["failure"][1] == ""


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        ({"ground.conductivty": [1.0]}, "did you mean 'ground.conductivity'"),
        ({"ground_side.bore.deep": [1.0]}, "did you mean 'ground_side.bore.depth'"),
        ({"depth": ["80 kg"]}, "Bore.depth = 80 kg: must be a number with a unit like m"),
        ({"depth": [float("nan")]}, "Bore.depth = nan m: must be a finite number"),
        ({"depth": 80.0}, "must be a list of values"),
        ({"depth": "80"}, "must be a list of values"),
        ({"depth": []}, "must vary at least one thing"),
        ({}, "must vary at least one thing"),
        ({"depth": [80.0], "bore.depth": [90.0]}, "must be named once only"),
    ],
)
def test_a_study_that_makes_no_sense_is_refused(design: ld.Design, vary: dict, said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        ld.Study(design, vary=vary)
    assert said in str(refusal.value)


def test_other_refusals(design: ld.Design, tmp_path: Path) -> None:
    study = ld.Study(design, vary={"depth": [80.0]})
    for arguments in ({"years": 0}, {"progress": 3}):
        with pytest.raises(ld.InvalidInput):
            study.run(**{"years": 1, **arguments})
    for arguments in ({}, {"vary": {"depth": [1.0]}, "cases": []}):
        with pytest.raises(ld.InvalidInput, match="exactly one of"):
            ld.Study(design, **arguments)
    with pytest.raises(ld.InvalidInput, match="the same names"):
        ld.Study(design, cases=[{"depth": 80.0}, {"spacing": 5.0}])
    two_pipes = ld.Bore(
        depth=80.0,
        buried_depth=2.0,
        diameter=0.15,
        grout_conductivity=1.5,
        pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07),
    )
    built = design.replace(ground_side=design.ground_side.replace(bore=two_pipes))
    with pytest.raises(ld.InvalidInput, match=r"could be any of .*ground\.conductivity"):
        ld.Study(built, vary={"conductivity": [2.0]})
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(ld.InvalidInput, match="must be empty, or hold this study"):
        study.run(1, store=tmp_path)


def test_progress_counts_cases(design: ld.Design, grid: xr.Dataset, small_portions: None) -> None:
    told: list[int] = []
    found = ld.Study(design, vary=GRID).run(1, progress=told.append)
    assert told == sorted(told) and told[-1] == 18
    assert_same(found, grid)


def test_a_stored_study_goes_on_and_is_a_table(
    design: ld.Design,
    grid: xr.Dataset,
    small_portions: None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    study = ld.Study(design, vary=GRID)
    assert_same(study.run(1, store=tmp_path), grid)
    table = pd.read_parquet(tmp_path)
    assert len(table) == 18 and set(GRID) < set(table.columns)
    row = table[
        (table["spacing"] == 6.0) & (table["bore.depth"] == 80.0) & (table["ground.conductivity"] == 2.0)
    ]
    chosen = grid.sel({"spacing": 6.0, "bore.depth": 80.0, "ground.conductivity": 2.0})
    assert row["electricity_kWh"].item() == chosen["electricity_kWh"].item()

    def must_not_run(*_: object) -> None:
        raise AssertionError("nothing is left to run")

    with monkeypatch.context() as patch:
        patch.setattr(plan.Portion, "run", must_not_run)
        assert_same(study.run(1, store=tmp_path), grid)
    for other in (
        ld.Study(design, vary={**GRID, "spacing": [4.0, 6.0, 9.5]}),
        ld.Study(design, vary={"depth": [9.0]}),
    ):
        with pytest.raises(ld.InvalidInput, match="holds another study"):
            other.run(1, store=tmp_path)
    with pytest.raises(ld.InvalidInput, match="holds another study"):
        study.run(2, store=tmp_path)


def test_failures_are_stored_too(design: ld.Design, tmp_path: Path) -> None:
    for name, spacings in (("some", [0.0, 5.0]), ("all", [0.0, 0.1])):
        study = ld.Study(design, vary={"spacing": spacings})
        found = study.run(1, store=tmp_path / name)
        assert_same(study.run(1, store=tmp_path / name), found)
        assert found["failure"][0].item().startswith("BoreField.spacing = 0.0 m")
        assert found["deciding_limit"][0] == ""


def test_ctrl_c_keeps_what_is_finished(
    design: ld.Design, grid: xr.Dataset, small_portions: None, tmp_path: Path
) -> None:
    def interrupt(done: int) -> None:
        if done >= 6:
            raise KeyboardInterrupt

    study = ld.Study(design, vary=GRID)
    with pytest.raises(KeyboardInterrupt) as stop:
        study.run(1, store=tmp_path, progress=interrupt)
    kept = stop.value.dataset
    ran = (kept["failure"] == "").to_numpy()
    assert 3 <= ran.sum() <= 6 and f"{ran.sum()} of 18 cases" in str(stop.value)
    assert set(kept["failure"].to_numpy()[~ran]) == {"not run: the study was stopped"}
    assert_array_equal(kept["electricity_kWh"].to_numpy()[ran], grid["electricity_kWh"].to_numpy()[ran])
    assert_same(study.run(1, store=tmp_path), grid)


def test_a_full_disk_loses_nothing(
    design: ld.Design,
    grid: xr.Dataset,
    small_portions: None,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The disk takes the study's name and two portions, then half of a file."""
    synced = 0

    def sync(descriptor: int) -> None:
        nonlocal synced
        synced += 1
        if synced > 6:
            os.ftruncate(descriptor, 100)
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    study = ld.Study(design, vary=GRID)
    with monkeypatch.context() as patch:
        patch.setattr(store.os, "fsync", sync)
        with pytest.raises(OSError, match="No space left"):
            study.run(1, store=tmp_path)
    finished = {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    assert len(finished) == 3 and "_study.json" in finished
    assert_same(study.run(1, store=tmp_path), grid)
    assert finished.items() < {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()}.items()


def test_killed_again_and_again(
    design: ld.Design, grid: xr.Dataset, small_portions: None, tmp_path: Path
) -> None:
    """The process dies after each portion or in the middle of the next; ten times at most."""
    design.write(tmp_path / "house.toml")
    folder = tmp_path / "cases"
    script = SCRIPT + "    study.run(1, store=folder, progress=lambda done: time.sleep(0.02))\n"
    command = [sys.executable, "-c", "import time" + script, tmp_path / "house.toml", folder, repr(GRID)]
    seen: dict[str, tuple[int, int]] = {}
    killed = 0
    for _ in range(10):
        with subprocess.Popen(command) as process:
            while process.poll() is None and len(list(folder.glob("cases-*"))) <= len(seen):
                time.sleep(0.001)
            killed += process.poll() is None
            process.send_signal(signal.SIGKILL)
        now = {path.name: (path.stat().st_ino, path.stat().st_mtime_ns) for path in folder.glob("cases-*")}
        assert seen.items() <= now.items(), "what was finished is neither lost nor run again"
        seen = now
        if len(seen) == 6:
            break
    assert killed >= 4
    assert_same(ld.Study(ld.Design.read(tmp_path / "house.toml"), vary=GRID).run(1, store=folder), grid)


def test_a_killed_worker_costs_nothing(design: ld.Design, grid: xr.Dataset, tmp_path: Path) -> None:
    """Two worker processes on loopback, one of which is killed when a third of the portions are done."""
    design.write(tmp_path / "house.toml")
    script = (
        "import os, signal, pickle\n"
        + SCRIPT
        + """
    from dask.distributed import Client, LocalCluster
    options = {"host": "127.0.0.1", "dashboard_address": None, "n_workers": 2, "threads_per_worker": 1}
    with LocalCluster(**options) as cluster, Client(cluster) as client:
        workers = client.run(os.getpid)
        victims = list(workers.values())
        def kill(done):
            if done >= 6 and victims:
                os.kill(victims.pop(), signal.SIGKILL)
                victims.clear()
        dataset = study.run(1, client=client, progress=kill)
        assert not victims and len(workers) == 2
        with open(folder, "wb") as file:
            pickle.dump(dataset, file)
"""
    )
    file = tmp_path / "study.py"
    file.write_text(script)
    arguments = [sys.executable, file, tmp_path / "house.toml", tmp_path / "found", repr(GRID)]
    environment = {**os.environ, "DASK_DISTRIBUTED__LOGGING__DISTRIBUTED": "critical"}
    done = subprocess.run(arguments, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert_same(pd.read_pickle(tmp_path / "found"), grid)


def test_any_number_of_threads_gives_the_same_bits(
    design: ld.Design, small_portions: None, tmp_path: Path
) -> None:
    design.write(tmp_path / "house.toml")
    script = SCRIPT + "    study.run(1, store=folder)\n"
    here, there = tmp_path / "here", tmp_path / "there"
    arguments = [sys.executable, "-c", script, tmp_path / "house.toml", there, repr(GRID)]
    subprocess.run(arguments, env={**os.environ, "RAYON_NUM_THREADS": "5"}, check=True)
    ld.Study(ld.Design.read(tmp_path / "house.toml"), vary=GRID).run(1, store=here)
    first, second = ({path.name: path.read_bytes() for path in folder.iterdir()} for folder in (here, there))
    assert len(first) == 7 and first == second


def test_the_identity_knows_every_input(design: ld.Design, tmp_path: Path) -> None:
    def identity(design: ld.Design, vary: dict, years: int = 1) -> str:
        folder = tmp_path / str(len(list(tmp_path.iterdir())))
        ld.Study(design, vary=vary).run(years, store=folder)
        return json.loads((folder / "_study.json").read_text())["identity"]

    base = identity(design, {"depth": [80.0]})
    assert identity(design, {"depth": ["80 m"]}) == base
    louder = ld.Loads(heating=design.loads.heating + 1e-9, cooling=design.loads.cooling)
    others = [
        identity(design, {"depth": [80.0 + 1e-9]}),
        identity(design, {"bore.depth": [80.0]}),
        identity(design, {"depth": [80.0]}, years=2),
        identity(design.replace(loads=louder), {"depth": [80.0]}),
        identity(design.replace(pump_power=1.0), {"depth": [80.0]}),
    ]
    assert len({base, *others}) == 6
