"""Values by hour and day of the week."""

from __future__ import annotations

import dataclasses
import math
import reprlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias, overload

import numpy as np

from loopdrift.basics.errors import InvalidInput, kept, raise_all
from loopdrift.basics.model_time import HOURS_PER_DAY, HOURS_PER_WEEK
from loopdrift.basics.units import to_si
from loopdrift.basics.words import Shown

Day: TypeAlias = float | str | Sequence[float | str] | Mapping[int | str, float | str]


@dataclass(frozen=True)
class Week(Shown):
    """A week that repeats all year; 1 January is a Monday, and there is no daylight saving time.

    Each day is one value for all hours, 24 values, or a mapping from hours to the values that apply from then
    until the next hour listed, across midnight: ``{6: 20.0, 22: 17.0}`` is 20 by day and 17 from 22:00 to
    6:00.

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
        If a day doesn't have 24 values, or has an hour outside 0 to 23.

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
        faults: list[InvalidInput] = []
        for name in ("working_day", "saturday", "sunday"):
            day = getattr(self, name)
            if isinstance(day, np.ndarray):
                day = day.tolist()
                object.__setattr__(self, name, day)
            with kept(faults):
                _check_hours(day, name)
        raise_all(faults)

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
            If a value isn't a number in that unit; with all of them.
        """
        faults: list[InvalidInput] = []

        def number(value: float | str) -> float:
            with kept(faults):
                return to_si(value, unit, owner=owner, field=field)
            return math.nan

        def hours_of(day: Day) -> list[float]:
            if isinstance(day, Mapping):
                starts = _starts(day, field)
                values = [number(day[key]) for _, key in starts]
                hours = [hour for hour, _ in starts]
                # Before the day's first hour listed, the last value of the evening before applies.
                return [values[sum(start <= hour for start in hours) - 1] for hour in range(HOURS_PER_DAY)]
            if isinstance(day, str) or not isinstance(day, Sequence):
                return [number(day)] * HOURS_PER_DAY
            return [number(value) for value in day]

        working_day = hours_of(self.working_day)
        saturday = working_day if self.saturday is None else hours_of(self.saturday)
        sunday = saturday if self.sunday is None else hours_of(self.sunday)
        raise_all(faults)
        return [*(working_day * 5), *saturday, *sunday]


class Weekly:
    """Values of a part by hour of the week; the part calls `check_all` when all its fields are set.

    Accepts a number or text with a unit for all hours, a `Week`, or a mapping: the days of a week, or the
    values of a day by the hour from which they apply. Returns the week.

    Parameters
    ----------
    unit : str
        The unit of its values.
    default : float, optional
        The value of all hours if none is given; without a default there is no week.
    """

    def __init__(self, unit: str, default: float | None = None) -> None:
        self.unit = unit
        self._default = default

    def __set_name__(self, owner: type, name: str) -> None:
        self._owner = owner.__name__
        self._name = name

    @overload
    def __get__(self, part: None, owner: type) -> float | None: ...
    @overload
    def __get__(self, part: object, owner: type) -> Week | None: ...
    def __get__(self, part: object | None, owner: type) -> float | Week | None:
        if part is None:
            return self._default
        week: Week | None = part.__dict__[self._name]
        return week

    def __set__(self, part: object, value: float | str | Week | Mapping[Any, Any] | None) -> None:
        part.__dict__[self._name] = value

    @classmethod
    def of(cls, part: object) -> dict[str, Weekly]:
        """Return the fields of a part that hold a week, by name."""
        return {name: field for name, field in vars(type(part)).items() if isinstance(field, cls)}

    @classmethod
    def check_all(cls, part: object) -> None:
        """Turn what was given for the weeks of a part into weeks.

        Raises
        ------
        InvalidInput
            If a day has other than 24 hours or an unknown one, or a value isn't a number in the unit; with
            the faults of all weeks.
        """
        faults: list[InvalidInput] = []
        for name, weekly in cls.of(part).items():
            with kept(faults):
                part.__dict__[name] = weekly._week(part.__dict__[name])
                weekly.hours(part)
        raise_all(faults)

    def _week(self, given: float | str | Week | Mapping[Any, Any] | None) -> Week | None:
        """Return what was given as a week."""
        if given is None or isinstance(given, Week):
            return given
        try:
            return _from_days(given) if isinstance(given, Mapping) else Week(given)
        except InvalidInput as error:
            raise_all(
                [
                    InvalidInput(
                        self._owner, f"{self._name}.{each.field}", each.value, each.unit, each.allowed
                    )
                    for each in (error, *error.others)
                ]
            )
            raise

    def default_hours(self) -> list[float] | None:
        """Return the values of the 168 hours of a week that isn't given."""
        return None if self._default is None else [self._default] * HOURS_PER_WEEK

    def hours(self, part: object) -> list[float] | None:
        """Return the values of a part's week, from Monday 00:00.

        Parameters
        ----------
        part : object
            The part.

        Raises
        ------
        InvalidInput
            If a value isn't a number in the unit.
        """
        week: Week | None = part.__dict__[self._name]
        return None if week is None else week.hours(self.unit, owner=self._owner, field=self._name)


def _check_hours(day: Any, name: str) -> None:
    """Refuse a day that is neither one value nor 24, nor values by hours from 0 to 23."""
    if isinstance(day, Mapping):
        _starts(day, name)
    elif np.ndim(day) > 0 and np.shape(day) != (HOURS_PER_DAY,):
        allowed = f"must be one value, {HOURS_PER_DAY}, or values by hour"
        raise InvalidInput("Week", name, reprlib.repr(day), "", allowed)


def _from_days(given: Mapping[Any, Any]) -> Week:
    """Return a week given by its days, or by the hours of one day for all."""
    days = [field.name for field in dataclasses.fields(Week)]
    if not any(day in given for day in days):
        return Week(given)
    for day in given:
        if day not in days:
            raise InvalidInput("Week", day, repr(given[day]), "", f"must be one of {', '.join(days)}")
    if days[0] not in given:
        raise InvalidInput("Week", days[0], "nothing", "", "must be given")
    return Week(**given)


def _starts(day: Mapping[int | str, float | str], name: str) -> list[tuple[int, int | str]]:
    """Return the hours listed for a day, in order, each with its key; the keys of design files are text."""
    hours = {str(hour): hour for hour in range(HOURS_PER_DAY)}
    wrong = [key for key in day if isinstance(key, bool) or str(key) not in hours]
    if wrong or not day:
        raise InvalidInput(
            "Week", name, repr(wrong[0]) if wrong else "nothing", "", "must have hours from 0 to 23"
        )
    return sorted((hours[str(key)], key) for key in day)
