"""Designs and sites as TOML files: each table is a part, its keys are its constructor's parameters.

If a part has several constructors, the key ``kind`` of its table selects one.
"""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from loopdrift.basics.errors import InvalidDesignFile, raise_all
from loopdrift.basics.output import write_whole
from loopdrift.basics.part import Part
from loopdrift.basics.words import counted
from loopdrift.files.reader import SCHEMA, SCHEMA_KEY, Reader
from loopdrift.files.toml_file import TomlFile
from loopdrift.ground_sides.proposal import Proposal
from loopdrift.ground_sides.site import Site
from loopdrift.model.design import Design
from loopdrift.model.phases import Change, PhasedRun, Phases
from loopdrift.model.run import Run
from loopdrift.parts.constructors import Constructor, constructors, register
from loopdrift.parts.loads import Loads
from loopdrift.parts.weather.weather import Weather

D = TypeVar("D", bound=Design)
P = TypeVar("P", bound=Phases)
S = TypeVar("S", bound=Site)

STUDY = "study"
"""The table that says what a study of the design varies."""
THEN = "then"
"""The tables that say what changes in later years."""
_DESIGN_FILE = "design file"
"""Kind of a candidate that is the loop of a design file."""
_WEATHERS = ("weather", "bills_weather")
"""Keys that may name a sample or a file of weather."""


def _proposal(path: str | os.PathLike[str], *, name: str) -> Proposal:
    """Return the loop of a design file as a proposal."""
    return Proposal.of_design(read(path, Design), name=name)


register(Proposal, {_DESIGN_FILE: _proposal})


def read(path: str | os.PathLike[str], make: type[D]) -> D:
    """Return the design that stands in the file `path`, made by `make`; see `Design.read`."""
    design, _, _ = read_with_study(path, make)
    return design


def read_site(path: str | os.PathLike[str], make: type[S]) -> S:
    """Return the site that stands in the file `path`, made by `make`; see `Site.read`."""
    toml = TomlFile(path)
    site: S = Reader(toml).whole(make, toml.table)
    return site


def read_with_study(path: str | os.PathLike[str], make: type[D]) -> tuple[D, Any, TomlFile]:
    """Return the design of a file, made by `make`, its table ``study`` or an empty one, and the file."""
    toml = TomlFile(path)
    table = dict(toml.table)
    study = table.pop(STUDY, {})
    then = table.pop(THEN, None)
    reader = Reader(toml, beside=(STUDY, THEN))
    design = reader.part(make, table)
    if then is not None:
        reader.parts(Change, then, THEN)
    reader.finish()
    if then is not None:
        allowed = (
            "must be left out: size, compare, study and candidates take a plant that stays the same, such as "
            "that of year 1; run, check, report, sheet and Design.read_phases take one that changes"
        )
        line = toml.line(f"{THEN}[0]")
        raise InvalidDesignFile(toml.path, THEN, counted(len(then), "change"), "", allowed, line)
    return design, study, toml


def read_phases(path: str | os.PathLike[str], make: type[Design], plant: type[P]) -> P:
    """Return the plant of a file, its designs made by `make`; see `Design.read_phases`."""
    toml = TomlFile(path)
    table = dict(toml.table)
    table.pop(STUDY, None)
    reader = Reader(toml, beside=(STUDY, THEN))
    then = table.pop(THEN, [])
    design = reader.part(make, table)
    changes = reader.parts(Change, then, THEN)
    reader.finish()
    found = plant.of(design)
    for place, change in enumerate(changes):
        with reader.within(f"{THEN}[{place}]"):
            found = found.then(change.year, investment=change.investment, **change.given)
    reader.finish()
    return found


def write(design: Design, path: str | os.PathLike[str]) -> None:
    """Write `design` into the file `path` and its hourly series beside it; see `Design.write`."""
    write_phases(Phases.of(design), path)


def write_phases(plant: Phases, path: str | os.PathLike[str]) -> None:
    """Write `plant` into the file `path` and its hourly series beside it; see `Phases.write`."""
    path = Path(path)
    design = plant.phases[0].design
    table = _table(design)
    with_weather = {"distribution": "weather", "ground_side": "pond-weather"}
    beside = [(name, getattr(design, key), table.get(key)) for key, name in with_weather.items()]
    loads = [(path.with_name(f"{path.stem}-loads.csv"), table, design)]
    for number, phase in enumerate(plant.phases[1:], start=1):
        values = {name: getattr(phase.design, name) for name in phase.changed}
        change = _table(Change(year=phase.year, investment=phase.investment, **values))
        table.setdefault(THEN, []).append(change)
        beside.append((f"then-{number}-weather", values.get("distribution"), change.get("distribution")))
        if "loads" in values:
            loads.append((path.with_name(f"{path.stem}-then-{number}-loads.csv"), change, phase.design))
    for file, described, _ in loads:
        described["loads"] = {"kind": "file", "path": file.name}
    _write(path, table, beside, {file: used.loads.csv() for file, _, used in loads})


def write_input(run: Run, path: str | os.PathLike[str]) -> None:
    """Write the plant of a run into the file `path`, and its hourly series beside it."""
    write_phases(run.plant if isinstance(run, PhasedRun) else Phases.of(run.design), path)


def write_site(site: Site, path: str | os.PathLike[str]) -> None:
    """Write `site` into the file `path` and its weather beside it; see `Site.write`."""
    table = _table(site)
    candidates = enumerate(zip(site.candidates, table.get("candidate", []), strict=True), start=1)
    ponds = [
        (f"candidate-{number}-weather", each.ground_side, of_candidate["ground_side"])
        for number, (each, of_candidate) in candidates
    ]
    _write(Path(path), table, [("weather", site, table), *ponds], {})


def _write(path: Path, table: Any, beside: Iterable[tuple[str, Any, Any]], contents: dict[Path, str]) -> None:
    """Write a table as a TOML file, and the weather of its parts as CSV files beside it, by their names."""
    import tomli_w

    for name, part, of_part in beside:
        weather = getattr(part, "weather", None)
        if weather is not None:
            file = path.with_name(f"{path.stem}-{name}.csv")
            of_part["weather"] = {"kind": "file", "path": file.name}
            contents[file] = weather.csv()
    contents[path] = tomli_w.dumps({SCHEMA_KEY: SCHEMA, **table})
    write_whole({file: text.encode() for file, text in contents.items()})


def files(path: str | os.PathLike[str]) -> list[Path]:
    """Return the file of a design or a site, and the files that it names.

    Raises
    ------
    InvalidFile
        If the file is no TOML.
    OSError
        If the file can't be read.
    """
    path, toml = Path(path), TomlFile(path)
    raise_all(toml.faults)
    found = [path]
    for table in _tables(toml.table):
        paths = table.get("path", [])
        named = [
            path.parent / each
            for each in (paths if isinstance(paths, list) else [paths])
            if isinstance(each, str)
        ]
        is_design = table.get("kind") == _DESIGN_FILE
        found += [within for each in named for within in (files(each) if is_design else [each])]
        weathers = [table[key] for key in _WEATHERS if isinstance(table.get(key), str)]
        found += [path.parent / name for name in weathers if name not in Weather.samples()]
    return list(dict.fromkeys(found))


def _tables(value: Any) -> Iterator[dict[str, Any]]:
    """Yield a table and all tables within it."""
    if isinstance(value, dict):
        yield value
        value = list(value.values())
    for each in value if isinstance(value, list) else ():
        yield from _tables(each)


def _table(part: Any) -> dict[str, Any]:
    """Return the table of a part: its kind, and its constructor's arguments except hourly series."""
    kind, constructor = _written_as(type(part))
    if constructor.arguments is not None:
        arguments = constructor.arguments(part)
    else:
        arguments = part.arguments() if isinstance(part, Part) else vars(part)
    keys = {parameter: key for key, parameter in constructor.parameters.items()}
    table: dict[str, Any] = {"kind": kind} if kind else {}
    for name, value in arguments.items():
        if value is not None and not isinstance(value, Loads | Weather):
            table[keys.get(name, name)] = _plain(value)
    return table


def _written_as(part: type) -> tuple[str, Constructor]:
    """Return the kind of the table that a part is written to, and its constructor."""
    found = constructors(part).items()
    return next((name, each) for name, each in found if each.arguments is not None or each.make is part)


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return _table(value)
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value
