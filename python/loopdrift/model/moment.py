"""Hours of a run in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.basics.model_time import MONTHS, date_of

if TYPE_CHECKING:
    from loopdrift.model.design import Design


def moment(design: Design, year: int | None, hour: int | None) -> str:
    """Return year and hour of a run in words, such as ``year 20, 3 February, 07:00 to 08:00``."""
    if year is None:
        return "all years"
    if hour is None:
        return f"year {year}"
    month, day, begin = date_of(hour, design.start_month)
    return f"year {year}, {day} {MONTHS[month - 1]}, {begin:02d}:00 to {begin + 1:02d}:00"


def end_of_hour(design: Design, hour: int) -> str:
    """Return the end of an hour of the year in words, such as ``3 February, 08:00``."""
    month, day, begin = date_of(hour, design.start_month)
    return f"{day} {MONTHS[month - 1]}, {begin + 1:02d}:00"
