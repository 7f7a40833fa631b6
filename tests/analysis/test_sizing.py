"""Sizing: the result holds, the next smaller size doesn't, and infeasible ranges are reported."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.basics.both_units import both

YEARS = 3


def margin(design: ld.Design) -> float:
    """Distance of the entering fluid to its limits over all hours with demand, by a run; none if frozen."""
    try:
        run = design.run(YEARS)
    except ld.InvalidInput:
        return -math.inf
    entering = run.hourly["entering_fluid_degC"][run.hourly["electricity_W"] > 0.0]
    return min(
        entering.min() - design.limits.entering_fluid_min, design.limits.entering_fluid_max - entering.max()
    )


def with_depth(design: ld.Design, depth: float) -> ld.Design:
    field = design.ground_side
    return design.replace(ground_side=field.replace(bore=field.bores[0].replace(depth=depth)))


def test_the_shortest_bores(design: ld.Design) -> None:
    sizing = design.size(years=YEARS)
    assert sizing.holds and 20.0 < sizing.value < 100.0
    assert sizing.design == with_depth(design, sizing.value)
    assert_allclose(sizing.margin, margin(sizing.design), rtol=0, atol=1e-12)
    assert margin(with_depth(design, sizing.value - 0.1001)) < 0.0
    run = sizing.design.run(YEARS)
    entering = run.hourly["entering_fluid_degC"][run.hourly["electricity_W"] > 0.0]
    assert sizing.limit == "entering_fluid_min"
    assert (sizing.year, sizing.hour) == entering.idxmin()
    assert sizing.year == YEARS
    again = design.size("depth", years=YEARS, between=("66 ft", 90.0))
    assert_allclose(again.value, sizing.value, atol=0.1)


def test_the_upper_limit_may_decide(design: ld.Design) -> None:
    hot = design.replace(
        loads=ld.Loads(cooling=design.loads.heating), limits=ld.Limits(entering_fluid_max=25.0)
    )
    sizing = hot.size(years=1)
    assert sizing.holds and sizing.limit == "entering_fluid_max"
    assert "to the maximum entering fluid temperature, in year 1" in str(sizing)


def test_the_margin_from_freezing_may_decide(design: ld.Design) -> None:
    sizing = design.replace(limits=ld.Limits(freezing_margin=4.0)).size(years=1)
    assert sizing.holds and sizing.limit == "freezing_margin"
    assert_allclose(sizing.margin, sizing.design.run(1).yearly["leaving_fluid_min_degC"] + 6.0, atol=1e-12)


def test_the_least_spacing(design: ld.Design) -> None:
    narrow = with_depth(design, design.size(years=YEARS).value + 0.2)
    sizing = narrow.size("spacing", years=YEARS, between=(0.5, 12.0))
    assert sizing.holds and 0.5 < sizing.value < 6.0
    assert sizing.design.ground_side == narrow.ground_side.spaced(sizing.value)
    assert margin(narrow.replace(ground_side=narrow.ground_side.spaced(sizing.value - 0.0101))) < 0.0
    assert_allclose(sizing.design.ground_side.land, (sizing.value + 0.15) * 0.15)


def test_the_fewest_bores(design: ld.Design) -> None:
    short = with_depth(design, 40.0)
    sizing = short.size("bores", years=YEARS)
    bore = short.ground_side.bores[0]
    family = ld.BoreField.rectangles(bore, spacing=6.0, most=4)
    assert [field.count for field in family] == [1, 2, 3, 4, 4]
    holding = [field for field in family if margin(short.replace(ground_side=field)) >= 0.0]
    assert sizing.holds and sizing.design.ground_side == holding[0]
    assert sizing.value == holding[0].count
    chosen = short.size("bores", years=YEARS, among=[family[3], family[1]])
    assert chosen.design.ground_side == family[3]


def test_no_fewer_bores_hold_in_any_row(design: ld.Design) -> None:
    """Where a row of five holds, five are found, not the six of the next rectangle."""
    bore = design.ground_side.bores[0]
    four = ld.BoreField.grid(bore.replace(depth=25.0), columns=4, rows=1, spacing=6.0)
    fields = {n: ld.BoreField.grid(four.bores[0], columns=n, rows=1, spacing=6.0) for n in (4, 5)}
    margins = {n: margin(design.replace(ground_side=field)) for n, field in fields.items()}
    limit = design.limits.entering_fluid_min + 0.5 * (margins[4] + margins[5])
    between = design.replace(ground_side=four, limits=design.limits.replace(entering_fluid_min=limit))
    sizing = between.size("bores", years=YEARS)
    assert sizing.holds and sizing.value == 5.0
    assert sizing.design.ground_side == fields[5]


def test_rectangles_come_in_order(design: ld.Design) -> None:
    bore = design.ground_side.bores[0]
    fields = ld.BoreField.rectangles(bore, spacing="20 ft", most=12, longest=3)
    sides = [tuple((field.positions.max(axis=0) / 6.096 + 1).round().astype(int)) for field in fields]
    rows = [(columns, 1) for columns in range(1, 13)]
    rectangles = [(2, 2), (3, 2), (4, 2), (3, 3), (5, 2), (4, 3), (6, 2)]
    assert sides == sorted(rows + rectangles, key=lambda side: (side[0] * side[1], side[0]))
    assert sides[3:9] == [(2, 2), (4, 1), (5, 1), (3, 2), (6, 1), (7, 1)]
    for wrong in ({"most": 0}, {"most": 2.5}, {"most": 5, "longest": 0.5}, {"most": 5, "spacing": 0.1}):
        with pytest.raises(ld.InvalidInput):
            ld.BoreField.rectangles(bore, **{"spacing": 6.0, **wrong})


def test_it_says_that_nothing_holds(design: ld.Design) -> None:
    sizing = design.size(years=YEARS, between=(20.0, 60.0))
    assert not sizing.holds and sizing.value == 60.0
    assert_allclose(sizing.margin, margin(with_depth(design, 60.0)), atol=1e-12)
    assert sizing.margin < 0.0
    said = str(sizing)
    assert said.startswith("Infeasible for a depth from 20 to 60 m. Nearest: 2 bores of 60.0 m")
    assert f"{both(-sizing.margin, 'K', '.2f')} beyond the minimum entering fluid temperature" in said


def test_it_says_what_the_greatest_size_lacks(design: ld.Design) -> None:
    warm = design.replace(flow=0.12, limits=ld.Limits(entering_fluid_min=9.9))
    sizing = warm.size(years=1, between=(20.0, 300.0))
    assert not sizing.holds and sizing.value < 300.0
    assert isinstance(sizing.refusal, ld.InvalidInput)
    assert (sizing.refusal.owner, sizing.refusal.field) == ("Design", "flow")
    assert "The largest size can't be run: Design.flow = 0.12 kg/s" in str(sizing)


def test_without_demand_any_size_holds(design: ld.Design) -> None:
    sizing = design.replace(loads=ld.Loads()).size(years=1)
    assert sizing.holds and sizing.value == 20.0 and sizing.margin is None
    assert str(sizing).startswith("There are no loads: any size holds")


def test_progress_counts_runs(design: ld.Design) -> None:
    told: list[int] = []
    design.size(years=20, progress=told.append)
    assert told == sorted(told)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"what": "length"}, "Sizing.what = 'length': must be one of depth, spacing, bores"),
        ({"years": 0}, "must be a whole number from 1 to 100"),
        ({"between": (80.0, 70.0)}, "must be two rising numbers above 0"),
        ({"between": (-5.0, 70.0)}, "must be two rising numbers above 0"),
        ({"between": 80.0}, "must be a minimum and a maximum"),
        ({"between": ("80 kg", 90.0)}, "must be a number with a unit like m"),
        ({"what": "bores", "between": (1.0, 2.0)}, "must be omitted for bores"),
        ({"what": "depth", "among": []}, "must be omitted for depth"),
        ({"what": "bores", "among": []}, "must be at least one"),
        ({"what": "bores", "among": [3]}, "must be a BoreField"),
        ({"progress": 3}, "must be true, false or callable with a number of runs"),
    ],
)
def test_what_makes_no_sense_is_refused(design: ld.Design, arguments: dict, said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        design.size(**{"years": 1, **arguments})
    assert said in str(refusal.value)


def test_one_bore_alone_has_no_spacing(design: ld.Design) -> None:
    alone = design.replace(ground_side=ld.BoreField(design.ground_side.bores[0], positions=[[0.0, 0.0]]))
    with pytest.raises(ld.InvalidInput, match="a single bore has"):
        alone.size("spacing", years=1)
    with pytest.raises(ld.InvalidInput, match="a single bore has no spacing"):
        alone.ground_side.spaced(5.0)
