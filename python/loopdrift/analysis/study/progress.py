"""The number of cases done, portion by portion."""

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
        self._done = 0
        self._tell = tell or (lambda done: None)

    def within(self, more: int) -> None:
        """Report cases done within an unfinished portion."""
        self._tell(self._done + more)

    def add(self, more: int) -> None:
        """Report a finished portion."""
        self._done += more
        self._tell(self._done)
