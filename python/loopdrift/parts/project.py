"""The project that a design belongs to: names and notes for the papers that leave the office."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, fields

from loopdrift.basics.errors import InvalidInput, printable
from loopdrift.basics.part import FacePart, require_name

_MOST_CHARACTERS = 4000
"""Of the notes."""


@dataclass(frozen=True, kw_only=True)
class Project(FacePart):
    """Name, place, people and date of a project, shown with all results; they don't affect a run.

    Parameters
    ----------
    name : str, optional
        Name of the project.
    place : str, optional
        Address or place.
    client : str, optional
        The client.
    designer : str, optional
        The designer.
    date : str or datetime.date, optional
        Date of the design, such as 2026-05-21; text in any form is kept as it is.
    number : str or int, optional
        Number of the project or the drawing.
    notes : str, optional
        Notes, with line breaks if needed.

    Raises
    ------
    InvalidInput
        If a field isn't text, is empty, or is too long.

    Examples
    --------
    >>> project = Project(name="Mill farm", designer="A. Designer", date=datetime.date(2026, 5, 21))
    >>> print(project)
    Mill farm, designer A. Designer, 2026-05-21
    """

    name: str | None = None
    place: str | None = None
    client: str | None = None
    designer: str | None = None
    date: str | datetime.date | None = None
    number: str | int | None = None
    notes: str | None = None

    def __post_init__(self) -> None:
        if isinstance(self.date, datetime.date):
            object.__setattr__(self, "date", self.date.isoformat())
        if isinstance(self.number, int) and not isinstance(self.number, bool):
            object.__setattr__(self, "number", str(self.number))
        for field in fields(self):
            value = getattr(self, field.name)
            if value is None:
                continue
            if field.name != "notes":
                require_name(value, owner="Project", field=field.name)
                continue
            if not isinstance(value, str) or not value.strip() or len(value) > _MOST_CHARACTERS:
                allowed = f"must be text of at most {_MOST_CHARACTERS:,} characters"
                raise InvalidInput("Project", "notes", repr(value), "", allowed)
            lines = [printable(line.rstrip()) for line in value.strip().splitlines()]
            object.__setattr__(self, "notes", "\n".join(lines))

    @property
    def lines(self) -> Iterator[tuple[str, str]]:
        """Each field that is given, with its label."""
        for field in fields(self):
            value = getattr(self, field.name)
            if value is not None:
                yield ("project" if field.name == "name" else field.name), value

    @property
    def file_metadata(self) -> dict[str, str]:
        """Title, author and description for the metadata of files, as far as they are given."""
        about = {label: value for label, value in self.lines if label not in ("project", "designer")}
        found = {
            "title": self.name,
            "author": self.designer,
            "description": "; ".join(f"{label}: {' '.join(text.split())}" for label, text in about.items()),
        }
        return {name: text for name, text in found.items() if text}

    def __str__(self) -> str:
        named = {"project", "place", "date"}
        return ", ".join(
            text if label in named else f"{label} {text}" for label, text in self.lines if label != "notes"
        )
