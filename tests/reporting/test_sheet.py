"""The installer's sheet: prints on two pages, asks nothing of the network, escapes all text."""

import csv
import io
import re
from pathlib import Path

import pytest

import loopdrift as ld
from loopdrift.reporting import sheet

DEMO = Path(ld.__file__).parent / "demo"
NASTY = 'A <script>alert(1)</script> & "farm"'
PIPE = ld.Pipe.sdr(11, outer_diameter="50 mm")


@pytest.fixture(scope="module")
def piped():
    design = ld.Design.read(DEMO / "design.toml")
    return design.replace(
        piping=ld.Piping(
            pump=ld.Pump(efficiency=0.35),
            mains=[ld.PipeRun(name="<b>header</b>", pipe=PIPE, length="80 ft", loss_coefficient=6.0)],
            apparatus=[ld.Apparatus(name="heat pump", pressure_drop="20 kPa", flow="1.0 L/s")],
        ),
        project=ld.Project(name=NASTY, client="<img src=x>", notes="one\ntwo <b>"),
        site=ld.SitePlan(
            house=[[-3, 12], [9, 12], [9, 21], [-3, 21]], property_lines=[[-9, -9], [20, -9], [20, 30]]
        ),
    )


@pytest.mark.parametrize(
    ("name", "units"),
    [("piped", "SI"), ("piped", "IP"), ("trenches", "IP"), ("pond", "SI"), ("well", "SI")],
)
def test_it_prints_on_two_pages_and_fits_screens(piped, name, units, browser, fetches_nothing):
    design = piped if name == "piped" else ld.Design.read(DEMO / f"{name}.toml")
    page = sheet.page(design, units=units)
    fetches_nothing(page)
    for paper in ("A4", "letter"):
        sheets = browser.pdf(page, paper)
        assert len(sheets) <= 2
        assert "by local code" in " ".join(sheets) and "can hurt people and water" in " ".join(sheets)
    within_margins = [int(width * 96 / 25.4) for width in (188, 194)]
    overflow = browser.overflow(page, widths=(1280, 794, 420), printed=within_margins)
    assert max(overflow) <= 0, overflow


def test_all_text_is_escaped(piped):
    page = sheet.page(piped)
    for raw in ("<script", "<img", "<b>"):
        assert raw not in page
    assert page.count("&lt;b&gt;header&lt;/b&gt;") >= 2
    assert "one\ntwo &lt;b&gt;" in page


def test_what_it_lists(piped):
    text = " ".join(re.sub("<[^>]*>", " ", sheet.page(piped)).split())
    for said in (
        "Bores 4",
        "Drilled length in total, from the surface 346 m 1,135 ft",
        "Grout with 25% surplus (common practice, no source)",
        "Propylene glycol, pure, at 20 °C",
        "Pump duty: head of this fluid",
        "Least velocity, 0.6 m/s or 2 ft/s common practice, no source",
        "Pressure tests of pipes and circuits by local code",
        "Bores by number, with the log to fill in",
        "Bore 3 lies partly or wholly outside the property lines.",
        "Drilled to",
    ):
        assert said in text, said
    first_inch_pound = " ".join(re.sub("<[^>]*>", " ", sheet.page(piped, units="IP")).split())
    assert "Drilled length in total, from the surface 1,135 ft 346 m" in first_inch_pound
    assert "4 bores of 279 ft (85.0 m)" in first_inch_pound


def test_files(piped, tmp_path):
    files = piped.write_sheet(tmp_path / "sheet", units="IP", grout_surplus="40 percent")
    assert sorted(file.name for file in files) == ["places.csv", "quantities.csv", "sheet.html"]
    places = list(csv.reader(io.StringIO((tmp_path / "sheet" / "places.csv").read_text())))
    assert places[0][:4] == ["Bore", "x, east [ft]", "y, north [ft]", "Drilled length [ft]"]
    assert places[0][-1] == "Signed" and [row[0] for row in places[1:]] == ["1", "2", "3", "4"]
    assert places[2][1] == "18.0"
    rows = {
        row[1]: row for row in csv.reader(io.StringIO((tmp_path / "sheet" / "quantities.csv").read_text()))
    }
    assert rows["Freezing point"][2:] == ["-7.2", "degC", "19.1", "degF"]
    net, ordered = (float(row[2]) for name, row in rows.items() if name.startswith("Grout"))
    assert ordered == pytest.approx(1.4 * net, abs=0.01)
    (tmp_path / "sheet" / "sheet.html").write_text("mine")
    with pytest.raises(ld.InvalidInput, match="was changed"):
        piped.write_sheet(tmp_path / "sheet")


def test_the_command(piped, tmp_path, command):
    piped.write(tmp_path / "design.toml")
    code, out, err = command("sheet", tmp_path / "design.toml", "--out", tmp_path / "out", "--units", "IP")
    assert (code, err) == (0, "")
    assert f"wrote {tmp_path / 'out' / 'sheet.html'}" in out
    code, _, err = command(
        "sheet", tmp_path / "design.toml", "--out", tmp_path / "new", "--grout-surplus", "9"
    )
    assert code == 2 and "grout_surplus" in err
    code, _, err = command("sheet", tmp_path / "design.toml")
    assert code == 2 and "--out" in err


def test_a_large_field_goes_on_over_more_pages(piped, browser):
    """Its heading repeats, and no row is lost."""
    bore = piped.ground_side.bores[0]
    field = ld.BoreField.grid(bore, columns=10, rows=8, spacing=6.0)
    page = sheet.page(piped.replace(ground_side=field, flow=22.0, site=None))
    sheets = browser.pdf(page, "A4")
    assert 3 <= len(sheets) <= 5
    assert sum("Drilled to" in text for text in sheets) >= 2
    assert all(f"<td>{number}</td>" in page for number in range(1, 81))


def test_unknown_units_are_refused(piped):
    with pytest.raises(ld.InvalidInput, match=r"Sheet\.units = 'metric'"):
        sheet.page(piped, units="metric")


def test_the_browser_sees_what_overflows(browser):
    page = "<!DOCTYPE html><style>@media print { div { width: 9in } }</style><body><div>wide</div></body>"
    screen, printed = browser.overflow(page, widths=[700], printed=[700])
    assert screen <= 0 < printed
