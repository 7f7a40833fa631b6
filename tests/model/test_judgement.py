"""One meaning of "holds": what a run refuses, nothing else accepts."""

from __future__ import annotations

import dataclasses
import functools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.ground_sides.judged import judged

PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
SOIL = ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.2e6, temperature=8.0)


def pond(**changes: Any) -> ld.Pond:
    given = {
        "area": 400.0,
        "depth": 3.0,
        "bank_slope": 1.0,
        "pipe": PIPE,
        "circuits": 4,
        "length": 100.0,
        "weather": ld.Weather.sample("cold continental"),
    }
    return ld.Pond.basin(**(given | changes))


def well(**changes: Any) -> ld.Well:
    aquifer = ld.Aquifer(temperature=8.0, thickness=10.0, transmissivity=2e-3, storativity=3e-4)
    given = {
        "aquifer": aquifer,
        "diameter": 0.2,
        "sustained_yield": 2.0,
        "lift": 10.0,
        "pump_efficiency": 0.5,
        "flow": 0.2,
        "effectiveness": 0.85,
        "lowest_discharge": 4.0,
    }
    return ld.Well(**(given | changes))


def trenches(**changes: Any) -> ld.TrenchField:
    given = {
        "pipes": [[0.0, 1.5]],
        "pipe": PIPE,
        "trenches": 2,
        "length": 100.0,
        "spacing": 3.0,
        "surface": ld.SurfaceWave(amplitude=10.0, coldest_day=30),
    }
    return ld.TrenchField(**(given | changes))


def accepts(design: ld.Design, years: int = 1) -> dict[str, bool]:
    """Say whether a run, a study, a comparison and sizing without a choice accept a design."""
    case = ld.Study(design, vary={"flow": [design.flow]}).run(years)
    (margin,), (failure,) = case["margin_K"].to_numpy(), case["failure"].to_numpy()
    try:
        run = design.run(years).holds
    except ld.InvalidInput:
        run = False
    return {
        "run": run,
        "study": bool(failure == "" and not margin < 0.0),
        "study by year": bool(failure == "" and (case["limits_broken"] == 0.0).all()),
        "comparison": judged([design], years).holds,
    }


def test_a_pond_frozen_through_does_not_hold(design: ld.Design) -> None:
    """Ice takes all of a metre of water in a cold climate, however long the coils are."""
    frozen = design.replace(ground_side=pond(depth=1.0), limits=ld.Limits(freezing_margin=0.0))
    run = frozen.run(1)
    assert run.hourly["ice_m"].max() > 0.8
    assert not run.holds and [each.name for each in run.judgement.broken] == ["ice_max"]
    assert not any(accepts(frozen).values())
    sizing = frozen.size(years=1, between=(80.0, 300.0))
    assert not sizing.holds and sizing.limit == "ice_max"
    assert "beyond the maximum ice thickness on the pond" in str(sizing)
    assert "BROKEN: In " in str(run) and "The design does not hold" in str(run)


def test_a_discharge_below_its_limit_does_not_hold(design: ld.Design) -> None:
    cold = design.replace(ground_side=well(), limits=ld.Limits(entering_fluid_min=-8.0))
    run = cold.run(1)
    hours = int((run.hourly["discharge_degC"][run.hourly["heat_extracted_W"] != 0.0] < 4.0).sum())
    assert hours > 1000
    lowest = run.judgement["lowest_discharge"]
    assert lowest is not None and sum(lowest.hours_broken) == hours
    assert not any(accepts(cold).values())
    found = ld.Study(cold, vary={"flow": [0.5]}).run(1)
    assert found["deciding_limit"].item() == "lowest_discharge"
    assert found["margin_K"].item() == lowest.margin == run.yearly["discharge_min_degC"].min() - 4.0


def test_groundwater_that_freezes_is_called_so(design: ld.Design) -> None:
    freezing = design.replace(ground_side=well(flow=0.12, lowest_discharge=0.0), limits=ld.Limits())
    run = freezing.run(1)
    assert run.hourly["discharge_degC"].min() < 0.0
    assert any("groundwater freezes in the heat exchanger" in finding.text for finding in run.findings)
    assert "discharge_freezing" in {each.name for each in run.judgement.broken}


def test_a_level_that_falls_too_far_does_not_hold(design: ld.Design) -> None:
    low = design.replace(ground_side=well(flow=1.0, available_drawdown=0.05))
    assert low.run(1).judgement.deciding.name == "available_drawdown"
    assert not any(accepts(low).values())


def test_frost_at_the_bores_is_said_and_may_be_a_limit(design: ld.Design) -> None:
    field = design.ground_side
    short = design.replace(
        ground_side=field.replace(bore=field.bores[0].replace(depth=55.0)), limits=ld.Limits()
    )
    run = short.run(2)
    wall = run.hourly["wall_degC"]
    hours, lowest = int((wall < 0.0).sum()), wall.min()
    assert hours > 100
    (text,) = [finding.text for finding in run.findings if "the bore wall is below" in finding.text]
    assert text.startswith(
        f"In {hours:,} hours (first in year 1), the bore wall is below 0.0 degC (32.0 degF)"
    )
    assert f"(lowest: {lowest:.1f} degC" in text and "heave" in text
    assert run.holds and all(accepts(short, 2).values())

    kept = short.replace(limits=ld.Limits(wall_min=0.0))
    assert not kept.run(2).holds and not any(accepts(kept, 2).values())
    sizing = kept.size(years=2)
    assert sizing.holds and sizing.limit == "wall_min"
    assert_allclose(sizing.design.run(2).hourly["wall_degC"].min(), sizing.margin, rtol=0)


def test_fluid_hotter_than_water_boils_is_no_result(design: ld.Design) -> None:
    hot = design.replace(loads=ld.Loads(heating=100.0, recharge=100e3), limits=ld.Limits(), flow=2.0)
    run = hot.run(1)
    assert run.hourly["leaving_fluid_degC"].max() > 200.0
    assert not run.holds
    (text,) = [finding.text for finding in run.findings if finding.decides and not finding.holds]
    assert "above 100.0 degC (212.0 degF), where unpressurised water boils" in text
    assert not any(accepts(hot).values())
    assert not any(accepts(hot.replace(loads=ld.Loads(recharge=100e3))).values())


def test_back_up_heat_decides_where_it_is_limited(design: ld.Design) -> None:
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0], heating_capacity=[4000.0], cooling_cop=[6.0], cooling_capacity=[2000.0]
    )
    short = design.replace(heat_pump=heat_pump)
    run = short.run(1)
    assert run.holds
    yearly = run.yearly.iloc[0]
    backup = yearly["backup_kWh"] / (yearly["backup_kWh"] + yearly["heating_kWh"])
    unmet = yearly["unmet_cooling_kWh"] / (yearly["unmet_cooling_kWh"] + yearly["cooling_kWh"])
    for name, share in (("backup_share", backup), ("unmet_cooling_share", unmet)):
        for factor, holds in ((1.01, True), (0.99, False)):
            limits = design.limits.replace(**{name: factor * share})
            limited = short.replace(limits=limits)
            assert set(accepts(limited).values()) == {holds}
            assert_allclose(limited.run(1).judgement[name].actual, share)
    assert "Back-up heat reaches" in str(short.replace(limits=design.limits.replace(backup_share=0.5)).run(1))


def test_hours_outside_the_table_decide_where_they_are_limited(design: ld.Design) -> None:
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05], heating_range=(8.0, 20.0), cooling_cop=[6.0, -0.05]
    )
    narrow = design.replace(heat_pump=heat_pump)
    hours = int(narrow.run(1).yearly["hours_outside_table"].iloc[0])
    assert hours > 0 and all(accepts(narrow).values())
    for most, holds in ((hours, True), (hours - 1, False)):
        limits = design.limits.replace(hours_outside_table=float(most))
        assert set(accepts(narrow.replace(limits=limits)).values()) == {holds}


def test_a_recharge_that_breaks_a_limit_does_not_hold(design: ld.Design) -> None:
    drifting = design.replace(loads=ld.Loads(heating=1500.0), limits=ld.Limits(entering_fluid_max=6.0))
    found = drifting.find_recharge(0.1, years=4)
    assert abs(found.drift) <= 0.1
    assert found.holds == found.design.run(4).holds
    assert not found.holds and found.broken == ("entering_fluid_max",)
    assert "the design does not hold. Limits exceeded: the maximum entering fluid temperature" in str(found)


def test_without_loads_nothing_is_judged(design: ld.Design) -> None:
    idle = design.replace(loads=ld.Loads())
    run = idle.run(1)
    assert run.holds and run.judgement.deciding is None
    assert all(accepts(idle).values())
    assert np.isnan(run.yearly["seasonal_cop"]).all()


limits = st.builds(
    ld.Limits,
    entering_fluid_min=st.none() | st.floats(-5.0, 3.0),
    entering_fluid_max=st.none() | st.floats(15.0, 30.0),
    freezing_margin=st.floats(0.0, 6.0),
    wall_min=st.none() | st.floats(-3.0, 3.0),
    backup_share=st.none() | st.floats(0.0, 0.05),
    hours_outside_table=st.none() | st.floats(0.0, 500.0),
)


@functools.cache
def sides() -> dict[str, list[ld.BoreField | ld.TrenchField | ld.Pond | ld.Well]]:
    bore = ld.Bore(depth=80.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    return {
        "bores": [ld.BoreField.grid(bore, columns=2, rows=1, spacing=spacing) for spacing in (4.0, 8.0)],
        "trenches": [trenches(), trenches(trenches=3)],
        "pond": [pond(), pond(depth=1.2), pond(weather=ld.Weather.sample("mild maritime"))],
        "well": [well(), well(flow=1.0), well(flow=0.5, return_distance=15.0, available_drawdown=0.1)],
    }


@st.composite
def designs(draw: st.DrawFn, base: ld.Design, kind: str) -> ld.Design:
    capacity = draw(st.sampled_from([4500.0, 6000.0, 20000.0]))
    heat_pump = ld.HeatPump.from_curves(
        heating_cop=[4.0, 0.05],
        heating_capacity=[capacity, 100.0],
        heating_range=(draw(st.sampled_from([-10.0, 2.0])), 25.0),
        cooling_cop=[6.0, -0.05],
        cooling_capacity=[9000.0],
    )
    size = draw(st.floats(0.3, 1.5))
    loads = ld.Loads(heating=size * base.loads.heating, cooling=size * base.loads.cooling)
    return base.replace(
        ground=SOIL,
        ground_side=draw(st.sampled_from(sides()[kind])),
        heat_pump=heat_pump,
        loads=loads,
        limits=draw(limits),
        flow=draw(st.floats(0.3, 1.0)),
    )


@pytest.mark.parametrize("kind", ["bores", "trenches", "pond", "well"])
def test_none_accepts_what_another_refuses(design: ld.Design, kind: str) -> None:
    @settings(max_examples=8, deadline=None, derandomize=True)
    @given(designs(design, kind))
    def check(drawn: ld.Design) -> None:
        said = accepts(drawn)
        assert len(set(said.values())) == 1, said

    check()


@pytest.mark.parametrize(
    ("kind", "what", "between"),
    [
        ("bores", "depth", (20.0, 400.0)),
        ("bores", "bores", None),
        ("trenches", "length", (20.0, 400.0)),
        ("trenches", "trenches", None),
        ("pond", "length", (20.0, 400.0)),
        ("pond", "coils", None),
        ("well", "flow", None),
        ("well", "effectiveness", (0.1, 0.95)),
    ],
)
def test_what_sizing_finds_holds_and_a_hair_less_does_not(
    design: ld.Design, kind: str, what: str, between: tuple[float, float] | None
) -> None:
    outcomes = set()

    @settings(max_examples=8 if what in ("depth", "length") else 4, deadline=None, derandomize=True)
    @given(designs(design, kind))
    def check(drawn: ld.Design) -> None:
        sizing = drawn.size(what, years=1, between=between)
        outcomes.add(sizing.holds)
        if not sizing.holds:
            assert not accepts(sizing.design)["run"]
            return
        run = sizing.design.run(1)
        assert run.holds
        assert run.judgement.deciding == sizing.judgement.deciding
        measure = drawn.ground_side.sizes[what]
        if measure is None:
            family = drawn.ground_side.family()
            less = family[: family.index(sizing.design.ground_side)]
        else:
            shorter = sizing.value - 1.01 * measure.resolution
            least = (between or measure.between)[0]
            less = [sizing.design.ground_side.sized(what, shorter)] if shorter > least else []
        for side in less:
            assert not accepts(drawn.replace(ground_side=side))["run"]

    check()
    assert True in outcomes


def test_a_judgement_reads_like_its_dictionary(run: ld.Run) -> None:
    deciding = run.judgement.deciding
    assert deciding is not None
    assert dataclasses.asdict(deciding)["margin"] == deciding.actual - deciding.required
    assert run.judgement[deciding.name] is deciding
    assert run.judgement["no such"] is None
