"""The reader of design and site files, which reports all their faults at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from loopdrift.basics import units
from loopdrift.basics.errors import (
    InvalidDesignFile,
    InvalidFile,
    InvalidInput,
    LoopdriftError,
    UnknownKey,
    nearest_name,
    raise_all,
)
from loopdrift.basics.numbers import Range, WholeRange
from loopdrift.basics.part import as_given
from loopdrift.files.kinds import PLAIN, Key, TableKind, key_of, matching, table_kinds
from loopdrift.files.toml_file import TomlFile
from loopdrift.parts.weather.weather import Weather

SCHEMA = 1
"""Version of the format of design and site files."""
SCHEMA_KEY = "schema"
"""The key that holds the version; 1 if it is left out."""
KIND = "kind"
"""The key that selects a constructor."""


class _Faulty:
    """Stands for a value that can't be used; its faults are kept by the reader."""


_FAULTY = _Faulty()


class Reader:
    """Turns the tables of one file into parts, and keeps every fault that it meets.

    Parameters
    ----------
    toml : TomlFile
        The file.
    beside : tuple of str, optional
        Keys of the file that others read, for suggestions.
    """

    def __init__(self, toml: TomlFile, beside: tuple[str, ...] = ()) -> None:
        self._toml = toml
        self._beside = beside
        self._faults: list[LoopdriftError | OSError] = list(toml.faults)

    def whole(self, part: type, table: Mapping[str, Any]) -> Any:
        """Return the part that the file describes.

        Parameters
        ----------
        part : type
            Its type.
        table : mapping of str to object
            The whole table, with ``schema`` if it has one.

        Raises
        ------
        InvalidDesignFile, InvalidFile or OSError
            The first fault, with all others as notes.
        """
        found = self.part(part, table)
        self.finish()
        return found

    def part(self, part: type, table: Mapping[str, Any]) -> Any:
        """Return the part that the whole table describes, and keep its faults until `finish`; see `whole`."""
        self._check_schema(table.get(SCHEMA_KEY, SCHEMA))
        rest = {name: value for name, value in table.items() if name != SCHEMA_KEY}
        return self._part([part], rest, "")

    def parts(self, part: type, tables: Any, key: str) -> list[Any]:
        """Return the parts of a list of tables beside the whole, and keep their faults until `finish`."""
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self._fault(key, repr(tables), f"must be tables, each with the heading [[{key}]]")
            return []
        return [self._part([part], table, f"{key}[{place}]") for place, table in enumerate(tables)]

    def finish(self) -> None:
        """Raise the first fault, with all others as notes; nothing if there is none.

        Raises
        ------
        InvalidDesignFile, InvalidFile or OSError
            The faults.
        """
        raise_all(self._faults)

    @contextmanager
    def within(self, key: str) -> Iterator[None]:
        """Keep what is refused inside the block as faults of the table at a key."""
        try:
            yield
        except InvalidInput as error:
            for fault in (error, *error.others):
                self._fault(_joined(key, fault.field), fault.value, fault.allowed, fault.unit)

    def _check_schema(self, schema: Any) -> None:
        """Refuse a file of a later version at once, and keep any other fault of the version."""
        is_number = isinstance(schema, int) and not isinstance(schema, bool)
        if is_number and schema > SCHEMA:
            allowed = (
                f"must be at most {SCHEMA}: the file was written for a later loopdrift; read it with that, "
                f"or write schema = {SCHEMA} and correct what `loopdrift check` names"
            )
            raise self._invalid(SCHEMA_KEY, schema, allowed)
        if not is_number or schema < 1:
            self._fault(SCHEMA_KEY, repr(schema), f"must be {SCHEMA}, the version of the file's format")

    def _part(self, parts: Sequence[type], table: Any, key: str) -> Any:
        """Return the part, of one of some types, that the table at a dotted key describes."""
        if Weather in parts and isinstance(table, str):
            table = _weather_of_text(table)
        if not isinstance(table, dict):
            return self._fault(key, repr(table), "must be a table")
        kinds = table_kinds(*parts)
        name, rest = ("", table) if "" in kinds else self._kind(kinds, table, key)
        if name not in kinds:
            return _FAULTY
        kind = kinds[name]
        can_be_made = self._check_keys(name, kinds, rest, key)
        arguments = {
            kind.keys[each].parameter: self._value(kind.keys[each], value, _joined(key, each))
            for each, value in rest.items()
            if each in kind.keys
        }
        for each, accepted in kind.keys.items():
            if accepted.range is not None and accepted.parameter in arguments:
                place = _joined(key, each)
                given = arguments[accepted.parameter]
                arguments[accepted.parameter] = self._within(accepted.range, given, place)
        faulty = {name for name, value in arguments.items() if _is_faulty(value)}
        stand_ins = kind.stand_ins
        if not can_be_made or not faulty <= stand_ins.keys():
            return _FAULTY
        found = self._made(kind, arguments | {name: stand_ins[name] for name in faulty}, key)
        return found if not faulty and rest.keys() <= kind.keys.keys() else _FAULTY

    def _made(self, kind: TableKind, arguments: dict[str, Any], key: str) -> Any:
        """Return the part that a constructor makes of its arguments."""
        try:
            return kind.constructor.make(**arguments)
        except InvalidDesignFile:  # of a file that this one names
            raise
        except InvalidInput as error:
            for fault in (error, *error.others):
                place = _joined(key, _key_of_fault(fault, kind))
                self._fault(place, fault.value, fault.allowed, fault.unit)
            return _FAULTY
        except (LoopdriftError, OSError) as error:
            if isinstance(error, InvalidFile | OSError):
                named = [
                    name for name, each in kind.keys.items() if each.is_path and each.parameter in arguments
                ]
                line = self._toml.line(_joined(key, named[0]) if named else key)
                error.add_note(f"named in {self._toml.path}, line {line}: {key}")
            return self._keep(error)

    def _kind(
        self, kinds: Mapping[str, TableKind], table: Mapping[str, Any], key: str
    ) -> tuple[str, dict[str, Any]]:
        """Return the kind of a table and its other keys.

        If the kind is missing or wrong, a fault says so, and the table is read on as one of the kind that its
        keys match, so that the faults within it are found too. The name is empty if no kind matches.
        """
        given, rest = table.get(KIND), {name: value for name, value in table.items() if name != KIND}
        likely, renamed = matching(kinds, rest)
        place = _joined(key, KIND)
        if isinstance(given, str) and given in kinds:
            more = kinds[likely].keys.keys() - kinds[given].keys.keys() if likely else set()
            belong = [name for name in rest if name in more]
            if not belong or rest.keys() & (kinds[given].keys.keys() - kinds[likely].keys.keys()):
                return given, rest
            self._fault(place, given, f"must be {likely}, to which {', '.join(belong)} belong")
        elif given is None and likely:
            if not self._toml.misses_keys:
                called = [
                    f"{old} is called {new}" for old, new in zip(rest, renamed, strict=True) if old != new
                ]
                where = f", where {' and '.join(called)}" if called else ""
                self._fault(place, "nothing", f'must be given; the keys match kind = "{likely}"{where}')
        elif given is None:
            if not self._toml.misses_keys:
                self._fault(place, "nothing", f"must be one of {', '.join(kinds)}")
                for name, kind in kinds.items():
                    self._faults[-1].add_note(_taken_by(name, kind))
        else:
            near = nearest_name(given, list(kinds)) if isinstance(given, str) else ""
            meant = near or likely
            hint = f"; did you mean {meant!r}?" if meant else ""
            self._fault(place, given, f"must be one of {', '.join(kinds)}{hint}")
            if near:
                return near, rest
        return likely, renamed

    def _check_keys(
        self, name: str, kinds: Mapping[str, TableKind], table: Mapping[str, Any], key: str
    ) -> bool:
        """Keep the faults of unknown and missing keys of a table of one kind.

        Returns whether its other keys can be checked together: none is missing, and no unknown one may be
        one of those left out.
        """
        kind = kinds[name]
        unknown = [each for each in table if each not in kind.keys]
        for each in unknown:
            self._unknown(each, table[each], name, kinds, key)
        missing = [each for each in kind.required() if each not in table]
        if not self._toml.misses_keys:
            for each in missing:
                # A key that is nearly this one has its own message.
                near = nearest_name(each, unknown) or any(f"{each}_" in other for other in unknown)
                if not near and each not in (key_of(other, name, kind) for other in unknown):
                    self._fault(_joined(key, each), "nothing", "must be given")
        strays = [each for each in unknown if key_of(each, name, kind) == each]
        return (
            not missing
            and len(strays) == len(unknown)
            and not any(nearest_name(each, list(kind.keys)) for each in unknown)
        )

    def _unknown(self, name: str, value: Any, of: str, kinds: Mapping[str, TableKind], key: str) -> None:
        """Keep the fault that a table of one kind has no such key."""
        place, kind = _joined(key, name), kinds[of]
        others = [repr(other) for other, each in kinds.items() if name in each.keys]
        if others:
            self._fault(place, repr(value), f"belongs to kind {' or '.join(others)}, not to {of!r}")
            return
        around = [KIND] if of else [] if key else [SCHEMA_KEY, *self._beside]
        known = [*around, *dict.fromkeys(each for other in kinds.values() for each in other.keys)]
        called = key_of(name, of, kind)
        written = f'"{value}"' if isinstance(value, str) else value
        meant = f"{called} = {written}" if called != name else _with_unit_in_key(name, value, kind.keys)
        line = self._toml.line(place)
        self._keep(UnknownKey(self._toml.path, place, repr(value), known, line=line, meant=meant))

    def _within(self, accepted: Range | WholeRange, value: Any, key: str) -> Any:
        """Return a number, text with a unit, or a list of these, as it is, if all are within a range."""
        if isinstance(value, list):
            found = [self._within(accepted, each, f"{key}[{place}]") for place, each in enumerate(value)]
            return _FAULTY if any(map(_is_faulty, found)) else value
        if not isinstance(value, str | float | int):
            return value  # the constructor refuses it, or it is a fault already
        try:
            accepted.of(value, owner="", field=key)
        except InvalidInput as error:
            said = as_given(error, value) if isinstance(value, str) else error
            plain = said.value.removesuffix(".0") if said.unit else said.value
            return self._fault(key, plain, said.allowed, said.unit)
        return value

    def _value(self, accepted: Key, value: Any, key: str) -> Any:
        """Return the value of a key as its constructor takes it."""
        if accepted.parts:
            if isinstance(value, list) and accepted.several:
                found = [
                    self._part(accepted.parts, table, f"{key}[{place}]") for place, table in enumerate(value)
                ]
                return _FAULTY if any(map(_is_faulty, found)) else found
            return self._part(accepted.parts, value, key)
        if accepted.is_path:
            return self._paths(accepted, value, key)
        kind = accepted.plain
        if kind is not None and (not isinstance(value, kind) or (kind is int and isinstance(value, bool))):
            return self._fault(key, repr(value), f"must be {PLAIN[kind]}")
        return value

    def _paths(self, accepted: Key, value: Any, key: str) -> Any:
        """Return the path of a file, or those of several, from the folder of the file that names it."""
        folder = self._toml.path.parent
        if isinstance(value, str):
            return folder / value
        if accepted.several and isinstance(value, list) and all(isinstance(each, str) for each in value):
            return [folder / each for each in value] or self._fault(key, "[]", "must be the path of a file")
        several = " or a list of them" if accepted.several else ""
        return self._fault(key, repr(value), f"must be the path of a file{several}")

    def _fault(self, key: str, value: Any, allowed: str, unit: str = "") -> _Faulty:
        return self._keep(self._invalid(key, value, allowed, unit))

    def _invalid(self, key: str, value: Any, allowed: str, unit: str = "") -> InvalidDesignFile:
        line = self._toml.line(key)
        return InvalidDesignFile(self._toml.path, key, value, unit, allowed, line=line)

    def _keep(self, error: LoopdriftError | OSError) -> _Faulty:
        self._faults.append(error)
        return _FAULTY


def _is_faulty(value: Any) -> bool:
    return value is _FAULTY


def _key_of_fault(fault: InvalidInput, kind: TableKind) -> str:
    """Return the key, within a table, of what a constructor refused."""
    names = {each.parameter: name for name, each in kind.keys.items()}
    # Parts that don't go together are refused by their owner: the fault may be in one of them.
    owners = [
        name for name, each in kind.keys.items() if fault.owner in (part.__name__ for part in each.parts)
    ]
    return ".".join([*owners[:1], names.get(fault.field, fault.field)])


def _joined(key: str, name: str) -> str:
    return f"{key}.{name}" if key else name


def _weather_of_text(text: str) -> dict[str, str]:
    """Return the table of a weather that is given as the name of a sample or the path of a file."""
    is_sample = text in Weather.samples()
    return {KIND: "sample", "name": text} if is_sample else {KIND: "file", "path": text}


def _taken_by(name: str, kind: TableKind) -> str:
    """Return in a line what a kind of table takes."""
    required = kind.required()
    others = [each for each in kind.keys if each not in required]
    needed = f"takes {', '.join(required)}" if required else "takes"
    may = f"{' and' if required else ''} optionally {', '.join(others)}" if others else ""
    return f'kind = "{name}" {needed}{may}'


def _with_unit_in_key(name: str, value: Any, known: Iterable[str]) -> str:
    """Return how to write a value whose unit stands in its key, such as ``depth_ft``; empty for any other."""
    for each in known:
        unit = name.removeprefix(f"{each}_").replace("_per_", "/").replace("_", " ")
        if name.startswith(f"{each}_") and unit and isinstance(value, int | float) and units.is_unit(unit):
            return f'{each} = "{value} {unit}"'
    return ""
