"""Progress of long work: a bar, or a function of the caller's."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from loopdrift.basics.errors import InvalidInput

Progress = bool | Callable[[int], object]
"""Whether to show a progress bar, or a function that is called with the number of things done."""


class Reporting:
    """Reports how much of some work is done, while the work is under way.

    Parameters
    ----------
    progress : bool or callable
        Whether to show a progress bar, or a function called with the number done.
    owner : str
        Whose argument it is, for the message.
    unit : str
        What is counted, such as ``hour``.
    total : int, optional
        How many there are, if it is known.

    Raises
    ------
    InvalidInput
        If `progress` is neither true or false nor callable.
    """

    def __init__(self, progress: Progress, *, owner: str, unit: str, total: int | None = None) -> None:
        if not isinstance(progress, bool) and not callable(progress):
            allowed = f"must be true, false or callable with a number of {unit}s"
            raise InvalidInput(owner, "progress", repr(progress), "", allowed)
        self._bar: Any = None
        self.tell: Callable[[int], object] | None = progress if callable(progress) else None
        """Takes the number done; None if nobody asked."""
        if progress is True:
            from tqdm.auto import tqdm

            self._bar = tqdm(total=total, unit=unit)
            self.tell = lambda done: self._bar.update(done - self._bar.n)

    def __enter__(self) -> Callable[[int], object] | None:
        return self.tell

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()
