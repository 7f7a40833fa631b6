"""The number of cases done, over portions that run at the same time."""

from __future__ import annotations

from collections.abc import Callable


class Counter:
    """Counts the cases done, and reports them.

    Parameters
    ----------
    tell : callable or None
        Takes the number of cases done.
    """

    def __init__(self, tell: Callable[[int], object] | None) -> None:
        self._finished = 0
        self._under_way: dict[int, int] = {}
        self._tell = tell or (lambda done: None)

    def note(self, portion: int, done: int) -> None:
        """Note the cases done within an unfinished portion; may be called from any thread."""
        self._under_way[portion] = done

    def finish(self, portion: int, cases: int) -> None:
        """Count the cases of a finished portion, and report."""
        self._under_way.pop(portion, None)
        self._finished += cases
        self.report()

    def report(self) -> None:
        """Report the cases done in all portions."""
        self._tell(self._finished + sum(self._under_way.copy().values()))
