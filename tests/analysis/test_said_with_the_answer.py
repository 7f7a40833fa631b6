"""What an answer leaves open is said with it: uncertain loads, a small heat pump, files that aren't used."""

import numpy as np
import pytest

import loopdrift as ld
from loopdrift.analysis import shaped_loads
from loopdrift.analysis.findings import findings
from loopdrift.reporting.report.answer import answer


@pytest.fixture(scope="module")
def billed(design):
    """Bills whose loads keep the lower limit by less than they may be off."""
    weather = ld.Weather.sample("mild maritime")
    bills = [f"{each} therm" for each in (60, 52, 45, 30, 16, 8, 6, 6, 12, 26, 44, 57)]
    return design.replace(loads=ld.Loads.from_bills(weather, monthly_bills=bills))


def test_a_margin_within_the_uncertainty_of_shaped_loads_is_a_point_to_look_at(billed):
    run = billed.run(1)
    lowest = float(run.yearly["entering_fluid_min_degC"].min())
    off = 0.70 * (10.0 - lowest)
    near = billed.replace(limits=ld.Limits(entering_fluid_min=lowest - 0.5 * off))
    far = billed.replace(limits=ld.Limits(entering_fluid_min=lowest - 1.5 * off, freezing_margin=0.0))
    text = shaped_loads.beside_margin(near, near.run(1).judgement)
    assert "shaped from bills: about" in text and f"{off:.1f} K" in text
    assert text in [finding.text for finding in findings(near.run(1)) if not finding.holds]
    assert shaped_loads.beside_margin(far, far.run(1).judgement) == ""


def test_sizing_says_what_shaped_loads_leave_open(billed, design):
    said = "is less than the temperatures may be off because the loads are shaped from bills: about"
    assert said in str(billed.size("depth", years=1))
    assert said not in str(design.size("depth", years=1))


def test_sizing_says_that_the_heat_pump_is_too_small(design):
    """The loop holds, because most of the heat is not the heat pump's."""
    small = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05], heating_capacity=[2000.0], cooling_cop=[6.0, -0.05]
    )
    text = str(design.replace(heat_pump=small).size("depth", years=1))
    assert text.startswith("All limits hold") and "Back-up heat in a year reaches" in text
    assert "Back-up heat" not in str(design.size("depth", years=1))


def test_sizing_names_the_arrangement(design):
    sizing = design.size("bores", years=1)
    assert f"({sizing.design.ground_side.arrangement})" in str(sizing) or sizing.value == 1.0


def test_what_is_not_there_is_not_said(design):
    """No cooling, no unmet cooling: a house that is only heated."""
    season = np.clip(np.cos(2 * np.pi * np.arange(8760) / 8760), 0.0, None)
    heated = design.replace(loads=ld.Loads(heating=9500.0 * season)).run(1)
    assert "cooling" not in answer(heated)[1] and "kWh of electricity" in answer(heated)[1].replace("\n", " ")
    short = [finding.text for finding in findings(heated) if "capacity" in finding.text]
    assert short and "unmet cooling" not in short[0] and "of back-up heat in a year" in short[0]


@pytest.fixture(scope="module")
def compared(design):
    own = design.replace(
        loads=ld.Loads(heating=np.full(8760, 500.0)),
        ground_side=design.ground_side.replace(positions=[[0.0, 0.0]]),
    )
    site = ld.Site(candidates=[ld.Proposal.of_design(own, name="a single bore")])
    return design.compare(site, years=1)


def test_a_candidates_own_loads_are_not_used_and_it_is_said(compared):
    text = " ".join(str(compared).split())
    assert "Not used: loads in the file of a single bore; those of the design apply to all loops." in text


def test_the_legend_tells_proposals_from_nearest_sizes(compared):
    assert not compared.table["fits"]["a single bore"]
    labels = compared.plot().get_legend_handles_labels()[1]
    assert "infeasible, as proposed" in labels and "infeasible, nearest size" not in labels
