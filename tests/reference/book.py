"""The book of verification: each comparison with an outside reference asserts, and is recorded as a row.

``pytest tests/reference --book FOLDER`` writes the rows of the tests that ran as a table (Markdown and JSON)
and a chart (PNG). Chapters are the test files, with their sources; a row is a comparison in a test, the worst
of all its cases.
"""

import dataclasses
import inspect
import json
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose


@dataclasses.dataclass
class Row:
    """The worst case of one comparison."""

    what: str
    found: float
    expected: str
    difference: float | None
    tolerance: float | None
    share: float
    """Difference over tolerance; in a range, distance from its middle over half of its width; of a limit, how
    much of it is reached."""
    unit: str
    cases: int = 1


@dataclasses.dataclass
class Chapter:
    """A test file: what it says of itself and of its sources, and its rows."""

    file: str
    title: str
    sources: str
    rows: dict = dataclasses.field(default_factory=dict)


class Book:
    """All chapters, and the test that is running."""

    def __init__(self):
        self.chapters = {}
        self.test = None

    def record(self, place, row):
        """Keep a row, if it is the worst of its place."""
        module = self.test.module
        title, _, sources = inspect.cleandoc(module.__doc__).partition("\n\n")
        chapter = self.chapters.setdefault(
            self.test.path.name, Chapter(self.test.path.name, " ".join(title.split()), sources)
        )
        key = (self.test.function.__name__, place)
        before = chapter.rows.get(key)
        if before is not None:
            row = dataclasses.replace(
                max(before, row, key=lambda each: each.share), cases=before.cases + row.cases
            )
        chapter.rows[key] = row

    def subject(self, what):
        """Return what a row is about: the test's sentence, and the part of it."""
        text = inspect.getdoc(self.test.function) or self.test.function.__name__.removeprefix(
            "test_"
        ).replace("_", " ")
        first = " ".join(text.partition("\n\n")[0].split()).rstrip(".:")
        return f"{first}: {what}" if what else first


BOOK = Book()


def compare(found, expected, *, rtol=1e-7, atol=0.0, unit="", what=""):
    """Assert that values agree with those of a reference, and record the worst of them.

    Parameters
    ----------
    found, expected : array-like
        Of loopdrift and of the reference; they broadcast.
    rtol, atol : float
        Tolerance: `atol` + `rtol` x expected.
    unit : str
        Of values and `atol`; empty for plain numbers.
    what : str
        Which part of the test's subject it is.
    """
    ours, theirs = np.broadcast_arrays(np.asarray(found, float), np.asarray(expected, float))
    if ours.size and BOOK.test is not None:
        alike = (ours == theirs) | (np.isnan(ours) & np.isnan(theirs))  # infinities too
        with np.errstate(invalid="ignore"):
            difference = np.where(alike, 0.0, np.abs(ours - theirs)).ravel()
        tolerance = np.nan_to_num(atol + rtol * np.abs(theirs)).ravel()
        share = np.where(difference > 0.0, difference / np.maximum(tolerance, np.finfo(float).tiny), 0.0)
        worst = int(np.nanargmax(share)) if not np.isnan(share).all() else 0
        BOOK.record(
            inspect.currentframe().f_back.f_lineno,
            Row(
                BOOK.subject(what),
                float(ours.ravel()[worst]),
                f"{theirs.ravel()[worst]:.7g}",
                float(difference[worst]),
                float(tolerance[worst]),
                float(share[worst]),
                unit,
                ours.size,
            ),
        )
    assert_allclose(found, expected, rtol=rtol, atol=atol, err_msg=what)


def between(found, low, high, *, unit="", what=""):
    """Assert that a value is inside the range that references leave, and record it.

    Parameters
    ----------
    found : float
        Of loopdrift.
    low, high : float
        The ends of the range, outside of it.
    unit : str
        Of all three; empty for plain numbers.
    what : str
        Which part of the test's subject it is.
    """
    if BOOK.test is not None:
        half = 0.5 * (high - low)
        share = (
            float(abs(found - 0.5 * (low + high)) / half)
            if 0.0 < half < np.inf
            else float(not low < found < high)
        )
        expected = f"{low:.7g} to {high:.7g}"
        row = Row(BOOK.subject(what), float(found), expected, None, None, share, unit)
        BOOK.record(inspect.currentframe().f_back.f_lineno, row)
    assert low < found < high, f"{what} {found} {unit} is not between {low} and {high}"


def at_most(found, limit, *, unit="", what=""):
    """Assert that values don't exceed limits, and record the one that comes nearest to its limit.

    Parameters
    ----------
    found, limit : array-like
        Sizes of loopdrift, zero or more, and what they may be; they broadcast.
    unit : str
        Of both; empty for plain numbers.
    what : str
        Which part of the test's subject it is.
    """
    ours, limits = np.broadcast_arrays(np.asarray(found, float), np.asarray(limit, float))
    _one_sided("at most", ours.ravel(), limits.ravel(), ours.ravel(), limits.ravel(), unit, what)


def at_least(found, limit, *, unit="", what=""):
    """Assert that positive values don't fall below limits, and record the nearest; as `at_most`."""
    ours, limits = np.broadcast_arrays(np.asarray(found, float), np.asarray(limit, float))
    _one_sided("at least", ours.ravel(), limits.ravel(), limits.ravel(), ours.ravel(), unit, what)


def _one_sided(words, found, limits, smaller, larger, unit, what):
    """Assert that `smaller` is no larger than `larger`; record the worst of their shares."""
    holds = smaller <= larger  # not so for NaN
    share = np.where(holds, np.abs(smaller) / np.maximum(np.abs(larger), np.finfo(float).tiny), np.inf)
    worst = int(np.argmax(share))
    if BOOK.test is not None:
        subject, expected = BOOK.subject(what), f"{words} {limits[worst]:.7g}"
        row = Row(subject, float(found[worst]), expected, None, None, float(share[worst]), unit, len(found))
        BOOK.record(inspect.currentframe().f_back.f_back.f_lineno, row)
    assert holds.all(), f"{what} {found[worst]} {unit} must be {words} {limits[worst]}"


def pytest_addoption(parser):
    """Add the option that writes the book."""
    parser.addoption("--book", metavar="FOLDER", help="write the book of verification: table, JSON and chart")


@pytest.fixture(autouse=True)
def _running_test(request):
    BOOK.test = request.node
    yield
    BOOK.test = None


def pytest_sessionfinish(session):
    """Write the book, if asked."""
    folder = session.config.getoption("--book")
    if folder and BOOK.chapters:
        write(sorted(BOOK.chapters.values(), key=lambda each: each.file), Path(folder))


def write(chapters, folder):
    """Write table, JSON and chart of chapters into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    plain = [
        {
            "file": chapter.file,
            "title": chapter.title,
            "sources": chapter.sources,
            "rows": [dataclasses.asdict(row) for row in chapter.rows.values()],
        }
        for chapter in chapters
    ]
    (folder / "verification.json").write_text(json.dumps(plain, indent=1) + "\n", encoding="utf-8")
    (folder / "verification.md").write_text(as_markdown(chapters), encoding="utf-8")
    draw(chapters, folder / "verification.png")


def as_markdown(chapters):
    """Return the book as text."""
    rows = [row for chapter in chapters for row in chapter.rows.values()]
    parts = [
        "# Verification",
        f"{len(rows)} comparisons of {sum(row.cases for row in rows):,} values with published sources and "
        "independent methods, written by the tests that make them. Each row is the worst of its cases.",
        "![Difference as a share of the tolerance, the worst of each chapter](verification.png)",
    ]
    for chapter in chapters:
        parts += [f"## {chapter.title}", chapter.sources, f"`tests/reference/{chapter.file}`"]
        lines = [
            "| what | found | expected | difference | tolerance | unit | values |",
            "| --- | ---: | ---: | ---: | ---: | --- | ---: |",
        ]
        for row in chapter.rows.values():
            difference = "" if row.difference is None else f"{row.difference:.2g}"
            tolerance = "inside" if row.tolerance is None else f"{row.tolerance:.2g}"
            what = row.what.replace("|", "\\|")
            lines.append(
                f"| {what} | {row.found:.7g} | {row.expected} | {difference} | {tolerance} | {row.unit} "
                f"| {row.cases:,} |"
            )
        parts.append("\n".join(lines))
    return "\n\n".join(part for part in parts if part) + "\n"


def draw(chapters, path):
    """Draw the worst difference of each chapter as a share of its tolerance."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    worst = [max(row.share for row in chapter.rows.values()) for chapter in chapters]
    median = [np.median([row.share for row in chapter.rows.values()]) for chapter in chapters]
    names = [chapter.file.removeprefix("test_").removesuffix(".py").replace("_", " ") for chapter in chapters]
    figure = Figure(figsize=(8.0, 1.2 + 0.26 * len(chapters)), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    place = np.arange(len(chapters))
    axes.barh(place, worst, color="0.75", label="worst row")
    axes.plot(median, place, "k|", markersize=9, label="median of the rows")
    axes.axvline(1.0, color="black", linestyle="--", linewidth=1.0, label="tolerance")
    axes.set_yticks(place, names)
    axes.invert_yaxis()
    axes.set_xlim(0.0, 1.08)
    axes.set_xlabel("difference as a share of the tolerance, or value as a share of its limit [-]")
    figure.legend(loc="outside upper right", ncols=3, frameon=False)
    figure.savefig(path, dpi=150)
