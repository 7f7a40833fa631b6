"""Designs as TOML files: each table is a part, its keys are the parameters of the part's constructor.

The mapping is read off the constructors' signatures, so that a new field of a part needs nothing here. Only
what a file says in words of its own stands here: kinds of tables, and constructors that stand in for a class.
"""

from __future__ import annotations

import dataclasses
import functools
import inspect
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple, Optional, TypeVar, get_args, get_origin, get_type_hints

import numpy as np

from loopdrift.basics import units
from loopdrift.basics.errors import (
    InvalidDesignFile,
    InvalidInput,
    LoopdriftError,
    UnknownKey,
    nearest_name,
    raise_all,
)
from loopdrift.basics.numbers import number_within
from loopdrift.basics.output import write_whole
from loopdrift.basics.part import Part, Several, as_given, quantities
from loopdrift.files.toml_file import TomlFile
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.ground_sides.kind import kinds
from loopdrift.ground_sides.pond.pond import Pond
from loopdrift.ground_sides.proposal import Proposal
from loopdrift.ground_sides.site import Drilling, Excavation, Groundwater, Land, OpenWater, Site
from loopdrift.ground_sides.trench_field.field import Coil, TrenchField
from loopdrift.ground_sides.well.well import Well
from loopdrift.model.design import Design
from loopdrift.parts.aquifer import Aquifer, WaterLimit
from loopdrift.parts.bore import Bore, Coaxial, DoubleUTube, Pipe, UTube
from loopdrift.parts.building import Building, Opaque, Window
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.ground.surface_wave import SurfaceWave
from loopdrift.parts.ground_side import GroundSide
from loopdrift.parts.hydraulics import Apparatus, PipeRun, Piping, Pump
from loopdrift.parts.limits import Limits
from loopdrift.parts.loads import Bill, Loads
from loopdrift.parts.plant.curves import EnteringLoadCorrection, Mode
from loopdrift.parts.plant.distribution import AirDistribution, WaterDistribution
from loopdrift.parts.plant.heat_pump import HeatPump, ManufacturerRatings
from loopdrift.parts.plant.hot_water import HotWater
from loopdrift.parts.plant.performance_table.reduction import Correction
from loopdrift.parts.prices import Alternative, Fuel, Installation, Period, Prices, Tariff, Tier
from loopdrift.parts.project import Project
from loopdrift.parts.site_plan import SitePlan
from loopdrift.parts.weather.weather import Weather

D = TypeVar("D", bound=Design)
S = TypeVar("S", bound=Site)


class _Way(NamedTuple):
    """One way to make a part: a constructor, chosen by a key of the table."""

    make: Callable[..., Any]
    names: Mapping[str, str] = {}
    """Parameters of the constructor that the file calls otherwise: the file's key first."""
    path: str = ""
    """Key that holds the path of a file."""

    def parameters(self) -> dict[str, inspect.Parameter]:
        """Return the constructor's parameters by the keys of the file."""
        keys = {parameter: key for key, parameter in self.names.items()}
        signature = inspect.signature(self.make)
        return {keys.get(name, name): parameter for name, parameter in signature.parameters.items()}

    def accepted(self) -> dict[str, _Accepted]:
        """Return what the constructor's parameters accept by the keys of the file."""
        keys = {parameter: key for key, parameter in self.names.items()}
        return {keys.get(name, name): accepted for name, accepted in _accepted(self.make).items()}


class _Accepted(NamedTuple):
    """What a parameter of a constructor accepts, read off its annotation."""

    parts: tuple[type, ...]
    """Parts that a table is turned into."""
    several: bool
    """Whether it takes more than one of them."""
    plain: type | None
    """Truth, whole number or text, where it is nothing else."""


def _accepted(make: Callable[..., Any]) -> dict[str, _Accepted]:
    """Return what the parameters of a constructor accept."""
    found, hints = {}, _hints(make)
    for name in inspect.signature(make).parameters:
        within = list(_within(hints.get(name)))
        types = [each for each in within if isinstance(each, type) and each is not type(None)]
        parts = [each for each in types if each in _PARTS]
        if GroundSide in types:
            parts += [kind.part for kind in kinds()]
        plain = next((kind for kind in _PLAIN if hints.get(name) in (kind, Optional[kind])), None)  # noqa: UP045
        found[name] = _Accepted(tuple(parts), any(get_origin(each) in _SEVERAL for each in within), plain)
    return found


@functools.cache
def _hints(make: Callable[..., Any]) -> dict[str, Any]:
    """Return the annotations of a constructor's parameters."""
    # A module may know a part for type checkers only.
    known = {part.__name__: part for part in _PARTS}
    hints = get_type_hints(make, localns=known)  # of a class those of its fields
    if inspect.isclass(make) and not hints.keys() >= inspect.signature(make).parameters.keys():
        hints |= get_type_hints(make.__init__, localns=known)
    return hints


def _within(hint: Any) -> Iterator[Any]:
    """Yield an annotation, and all that stands within it."""
    yield hint
    for each in get_args(hint):
        yield from _within(each)


DESIGN = "design"
"""The key of a candidate that holds the path of its design file."""


def _proposal(path: str | Path, *, name: str) -> Proposal:
    """Return the loop of a design file as a proposal."""
    return Proposal.of_design(read(path, Design), name=name)


_PARTS: frozenset[type] = frozenset(
    {
        *(AirDistribution, Alternative, Apparatus, Aquifer, Bill, Bore, BoreField, Building, Coaxial),
        *(Coil, Correction, DoubleUTube, Drilling, EnteringLoadCorrection, Excavation, Fluid, Fuel, Ground),
        *(Groundwater, HeatPump, HotWater, Installation, Land, Limits, Loads, ManufacturerRatings),
        *(Opaque, OpenWater, Period, Pipe, PipeRun, Piping, Pond, Prices, Project, Proposal, Pump, SitePlan),
        *(SurfaceWave, Tariff, Tier, TrenchField, UTube, WaterDistribution, WaterLimit, Weather),
        *(Well, Window),
    }
)
_NAMED: dict[str, type] = {
    "U-tube": UTube,
    "double U-tube": DoubleUTube,
    "coaxial": Coaxial,
    "air": AirDistribution,
    "water": WaterDistribution,
}
_WAYS: dict[type, dict[str, _Way]] = {
    Pipe: {"sdr": _Way(Pipe.sdr, names={"sdr": "dimension_ratio"})},
    BoreField: {"columns": _Way(BoreField.grid)},
    Ground: {"soil": _Way(Ground.of_soil)},
    TrenchField: {"columns": _Way(TrenchField.rows)},
    Pond: {"area": _Way(Pond.basin)},
    SurfaceWave: {"weather": _Way(SurfaceWave.from_weather)},
    Fluid: {"density": _Way(Fluid.constant)},
    HeatPump: {"table": _Way(HeatPump.from_table, names={"table": "path"}, path="table")},
    Loads: {
        "file": _Way(Loads.read, names={"file": "path"}, path="file"),
        "building": _Way(Building.loads, names={"building": "self"}),  # whose `self` tells its type
        **dict.fromkeys(("heating_months", "cooling_months", "hot_water_months"), _Way(Loads.from_months)),
        **dict.fromkeys(("bills", "monthly_bills"), _Way(Loads.from_bills)),
        **dict.fromkeys(("heating_full_load_hours", "cooling_full_load_hours"), _Way(Loads.from_peak)),
        **dict.fromkeys(("heating_total", "cooling_total"), _Way(Loads.from_total)),
        "weather": _Way(Loads.from_heat_loss),
    },
    Proposal: {DESIGN: _Way(_proposal, names={DESIGN: "path"}, path=DESIGN)},
    Weather: {
        "sample": _Way(Weather.sample, names={"sample": "name"}),
        "file": _Way(Weather.read, names={"file": "path"}, path="file"),
    },
}
_USUAL: dict[type, _Way] = {
    HeatPump: _Way(HeatPump.from_curves),
}
_KEYS: dict[type, Mapping[str, str]] = {Site: {"candidate": "candidates"}}
"""Parameters that the file calls otherwise than the constructor of a class: the file's key first."""
_PLAIN = {bool: "true or false", int: "a whole number", str: "text"}
_SEVERAL = (Sequence, Several, tuple, list)
"""What takes more than one part."""

_WEATHERS = ("weather", "bills_weather")
"""Keys that may name a sample or a file of weather."""

STUDY = "study"
"""The table that says what a study of the design varies."""


def read(path: str | Path, make: type[D]) -> D:
    """Return the design that stands in the file `path`, made by `make`; see `Design.read`."""
    design, _, _ = read_with_study(path, make)
    return design


def read_site(path: str | Path, make: type[S]) -> S:
    """Return the site that stands in the file `path`, made by `make`; see `Site.read`."""
    toml = TomlFile(path)
    site: S = _Reader(toml).whole(make, toml.table)
    return site


def write(design: Design, path: str | Path) -> None:
    """Write `design` into the file `path` and its hourly series beside it; see `Design.write`."""
    import tomli_w

    path = Path(path)
    table = _table(design)
    loads = path.with_name(f"{path.stem}-loads.csv")
    table["loads"] = {"file": loads.name}
    contents = {loads: design.loads.csv()}
    with_weather = {"distribution": "weather", "ground_side": "pond-weather"}
    for key, what in with_weather.items():
        weather = getattr(getattr(design, key), "weather", None)
        if weather is not None:
            beside = path.with_name(f"{path.stem}-{what}.csv")
            table[key]["weather"] = {"file": beside.name}
            contents[beside] = weather.csv()
    contents[path] = tomli_w.dumps(table)
    write_whole({file: text.encode() for file, text in contents.items()})


def files(path: str | Path) -> list[Path]:
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
    keys = {way.path for ways in _WAYS.values() for way in ways.values() if way.path}
    leaves = [(key, value) for key, value in _leaves(toml.table) if isinstance(value, str)]
    named = [value for key, value in leaves if key in keys]
    named += [value for key, value in leaves if key in _WEATHERS and value not in Weather.samples()]
    within = [file for key, value in leaves if key == DESIGN for file in files(path.parent / value)]
    return [path, *dict.fromkeys([*(path.parent / name for name in named), *within])]


def _leaves(table: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Yield what stands in tables in tables and lists, each with the last of its keys."""
    if isinstance(table, dict):
        for name, value in table.items():
            yield from _leaves(value, name)
    elif isinstance(table, list):
        for value in table:
            yield from _leaves(value, key)
    else:
        yield key, table


def read_with_study(path: str | Path, make: type[D]) -> tuple[D, Any, TomlFile]:
    """Return the design of a file, made by `make`, its table ``study`` or an empty one, and the file."""
    toml = TomlFile(path)
    table = dict(toml.table)
    study = table.pop(STUDY, {})
    return _Reader(toml).whole(make, table), study, toml


class _Faulty:
    """Stands for a value that can't be used; its faults are kept by the reader."""


_FAULTY = _Faulty()


class _Reader:
    """Turns the tables of one file into parts, and keeps every fault that it meets."""

    def __init__(self, toml: TomlFile) -> None:
        self._toml = toml
        self._faults: list[LoopdriftError | OSError] = list(toml.faults)

    def whole(self, kind: type, table: dict[str, Any]) -> Any:
        """Return the part of type `kind` that the file describes.

        Raises
        ------
        InvalidDesignFile, InvalidFile or OSError
            The first fault, with all others as notes.
        """
        found = self.part(kind, table, "")
        raise_all(self._faults)
        return found

    def part(self, kind: type, table: Any, key: str) -> Any:
        """Return the part of type `kind` that `table`, found at the dotted `key`, describes."""
        if kind is Weather and isinstance(table, str):
            table = {"sample" if table in Weather.samples() else "file": table}
        if not isinstance(table, dict):
            return self._fault(key, repr(table), "must be a table")
        way = self._way(kind, table, key)
        parameters, accepted = way.parameters(), way.accepted()
        missing = [
            name for name, each in parameters.items() if each.default is each.empty and name not in table
        ]
        if not self._toml.misses_keys:
            for name in missing:
                # A key that is nearly this one has its own message.
                unknown = [given for given in table if given not in parameters]
                if not nearest_name(name, unknown) and not any(f"{name}_" in each for each in unknown):
                    self._fault(_joined(key, name), "nothing", "must be given")
        arguments = {
            way.names.get(name, name): self._value(accepted[name], table[name], _joined(key, name))
            for name in table
            if name in parameters
        }
        if way.path and way.names[way.path] in arguments:
            field = way.names[way.path]
            arguments[field] = self._paths(arguments[field], accepted[way.path], _joined(key, way.path))
        if way.make is kind:
            for name, value in arguments.items():
                if isinstance(value, str | float | int) and name in quantities(kind.__name__):
                    arguments[name] = self._number(kind.__name__, name, value, _joined(key, name))
        if missing or len(arguments) < len(table) or any(map(_is_faulty, arguments.values())):
            return _FAULTY
        try:
            return way.make(**arguments)
        except InvalidDesignFile:  # of a file that this one names
            raise
        except InvalidInput as error:
            keys = {parameter: name for name, parameter in way.names.items()}
            # What doesn't go together is found where the parts meet: the fault may be in one of them.
            parts = [
                name for name in parameters if error.owner in (part.__name__ for part in accepted[name].parts)
            ]
            field = ".".join([*parts[:1], keys.get(error.field, error.field)])
            return self._fault(_joined(key, field), error.value, error.allowed, error.unit)
        except (LoopdriftError, OSError) as error:
            return self._keep(error)

    def _way(self, kind: type, table: dict[str, Any], key: str) -> _Way:
        ways = _WAYS.get(kind, {})
        chosen = next((name for name in ways if name in table), "")
        keys = next((_KEYS[base] for base in kind.__mro__ if base in _KEYS), {})
        usual = _USUAL.get(kind, _Way(kind, names=keys))
        way = ways[chosen] if chosen else usual
        known = way.parameters()
        for name, value in table.items():
            if name in known:
                continue
            elsewhere = [name for other in (usual, *ways.values()) for name in other.parameters()]
            if name in elsewhere:
                allowed = f"can't stand beside {chosen or ', '.join(known)}"
                self._fault(_joined(key, name), repr(value), allowed)
                continue
            every = dict.fromkeys([*known, *elsewhere])
            place = _joined(key, name)
            self._keep(
                UnknownKey(
                    self._toml.path,
                    place,
                    repr(value),
                    every,
                    line=self._toml.line(place),
                    meant=_with_unit_in_key(name, value, every),
                )
            )
        return way

    def _number(self, owner: str, name: str, value: float | str, key: str) -> Any:
        """Return a number, or text with a unit, as it is, if it is within the range of a part's field."""
        unit, least, most = quantities(owner)[name]
        try:
            number_within(value, unit, owner=owner, field=name, least=least, most=most)
        except InvalidInput as error:
            said = as_given(error, value) if isinstance(value, str) else error
            plain = said.value.removesuffix(".0") if said.unit else said.value
            return self._fault(key, plain, said.allowed, said.unit)
        return value

    def _value(self, accepted: _Accepted, value: Any, key: str) -> Any:
        if accepted.parts:
            if isinstance(value, list) and accepted.several:
                found = [
                    self._one_of(accepted.parts, table, f"{key}[{place}]")
                    for place, table in enumerate(value)
                ]
                return _FAULTY if any(map(_is_faulty, found)) else found
            return self._one_of(accepted.parts, value, key)
        kind = accepted.plain
        if kind is not None and (not isinstance(value, kind) or (kind is int and isinstance(value, bool))):
            return self._fault(key, repr(value), f"must be {_PLAIN[kind]}")
        return value

    def _paths(self, value: Any, accepted: _Accepted, key: str) -> Any:
        """Return the path of a file, or those of several, from the folder of the design file."""
        folder = self._toml.path.parent
        if isinstance(value, str):
            return folder / value
        if accepted.several and isinstance(value, list) and all(isinstance(each, str) for each in value):
            return [folder / each for each in value] or self._fault(key, "[]", "must be the path of a file")
        several = " or a list of them" if accepted.several else ""
        return self._fault(key, repr(value), f"must be the path of a file{several}")

    def _one_of(self, candidates: Sequence[type], table: Any, key: str) -> Any:
        kinds = {name: kind for name, kind in _kinds().items() if kind in candidates}
        if not kinds or not isinstance(table, dict):
            return self.part(candidates[0], table, key)
        rest = dict(table)
        name = rest.pop("kind", "nothing")
        if not isinstance(name, str) or name not in kinds:
            if name == "nothing" and self._toml.misses_keys:
                return _FAULTY
            allowed = (
                f"must be one of {', '.join(kinds)}" if len(kinds) > 1 else f"must be {next(iter(kinds))}"
            )
            return self._fault(_joined(key, "kind"), name, allowed)
        return self.part(kinds[name], rest, key)

    def _fault(self, key: str, value: Any, allowed: str, unit: str = "") -> _Faulty:
        line = self._toml.line(key)
        return self._keep(InvalidDesignFile(self._toml.path, key, value, unit, allowed, line=line))

    def _keep(self, error: LoopdriftError | OSError) -> _Faulty:
        self._faults.append(error)
        return _FAULTY


def _is_faulty(value: Any) -> bool:
    return value is _FAULTY


def _with_unit_in_key(name: str, value: Any, known: Iterable[str]) -> str:
    """Return how to write a value whose unit stands in its key, such as ``depth_ft``; empty for any other."""
    for each in known:
        unit = name.removeprefix(f"{each}_").replace("_per_", "/").replace("_", " ")
        if name.startswith(f"{each}_") and unit and isinstance(value, int | float) and units.is_unit(unit):
            return f'{each} = "{value} {unit}"'
    return ""


def _kinds() -> dict[str, type]:
    """Return the parts that tables call by a ``kind``."""
    return {kind.name: kind.part for kind in kinds()} | _NAMED


def _joined(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name


def _table(part: Any) -> dict[str, Any]:
    """Return the table of a part: its kind, and its constructor's arguments but for hourly series."""
    kind = next((name for name, kind in _kinds().items() if kind is type(part)), None)
    table: dict[str, Any] = {} if kind is None else {"kind": kind}
    for name, value in _arguments(part).items():
        if value is not None and not isinstance(value, Loads | Weather):
            table[name] = _plain(value)
    return table


def _arguments(part: Any) -> dict[str, Any]:
    if isinstance(part, HeatPump):
        values = {
            field.name: getattr(part, field.name) for field in dataclasses.fields(part) if field.compare
        }
        words = {
            "cop": "cop",
            "capacity": "capacity",
            "range": "entering_fluid_range",
            "entering_load": "entering_load",
        }
        curves = {
            f"{name}_{word}": getattr(mode, attribute)
            for name, mode in values.items()
            if isinstance(mode, Mode)
            for word, attribute in words.items()
        }
        return curves | {name: value for name, value in values.items() if not isinstance(value, Mode)}
    return part.arguments() if isinstance(part, Part) else vars(part)


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value):
        return _table(value)
    if isinstance(value, np.ndarray | np.generic):
        return value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    return value
