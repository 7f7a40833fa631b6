"""How a study uses the cores: time by number of threads, and the share of work that needs the interpreter.

Each study runs in a process of its own, over conductivity, ground temperature, depth and spacing of a field
of 6 x 6 bores. The engine's threads step the cases; planning, conversion and results need the interpreter,
which one thread at a time holds. Its share of the processor time bounds what more cores can give, and more
threads than cores show what switching costs. As many workers of dask.distributed as cores, with one thread
each, do the same work. Linux only.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys

from many_cases import DESIGN

STUDY = """
import json, sys, threading, time
from pathlib import Path
import pandas, xarray
cases, years, workers = map(int, sys.argv[1:])
client = None
if workers:
    from dask.distributed import Client, LocalCluster
    client = Client(LocalCluster(workers, host="127.0.0.1", threads_per_worker=1, dashboard_address=None))
ld.Study(design, samples=ld.Samples(unknown, count=16 * max(workers, 1))).run(years, client=client)

def of_engine():
    # Threads that Python didn't start, and that are not NumPy's.
    ticks, own = 0, {each.native_id for each in threading.enumerate()}
    for thread in Path("/proc/self/task").iterdir():
        if int(thread.name) not in own:
            ticks += sum(map(int, (thread / "stat").read_text().rsplit(")", 1)[1].split()[11:13]))
    return ticks / 100.0

def used():
    elsewhere = client.run(lambda: (time.process_time(), of_engine())).values() if workers else []
    return [time.perf_counter(), *map(sum, zip((time.process_time(), of_engine()), *elsewhere))]

before = used()
found = ld.Study(design, samples=ld.Samples(unknown, count=cases)).run(years, client=client)
after = used()
assert (found["failure"] == "").all()
print(json.dumps([end - start for start, end in zip(before, after)]))
"""


def main() -> None:
    """Print a row for each number of threads, and one for as many workers as cores."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=4000)
    parser.add_argument("--years", type=int, default=20)
    parser.add_argument("--threads", type=int, nargs="*", default=[1, 2, 4, 8])
    given = parser.parse_args()
    cores = len(os.sched_getaffinity(0))
    print(f"{given.cases} cases of {given.years} years on {cores} cores")
    print("| | time | processor time | outside the engine |\n| --- | ---: | ---: | ---: |")
    for threads in given.threads:
        print(row(f"threads: {threads}", given.cases, given.years, threads))
    print(row(f"dask.distributed, workers: {cores}", given.cases, given.years, 1, workers=cores))


def row(name: str, cases: int, years: int, threads: int, *, workers: int = 0) -> str:
    """Run a study in a process of its own, or with workers, and return a row of the table."""
    program = [sys.executable, "-c", DESIGN + STUDY, str(cases), str(years), str(workers)]
    environment = {**os.environ, "RAYON_NUM_THREADS": str(threads), "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(program, check=True, capture_output=True, text=True, env=environment)
    wall, processor, engine = json.loads(done.stdout)
    return f"| {name} | {wall:.1f} s | {processor:.2f} s | {1.0 - engine / processor:.2%} |"


if __name__ == "__main__":
    main()
