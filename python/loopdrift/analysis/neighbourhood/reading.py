"""Neighbourhoods from files: a TOML file that lists designs with places, and tables with a plant in each
row."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.basics import table_file
from loopdrift.basics.errors import (
    InvalidDesignFile,
    InvalidInput,
    LoopdriftError,
    UnknownKey,
    UnknownName,
    raise_all,
)
from loopdrift.basics.part import require
from loopdrift.files import design_file
from loopdrift.files.reader import SCHEMA, SCHEMA_KEY
from loopdrift.files.toml_file import TomlFile
from loopdrift.model.design import Design

if TYPE_CHECKING:
    import pandas as pd

_PARQUET = (".parquet", ".pq")
_OWNER = "Neighbourhood"
_PLANT, _TABLE, _TEMPLATES = "plant", "table", "templates"
_NAME, _DESIGN = "name", "design"
_OF_PLANT = (_NAME, *(field.name for field in fields(Plant)))
_NEEDED = ("name", "east_m", "north_m", "template")
_COLUMNS = (*_NEEDED, "depth_m", "heating_kWh", "heating_peak_kW", "start_year", "last_year")


def of_file(path: str | os.PathLike[str]) -> dict[str, Plant]:
    """Return the plants of a TOML file by name; see `Neighbourhood.read`."""
    toml = TomlFile(path)
    raise_all(list(toml.faults))
    read = _Designs(toml)
    known = (SCHEMA_KEY, _PLANT, _TABLE, _TEMPLATES)
    for key, value in toml.table.items():
        if key not in known:
            raise UnknownKey(toml.path, key, repr(value), known, toml.line(key))
    if toml.table.get(SCHEMA_KEY, SCHEMA) != SCHEMA:
        raise read.fault(
            SCHEMA_KEY, toml.table[SCHEMA_KEY], f"must be {SCHEMA}, the version of the file's format"
        )
    plants: dict[str, Plant] = {}
    tables = toml.table.get(_PLANT, [])
    if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
        raise read.fault(_PLANT, repr(tables), f"must be tables, each with the heading [[{_PLANT}]]")
    for place, table in enumerate(tables):
        _add(plants, *_of_table(read, f"{_PLANT}[{place}]", table))
    if _TABLE in toml.table:
        names = toml.table.get(_TEMPLATES, {})
        if not isinstance(names, dict):
            raise read.fault(
                _TEMPLATES, repr(names), "must be a table of design files by the name of their template"
            )
        templates = {name: read.design(f"{_TEMPLATES}.{name}", file) for name, file in names.items()}
        for name, plant in of_table(read.beside(_TABLE, toml.table[_TABLE]), templates).items():
            _add(plants, name, plant)
    return plants


def named_files(path: str | os.PathLike[str]) -> list[Path]:
    """Return a TOML file and the files that it and its designs name.

    Parameters
    ----------
    path : str or path-like
        A file that `of_file` has read.
    """
    table = TomlFile(path).table
    folder = Path(path).parent
    designs = {folder / each[_DESIGN] for each in table.get(_PLANT, [])}
    designs |= {folder / file for file in table.get(_TEMPLATES, {}).values()}
    found = [Path(path), *([folder / table[_TABLE]] if _TABLE in table else [])]
    return [*found, *(file for design in sorted(designs) for file in design_file.files(design))]


def of_table(
    table: str | os.PathLike[str] | pd.DataFrame, templates: Mapping[str, Design]
) -> dict[str, Plant]:
    """Return the plants of a table by name; see `Neighbourhood.from_table`."""
    require(templates, Mapping, owner=_OWNER, field=_TEMPLATES)
    for name, design in templates.items():
        require(design, Design, owner=_OWNER, field=f"templates[{name!r}]")
    plants: dict[str, Plant] = {}
    shaped: dict[tuple[str, Any, Any], Design] = {}
    for row in _rows(table):
        with row.named():
            name = row.text("name")
            template = row.text("template")
            if template not in templates:
                raise UnknownName(_OWNER, "template", template, "is no template", templates)
            heat, peak = row.number("heating_kWh"), row.number("heating_peak_kW")
            design, scale = templates[template], 1.0
            if peak is not None:
                key = (template, heat, peak)
                if key not in shaped:
                    loads = design.loads.scaled(heating_kWh=heat, heating_peak=1e3 * peak)
                    shaped[key] = design.replace(loads=loads)
                design = shaped[key]
            elif heat is not None:
                scale = heat / _yearly_heating(design)
            plant = Plant(
                design=design,
                at=(row.needed("east_m"), row.needed("north_m")),
                depth=row.number("depth_m"),
                loads_scale=scale,
                start_year=row.whole("start_year") or 1,
                last_year=row.whole("last_year"),
            )
            _add(plants, name, plant)
    return plants


def _yearly_heating(design: Design) -> float:
    """Return the heating of a design in a mean year [kWh]."""
    total = float(design.loads.heating.sum()) / 1e3 / design.loads.years
    if total == 0.0:
        allowed = "must be left out: the template has no heating to scale"
        raise InvalidInput(_OWNER, "heating_kWh", "a number", "", allowed)
    return total


def _add(plants: dict[str, Plant], name: str, plant: Plant) -> None:
    if name in plants:
        raise InvalidInput(_OWNER, "name", repr(name), "", "must be the name of one plant only")
    plants[name] = plant


class _Designs:
    """Design files that a TOML file names, each read once."""

    def __init__(self, toml: TomlFile) -> None:
        self._toml = toml
        self._known: dict[Path, Design] = {}

    def fault(self, key: str, value: Any, allowed: str) -> InvalidDesignFile:
        """Return the error for a key of the file."""
        return InvalidDesignFile(self._toml.path, key, value, "", allowed, self._toml.line(key))

    def beside(self, key: str, file: Any) -> Path:
        """Return the path of a file that the TOML file names."""
        if not isinstance(file, str) or not file.strip():
            raise self.fault(key, repr(file), "must be the path of a file, relative to this one")
        return self._toml.path.parent / file

    def design(self, key: str, file: Any) -> Design:
        """Return the design of a file."""
        path = self.beside(key, file)
        if path not in self._known:
            try:
                self._known[path] = design_file.read(path, Design)
            except (LoopdriftError, OSError) as error:
                error.add_note(f"named in {self._toml.path}, line {self._toml.line(key)}: {key}")
                raise
        return self._known[path]


def _of_table(read: _Designs, key: str, table: Mapping[str, Any]) -> tuple[str, Plant]:
    """Return name and plant of one table of a TOML file."""
    for each, value in table.items():
        if each not in _OF_PLANT:
            toml = read._toml
            raise UnknownKey(toml.path, f"{key}.{each}", repr(value), _OF_PLANT, toml.line(f"{key}.{each}"))
    for each in (_NAME, _DESIGN):
        if each not in table:
            raise read.fault(key, f"without {each}", f"must have the key {each}")
    if not isinstance(table[_NAME], str):
        raise read.fault(f"{key}.{_NAME}", repr(table[_NAME]), "must be text")
    rest = {name: value for name, value in table.items() if name not in (_NAME, _DESIGN)}
    design = read.design(f"{key}.{_DESIGN}", table[_DESIGN])
    try:
        return table[_NAME], Plant(design=design, **rest)
    except InvalidInput as error:
        raise read.fault(
            f"{key}.{error.field}", f"{error.value} {error.unit}".strip(), error.allowed
        ) from None


class _Row(NamedTuple):
    """A row of a table, its place for messages, and how its cells become numbers."""

    place: str
    cells: dict[str, Any]
    as_number: Callable[[Any], float | None]

    def named(self) -> _Named:
        """Name the row in what is refused within."""
        return _Named(self.place)

    def _is_empty(self, column: str) -> bool:
        cell = self.cells.get(column)
        return cell is None or cell == "" or cell != cell

    def text(self, column: str) -> str:
        """Return a cell as text."""
        if self._is_empty(column):
            raise InvalidInput(_OWNER, column, "an empty cell", "", "must be a text")
        cell = self.cells[column]
        return f"{cell:g}" if isinstance(cell, float) else str(cell).strip()

    def number(self, column: str) -> float | None:
        """Return a cell as a number; None if it is empty."""
        if self._is_empty(column):
            return None
        found = self.as_number(self.cells[column])
        if found is None:
            raise InvalidInput(_OWNER, column, repr(self.cells[column]), "", "must be a number")
        return found

    def needed(self, column: str) -> float:
        """Return a cell as a number."""
        found = self.number(column)
        if found is None:
            raise InvalidInput(_OWNER, column, "an empty cell", "", "must be a number")
        return found

    def whole(self, column: str) -> int | None:
        """Return a cell as a whole number; None if it is empty."""
        found = self.number(column)
        if found is not None and found != int(found):
            raise InvalidInput(_OWNER, column, found, "", "must be a whole number")
        return None if found is None else int(found)


class _Named:
    """Names a row in what is refused within."""

    def __init__(self, place: str) -> None:
        self._place = place

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if isinstance(error, InvalidInput):
            field = f"{self._place}, {error.field}"
            raise InvalidInput(_OWNER, field, error.value, error.unit, error.allowed) from None


def _rows(table: str | os.PathLike[str] | pd.DataFrame) -> Iterator[_Row]:
    """Yield the rows of a file or a table."""
    import pandas as pd

    if not isinstance(table, pd.DataFrame | str | os.PathLike):
        raise InvalidInput(_OWNER, _TABLE, type(table).__name__, "", "must be a file or a DataFrame")
    if not isinstance(table, pd.DataFrame) and Path(table).suffix.lower() in _PARQUET:
        try:
            table = pd.read_parquet(table)
        except (ValueError, TypeError):  # pyarrow's errors are ValueErrors
            raise InvalidInput(_OWNER, _TABLE, str(table), "", "must be a Parquet file") from None
    if isinstance(table, pd.DataFrame):
        _check_columns([str(name) for name in table.columns])
        for place, record in enumerate(table.to_dict("records"), start=1):
            named = {str(head): cell for head, cell in record.items()}
            yield _Row(f"row {place} of the table", named, _plain_number)
        return
    sheet = table_file.sheets(table)[0]
    rows = [row for row in sheet.rows if not str(row.cells[0]).startswith("#")]
    if not rows:
        raise InvalidInput(_OWNER, _TABLE, str(table), "", "must have a row of headings")
    heads = [str(cell).strip() for cell in rows[0].cells]
    _check_columns(heads)
    for row in rows[1:]:
        cells: dict[str, Any] = dict(zip(heads, row.cells, strict=False))
        yield _Row(
            f"{Path(table).name}, line {row.line}", cells, lambda cell: table_file.number(cell, sheet.decimal)
        )


def _check_columns(heads: list[str]) -> None:
    for head in heads:
        if head not in _COLUMNS:
            raise UnknownName(_OWNER, "column", head, "is no column of a table of plants", _COLUMNS)
        if heads.count(head) > 1:
            raise InvalidInput(_OWNER, "column", repr(head), "", "must stand in the table once")
    for column in _NEEDED:
        if column not in heads:
            raise InvalidInput(_OWNER, "column", "nothing", "", f"must be there: {column}")


def _plain_number(cell: Any) -> float | None:
    try:
        return float(cell)
    except (TypeError, ValueError):
        return None
