"""A project's names stand on every output, and nothing in them can harm a page or a terminal."""

import datetime
import struct
import zlib

import pytest

import loopdrift as ld
from loopdrift.reporting import report
from loopdrift.reporting.overview import overview
from loopdrift.reporting.summary import summary

PROJECT = ld.Project(
    name="Mill farm <b>",
    place="Nowhere 5",
    client="The Millers",
    designer="A. Designer",
    date=datetime.date(2026, 5, 21),
    number=17,
    notes="First line\nsecond line",
)
LINES = ("Mill farm <b>", "Nowhere 5", "The Millers", "A. Designer", "2026-05-21", "17")


@pytest.fixture(scope="module")
def named(design):
    return design.replace(project=PROJECT)


def test_a_design_file_holds_it(named, tmp_path):
    named.write(tmp_path / "design.toml")
    assert ld.Design.read(tmp_path / "design.toml") == named
    text = (tmp_path / "design.toml").read_text()
    assert 'date = "2026-05-21"' in text
    (tmp_path / "design.toml").write_text(text.replace('"2026-05-21"', "2026-05-21"))
    assert ld.Design.read(tmp_path / "design.toml") == named, "a TOML date is a date too"


def test_it_changes_no_temperature(named, run):
    assert named.run(2).yearly.equals(run.yearly)


def test_all_texts_show_it(named):
    run = named.run(1)
    page = report.page(run)
    for text in (overview(named), summary(run)):
        assert all(line in text for line in LINES), text
    assert "<h1>Mill farm &lt;b&gt;</h1>" in page and "<b>" not in page
    assert '<meta name="author" content="A. Designer">' in page
    assert "First line\nsecond line" in page


def test_commands_show_it(named, tmp_path, command):
    named.write(tmp_path / "house.toml")
    for arguments in (
        ["check", tmp_path / "house.toml"],
        ["run", tmp_path / "house.toml", "--years", "1", "--out", tmp_path / "run"],
        ["size", tmp_path / "house.toml", "--years", "1", "--out", tmp_path / "size"],
    ):
        code, out, err = command(*arguments)
        assert code == 0, err
        assert "Mill farm <b>" in out
    for file in ("run/summary.txt", "size/sizing.txt"):
        assert "Mill farm <b>" in (tmp_path / file).read_text()
    assert 'name = "Mill farm <b>"' in (tmp_path / "size" / "design.toml").read_text()
    assert png_text(tmp_path / "run" / "horizon.png")["Author"] == "A. Designer"


def test_a_study_keeps_it(named):
    found = ld.Study(named, vary={"spacing": [5.0, 6.0]}).run(1)
    assert found.attrs["project"] == "Mill farm <b>"
    with pytest.raises(ld.UnknownName):
        ld.Study(named, vary={"project.name": ["a", "b"]}).run(1)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": ""}, "Project.name = '': must be text, and not empty"),
        ({"client": "x" * 101}, "Project.client"),
        ({"designer": "a\nb"}, "Project.designer"),
        ({"place": 5}, "Project.place = 5"),
        ({"number": True}, "Project.number"),
        ({"notes": 7}, "Project.notes = 7: must be text of at most 4,000 characters"),
        ({"notes": "x" * 4001}, "Project.notes"),
        ({"date": 2026.5}, "Project.date"),
    ],
)
def test_bad_fields_are_refused(given, said, says):
    with pytest.raises(ld.InvalidInput) as error:
        ld.Project(**given)
    says(error, [said])


def test_notes_carry_no_commands_for_a_terminal():
    assert ld.Project(notes="red \x1b[31m").notes == "red \\x1b[31m"


def test_an_unknown_key_names_the_known_ones(named, tmp_path):
    named.write(tmp_path / "design.toml")
    text = (tmp_path / "design.toml").read_text()
    (tmp_path / "design.toml").write_text(text.replace("designer =", "desinger ="))
    with pytest.raises(ld.UnknownKey, match="designer"):
        ld.Design.read(tmp_path / "design.toml")


def png_text(path) -> dict[str, str]:
    """The text chunks of a PNG file."""
    data, found, at = path.read_bytes(), {}, 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        if kind == b"tEXt":
            name, text = body.split(b"\0", 1)
            found[name.decode()] = text.decode("latin-1")
        elif kind == b"iTXt":
            name, rest = body.split(b"\0", 1)
            text = rest[2:].split(b"\0", 2)[2]
            found[name.decode()] = (zlib.decompress(text) if rest[0] else text).decode()
        at += 12 + length
    return found
