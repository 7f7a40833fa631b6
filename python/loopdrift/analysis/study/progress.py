"""The number of cases done, on a progress bar or to a callback."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from loopdrift.basics.errors import InvalidInput

Progress = bool | Callable[[int], object]


class Counter:
    """Reports the number of cases done, on a progress bar or to a callback."""

    def __init__(self, progress: Progress, count: int) -> None:
        if not isinstance(progress, bool) and not callable(progress):
            allowed = "must be true, false or callable with a number of cases"
            raise InvalidInput("Study", "progress", repr(progress), "", allowed)
        self._done = 0
        self._bar: Any = None
        if callable(progress):
            self._tell: Callable[[int], object] = progress
        elif progress:
            from tqdm.auto import tqdm

            self._bar = tqdm(total=count, unit="case")
            self._tell = lambda done: self._bar.update(done - self._bar.n)
        else:
            self._tell = lambda done: None

    def __enter__(self) -> Counter:
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()

    def within(self, more: int) -> None:
        """Report cases done within an unfinished portion."""
        self._tell(self._done + more)

    def add(self, more: int) -> None:
        """Report a finished portion."""
        self._done += more
        self._tell(self._done)
