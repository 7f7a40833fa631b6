"""Portions of a study, run here or elsewhere and a few at a time, and stored as they finish."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from typing import Any

from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.portion import Found, run_portion
from loopdrift.analysis.study.progress import Counter
from loopdrift.analysis.study.store import Store

_WAITING = 2
"""Portions sent out for each worker: one that it runs, and one for when it has finished."""


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
            counter.add(len(stored.cases))
            yield stored
    ran = _here(plan, left, cache, counter) if client is None else _elsewhere(plan, left, cache, client)
    for number, found in ran:
        if files is not None:
            files.write(number, found)
        if client is not None:
            counter.add(len(found.cases))
        yield found


def _here(
    plan: Plan, numbers: Iterable[int], cache: str | None, counter: Counter
) -> Iterator[tuple[int, Found]]:
    for number in numbers:
        found = plan.portion(number, cache).run(counter.within)
        counter.add(len(found.cases))
        yield number, found


def _elsewhere(
    plan: Plan, numbers: Iterable[int], cache: str | None, client: Any
) -> Iterator[tuple[int, Found]]:
    """Run on the workers of an executor, or of a client that provides one, a few portions at a time."""
    from concurrent.futures import FIRST_COMPLETED, wait

    executor = client.get_executor() if hasattr(client, "get_executor") else client
    room = _WAITING * _workers(client)
    left = iter(numbers)
    sent: dict[Any, int] = {}
    try:
        while True:
            for number in left:
                sent[executor.submit(run_portion, plan.portion(number, cache))] = number
                if len(sent) >= room:
                    break
            if not sent:
                return
            finished, _ = wait(sent, return_when=FIRST_COMPLETED)
            for future in finished:
                number = sent.pop(future)
                yield number, future.result()
    finally:
        for future in sent:
            future.cancel()


def _workers(client: Any) -> int:
    """Return the number of tasks that a client or an executor runs at once, at least 1."""
    if hasattr(client, "nthreads"):
        return max(1, int(sum(client.nthreads().values())))
    return max(1, int(getattr(client, "_max_workers", None) or os.cpu_count() or 1))
