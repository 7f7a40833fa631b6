"""The installer's sheet: prints on two pages, asks nothing of the network, escapes all text."""

import csv
import io
import re
from pathlib import Path

import pytest

import loopdrift as ld
from loopdrift.reporting import sheet
from loopdrift.reporting.sheet import tables

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
        "Grout with 25 % surplus (common practice, no source)",
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


@pytest.mark.parametrize(("columns", "rows"), [(10, 6), (10, 12)])
def test_a_large_field_is_complete_on_two_pages(piped, browser, columns, rows):
    """The log to fill in is an annex, which the first page announces; its heading repeats."""
    bore = piped.ground_side.bores[0]
    field = ld.BoreField.grid(bore, columns=columns, rows=rows, spacing=6.0)
    page = sheet.page(piped.replace(ground_side=field, flow=0.3 * columns * rows))
    for paper in ("A4", "letter"):
        first, second, *annex = (" ".join(text.split()) for text in browser.pdf(page, paper))
        assert "as an annex the log to" in first and "by local code" in first
        assert "All bores: drilled length 86.5 m; active from 1.5 m." in second
        assert "Annex" not in second and str(columns * rows) in second.split()
        assert annex and all("Drilled to" in text for text in annex)
    assert all(page.count(f"<td>{number}</td>") == 2 for number in range(1, columns * rows + 1))
    within_margins = [int(width * 96 / 25.4) for width in (188, 194)]
    overflow = browser.overflow(page, widths=(1280, 794, 420), printed=within_margins)
    assert max(overflow) <= 0, overflow


@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_a_list_of_several_pages_leaves_none_almost_empty(piped, browser, paper):
    """Pipes and notes stay together, and the list of places begins below them."""
    field = ld.BoreField.grid(piped.ground_side.bores[0], columns=20, rows=12, spacing=6.0)
    sheets = browser.pdf(sheet.page(piped.replace(ground_side=field, flow=60.0)), paper)
    (of_pipes,) = (text for text in sheets if "Outer diameter x wall" in " ".join(text.split()))
    assert "other apparatus is not included." in " ".join(of_pipes.split())
    assert "Bores by number" in of_pipes


def test_no_quantity_has_five_digits(piped):
    """Large fields have quantities of thousands, with four digits at most in either system."""
    field = ld.BoreField.grid(piped.ground_side.bores[0], columns=20, rows=12, spacing=6.0)
    design = piped.replace(ground_side=field, flow=60.0)
    for line in tables.lines(design, design.quantities()):
        for text in line.texts("IP"):
            number = re.match(r"[\d,.]+", text)
            if number is not None and line.unit:
                assert len(number[0].replace(",", "").replace(".", "").strip("0")) <= 4, (line.item, text)


def test_a_short_list_stays_together(browser):
    """Four trenches are one table on one page, on letter paper too."""
    sheets = browser.pdf(sheet.page(ld.Design.read(DEMO / "trenches.toml")), "letter")
    assert sum("Begins at x" in text for text in sheets) == 1


def test_trenches_say_where_their_pipes_lie():
    text = " ".join(re.sub("<[^>]*>", " ", sheet.page(ld.Design.read(DEMO / "trenches.toml"))).split())
    assert "Depth of 2 pipes in each trench 1.53 m 5.03 ft" in text
    assert "Depth of 2 pipes in each trench 2.13 m 7.00 ft" in text
    assert "Distance between pipes side by side, centre to centre 0.60 m" in text


def test_coordinates_west_of_the_origin_are_numbers(piped, tmp_path):
    field = ld.BoreField(piped.ground_side.bores[0], positions=[[-6.0, 0.0], [0.0, -7.5]])
    piped.replace(ground_side=field, site=None).write_sheet(tmp_path / "sheet")
    places = list(csv.reader(io.StringIO((tmp_path / "sheet" / "places.csv").read_text())))
    assert [row[1:3] for row in places[1:]] == [["-6.00", "0.00"], ["0.00", "-7.50"]]


def test_no_number_has_more_digits_than_it_has(piped):
    """Three digits for flows, pressures and grout, and all of them for small flows."""
    lines = {line.item: line for line in tables.lines(piped, piped.quantities())}
    for item in ("In total", "In each of 4 bores", "Pump duty: pressure", "Grout, net"):
        digits = lines[item].texts("SI")[0].split()[0].replace(",", "").replace(".", "").lstrip("0")
        assert len(digits) == 3, (item, digits)


def test_unknown_units_are_refused(piped):
    with pytest.raises(ld.InvalidInput, match=r"Sheet\.units = 'metric'"):
        sheet.page(piped, units="metric")


def test_the_browser_sees_what_overflows(browser):
    page = "<!DOCTYPE html><style>@media print { div { width: 9in } }</style><body><div>wide</div></body>"
    screen, printed = browser.overflow(page, widths=[700], printed=[700])
    assert screen <= 0 < printed
