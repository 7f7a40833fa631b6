"""The report: one page that asks nothing of the network, escapes what users write and holds its input."""

from __future__ import annotations

import base64
import dataclasses
import html
import re
import shutil
import subprocess
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.reporting import report
from loopdrift.reporting.html import signs
from loopdrift.reporting.input_tables import sections
from loopdrift.reporting.overview import months
from loopdrift.reporting.report import answer, engineering

CHROMIUM = shutil.which("chromium")
NASTY = 'A <script>alert(1)</script> & "farm"'
NASTY_IN_HTML = "A &lt;script&gt;alert(1)&lt;/script&gt; &amp; &#34;farm&#34;"


@pytest.fixture(scope="module")
def run() -> ld.Run:
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    bore = ld.Bore(depth=90.0, buried_depth=1.5, diameter=0.15, resistance=0.1)
    alternative = ld.Alternative(
        name="<img src=x onerror=alert(1)>",
        efficiency=0.96,
        cooling_cop=3.0,
        fuel=ld.Fuel(name="natural gas", price=0.06),
        first_cost=9e3,
    )
    return ld.Design(
        ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.2e6, temperature=11.0),
        ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        fluid=ld.Fluid.constant(
            density=1030.0, heat_capacity=3800.0, conductivity=0.45, viscosity=0.004, freezing_point=-20.0
        ),
        flow=0.7,
        heat_pump=ld.HeatPump.from_curves(
            heating_cop=[4.0, 0.08],
            heating_entering_load=ld.EnteringLoadCorrection(
                reference=30.0, between=(20.0, 55.0), cop=[-0.05]
            ),
            cooling_cop=[7.0, -0.09],
        ),
        distribution=ld.WaterDistribution(
            ld.Weather.sample("cold continental"), return_water=32.0, mild_return_water=25.0, cold_day=-15.0
        ),
        loads=ld.Loads(
            heating=6e3 * np.clip(season, 0, None),
            cooling=2e3 * np.clip(-season, 0, None),
            origin=[(NASTY, "<b>a meter</b>")],
        ),
        limits=ld.Limits(entering_fluid_min=-3.0, entering_fluid_max=30.0),
        prices=ld.Prices(electricity=ld.Tariff(price=0.2), alternatives=[alternative]),
    ).run(3)


@pytest.fixture(scope="module")
def page(run: ld.Run) -> str:
    return report.page(run, title=NASTY)


def test_what_users_write_is_escaped(page: str) -> None:
    assert "<script" not in page
    assert html.escape("<script>alert(1)</script>") in page
    assert "<img" not in page
    assert f"<dt>{NASTY_IN_HTML}</dt><dd>&lt;b&gt;a meter&lt;/b&gt;</dd>" in page


def test_the_building_is_told_from_the_file_too(run: ld.Run, tmp_path: Path) -> None:
    house = ld.Building(
        floor_area=120.0,
        walls=ld.Opaque(area=130.0, u_value=0.3),
        infiltration=0.5,
        heating_set_point={6: 21.0, 22: 18.0},
    )
    loads = house.loads(ld.Weather.sample("mild maritime"))
    run.design.replace(loads=loads).write(tmp_path / "design.toml")
    page = report.page(ld.Design.read(tmp_path / "design.toml").run(1))
    loss = f"{house.loss_coefficient:,.0f}"
    for told in (
        "<dt>building</dt><dd>120 m² (1,292 ft²) of heated floor, 2.5 m (8.2\N{NO-BREAK SPACE}ft) high, "
        "300 m³ (10,590 ft³); ",
        "<dt>walls</dt><dd>130 m² (1,399 ft²) of 0.3 W/(m² K) (0.053 Btu/(h ft²\N{NO-BREAK SPACE}°F))</dd>",
        f"<dt>heat loss</dt><dd>{loss} W/K (",
        "heated to 18.0\N{NO-BREAK SPACE}°C (64.4\N{NO-BREAK SPACE}°F) to 21.0",
    ):
        assert told in page, told


def test_the_input_gives_the_run_again(page: str, run: ld.Run, tmp_path: Path) -> None:
    files = re.findall(r'download="([^"]*)" href="data:[a-z/]*;base64,([^"]*)"', page)
    assert [name for name, _ in files] == ["design.toml", "design-loads.csv", "design-weather.csv"]
    for name, content in files:
        (tmp_path / name).write_bytes(base64.b64decode(content))
    assert ld.Design.read(tmp_path / "design.toml") == run.design


def test_the_input_is_a_table(page: str) -> None:
    """Every part with its values in both systems, and no TOML to read."""
    for row in (
        "<tr><td>conductivity</td><td>2 W/(m K) (1.2 Btu/(h ft\N{NO-BREAK SPACE}°F))</td></tr>",
        "<tr><td>depth</td><td>90 m (295\N{NO-BREAK SPACE}ft)</td></tr>",
        "<tr><td>diameter</td><td>150 mm (5.91 in)</td></tr>",
        "<tr><td>positions</td><td>(0, 0), (6, 0) m</td></tr>",
        "<tr><td>volumetric heat capacity</td><td>2.2 MJ/(m³ K) (33 Btu/(ft³\N{NO-BREAK SPACE}°F))</td></tr>",
        "<tr><td>cop</td><td>4 + 0.08 T, T: entering fluid in\N{NO-BREAK SPACE}°C</td></tr>",
        "<tr><td>cop</td><td>\N{MINUS SIGN} 0.05 per K, T: entering fluid in\N{NO-BREAK SPACE}°C</td></tr>",
        "<tr><td>between</td><td>20, 55\N{NO-BREAK SPACE}°C</td></tr>",
        "<tr><td>escalation</td><td>0\N{NO-BREAK SPACE}% a year</td></tr>",
        "<tr><td>start month</td><td>January</td></tr>",
        "<tr><td>carbon</td><td>0 kg/kWh</td></tr>",
        "<tr><td>loads</td><td>hourly series of one year, in the attached file</td></tr>",
        "<h3>Prices, alternatives, fuel</h3>",
    ):
        assert row in page, row
    assert "<pre>" not in page


def test_the_input_of_an_inch_pound_page_has_no_other_units(run: ld.Run) -> None:
    page = report.page(run, units="IP", full=True)
    for row in (
        "<tr><td>cop</td><td>2.578 + 0.04444 T, T: entering fluid in\N{NO-BREAK SPACE}°F</td></tr>",
        "<tr><td>positions</td><td>(0, 0), (19.69, 0) ft</td></tr>",
        "<tr><td>between</td><td>68, 131\N{NO-BREAK SPACE}°F</td></tr>",
        "<th>COP over entering fluid T [°F]</th>",
    ):
        assert row in page, row
    assert f"<td>{signs(f'{1.8 * run.error.largest:.1e} degF')}</td>" in page


def test_quantities_are_written_as_in_print(run: ld.Run) -> None:
    """Degree signs, superscripts and powers of ten in sentences, tables and headings."""
    text = "at 10.5 degC, 2 m2 (21.5 ft2), 3e-07 K; W/(m2 K), grade ft24 and am2"
    assert (
        signs(text) == "at 10.5\N{NO-BREAK SPACE}°C, 2 m² (21.5 ft²), 3·10⁻⁷ K; W/(m² K), grade ft24 and am2"
    )
    assert signs("temperature [degC], 30 deg from north") == "temperature [°C], 30° from north"
    assert signs("0.5 % rms, width: 100%") == "0.5\N{NO-BREAK SPACE}% rms, width: 100\N{NO-BREAK SPACE}%"
    for units in ("SI", "IP"):
        page = re.sub(
            '<svg.*?</svg>|base64,[^"]*|<style.*?</style>',
            "",
            report.page(run, units=units, full=True),
            flags=re.S,
        )
        assert not re.search(r"\b(?:m|ft)[23]\b|\de[-+]\d|deg[CF]", page)


def test_small_peaks_have_two_digits(run: ld.Run) -> None:
    """Hot water of 350 W is neither 0.3 kW in a sentence nor 0.4 kW in a table."""
    design = run.design.replace(loads=run.design.loads.with_series(hot_water=np.full(8760, 350.0)))
    assert "of hot water, peak 0.35 kW (1.2 kBtu/h)" in answer.needs(design, 1)
    assert " 0.35\n" in months(design.loads, "SI")
    ((*_, heading), *rows) = engineering.content(design.run(years=1), "SI", {})["loads"]
    assert heading == "Hot water, peak [kW]"
    assert {row[-1] for row in rows} == {"0.35"}


def test_lists_of_angles_and_places_have_units(run: ld.Run) -> None:
    bore, places = run.design.ground_side.bores[0], [(0.0, 0.0), (20.0, 0.0)]
    field = ld.BoreField(bore, positions=places, inclination=[0.0, 20.0], direction=[0.0, 90.0])
    rows = dict(row for part in sections(run.design.replace(ground_side=field), "SI") for row in part.rows)
    assert rows["inclination"] == "0, 20 deg"
    assert rows["direction"] == "0, 90 deg"


def test_errors_of_everyday_size_have_no_power_of_ten(run: ld.Run) -> None:
    large = dataclasses.replace(run.error, resistance=1.18)
    rows = dict(engineering._errors(SimpleNamespace(error=large), "IP"))
    assert rows["Resistance of the loop read from its table"] == "2.1 degF"


def test_no_figure_stands_twice(run: ld.Run, page: str) -> None:
    """Sums and peaks of the loads are a sentence; the engineer's part has them with the full-load hours."""
    assert "full-load hours</dd>" not in page
    full = report.page(run, full=True)
    for label in ("heating", "cooling"):
        assert full.count(f"<dt>{label}</dt>") == 1
    assert full.count("<dt>resistance</dt>") == page.count("<dt>resistance</dt>")


def test_water_is_not_called_a_bore(run: ld.Run) -> None:
    pond = ld.Pond.basin(
        area=4500.0,
        depth=3.5,
        bank_slope=3.0,
        pipe=ld.Pipe.sdr(11, outer_diameter=0.032),
        circuits=6,
        length=90.0,
        weather=ld.Weather.sample("mild maritime"),
    )
    watered = run.design.replace(ground_side=pond).run(1)
    page = report.page(watered)
    assert "in the pond&#39;s water from the hourly time step" in page
    assert "The ground is uniform" not in page
    assert watered.plot("coldest-week").get_legend_handles_labels()[1][0] == "water at the coils"


def test_numbers_are_those_of_the_run(page: str, run: ld.Run) -> None:
    """With no more digits than they have: 0.1 degC, and three digits of energy and money."""
    last = run.yearly.iloc[-1]
    assert f"<td>{last['entering_fluid_min_degC']:.1f}</td>" in page
    for value in (last["electricity_kWh"], *run.cost().summary["present_cost"]):
        digits = f"{float(f'{value:.3g}'):,.0f}"
        assert value > 1000.0 and f"<td>{digits}</td>" in page
    assert "can hurt people and water" in page


def test_units_of_the_page_come_first_everywhere(run: ld.Run) -> None:
    page = report.page(run, units="IP", full=True)
    text = " ".join(
        re.sub("<[^>]*>", " ", re.sub("<svg.*?</svg>|<style.*?</style>", " ", page, flags=re.S)).split()
    )
    metric = r"(?:\N{NO-BREAK SPACE}°C|K|m|m²|kWh|kW|kg/s|W/m|W/\(m K\)|m K/W|kPa)"
    imperial = r"(?:\N{NO-BREAK SPACE}°F|degF|ft|ft²|Btu/\(h ft\)|million Btu|kBtu/h|tons|gal/min|psi)"
    assert not re.findall(rf"\d {metric} \([-+0-9,.]+ ?{imperial}\)", text)
    assert len(re.findall(rf"\d ?{imperial} \([-+0-9,.]+ ?{metric}\)", text)) > 15
    assert "per metre" not in text


def test_unusual_input_has_its_own_list(run: ld.Run) -> None:
    """Not among the facts about loop and plant, where nobody looks for a slip of units."""
    hot = run.design.replace(ground=run.design.ground.replace(temperature=35.0), limits=ld.Limits()).run(1)
    page = report.page(hot)
    assert page.index("<h3>Unusual input</h3>") < page.index("<li>ground, temperature: 35.0")
    assert "<dt>caution</dt>" not in page


def test_notes_are_parted_from_what_matters(run: ld.Run) -> None:
    """Cooling with fluid colder than the table's is easy; heating with it isn't."""
    cold = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.08],
        heating_range=(-10.0, 30.0),
        cooling_cop=[7.0, -0.09],
        cooling_range=(15.0, 40.0),
    )
    easy = run.design.replace(heat_pump=cold, distribution=None).run(1)
    (note,) = [finding for finding in easy.findings if "outside the heat pump's table" in finding.text]
    assert note.is_note and str(note).startswith("note: In ")
    page = report.page(easy)
    assert page.index("For information") < page.index("outside the heat pump&#39;s table")
    hard = cold.replace(heating=dataclasses.replace(cold.heating, entering_fluid_range=(11.0, 30.0)))
    hard = run.design.replace(heat_pump=hard, distribution=None).run(1)
    (warning,) = [finding for finding in hard.findings if "outside the heat pump's table" in finding.text]
    assert not warning.is_note and str(warning).startswith("WARNING: In ")
    assert answer.answer(hard)[1].startswith(
        "The loop holds in every hour of 1 year, with one point to look at."
    )


def test_the_answer_follows_the_limits(run: ld.Run) -> None:
    holds, sentence = answer.answer(run)
    assert holds
    assert sentence.startswith("The loop holds in every hour of 3 years. The fluid that comes back ")
    tight = run.design.replace(limits=ld.Limits(entering_fluid_min=9.0)).run(3)
    holds, sentence = answer.answer(tight)
    assert not holds
    assert sentence.startswith("The loop does not hold for 3 years: one limit is exceeded. ")
    assert [margin.holds for margin in answer.margins(tight)] == [False, True, True]


def test_a_title_must_be_text(run: ld.Run) -> None:
    with pytest.raises(ld.InvalidInput, match=r"Report\.title = '  ': must be text"):
        report.page(run, title="  ")


def test_the_engineers_part(run: ld.Run, page: str) -> None:
    full = report.page(run, full=True)
    for heading in ("Hydraulics", "Heat pump", "Tables", "Errors and checks", "Sources"):
        assert f"<h2>{heading}</h2>" in full and f"<h2>{heading}</h2>" not in page
    assert "<h3>Year 1 by month</h3>" in full and "<h3>Year 3 by month</h3>" in full
    assert signs(f"{run.error.largest:.1e} K") in full
    assert "4 + 0.08 T" in full, "the curves of the heat pump"
    assert "Cimmino &amp; Bernier 2014" in full
    january = run.hourly.iloc[: 31 * 24]["electricity_W"].sum() / 1e3
    assert f"<td>{float(f'{january:.4g}'):,.0f}</td>" in full
    piping = ld.Piping(
        pump=ld.Pump(efficiency=0.4),
        apparatus=[ld.Apparatus(name="<i>heat pump</i>", pressure_drop="20 kPa", flow="0.7 L/s")],
    )
    pipes = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.075)
    bore = ld.Bore(depth=90.0, buried_depth=1.5, diameter=0.15, pipes=pipes, grout_conductivity=1.6)
    piped = run.design.replace(piping=piping, ground_side=run.design.ground_side.replace(bore=bore)).run(1)
    full = report.page(piped, full=True)
    assert "<td>&lt;i&gt;heat pump&lt;/i&gt;</td>" in full and "<i>" not in full
    assert f"{piped.design.pressure_drop()['pressure_drop_Pa'].iloc[0] / 1e3:.2f} kPa" in full


def test_it_fits_paper_and_screen(run: ld.Run, page: str, browser, fetches_nothing) -> None:
    """At A4 and letter, printed and on screen, with and without the engineer's part."""
    full = report.page(run, full=True, units="IP")
    fetches_nothing(page)
    fetches_nothing(full)
    for text, most in ((page, 9), (full, 14)):
        for paper in ("A4", "letter"):
            sheets = browser.pdf(text, paper)
            assert len(sheets) <= most
            assert "The loop holds in every hour of 3 years" in " ".join(sheets[0].split())
            assert all(sheet.strip() for sheet in sheets), "no empty sheet"
        within_margins = [int(width * 96 / 25.4) for width in (210 - 32, 215.9 - 32)]
        overflow = browser.overflow(text, widths=(1280, 794, 420), printed=within_margins)
        assert max(overflow) <= 0, overflow


@pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium, which .ci/run installs")
def test_a_browser_shows_it(page: str, tmp_path: Path) -> None:
    """A headless browser without any network draws the page: dark ink on white, charts included."""
    import matplotlib.image

    file, picture = tmp_path / "report.html", tmp_path / "report.png"
    file.write_text(page, encoding="utf-8")
    command = [
        *(str(CHROMIUM), "--headless", "--no-sandbox", "--disable-gpu", "--proxy-server=127.0.0.1:9"),
        *(f"--user-data-dir={tmp_path / 'profile'}", "--window-size=900,1600"),
        *(f"--screenshot={picture}", file.as_uri()),
    ]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    pixels = matplotlib.image.imread(picture)[..., :3]
    ink = (pixels.min(axis=2) < 0.5).mean()
    assert 0.01 < ink < 0.3
    colours = np.unique((pixels * 15).astype(int).reshape(-1, 3), axis=0)
    assert len(colours) > 30
