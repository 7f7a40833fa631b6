"""Pages written before each build: columns and keys, from the program, and the book of verification."""

import inspect
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

from numpydoc.docscrape import FunctionDoc
from sphinx.application import Sphinx

from loopdrift import Design, Site
from loopdrift.files.kinds import Key, tables_within
from loopdrift.model import columns
from loopdrift.model.phases import Change


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    lines = [list(head), *map(list, rows)]
    lines.insert(1, ["---"] * len(lines[0]))
    return "\n".join(f"| {' | '.join(line)} |" for line in lines) + "\n"


def columns_page() -> str:
    def rows(found: Mapping[str, columns.Column]) -> Iterator[list[str]]:
        for name, column in found.items():
            yield [f"`{name}`", column.unit, column.meaning, column.only]

    head = ("column", "unit", "meaning", "only with")
    return "\n".join(
        [
            "# Columns",
            "",
            "Names of columns end with their unit. Temperatures are those at the end of an hour.",
            *("", "## Hourly", "", table(head, rows(columns.HOURLY))),
            *("## Yearly", "", table(head, rows(columns.YEARLY))),
            *("## Of whole runs, in studies", "", table(head, rows(columns.OF_RUNS))),
        ]
    )


def in_markdown(lines: Iterable[str]) -> str:
    return " ".join(" ".join(lines).replace("``", "`").replace("|", "\\|").split())


def keys_of(make: Callable[..., Any], keys: Mapping[str, Key]) -> list[list[str]]:
    """Rows of key, type and meaning, as the constructor documents them."""
    entries = {
        name.strip(): entry
        for entry in FunctionDoc(make, doc=inspect.getdoc(make))["Parameters"]
        for name in entry.name.split(",")
    }
    return [
        [f"`{name}`", in_markdown([entries[key.parameter].type]), in_markdown(entries[key.parameter].desc)]
        for name, key in keys.items()
        if key.parameter in entries
    ]


def keys_page() -> str:
    titles = {Design: "Design file", Site: "Site file", Change: "Tables `then` of a design file"}
    blocks = [
        "# Keys of design and site files",
        "",
        "Each table is a part, and its keys are the parameters of the part's constructor. A part that can",
        "be made in several ways has a list for each `kind`.",
    ]
    found = tables_within(Design, Site, Change)
    for part in sorted(found, key=lambda part: (part not in titles, part.__name__)):
        kinds = found[part]
        for name, kind in kinds.items():
            rows = keys_of(kind.constructor.make, kind.keys)
            title = titles.get(part, part.__name__) + (f", kind `{name}`" if name else "")
            blocks += ["", f"## {title}", "", table(("key", "value", "meaning"), rows)]
    return "\n".join(blocks)


BOOK = "generated/book"
"""Where ``pytest tests/reference --book python/docs/generated/book`` writes what the checks found."""


def book_page(source: Path) -> str:
    """The rows of the book of verification without its heading, or how to have it written."""
    book = source / BOOK / "verification.md"
    if not book.is_file():
        how = f"`pytest tests/reference --book python/docs/{BOOK}` writes it"
        return f"This site was built without the table: {how}.\n"
    _, _, rows = book.read_text(encoding="utf-8").partition("\n")
    return rows.replace("(verification.png)", "(book/verification.png)")


def write(app: Sphinx) -> None:
    folder = Path(app.srcdir) / "generated"
    folder.mkdir(exist_ok=True)
    pages = {"columns.md": columns_page(), "keys.md": keys_page(), "book.md": book_page(Path(app.srcdir))}
    for name, text in pages.items():
        path = folder / name
        if not path.is_file() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")


def setup(app: Sphinx) -> dict[str, bool]:
    app.connect("builder-inited", write, priority=1)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
