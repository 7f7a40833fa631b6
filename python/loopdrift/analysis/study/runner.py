"""Portions of a study, run here or elsewhere and a few at a time, and stored as they finish."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import closing
from itertools import islice
from typing import Any

from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.portion import Found, run_portion
from loopdrift.analysis.study.progress import Counter
from loopdrift.analysis.study.store import Store

_AT_ONCE = 3
"""Portions under way in this process: while the last cases of one run, the next keeps the other cores busy,
and a third is made or stored."""

_WAITING = 2
"""Portions sent out for each worker: one that it runs, and one for when it has finished."""

_INTERVAL = 0.05
"""Time between two reports of progress [s]."""


def run_all(
    plan: Plan, files: Store | None, cache: str | None, client: Any, counter: Counter
) -> Iterator[Found]:
    """Yield the results of each portion: stored portions first, then the others as they finish.

    Parameters
    ----------
    plan : Plan
        The study.
    files : Store or None
        Where finished portions are kept.
    cache : str or None
        Folder in which step responses are cached.
    client : dask.distributed.Client, concurrent.futures.Executor or None
        Where to run; None for this process.
    counter : Counter
        Counts the cases.
    """
    left: list[int] = []
    for number in range(plan.portions):
        stored = None if files is None else files.read(number, plan.cases(number))
        if stored is None:
            left.append(number)
        else:
            counter.finish(number, len(stored.cases))
            yield stored
    ran = (
        _here(plan, left, cache, counter)
        if client is None
        else _elsewhere(plan, left, cache, client, counter)
    )
    with closing(ran):
        for number, found in ran:
            if files is not None:
                files.write(number, found)
            counter.finish(number, len(found.cases))
            yield found


def _here(
    plan: Plan, numbers: Iterable[int], cache: str | None, counter: Counter
) -> Generator[tuple[int, Found]]:
    """Run in threads of this process, which share the engine's cores."""
    stopped = threading.Event()

    def run(number: int) -> Found:
        def note(done: int) -> None:
            if stopped.is_set():
                raise _Stopped
            counter.note(number, done)

        return plan.portion(number, cache).run(note)

    with ThreadPoolExecutor(_AT_ONCE) as threads:
        try:
            yield from _as_they_finish(lambda number: threads.submit(run, number), numbers, _AT_ONCE, counter)
        finally:
            stopped.set()


def _elsewhere(
    plan: Plan, numbers: Iterable[int], cache: str | None, client: Any, counter: Counter
) -> Generator[tuple[int, Found]]:
    """Run on the workers of an executor, or of a client that provides one."""
    executor = client.get_executor() if hasattr(client, "get_executor") else client

    def submit(number: int) -> Future[Found]:
        future: Future[Found] = executor.submit(run_portion, plan.portion(number, cache))
        return future

    return _as_they_finish(submit, numbers, _WAITING * _workers(client), counter)


def _as_they_finish(
    submit: Callable[[int], Future[Found]], numbers: Iterable[int], room: int, counter: Counter
) -> Generator[tuple[int, Found]]:
    """Submit a few portions at a time and yield each when it has finished; report progress meanwhile."""
    left = iter(numbers)
    sent: dict[Future[Found], int] = {}
    try:
        while True:
            for number in islice(left, room - len(sent)):
                sent[submit(number)] = number
            if not sent:
                return
            finished, _ = wait(sent, timeout=_INTERVAL, return_when=FIRST_COMPLETED)
            counter.report()
            for future in finished:
                yield sent.pop(future), future.result()
    finally:
        for future in sent:
            future.cancel()


class _Stopped(Exception):
    """Ends a portion that nobody waits for."""


def _workers(client: Any) -> int:
    """Return the number of tasks that a client or an executor runs at once, at least 1."""
    if hasattr(client, "nthreads"):
        return max(1, int(sum(client.nthreads().values())))
    return max(1, int(getattr(client, "_max_workers", None) or os.cpu_count() or 1))
