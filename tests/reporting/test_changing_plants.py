"""Runs of plants that change, as text, page, tables and cost."""

import base64
import re

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.command_line import DEMO
from loopdrift.reporting import report, run_folder
from loopdrift.reporting.overview import overview
from loopdrift.reporting.summary import summary

RATE = 0.03
PRICES = ld.Prices(
    electricity=ld.Tariff(price=0.2, monthly=10.0),
    discount_rate=RATE,
    installation=ld.Installation(drilling=50.0, equipment=8000.0),
    alternatives=[ld.Alternative(name="boiler", efficiency=0.9, cooling_cop=3.0, first_cost=7000.0)],
)


@pytest.fixture(scope="module")
def plant(design):
    """Another unit from year 3 on, and half as much again to heat from year 5 on, with stricter limits."""
    unit = ld.HeatPump.from_curves(
        heating_cop=[4.5, 0.05], heating_capacity=[14e3, 300.0], cooling_cop=[6.0], cooling_capacity=[12e3]
    )
    extended = ld.Loads(heating=1.5 * np.asarray(design.loads.heating), cooling=design.loads.cooling)
    priced = design.replace(prices=PRICES)
    return priced.then(3, heat_pump=unit, investment=6000.0).then(
        5, loads=extended, limits=ld.Limits(entering_fluid_min=8.0)
    )


@pytest.fixture(scope="module")
def run(plant):
    return plant.run(6)


def test_findings_say_the_phase(run) -> None:
    lowest = run.findings[0]
    assert not lowest.holds and "with the plant from year 5), " in lowest.text
    assert any("with the plant from year 1)" in each.text for each in run.findings)


def test_the_text_has_the_changes_and_the_years_around_them(plant, run) -> None:
    text = summary(run)
    assert "New from year 3: heat pump, for 6,000 currency.\nNew from year 5: loads and limits." in text
    assert [each for each in re.findall(r"^ +(\d)  ", text, re.M)] == list("123456")
    seen = overview(plant)
    assert "From year 3: heat pump" in seen and "From year 5: loads, limits" in seen
    assert seen.count("month  ") == 2


def test_the_page_has_a_table_for_each_phase(run) -> None:
    page = report.page(run, full=True)
    headings = re.findall("<h3>(Years [0-9]+ to [0-9]+)</h3>", page)
    assert headings == ["Years 1 to 2", "Years 3 to 4", "Years 5 to 6"]
    assert "<li>New from year 5: loads and limits.</li>" in page
    assert page.count(" of space heating") == 2 and "From year 5, in a mean year: " in page
    assert "From year 3, heat pump, heating" in page and "From year 5, limits" in page
    assert "Effect of the drift" not in page and "cost 6,000 currency when they are made" in page


def test_the_page_holds_the_plant(run, tmp_path) -> None:
    page = report.page(run)
    for name, content in re.findall(r'download="([^"]+)" href="data:[^,]+,([^"]+)"', page):
        (tmp_path / name).write_bytes(base64.b64decode(content))
    again = ld.Design.read_phases(tmp_path / "design.toml")
    assert [(each.year, each.design) for each in again.phases] == [
        (each.year, each.design) for each in run.plant.phases
    ]


def test_the_folder_has_the_loads_of_each_phase(run, tmp_path) -> None:
    written = {each.name for each in run_folder.write(run, tmp_path / "out")}
    assert {"monthly-loads.csv", "monthly-loads-from-year-5.csv", "design-then-2-loads.csv"} <= written


def test_years_are_priced_with_their_plant(design, run) -> None:
    """Electricity by its price, heat by each phase, and the investment discounted."""
    cost = run.cost()
    own = cost.yearly.loc["ground source"]
    assert_allclose(own["energy_cost"], 0.2 * run.yearly["electricity_kWh"], rtol=1e-12)
    heat = np.asarray(design.loads.heating).sum() / 1000.0
    assert_allclose(own["heat_kWh"], heat * np.array([1.0, 1.0, 1.0, 1.0, 1.5, 1.5]), rtol=1e-12)
    boiler = cost.yearly.loc["boiler"]
    assert_allclose(boiler["electricity_kWh"], own["heat_kWh"] / 0.9 + own["cold_kWh"] / 3.0, rtol=1e-12)
    assert own["investment"].to_list() == [0.0, 0.0, 6000.0, 0.0, 0.0, 0.0]
    discount = (1.0 + RATE) ** -np.arange(1.0, 7.0)
    spent = cost.summary.loc["ground source", "first_cost"] + own["cost"] @ discount
    # At the beginning of year 3, two years after the start.
    assert cost.summary.loc["ground source", "present_cost"] == pytest.approx(
        spent + 6000.0 / (1.0 + RATE) ** 2
    )
    against = cost.summary.loc["boiler"]
    assert against["net_present_value"] == pytest.approx(
        against["present_cost"] - cost.summary.loc["ground source", "present_cost"]
    )


def test_a_change_without_a_change_costs_the_same(design) -> None:
    """The same unit again: every year as that of the design alone."""
    priced = design.replace(prices=PRICES)
    alone, again = priced.run(3).cost(), priced.then(2, heat_pump=design.heat_pump).run(3).cost()
    assert_allclose(again.yearly.to_numpy(), alone.yearly.to_numpy(), rtol=1e-12)
    assert "investment" not in again.yearly


def test_commands_take_it(command, plant, tmp_path) -> None:
    file = tmp_path / "plant.toml"
    plant.write(file)
    code, out, _ = command("run", file, "--years", "5")
    assert code == 0 and "New from year 3: heat pump" in out and "Long-term" not in out
    code, out, _ = command("check", file)
    assert code == 0 and "From year 5: loads, limits" in out
    code, out, _ = command("report", file, "--years", "5", "--out", tmp_path / "r.html", "--units", "IP")
    assert code == 0 and "Years 3 to 4" in (tmp_path / "r.html").read_text()
    code, out, _ = command("sheet", file, "--out", tmp_path / "sheet")
    assert code == 0 and "the plant of year 1; new from year 3: heat pump." in out
    for verb in ("size", "study"):
        code, out, err = command(verb, file, "--out", tmp_path / verb)
        assert code == 2 and "size, compare, study and candidates take a plant that stays the same" in err
    code, out, err = command("run", file, "--years", "3")
    assert code == 2 and "must include the last phase, from year 5" in err


def test_a_check_refuses_a_plant_on_water(command, tmp_path) -> None:
    """Not only the run, which comes later."""
    path = tmp_path / "pond.toml"
    ld.Design.read(DEMO / "pond.toml").write(path)
    path.write_text(path.read_text() + "[[then]]\nyear = 2\npump_stops = true\n")
    code, out, err = command("check", path)
    assert (code, out) == (2, "")
    assert "must be a field of bores or trenches, if the plant changes during the run" in err
