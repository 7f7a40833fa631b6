"""Sizing beyond lengths: wells, numbers of trenches and coils, bores on a plot, and a fixed total length."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.spatial.distance import pdist

import loopdrift as ld
from loopdrift.ground_sides.bore_field.arrangement import on_plot, shape_in_words
from loopdrift.ground_sides.placement import placed, rectangle

PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
YEARS = 2


def holds(design: ld.Design, side: ld.BoreField | ld.Well, years: int = YEARS) -> bool:
    try:
        return design.replace(ground_side=side).run(years).holds
    except ld.FluidFreezes:
        return False


def well(**changes: Any) -> ld.Well:
    aquifer = ld.Aquifer(temperature=9.0, thickness=10.0, transmissivity=2e-3, storativity=3e-4)
    given = {
        "aquifer": aquifer,
        "diameter": 0.2,
        "sustained_yield": 2.0,
        "lift": 10.0,
        "pump_efficiency": 0.5,
        "flow": 1.0,
        "effectiveness": 0.8,
        "lowest_discharge": 4.0,
    }
    return ld.Well(**(given | changes))


def trenches(**changes: Any) -> ld.TrenchField:
    given = {
        "pipes": [[0.0, 1.5]],
        "pipe": PIPE,
        "length": 100.0,
        "surface": ld.SurfaceWave(amplitude=8.0, coldest_day=30.0),
    }
    return ld.TrenchField(**(given | changes))


@pytest.fixture
def with_well(design: ld.Design) -> ld.Design:
    return design.replace(ground_side=well())


@pytest.fixture
def with_short_bores(design: ld.Design) -> ld.Design:
    bore = design.ground_side.bores[0].replace(depth=30.0)
    return design.replace(ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0))


# --- Wells


@pytest.mark.parametrize(
    ("what", "resolution", "changes"),
    [
        ("flow", 5e-4 * 2.0, {}),
        ("flow", 5e-4 * 2.0, {"return_distance": 20.0, "lowest_discharge": 5.0}),
        ("effectiveness", 1e-3, {"flow": 0.5}),
    ],
)
def test_what_is_found_of_a_well_holds_and_a_hair_less_does_not(
    design: ld.Design, what: str, resolution: float, changes: dict[str, Any]
) -> None:
    base = design.replace(ground_side=well(**changes), limits=ld.Limits(entering_fluid_min=5.0))
    sizing = base.size(what, years=1)
    side = sizing.design.ground_side
    assert sizing.holds and getattr(side, what) == sizing.value
    assert side == base.ground_side.replace(**{what: sizing.value})
    run = sizing.design.run(1)
    assert run.holds and run.judgement.deciding == sizing.judgement.deciding
    assert sizing.value > base.ground_side.sizes[what].between[0]
    assert not holds(base, side.replace(**{what: sizing.value - 1.001 * resolution}), 1)


def test_the_flow_is_a_well_s_usual_size(with_well: ld.Design) -> None:
    sizing = with_well.size(years=1)
    assert sizing.what == "flow"
    litres = with_well.size(years=1, between=("0.1 L/s", "2 L/s"))
    assert_allclose(litres.value, sizing.value, atol=1e-3)
    assert f"a well of {sizing.value:.2f} kg/s" in str(sizing)


def test_a_well_of_too_little_yield_is_infeasible(design: ld.Design) -> None:
    dry = design.replace(ground_side=well(sustained_yield=0.1, flow=0.1, lowest_discharge=6.0))
    sizing = dry.size(years=1)
    assert not sizing.holds and sizing.value == 0.1
    assert "Infeasible for a flow from 0.002 to 0.1 kg/s." in str(sizing)


def test_flows_that_draw_down_too_far_are_not_taken(design: ld.Design) -> None:
    """The flows that keep the discharge warm and the level high are found, be they ever so close together."""
    warm = well(lowest_discharge=6.0)
    flow = design.replace(ground_side=warm).size(years=1).value
    drawdown = design.replace(ground_side=warm.replace(flow=flow)).run(1).hourly["drawdown_m"].max()
    for share, is_held in ((1.01, True), (0.99, False)):
        limited = warm.replace(available_drawdown=float(share * drawdown))
        assert design.replace(ground_side=limited).size(years=1).holds == is_held


@pytest.mark.parametrize("between", [(2.0, 1.0), (-1.0, 1.0), (0.0, 1.0), (float("nan"), 1.0)])
def test_a_range_that_is_none_is_refused(with_well: ld.Design, between: tuple[float, float]) -> None:
    with pytest.raises(ld.InvalidInput, match=r"Sizing\.between = "):
        with_well.size("flow", years=1, between=between)


def test_a_direct_well_has_nothing_to_size(design: ld.Design) -> None:
    direct = design.replace(ground_side=well(flow=None, effectiveness=None), fluid=ld.Fluid("water"))
    with pytest.raises(ld.InvalidInput, match="a well with a heat exchanger"):
        direct.size(years=1)


# --- Trenches and coils


def test_the_fewest_trenches(design: ld.Design) -> None:
    base = design.replace(ground_side=trenches(), limits=ld.Limits(entering_fluid_min=0.0))
    sizing = base.size("trenches", years=1)
    found = sizing.design.ground_side
    assert sizing.holds and 1 < sizing.value == found.trenches
    assert found.spacing == 4.0 and found.length == 100.0
    assert not holds(base, found.replace(trenches=found.trenches - 1), 1)
    narrow = base.size("trenches", years=1, plot=(100.0, 4.1))
    assert not narrow.holds and narrow.value == 2
    on_plot = base.size("trenches", years=1, plot=(4.0 * found.trenches, 100.0)).design.ground_side
    assert on_plot.replace(origin=(0.0, 0.0), direction=0.0) == found
    inside = np.concatenate(on_plot.paths)
    assert np.nanmin(inside) >= 0.0 and (np.nanmax(inside, axis=0) <= [4.0 * found.trenches, 100.0]).all()
    with pytest.raises(ld.InvalidInput, match="must have room for a trench of 100 m by"):
        base.size("trenches", plot=(99.0, 50.0))


def test_the_fewest_coils(design: ld.Design) -> None:
    pond = ld.Pond.basin(
        area=3000.0,
        depth=3.0,
        bank_slope=1.0,
        pipe=PIPE,
        circuits=1,
        length=60.0,
        weather=ld.Weather.sample("mild maritime"),
    )
    base = design.replace(ground_side=pond, limits=ld.Limits(entering_fluid_min=-1.0))
    sizing = base.size("coils", years=1)
    assert sizing.holds and 1 < sizing.value == sizing.design.ground_side.circuits
    assert not holds(base, pond.replace(circuits=int(sizing.value) - 1), 1)


# --- Bores on a plot


def test_no_arrangement_before_the_one_found_holds(with_short_bores: ld.Design) -> None:
    plot = (13.0, 13.0)
    family = with_short_bores.ground_side.family(rectangle(*plot))
    assert [field.count for field in family][:7] == [1, 2, 3, 4, 4, 5, 5]
    frozen = with_short_bores.replace(limits=ld.Limits(freezing_margin=0.0))
    margins = [
        frozen.replace(ground_side=each).size("bores", among=[each], years=1).margin for each in family
    ]
    five = [place for place, each in enumerate(family) if each.arrangement == "an L of 3 by 3"]
    limit = 1e-6 + max(margins[: five[0]])
    assert margins[five[0]] > limit, "an L of five holds more than anything smaller"
    strict = frozen.replace(limits=ld.Limits(freezing_margin=limit))
    sizing = strict.size("bores", years=1, plot=plot)
    first = next(place for place, margin in enumerate(margins) if margin >= limit)
    assert sizing.holds and sizing.design.ground_side == family[first]
    assert "in an L of 3 by 3 on" in str(sizing)


def test_a_single_row_is_tried_before_more_bores(with_short_bores: ld.Design) -> None:
    sizing = with_short_bores.size("bores", years=YEARS, plot=("120 ft", 1.0))
    assert sizing.holds and set(sizing.design.ground_side.positions[:, 1]) == {0.0}
    assert sizing.value <= 1 + 120 * 0.3048 / 6.0
    assert not holds(
        with_short_bores,
        ld.BoreField.grid(
            sizing.design.ground_side.bores[0], columns=int(sizing.value) - 1, rows=1, spacing=6.0
        ),
    )


def test_a_plot_too_small_is_infeasible(with_short_bores: ld.Design) -> None:
    sizing = with_short_bores.size("bores", years=1, plot=(6.5, 1.0))
    assert not sizing.holds and sizing.value == 2
    assert "Infeasible for 2 layouts of up to 2 bores." in str(sizing)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.5, 70.0), st.floats(0.5, 70.0), st.floats(3.0, 9.0), st.integers(1, 60))
def test_arrangements_stand_on_the_plot(length: float, width: float, spacing: float, most: int) -> None:
    found = on_plot(rectangle(length, width), spacing, most)
    counts = [each.arrangement.count for each in found]
    assert counts == sorted(counts) and counts[-1] <= most and counts[0] == 1
    longer = max(length, width)
    assert len({each.arrangement for each in found}) == len(found)
    for each, places in found:
        assert len(places) == each.count
        assert (places >= 0.0).all() and (places <= np.array([length, width]) + 1e-6).all()
        if each.count > 1:
            assert_allclose(pdist(places).min(), spacing)
    row = min(1 + int(longer / spacing + 1e-9), most)
    assert {each.arrangement.count for each in found if each.arrangement.rows == 1} == set(range(1, row + 1))


def test_shapes_are_named() -> None:
    names = {shape_in_words(each.positions, 6.0) for each in on_plot(rectangle(24.0, 12.0), 6.0, 100)}
    assert names >= {
        "",
        "an L of 5 by 2",
        "an L of 5 by 3",
        "a U of 5 by 2",
        "a U of 5 by 3",
        "a U of 3 by 5",
    }
    assert all(name == "" or name.startswith(("an L of", "a U of")) for name in names)
    stairs = np.array([[0.0, 0.0], [6.0, 0.0], [6.0, 6.0], [12.0, 6.0]])
    assert shape_in_words(stairs, 6.0) == ""


def test_bores_stand_around_the_house(with_short_bores: ld.Design) -> None:
    """On the plot that the design states, arrangements leave out the house, wherever it is."""
    house = [[4.0, 0.0], [16.0, 0.0], [16.0, 10.0], [4.0, 10.0]]
    plan = ld.SitePlan(property_lines=[[0.0, 0.0], [20.0, 0.0], [20.0, 14.0], [0.0, 14.0]], house=house)
    family = with_short_bores.ground_side.family(plan)
    for field in family:
        assert (
            not plan.outside_property(field.positions).any() and not plan.below_house(field.positions).any()
        )
    assert family[-1].arrangement == "a U of 4 by 3"
    assert all(field.sides is None or min(field.sides) == 1 for field in family), "a rectangle has no room"
    strict = with_short_bores.replace(site=plan, limits=ld.Limits(entering_fluid_min=2.0))
    sizing = strict.size("bores", years=1)
    assert sizing.design.ground_side in family
    assert strict.size("bores", years=1, plot=(20.0, 14.0)).holds >= sizing.holds


def test_a_plot_under_the_house_has_no_room(with_short_bores: ld.Design) -> None:
    square = [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]]
    wider = [[-1.0, -1.0], [10.0, -1.0], [10.0, 10.0], [-1.0, 10.0]]
    full = with_short_bores.replace(site=ld.SitePlan(property_lines=square, house=wider))
    with pytest.raises(ld.InvalidInput, match="must have room for a bore"):
        full.size("bores", years=1)


def test_points_are_turned_to_fit() -> None:
    plan = ld.SitePlan(property_lines=[[10.0, 10.0], [12.0, 10.0], [12.0, 30.0], [10.0, 30.0]])
    row = np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]])
    found = placed(row, plan, 1.0)
    assert found is not None
    assert_allclose(np.sort(found[:, 1]), [10.0, 20.0, 30.0])
    assert placed(1.01 * row, plan, 1.0) is None


# --- A fixed total length


def test_a_total_length_is_divided(design: ld.Design) -> None:
    sizing = design.size("bores", years=YEARS, total_length="125 m", between=(10.0, 80.0))
    table = sizing.table
    assert table is not None and not table["holds"].all() and table["holds"].any()
    assert_allclose(table["number"] * table["share_m"], 125.0)
    assert table["share_m"].between(10.0, 80.0).all()
    for each in sizing.splits:
        assert_allclose(each.ground_side.total_depth, 125.0)
        assert holds(design, each.ground_side) == each.judgement.holds
    chosen = sizing.design.ground_side
    assert sizing.holds and sizing.value == chosen.count
    before = [each for each in sizing.splits if each.number < chosen.count]
    assert not any(each.judgement.holds for each in before)
    lines = str(sizing).splitlines()
    assert lines[2].split() == ["bores", "depth", "holds", "margin", "arrangement"]
    assert len(lines) == 3 + len(table)


def test_a_total_length_too_short_is_infeasible(design: ld.Design) -> None:
    sizing = design.size("bores", years=1, total_length=60.0)
    assert not sizing.holds and len(sizing.splits) == sizing.runs
    assert sizing.margin == max(each.judgement.deciding.margin for each in sizing.splits)
    assert "Infeasible for 60 m in total, depth from 20 to 300 m." in str(sizing)


def test_trenches_share_a_total_length(design: ld.Design) -> None:
    base = design.replace(ground_side=trenches())
    sizing = base.size("trenches", years=1, total_length=400.0, between=(50.0, 200.0))
    assert [each.ground_side.trenches for each in sizing.splits] == [2, 3, 4, 5, 6, 7, 8]
    assert all(math.isclose(each.number * each.ground_side.length, 400.0) for each in sizing.splits)


def test_the_ends_of_the_range_count(design: ld.Design) -> None:
    sizing = design.size("bores", years=1, total_length="1200 ft", between=("300 ft", "300 ft"))
    assert {each.number for each in sizing.splits} == {4}


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"what": "flow"}, "Sizing.what = 'flow': must be one of depth, spacing, bores"),
        ({"what": "depth", "plot": (3.0, 4.0)}, "Sizing.plot = (3.0, 4.0): must be omitted for depth"),
        ({"what": "depth", "total_length": 100.0}, "Sizing.total_length = 100.0: must be omitted for depth"),
        ({"what": "bores", "plot": 3.0}, "Sizing.plot = 3.0: must be a length and a width"),
        ({"what": "bores", "plot": (3.0, -1.0)}, "Sizing.plot = -1.0 m: must be from 0.1 to"),
        ({"what": "bores", "plot": ("3 kg", 1.0)}, "Sizing.plot = 3 kg"),
        ({"what": "bores", "total_length": "far"}, "Sizing.total_length = 'far'"),
        (
            {"what": "bores", "total_length": 10.0},
            "must give a depth from 20 to 300 m for some number of bores",
        ),
        ({"what": "bores", "between": (1.0, 2.0)}, "must be omitted for bores without a total length"),
    ],
)
def test_what_makes_no_sense_is_refused(design: ld.Design, arguments: dict[str, Any], said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        design.size(**{"years": 1, **arguments})
    assert said in str(refusal.value)


def test_a_plot_beside_given_fields_is_refused(design: ld.Design) -> None:
    with pytest.raises(ld.InvalidInput, match=r"Sizing\.plot = .*: must be omitted with among"):
        design.size("bores", among=[design.ground_side], plot=(3.0, 4.0))


# --- The command


def test_the_command(design_path, command) -> None:
    code, out, err = command("size", design_path, "--find", "bores", "--total", "500 ft", "--years", "1")
    assert (code, err) == (0, "")
    heading = next(line for line in out.splitlines() if line.startswith("bores"))
    assert heading.split() == ["bores", "depth", "holds", "margin", "arrangement"]
    code, out, _ = command(
        "size",
        design_path,
        "--find",
        "bores",
        "--plot",
        "13 m",
        "0.5",
        "--between",
        "20",
        "60",
        "--years",
        "1",
    )
    assert code == 2
    code, out, _ = command("size", design_path, "--find", "bores", "--plot", "13 m", "0.5", "--years", "1")
    assert code == 0 and "All limits hold" in out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--find", "recharge", "--drift", "1", "--plot", "3", "4"), "--find recharge takes no --plot"),
        (("--find", "recharge", "--drift", "1", "--total", "3"), "--find recharge takes no --total"),
        (("--find", "recharge"), "--find recharge needs --drift"),
        (("--find", "coils"), "must be one of depth, spacing, bores"),
    ],
)
def test_the_command_names_what_is_wrong(design_path, command, arguments, said) -> None:
    code, _, err = command("size", design_path, *arguments)
    assert code == 2 and said in err
