"""A TOML file with every fault of its text, and the line of every key."""

from __future__ import annotations

import functools
import os
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from loopdrift.basics import text_file
from loopdrift.basics.bounds import MOST_DESIGN_BYTES, MOST_NESTING
from loopdrift.basics.errors import InvalidFile
from loopdrift.basics.units.written import plain

if TYPE_CHECKING:
    from tree_sitter import Node

_MOST_FAULTS = 20
_DATE = re.compile(r"=\s*\d{1,2}[./-]\d{1,2}[./-]\d{4}\b")
"""A date as TOML doesn't have it."""
_PAIR = re.compile(r"(?P<before>\s*(?P<key>[\w.\"' -]+?)\s*)(?P<mark>[=:])\s*(?P<value>.*)")
_COMMENT = re.compile(r"\s+#.*")
_WORDS = {"True": "true", "yes": "true", "Yes": "true", "on": "true"} | {
    "False": "false",
    "no": "false",
    "No": "false",
    "off": "false",
}


class TomlFile:
    """What stands in a TOML file.

    Parameters
    ----------
    path : str or path-like
        The file.

    Raises
    ------
    InvalidFile
        If the file is too long, too nested or no text.
    OSError
        If it can't be read.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self._text = text_file.read(path, MOST_DESIGN_BYTES)
        self.faults: list[InvalidFile] = []
        """Faults of the text."""
        self.misses_keys = False
        """Whether keys that stand in the file may be missing in the table, because their lines are faulty."""
        self.table: dict[str, Any] = self._parsed(self._text)
        if self.faults and len(self.faults) > self.faults[-1].line / 2:  # no TOML at all: one fault says so
            del self.faults[1:]

    def _parsed(self, text: str) -> dict[str, Any]:
        """Return the table of a text; lines that are no TOML are mended or left out, and become faults."""
        lines = text.split("\n")
        touched: set[int] = set()
        while True:
            try:
                table = tomllib.loads("\n".join(lines))
                break
            except tomllib.TOMLDecodeError as error:
                place = _line_of(error, lines)
                line = lines[place]
                mended = _mended(line)
                self.faults.append(_no_toml(self.path, place, text.split("\n"), str(error), mended))
                if place in touched or len(self.faults) >= _MOST_FAULTS or line.lstrip().startswith("["):
                    self.misses_keys = True
                    return {}
                touched.add(place)
                lines[place] = mended
                self.misses_keys |= not mended
            except ValueError:
                allowed = "must have no number of thousands of digits"
                raise InvalidFile(self.path, _longest_line(text), "", "number", allowed) from None
            except RecursionError:
                raise self._too_nested() from None
        if _nesting(table) > MOST_NESTING:
            raise self._too_nested()
        return table

    def _too_nested(self) -> InvalidFile:
        allowed = f"must have at most {MOST_NESTING} tables and lists within each other"
        return InvalidFile(self.path, _longest_line(self._text), "", "tables and lists", allowed)

    def line(self, key: str) -> int:
        """Return the line of a dotted key such as ``ground_side.bore.depth``, or of the table it would be in.

        Parameters
        ----------
        key : str
            The key; places in lists are in brackets, from 0.
        """
        while key:
            if key in self._lines:
                return self._lines[key]
            key = re.sub(r"(\.[^.\[]*|\[\d+\]|^[^.\[]*)$", "", key)
        return 1

    @functools.cached_property
    def _lines(self) -> dict[str, int]:
        """Return the line of each key; a table's is that of its header."""
        import tree_sitter
        import tree_sitter_toml

        parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
        found: dict[str, int] = {}
        counts: dict[str, int] = {}
        for node in parser.parse(self._text.encode()).root_node.children:
            if node.type == "pair":
                _note_pair(node, "", found)
            elif node.type in ("table", "table_array_element"):
                prefix = ""
                parts = list(_parts(node.children[1])) if len(node.children) > 1 else []
                for last, part in ((part is parts[-1], part) for part in parts):
                    prefix = f"{prefix}.{part}" if prefix else part
                    if last and node.type == "table_array_element":
                        counts[prefix] = counts.get(prefix, 0) + 1
                    if prefix in counts:
                        prefix = f"{prefix}[{counts[prefix] - 1}]"
                    found.setdefault(prefix, node.start_point[0] + 1)
                for child in node.children:
                    if child.type == "pair":
                        _note_pair(child, prefix, found)
        return found


def _note_pair(pair: Node, prefix: str, found: dict[str, int]) -> None:
    """Note the lines of a pair's key and of all keys within its value."""
    line = pair.start_point[0] + 1
    for part in _parts(pair.children[0]):
        prefix = f"{prefix}.{part}" if prefix else part
        found.setdefault(prefix, line)
    _note_value(pair.children[-1], prefix, found)


def _note_value(value: Node, prefix: str, found: dict[str, int]) -> None:
    if value.type == "inline_table":
        for child in value.children:
            if child.type == "pair":
                _note_pair(child, prefix, found)
    elif value.type == "array":
        items = [child for child in value.children if child.is_named and child.type != "comment"]
        for place, child in enumerate(items):
            found.setdefault(f"{prefix}[{place}]", child.start_point[0] + 1)
            _note_value(child, f"{prefix}[{place}]", found)


def _parts(key: Node) -> Iterator[str]:
    """Yield the names of a dotted key."""
    if key.type == "dotted_key":
        for child in key.children:
            if child.is_named:
                yield from _parts(child)
    else:
        yield (key.text or b"").decode().strip("\"'")


def _nesting(table: dict[str, Any]) -> int:
    """Return how many tables and lists stand within each other."""
    depth, within = 0, list[Any]([table])
    while within and depth <= MOST_NESTING:
        children = [each.values() if isinstance(each, dict) else each for each in within]
        within = [each for values in children for each in values if isinstance(each, dict | list)]
        depth += 1
    return depth


def _longest_line(text: str) -> int:
    """Return the number of the line where what is too much most likely stands."""
    lines = text.split("\n")
    return 1 + max(range(len(lines)), key=lambda line: len(lines[line]))


def _line_of(error: tomllib.TOMLDecodeError, lines: list[str]) -> int:
    place = re.search(r"\(at line (\d+), column \d+\)", str(error))
    last = max((n for n, line in enumerate(lines) if line.strip()), default=0)
    return min(int(place[1]) - 1, last) if place else last


def _no_toml(path: Path, place: int, lines: list[str], message: str, mended: str) -> InvalidFile:
    cure = f"write {mended.strip()} " if mended else ""
    reason = f"({message})" if cure else message
    if not cure and _DATE.search(lines[place]):
        reason = f"a date is written as year-month-day, such as 2024-03-05 ({message})"
    return InvalidFile(path, place + 1, "", lines[place].strip(), f"must be TOML: {cure}{reason}")


def _mended(line: str) -> str:
    """Return a line as TOML has it, if that is plain: text in quotes, decimals with a point, ``=``."""
    pair = _PAIR.fullmatch(line)
    if pair is None or _is_pair(line):  # a good line may be one too many
        return ""
    straight = plain(pair["value"])
    without = _COMMENT.sub("", straight).strip()
    comma = without.replace(",", ".") if re.fullmatch(r"[-+]?\d+,\d+", without) else without
    for value in (straight, _WORDS.get(without, ""), comma, _quoted(without)):
        mended = f"{pair['before'].rstrip()} = {value}"
        if value and _is_pair(mended):
            return mended
    return ""


def _quoted(value: str) -> str:
    inner = value.strip().strip("\"'") if value[:1] in "\"'" else value.strip()
    return "" if not inner or inner[0] in "[{=" else '"' + inner.replace("\\", "/").replace('"', '\\"') + '"'


def _is_pair(line: str) -> bool:
    try:
        return bool(tomllib.loads(line))
    except (ValueError, RecursionError):
        return False
