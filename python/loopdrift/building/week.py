"""Values by hour and day of the week."""

from __future__ import annotations

import reprlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from loopdrift.errors import InvalidInput
from loopdrift.units import to_si

HOURS_PER_DAY = 24

Day: TypeAlias = float | str | Sequence[float | str] | Mapping[int | str, float | str]


@dataclass(frozen=True)
class Week:
    """A week that repeats all year; 1 January is a Monday, and clocks have no summer time.

    Each day is one value for all its hours, 24 values, or values by the hour from which they hold until the
    next that is named, around midnight: ``{6: 20.0, 22: 17.0}`` is 20 by day and 17 from 22:00 to 6:00.

    Parameters
    ----------
    working_day : float or str or sequence or mapping
        Monday to Friday.
    saturday : float or str or sequence or mapping, optional
        Saturday; as on a working day unless given.
    sunday : float or str or sequence or mapping, optional
        Sunday; as on Saturday unless given.

    Raises
    ------
    InvalidInput
        If a day has not 24 values, or names hours that it hasn't.

    Examples
    --------
    >>> set_back = Week({6: "68 degF", 22: "62 degF"})
    >>> hours = set_back.hours("degC", owner="Building", field="heating_set_point")
    >>> [round(value, 2) for value in hours[5:7]]
    [16.67, 20.0]
    """

    working_day: Day
    saturday: Day | None = None
    sunday: Day | None = None

    def __post_init__(self) -> None:
        for name in ("working_day", "saturday", "sunday"):
            day = getattr(self, name)
            if isinstance(day, np.ndarray):
                day = day.tolist()
                object.__setattr__(self, name, day)
            if isinstance(day, Mapping):
                _starts(day, name)
            elif np.ndim(day) > 0 and np.shape(day) != (HOURS_PER_DAY,):
                allowed = f"must be one value, {HOURS_PER_DAY}, or values by hour"
                raise InvalidInput("Week", name, reprlib.repr(day), "", allowed)

    def hours(self, unit: str, *, owner: str, field: str) -> list[float]:
        """Return the values of the week's 168 hours from Monday 00:00.

        Parameters
        ----------
        unit : str
            The unit in which they are returned.
        owner, field : str
            What the values belong to, for the message.

        Raises
        ------
        InvalidInput
            If a value is no number in that unit.
        """
        saturday = self.working_day if self.saturday is None else self.saturday
        sunday = saturday if self.sunday is None else self.sunday

        def hours_of(day: Day) -> list[float]:
            if isinstance(day, Mapping):
                starts = _starts(day, field)
                values = [to_si(day[key], unit, owner=owner, field=field) for _, key in starts]
                hours = [hour for hour, _ in starts]
                # Before the first that is named holds the last, from the evening before.
                return [values[sum(start <= hour for start in hours) - 1] for hour in range(HOURS_PER_DAY)]
            if isinstance(day, str) or not isinstance(day, Sequence):
                return [to_si(day, unit, owner=owner, field=field)] * HOURS_PER_DAY
            return [to_si(value, unit, owner=owner, field=field) for value in day]

        return [*(hours_of(self.working_day) * 5), *hours_of(saturday), *hours_of(sunday)]


def _starts(day: Mapping[int | str, float | str], name: str) -> list[tuple[int, int | str]]:
    """Return the hours that a day names, in order, each with its key; a design file's keys are text."""
    hours = {str(hour): hour for hour in range(HOURS_PER_DAY)}
    wrong = [key for key in day if isinstance(key, bool) or str(key) not in hours]
    if wrong or not day:
        raise InvalidInput(
            "Week", name, repr(wrong[0]) if wrong else "nothing", "", "must name hours from 0 to 23"
        )
    return sorted((hours[str(key)], key) for key in day)
