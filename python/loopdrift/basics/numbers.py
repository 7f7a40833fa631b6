"""The one place that checks a number against its range."""

from __future__ import annotations

import operator
from typing import Any, NamedTuple

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput, shown


class Range(NamedTuple):
    """Range of a number that a constructor takes.

    In the annotation of a parameter, it lets the reader of design files check the number, or each number of a
    list, also while other parts of the file are faulty.

    Parameters
    ----------
    unit : str, default ""
        Unit in which the number is kept.
    least, most, above : float, optional
        Ends of the range, in `unit`; `above` itself is excluded.
    """

    unit: str = ""
    least: float | None = None
    most: float | None = None
    above: float | None = None

    def of(self, value: Any, *, owner: str, field: str) -> float:
        """Return a number that is within the range; see `number_within`."""
        least, most, above = self.least, self.most, self.above
        return number_within(value, self.unit, owner=owner, field=field, least=least, most=most, above=above)


class WholeRange(NamedTuple):
    """Range of a whole number that a constructor takes; see `Range`.

    Parameters
    ----------
    least : int
        The least value.
    most : int, optional
        The greatest value.
    """

    least: int
    most: int | None = None

    def of(self, value: Any, *, owner: str, field: str) -> int:
        """Return a whole number that is within the range; see `whole_number`."""
        return whole_number(value, self.least, self.most, owner=owner, field=field)


def number_within(
    value: Any,
    unit: str,
    *,
    owner: str,
    field: str,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
) -> float:
    """Return a number, or text with a unit, as a number in `unit` that is within its range.

    Parameters
    ----------
    value : float or str
        The number.
    unit : str
        The unit of the result and of the range.
    owner, field : str
        What the value belongs to, for the message.
    least, most, above : float, optional
        Ends of the range, in `unit`; `above` itself is excluded.

    Raises
    ------
    InvalidInput
        If it is not a finite number, has a unit of another kind or is outside its range.
    """
    found = units.to_si(value, unit, owner=owner, field=field)
    require_within(found, unit, owner=owner, field=field, least=least, most=most, above=above)
    return found


def require_within(
    value: float,
    unit: str,
    *,
    owner: str,
    field: str,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
) -> None:
    """Refuse a number outside its range, or one that is NaN; see `number_within`.

    Raises
    ------
    InvalidInput
        If it is outside its range.
    """
    ends = []
    if least is not None and most is not None:
        ends.append((least <= value <= most, f"from {least:g} to {most:g}"))
    else:
        if above is not None:
            ends.append((value > above, f"above {above:g}"))
        if least is not None:
            ends.append((value >= least, f"at least {least:g}"))
        if most is not None:
            ends.append((value <= most, f"at most {most:g}"))
    if not all(holds for holds, _ in ends):
        allowed = f"must be {' and '.join(words for _, words in ends)} {unit}".rstrip()
        raise InvalidInput(owner, field, value, unit, allowed)


def whole_number(
    value: Any, least: int, most: int | None = None, *, owner: str, field: str, what: str = ""
) -> int:
    """Return a whole number within its range, as an int.

    Parameters
    ----------
    value : int
        The number; True and False are refused.
    least : int
        The least value accepted.
    most : int, optional
        The greatest value accepted.
    owner, field : str
        What the value belongs to, for the message.
    what : str, optional
        Explanation of the range, for the message.

    Raises
    ------
    InvalidInput
        If it is not a whole number, or is outside its range.
    """
    try:
        found = operator.index(value)
    except TypeError:
        found = least - 1
    if isinstance(value, bool) or found < least or (most is not None and found > most):
        to = "" if most is None else f" to {most}"
        allowed = f"must be a whole number from {least}{to}{f', {what}' if what else ''}"
        raise InvalidInput(owner, field, shown(value), "", allowed)
    return found
