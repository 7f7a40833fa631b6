"""Hours of a run in words."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from loopdrift.model.design import Design

HOURS_PER_DAY = 24


def moment(design: Design, year: int, hour: int | None) -> str:
    """Return year and hour of a run in words, such as ``year 20, 3 February, 07:00 to 08:00``."""
    if hour is None:
        return f"year {year}"
    first_day = datetime.date(2001, design.start_month, 1)  # neither 2001 nor 2002 has a leap day
    day = first_day + datetime.timedelta(days=hour // HOURS_PER_DAY)
    begin = hour % HOURS_PER_DAY
    return f"year {year}, {day.day} {day:%B}, {begin:02d}:00 to {begin + 1:02d}:00"
