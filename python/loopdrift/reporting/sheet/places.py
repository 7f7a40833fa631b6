"""Bores, trenches, coils and wells by number: as a table, with a log to fill in."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from loopdrift.basics.both_units import FACTORS, in_sentences
from loopdrift.reporting.html import Units

if TYPE_CHECKING:
    from loopdrift.ground_sides.quantities import PlaceColumn, Places

LOG = {
    "bore": ("Date", "Drilled to", "Ground and water met, with depth", "Grout used", "Tested", "Signed"),
    "well": ("Date", "Drilled to", "Ground and water met, with depth", "Screen from, to", "Yield", "Signed"),
}
"""Columns that the driller fills in."""

_MOST_ON_A_PAGE = 120
"""Places that a page lists in three columns."""
_MOST_ON_TWO_PAGES = 25
"""Places whose table and log go on the second page together."""


class Listed(NamedTuple):
    """Places by number, as a page lists them."""

    headings: list[str]
    rows: list[list[str]]
    alike: list[str]
    """What is the same for all places, in words, instead of a column."""
    log_headings: list[str]
    """Of the log to fill in as an annex; empty if it stands beside the list."""
    log_rows: list[list[str]]
    plural: str

    @property
    def has_annex(self) -> bool:
        """Whether the log is an annex, because there are too many places for two pages."""
        return bool(self.log_headings)

    @property
    def fit_a_page(self) -> bool:
        """Whether a page can list all places."""
        return len(self.rows) <= _MOST_ON_A_PAGE


def listed(places: Places, units: Units) -> Listed:
    """Return places as a page lists them: with the log beside them, or with the log as an annex.

    Parameters
    ----------
    places : Places
        The places.
    units : {"SI", "IP"}
        Units of the sheet.
    """
    headings, rows = place_headings(places, units), place_rows(places, units)
    plural = f"{places.noun}{'es' if places.noun.endswith('ch') else 's'}"
    if len(rows) <= _MOST_ON_TWO_PAGES:
        return Listed(headings, rows, [], [], [], plural)
    columns = list(zip(*rows, strict=True))
    varies = [len(set(column)) > 1 for column in columns]
    alike = [
        _in_words(heading, column[0])
        for heading, column, each in zip(headings, columns, varies, strict=True)
        if not each and column[0]
    ]
    kept = [place for place, each in enumerate(varies) if each]
    logged = [0, *(place for place, heading in enumerate(headings) if heading.startswith("Drilled length"))]
    is_drilled = places.is_drilled
    return Listed(
        [headings[place] for place in kept],
        [[row[place] for place in kept] for row in rows],
        alike,
        [headings[place] for place in logged] if is_drilled else [],
        [[row[place] for place in logged] for row in rows] if is_drilled else [],
        plural,
    )


def _in_words(heading: str, cell: str) -> str:
    """Return a cell and its heading in words, such as ``drilled length 101.5 m``."""
    name, _, unit = heading.partition(" [")
    return f"{name[0].lower()}{name[1:]} {cell} {unit.rstrip(']')}".rstrip()


def place_headings(places: Places, units: Units) -> list[str]:
    """Return the headings of the table of places, with units.

    Parameters
    ----------
    places : Places
        The places.
    units : {"SI", "IP"}
        Units of the sheet.
    """
    return [places.noun.capitalize(), *(_heading(column, units) for column in places.columns)]


def place_rows(places: Places, units: Units) -> list[list[str]]:
    """Return the rows of the table of places, numbered from 1.

    Parameters
    ----------
    places : Places
        The places.
    units : {"SI", "IP"}
        Units of the sheet.
    """
    return [
        [str(number), *map(_cell, places.columns, row, [units] * len(row))]
        for number, row in enumerate(places.rows, start=1)
    ]


def _heading(column: PlaceColumn, units: Units) -> str:
    unit = in_sentences(column.unit)[0] if units == "IP" and column.unit in FACTORS else column.unit
    return f"{column.heading} [{unit}]" if unit else column.heading


def _cell(column: PlaceColumn, value: float, units: Units) -> str:
    if math.isnan(value):
        return ""
    decimals = column.decimals
    if units == "IP" and column.unit in FACTORS:
        _, factor = in_sentences(column.unit)
        value, decimals = factor * value, 1 if column.unit == "m" else max(decimals, 2)
    return f"{value:z,.{decimals}f}"
