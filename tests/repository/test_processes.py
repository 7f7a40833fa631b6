"""Processes and threads beside each other: none hangs, all find the same."""

import multiprocessing
import os
import shutil
import subprocess
import sys
import threading
import warnings
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor

import numpy as np
import pytest
import xarray as xr
from numpy.testing import assert_array_equal

import loopdrift as ld

TIMES = 3600.0 * np.geomspace(1.0, 1e5, 12)
LONGEST = 60.0  # s; what hangs fails after this

# Python warns of any fork beside threads.
pytestmark = pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")


@pytest.fixture(scope="module")
def study(design):
    """Cases of several fields, whose responses are found on all cores."""
    return ld.Study(design, vary={"spacing": [5.0, 6.0, 7.0], "depth": [90.0, 110.0]})


@pytest.fixture(scope="module")
def expected(study):
    return study.run(1)


def found_by_a_child(work):
    """Return what a forked process finds, as bytes; a process that doesn't end is killed."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.write(writer, work())
            code = 0
        finally:
            os._exit(code)
    os.close(writer)
    killer = threading.Timer(LONGEST, os.kill, (child, 9))
    killer.start()
    with open(reader, "rb") as file:
        found = file.read()
    _, status = os.waitpid(child, 0)
    killer.cancel()
    assert os.waitstatus_to_exitcode(status) == 0
    return found


@pytest.mark.parametrize("method", ["fork", "spawn", "forkserver"])
def test_a_process_started_after_use_works(study, expected, method):
    context = multiprocessing.get_context(method)
    with ProcessPoolExecutor(2, context) as executor:
        xr.testing.assert_identical(study.run(1, client=executor), expected)


def test_a_process_forked_during_a_run_works(design, expected):
    own = design.run(1).yearly["electricity_kWh"].to_numpy().tobytes()
    found = []

    def fork(hours):
        if not found:
            found.append(
                found_by_a_child(lambda: design.run(1).yearly["electricity_kWh"].to_numpy().tobytes())
            )

    design.run(40, progress=fork)
    assert found == [own]


def test_processes_forked_beside_busy_threads_work(design):
    field = design.ground_side
    own = field.g_function(design.ground, TIMES).tobytes()
    done = threading.Event()

    def busy(years):
        while not done.is_set():
            design.replace(flow=0.5 + 0.001 * years).run(years)

    with ThreadPoolExecutor(2) as threads:
        working = [threads.submit(busy, years) for years in (1, 2)]
        try:
            for years in range(3, 9):  # each horizon is new to parent and child
                child = found_by_a_child(
                    lambda years=years: design.run(years) and field.g_function(design.ground, TIMES).tobytes()
                )
                assert child == own
        finally:
            done.set()
        assert [each.result(LONGEST) for each in working] == [None, None]


def test_a_child_of_a_child_works(design):
    field = design.ground_side
    own = field.g_function(design.ground, TIMES).tobytes()

    def grandchild():
        assert field.g_function(design.ground, TIMES).tobytes() == own
        return found_by_a_child(lambda: field.g_function(design.ground, TIMES).tobytes())

    assert found_by_a_child(grandchild) == own


def test_threads_share_a_store(study, expected, tmp_path):
    with ThreadPoolExecutor(8) as threads:
        for round in range(5):
            runs = [threads.submit(study.run, 1, store=tmp_path / str(round)) for _ in range(8)]
            for each in runs:
                xr.testing.assert_identical(each.result(LONGEST), expected)


def run_as_number_one(study, store):
    os.getpid = lambda: 1
    return study.run(1, store=store)


def test_processes_of_the_same_number_share_a_store(study, expected, tmp_path):
    """As in containers, whose processes all have the number 1."""
    with ProcessPoolExecutor(4, multiprocessing.get_context("fork")) as executor:
        for round in range(3):
            runs = [executor.submit(run_as_number_one, study, tmp_path / str(round)) for _ in range(4)]
            for each in runs:
                assert_array_equal(each.result(LONGEST)["margin_K"], expected["margin_K"])


APART = ["unshare", "--pid", "--fork"]
"""Runs a command as the first process of its own, as a container or another machine does."""


@pytest.mark.skipif(
    not shutil.which("unshare") or subprocess.run([*APART, "true"], capture_output=True).returncode != 0,
    reason="processes may not get numbers of their own",
)
def test_two_machines_share_a_store(design, expected, tmp_path):
    design.write(tmp_path / "design.toml")
    script = (
        "import os, sys, loopdrift as ld\n"
        f"design = ld.Design.read({str(tmp_path / 'design.toml')!r})\n"
        "study = ld.Study(design, vary={'spacing': [5.0, 6.0, 7.0], 'depth': [90.0, 110.0]})\n"
        f"study.run(1, store={str(tmp_path / 'store')!r})\n"
        "print(os.getpid())\n"
    )
    apart = [*APART, sys.executable, "-c", script]
    both = [subprocess.Popen(apart, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    assert [each.communicate(timeout=4 * LONGEST) for each in both] == [(b"1\n", b"")] * 2
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # such as of a damaged portion
        found = ld.Study(
            ld.Design.read(tmp_path / "design.toml"),
            vary={"spacing": [5.0, 6.0, 7.0], "depth": [90.0, 110.0]},
        ).run(1, store=tmp_path / "store")
    assert_array_equal(found["margin_K"], expected["margin_K"])


def test_an_interrupt_is_answered_at_once():
    """The response of a million bores takes many seconds: none of them is waited for, and the work ends."""
    script = (
        "import signal, sys, threading, time, numpy as np, loopdrift as ld\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)\n"
        "field = ld.BoreField.grid(bore, columns=1000, rows=1000, spacing=6.0)\n"
        "ground = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)\n"
        "interrupt = lambda: (print(time.monotonic()), signal.raise_signal(signal.SIGINT))\n"
        "threading.Timer(2.0, interrupt).start()\n"
        "try:\n"
        "    field.g_function(ground, [3.6e6, 1e9])\n"
        "except KeyboardInterrupt:\n"
        "    print(time.monotonic())\n"
        "used = time.process_time()\n"
        "before = -1.0\n"
        "while time.process_time() > before + 0.02:\n"
        "    before = time.process_time()\n"
        "    time.sleep(0.2)\n"
        "print(before - used, flush=True)\n"
        "sys.exit(130)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=LONGEST)
    assert done.returncode == 130, done.stderr
    sent, answered, worked_on = map(float, done.stdout.split())
    assert answered - sent < 1.0
    assert worked_on < 1.0
