"""Two processes that run the same study into one folder."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
from numpy.testing import assert_array_equal

import loopdrift as ld
from loopdrift.analysis.study.store import label_of

DEPTHS = np.linspace(80.0, 120.0, 8).tolist()

SCRIPT = """
import sys
import loopdrift as ld
from loopdrift.analysis.study.planning import plan
plan.CASE_YEARS = 1
study = ld.Study(ld.Design.read(sys.argv[1]), vary={"depth": eval(sys.argv[3])})
print("ready", flush=True)
sys.stdin.readline()
found = study.run(1, store=sys.argv[2])
print(found["electricity_kWh"].to_numpy().tobytes().hex())
"""


def test_two_processes_share_a_store(design, tmp_path):
    design.write(tmp_path / "house.toml")
    folder = tmp_path / "cases"
    command = [sys.executable, "-c", SCRIPT, tmp_path / "house.toml", folder, repr(DEPTHS)]
    both = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    for process in both:
        assert process.stdout.readline() == "ready\n"
    for process in both:
        process.stdin.write("go\n")
        process.stdin.flush()
    found = [process.communicate()[0] for process in both]
    assert [process.returncode for process in both] == [0, 0]
    alone = ld.Study(ld.Design.read(tmp_path / "house.toml"), vary={"depth": DEPTHS}).run(1)
    for each in found:
        assert_array_equal(np.frombuffer(bytes.fromhex(each)), alone["electricity_kWh"].to_numpy().ravel())
    files = sorted(folder.iterdir())
    portions = [label_of(path.read_bytes()) for path in files if path.name != "_study.json"]
    assert len(files) == 9 and {study for study, _ in portions} == {portions[0][0]}
    assert sorted(number for _, number in portions) == list(range(8))
