"""The report: one page that asks nothing of the network, escapes what users write and holds its input."""

from __future__ import annotations

import base64
import dataclasses
import html
import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.basics.both_units import both
from loopdrift.reporting import report
from loopdrift.reporting.report import answer

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
    year, peak = loads.heating.sum() / 1000.0, loads.peak["heating"] / 1000.0
    for told in (
        "<dt>building</dt><dd>120 m2 (1,292 ft2) of heated floor, 2.5 m (8.2 ft) high, 300 m3 (10,594 ft3); ",
        "<dt>walls</dt><dd>130 m2 (1,399 ft2) of 0.3 W/(m2 K) (0.053 Btu/(h ft2\N{NO-BREAK SPACE}°F))</dd>",
        f"<dt>heat loss</dt><dd>{house.loss_coefficient:,.0f} W/K (",
        f"{both(year, 'kWh')} of heating a year, {both(year / 120.0, 'kWh/m2')}",
        f"up to {both(peak, 'kW', '.1f')}",
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
        "<tr><td>depth</td><td>90 m (295 ft)</td></tr>",
        "<tr><td>diameter</td><td>150 mm (5.91 in)</td></tr>",
        "<tr><td>positions</td><td>(0, 0), (6, 0) m</td></tr>",
        "<tr><td>loads</td><td>hourly series of one year, in the attached file</td></tr>",
        "<h3>Prices, alternatives, fuel</h3>",
    ):
        assert row in page, row
    assert "<pre>" not in page


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
    metric = r"(?:\N{NO-BREAK SPACE}°C|K|m|m2|kWh|kW|kg/s|W/\(m K\)|m K/W|kPa)"
    imperial = r"(?:\N{NO-BREAK SPACE}°F|degF|ft|ft2|million Btu|kBtu/h|tons|gal/min|psi)"
    assert not re.findall(rf"\d {metric} \([-+0-9,.]+ ?{imperial}\)", text)
    assert len(re.findall(rf"\d ?{imperial} \([-+0-9,.]+ ?{metric}\)", text)) > 15


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
    assert f"{run.error.largest:.1e} K" in full
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
