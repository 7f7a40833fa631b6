"""The designer's own loops beside those that are found, and what would make an infeasible loop fit."""

from __future__ import annotations

import re
from typing import Any

import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.analysis.comparison import layouts
from loopdrift.basics.both_units import both
from loopdrift.ground_sides.candidate import Candidate, proposed
from loopdrift.ground_sides.kind import kind_of
from loopdrift.ground_sides.remedies import larger

SOIL = ld.Ground(conductivity=1.8, volumetric_heat_capacity=2.4e6, temperature=9.0)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
IRON = ld.WaterLimit(substance="iron", measured=0.1, limit=0.2, unit="mg/L")
GROUNDWATER = ld.Groundwater(
    aquifer=ld.Aquifer(temperature=10.0, thickness=12.0, transmissivity=3e-3, storativity=3e-4),
    sustained_yield=3.0,
    lift=10.0,
    lowest_discharge=3.0,
    return_distance=60.0,
    available_drawdown=10.0,
    quality=[IRON],
)
LAND = ld.Land(area=4000.0, length=80.0)
DRILLING = ld.Drilling(max_depth=130.0)
EXCAVATION = ld.Excavation(soil=SOIL, rock_depth=2.5)


@pytest.fixture(scope="module")
def weather() -> ld.Weather:
    return ld.Weather.sample("cold continental")


def row(bores: int, depth: float, spacing: float = 6.0) -> ld.BoreField:
    bore = ld.Bore(depth=depth, buried_depth=2.0, diameter=0.15, resistance=0.1)
    return ld.BoreField.grid(bore, columns=bores, rows=1, spacing=spacing)


def trenches(**changes: Any) -> ld.TrenchField:
    given = {
        "pipes": [[-0.3, 1.8], [0.3, 1.8]],
        "pipe": PIPE,
        "length": 70.0,
        "trenches": 3,
        "spacing": 4.0,
        "surface": ld.SurfaceWave(amplitude=12.0, coldest_day=30.0),
    }
    return ld.TrenchField(**(given | changes))


def pond(weather: ld.Weather, **changes: Any) -> ld.Pond:
    given = {
        "area": 3000.0,
        "depth": 3.0,
        "bank_slope": 2.0,
        "pipe": PIPE,
        "circuits": 3,
        "length": 80.0,
        "weather": weather,
    }
    return ld.Pond.basin(**(given | changes))


def well(**changes: Any) -> ld.Well:
    given = {
        "aquifer": GROUNDWATER.aquifer,
        "diameter": 0.2,
        "sustained_yield": 2.0,
        "lift": 10.0,
        "pump_efficiency": 0.5,
        "flow": 0.5,
        "effectiveness": 0.8,
        "lowest_discharge": 4.0,
        "quality": [IRON],
    }
    return ld.Well(**(given | changes))


def compared(design: ld.Design, proposal: ld.Proposal, **offered: Any) -> Candidate:
    """Return the candidate of one proposal on a site that offers only what is given."""
    return proposed(proposal, design, ld.Site(**offered), 1)


def found_on(design: ld.Design, site: ld.Site, kind: str) -> Candidate:
    """Return what is found of one kind."""
    return layouts()[kind](design, site, 1)


# --- Proposals


def test_a_proposal_is_run_as_it_stands(design: ld.Design) -> None:
    proposal = ld.Proposal(
        name="three by the barn", ground_side=row(3, 90.0), flow="0.6 kg/s", pump_power=80.0
    )
    found = compared(design, proposal, land=LAND, drilling=DRILLING)
    assert found.kind == "three by the barn" and found.fits and not found.remedies
    assert found.run.design == design.replace(ground_side=row(3, 90.0), flow=0.6, pump_power=80.0)


def test_the_building_is_that_of_the_design(design: ld.Design) -> None:
    other = design.replace(
        ground=SOIL,
        ground_side=row(4, 80.0),
        fluid=ld.Fluid("water"),
        flow=0.7,
        loads=ld.Loads(heating=1.0),
        limits=ld.Limits(entering_fluid_min=-20.0),
        heat_pump=ld.HeatPump.from_curves(heating_cop=[3.0], cooling_cop=[5.0]),
    )
    changed = ld.Proposal.of_design(other, name="of a file").for_building(design, design.ground)
    assert changed == other.replace(loads=design.loads, limits=design.limits)


def test_piping_gives_the_pump_s_power(design: ld.Design) -> None:
    piped = design.replace(
        ground_side=pond(ld.Weather.sample("mild maritime")),
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
        pump_power=None,
        piping=ld.Piping(pump=ld.Pump(efficiency=0.3)),
    )
    proposal = ld.Proposal.of_design(piped, name="piped")
    changed = proposal.for_building(design.replace(pump_power=500.0), design.ground)
    assert changed.pump_power == piped.pump_power > 0.0


@pytest.mark.parametrize("kind", ["bores", "trenches", "pond", "well"])
def test_the_ground_is_that_of_the_site_unless_the_design_has_its_own(
    design: ld.Design, weather: ld.Weather, kind: str
) -> None:
    rock = ld.Ground(conductivity=3.0, volumetric_heat_capacity=2e6, temperature=11.0)
    site = ld.Site(drilling=ld.Drilling(max_depth=150.0, ground=rock), excavation=EXCAVATION, weather=weather)
    side = {"bores": row(3, 90.0), "trenches": trenches(), "pond": pond(weather), "well": well()}[kind]
    expected = {"bores": rock, "trenches": SOIL, "pond": SOIL, "well": design.ground}
    elsewhere = design.replace(ground_side=well() if kind != "well" else row(2, 100.0))
    assert kind_of(side).ground(elsewhere, site) == expected[kind]
    assert kind_of(side).ground(design.replace(ground_side=side), site) == design.ground


def test_proposals_stand_in_table_text_and_files(design: ld.Design, tmp_path) -> None:
    proposals = [
        ld.Proposal(name="by the barn / north", ground_side=row(3, 90.0)),
        ld.Proposal(name="by the barn: north", ground_side=row(4, 80.0)),
        ld.Proposal(name="too short", ground_side=row(2, 40.0)),
    ]
    seen: list[int] = []
    found = design.compare(
        ld.Site(land=LAND, drilling=DRILLING, candidates=proposals), years=1, progress=seen.append
    )
    assert list(found.table.index[-3:]) == [each.name for each in proposals]
    assert list(found.table["fits"][-3:]) == [True, True, False]
    assert seen == list(range(1, len(found.table) + 1))
    text = " ".join(found.text().split())
    assert "As proposed, with the same building, limits and prices: by the barn / north, " in text
    assert "too short: infeasible. As proposed: 2 bores of 40.0 m" in text
    assert "It would hold with a depth of" in text
    names = {path.name for path in found.write(tmp_path / "out")}
    assert {"bores.toml", "by-the-barn-north.toml", "by-the-barn-north-2.toml"} <= names
    assert not any("too-short" in name for name in names)
    again = ld.Design.read(tmp_path / "out" / "by-the-barn-north-2.toml")
    assert again.ground_side == row(4, 80.0)
    labels = [label.get_text() for label in found.plot().get_yticklabels()]
    assert labels == list(found.table.index)


def test_a_proposal_that_can_t_be_run_says_why(design: ld.Design) -> None:
    offered = {"land": ld.Land(area=400.0), "drilling": ld.Drilling(max_depth=50.0)}
    found = compared(design, ld.Proposal(name="slow", ground_side=row(8, 60.0)), **offered)
    assert not found.fits and found.run is None
    assert found.reasons[0].startswith("It can't be run: Design.flow = 0.5 kg/s: must be above 0.600 kg/s")
    assert found.reasons[1].startswith("It needs drilling down to 62.0 m")


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: ld.Proposal(name="", ground_side=row(2, 90.0)), "Proposal.name"),
        (lambda: ld.Proposal(name="a", ground_side="bores"), "Proposal.ground_side = 'bores'"),
        (lambda: ld.Proposal(name="a", ground_side=row(2, 90.0), ground=3), "Proposal.ground = 3"),
        (lambda: ld.Proposal(name="a", ground_side=row(2, 90.0), flow="3 ft"), "Proposal.flow = 3 ft"),
        (lambda: ld.Proposal(name="a", ground_side=row(2, 90.0), pump_power=-1.0), "Proposal.pump_power"),
        (lambda: ld.Proposal.of_design("design.toml", name="a"), "Proposal.design"),
        (lambda: ld.Site(candidates=[row(2, 90.0)]), "Site.candidates"),
        (
            lambda: ld.Site(candidates=2 * [ld.Proposal(name="a", ground_side=row(2, 90.0))]),
            "a name of their own",
        ),
    ],
)
def test_what_is_no_proposal_is_refused(make, said: str) -> None:
    with pytest.raises(ld.InvalidInput) as refusal:
        make()
    assert said in str(refusal.value)


def test_a_proposal_may_not_have_the_name_of_a_kind(design: ld.Design) -> None:
    with pytest.raises(ld.InvalidInput, match=r"Proposal\.name = 'bores'"):
        design.compare(ld.Site(candidates=[ld.Proposal(name="bores", ground_side=row(2, 90.0))]))


# --- In a site file


def test_candidates_of_a_site_file(design: ld.Design, design_path, tmp_path) -> None:
    path = tmp_path / "site.toml"
    path.write_text(
        '[land]\narea = 900.0\n[drilling]\nmax_depth = "120 m"\n'
        f'[[candidate]]\nkind = "design file"\nname = "as designed"\npath = "{design_path.name}"\n'
        '[[candidate]]\nkind = "parts"\nname = "longer"\nflow = "0.6 L/s"\n'
        "[candidate.ground_side]\nkind = 'bore grid'\ncolumns = 2\nrows = 1\nspacing = '20 ft'\n"
        "[candidate.ground_side.bore]\ndepth = '360 ft'\nburied_depth = 2.0\n"
        "diameter = 0.15\nresistance = 0.1\n"
    )
    site = ld.Site.read(path)
    assert [each.name for each in site.candidates] == ["as designed", "longer"]
    assert site.candidates[0].ground_side == design.ground_side
    assert_allclose(site.candidates[1].ground_side.depths, 360 * 0.3048)
    found = design.compare(site, years=1)
    assert found.candidates[-2].run.design == design.replace(ground=design.ground)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("name = 'a'\n", "candidate[0].kind = nothing: must be one of parts, design file"),
        ("kind = 'parts'\nname = 'a'\n", "candidate[0].ground_side = nothing: must be given"),
        ("kind = 'design file'\npath = 'house.toml'\n", "candidate[0].name = nothing: must be given"),
        ("kind = 'design file'\nname = 'a'\npath = 3\n", "candidate[0].path = 3: must be the path of a file"),
        ("kind = 'design file'\nname = 'a'\npath = 'house.toml'\nflow = 3.0\n", "candidate[0].flow"),
        ("kind = 'design file'\nname = 'a'\npaths = 'house.toml'\n", "did you mean 'path'?"),
        ("name = 'a'\ndesign = 'house.toml'\n", 'match kind = "design file", where design is called path'),
        (
            "kind = 'parts'\nname = 'a'\nground_side = { kind = 'bores' }\n",
            "candidate[0].ground_side.kind = bores: must be one of",
        ),
        ("kind = 'design file'\nname = 'a'\npath = 'wrong.toml'\n", "wrong.toml, line 1: flwo"),
    ],
)
def test_bad_candidates_are_named(design_path, tmp_path, table: str, said: str) -> None:
    (tmp_path / "wrong.toml").write_text("flwo = 3.0\n")
    path = tmp_path / "site.toml"
    path.write_text(f"[[candidate]]\n{table}")
    with pytest.raises(ld.InvalidDesignFile) as refusal:
        ld.Site.read(path)
    faults = [str(refusal.value), *getattr(refusal.value, "__notes__", ())]
    assert any(said in fault for fault in faults), faults


def test_the_command(design_path, command, tmp_path) -> None:
    site = tmp_path / "site.toml"
    site.write_text(
        '[land]\narea = 900.0\n[drilling]\nmax_depth = "120 m"\n'
        f'[[candidate]]\nkind = "design file"\nname = "as designed"\npath = "{design_path.name}"\n'
    )
    code, out, err = command("compare", design_path, site, "--years", "1", "--out", tmp_path / "out")
    assert (code, err) == (0, "")
    assert "as designed: feasible with 2 bores of 100.0 m" in out
    assert (tmp_path / "out" / "as-designed.toml").exists()
    code, _, err = command("compare", design_path, site, "--years", "1", "--out", tmp_path)
    assert code == 2, "the folder holds inputs"
    missing = tmp_path / "missing.toml"
    missing.write_text("[[candidate]]\nkind = 'design file'\nname = 'a'\npath = 'nowhere.toml'\n")
    code, _, err = command("compare", design_path, missing)
    assert code == 2 and "nowhere.toml" in err


# --- What the design states


def test_the_pond_of_a_design_is_its_own_within_the_site_s_water(
    design: ld.Design, weather: ld.Weather
) -> None:
    own = pond(weather, inflow=2.0, inflow_temperature=9.0, extinction_depth=0.6)
    base = design.replace(ground_side=own)
    for area, is_own in ((own.area + 1.0, True), (0.8 * own.area, False)):
        site = ld.Site(water=ld.OpenWater(area=area, depth=3.0), weather=weather)
        side = found_on(base, site, "pond coils").run.design.ground_side
        assert (side == own.replace(length=side.length)) == is_own
        assert side.circuits == own.circuits and side.area <= area * (1 + 1e-9)


def test_the_well_of_a_design_is_its_own_within_the_site_s_limits(design: ld.Design) -> None:
    own = well(lowest_discharge=4.0, available_drawdown=20.0, return_distance=None, quality=())
    base = design.replace(ground_side=own)
    found = found_on(base, ld.Site(groundwater=GROUNDWATER), "well")
    side = found.run.design.ground_side
    assert (side.sustained_yield, side.lowest_discharge, side.available_drawdown) == (2.0, 4.0, 10.0)
    assert side.quality == (IRON,) and side.return_distance is None
    assert side.flow < own.flow


def test_the_ground_of_a_design_with_bores_is_its_own(design: ld.Design) -> None:
    site = ld.Site(land=LAND, drilling=DRILLING.replace(ground=SOIL))
    assert found_on(design, site, "bores").run.design.ground == design.ground


# --- What would make it fit


def sizes(remedy: str) -> tuple[float, float]:
    found = re.search(r"with (?:an? \w+ of )?([\d.]+).* instead of ([\d.]+)", remedy)
    assert found is not None, remedy
    return float(found[1]), float(found[2])


@pytest.mark.parametrize("kind", ["bores", "trenches", "pond", "well"])
def test_a_remedy_holds_and_a_hair_less_does_not(design: ld.Design, weather: ld.Weather, kind: str) -> None:
    side = {
        "bores": row(2, 60.0),
        "trenches": trenches(trenches=2, length=50.0),
        "pond": pond(weather, length=20.0),
        "well": well(flow=0.2),
    }[kind]
    base = design.replace(ground_side=side)
    remedies = larger(base, ld.Site(), 1)
    names = [what for what in side.sizes if any(f" {what}" in each for each in remedies)]
    assert remedies and len(remedies) == len(names)
    for what, remedy in zip(names, remedies, strict=True):
        after, before = sizes(remedy)
        assert before == pytest.approx(side.size_of(what), abs=5e-3) and after > before
        measure = side.sizes[what]
        if measure is None:
            family = {each.size_of(what): each for each in reversed(side.family())}
            enough, less = family[after], family[after - 1.0]
        else:
            rounding = 0.5e-2 if measure.unit else 0.5e-3
            enough = side.sized(what, after + rounding)
            less = side.sized(what, after - rounding - 1.01 * measure.resolution)
        assert holds(base, enough) and not holds(base, less), remedy


def holds(design: ld.Design, side) -> bool:
    try:
        return design.replace(ground_side=side).run(1).holds
    except ld.FluidFreezes:
        return False


def test_more_bores_than_the_land_takes(design: ld.Design) -> None:
    """What is found of bores on little land: their greater depth, or more land, each computed."""
    site = ld.Site(land=ld.Land(area=36.0), drilling=ld.Drilling(max_depth=30.0))
    found = found_on(design, site, "bores")
    assert not found.fits
    deeper, *others = found.remedies
    depth, before = sizes(deeper)
    assert before == 28.0
    assert f"It needs drilling down to {both(depth + 2.0, 'm', '.1f')}; the site allows 30.0 m" in deeper
    more = next(each for each in others if " bores instead of " in each)
    assert "It needs land of " in more and "the site has 6.0 m (20 ft) by 6.0 m (20 ft), 36 m2" in more


def test_land_that_is_missing(design: ld.Design, weather: ld.Weather) -> None:
    site = ld.Site(drilling=DRILLING, excavation=EXCAVATION, weather=weather)
    for kind, of in (("bores", "bores"), ("straight trench pipes", "trenches")):
        (remedy,) = found_on(design, site, kind).remedies
        assert remedy.startswith("It would hold with ") and remedy.endswith(f"no free land for {of}.")


def test_more_land_for_trenches(design: ld.Design, weather: ld.Weather) -> None:
    small = ld.Site(land=ld.Land(area=150.0), excavation=EXCAVATION, weather=weather)
    (remedy,) = found_on(design, small, "straight trench pipes").remedies
    found = re.search(
        r"It needs land of ([\d.]+) m .* by ([\d.]+) m .*, ([\d,]+) m2 .*; the site has .* 150 m2", remedy
    )
    assert found is not None, remedy
    length, width = float(found[1]), float(found[2])
    enough = ld.Land(area=1.02 * length * width, length=1.01 * length)
    assert found_on(
        design, ld.Site(land=enough, excavation=EXCAVATION, weather=weather), "straight trench pipes"
    ).fits


def test_rock_that_is_too_shallow(design: ld.Design, weather: ld.Weather) -> None:
    shallow = ld.Site(land=LAND, excavation=ld.Excavation(soil=SOIL, rock_depth=0.8), weather=weather)
    (remedy,) = found_on(design, shallow, "straight trench pipes").remedies
    needed = re.search(r"It needs trenches down to ([\d.]+) m .*; the site has rock at 0.80 m", remedy)
    assert needed is not None, remedy
    enough = shallow.replace(excavation=ld.Excavation(soil=SOIL, rock_depth=float(needed[1])))
    assert found_on(design, enough, "straight trench pipes").fits


def test_permits_that_are_too_shallow(design: ld.Design) -> None:
    site = ld.Site(land=LAND, drilling=ld.Drilling(max_depth=15.0))
    (remedy,) = found_on(design, site, "bores").remedies
    assert "It needs drilling down to" in remedy and "the site allows 15.0 m (49.2 ft)." in remedy


def test_water_that_is_too_shallow_or_small(design: ld.Design, weather: ld.Weather) -> None:
    for water, needs in (
        (ld.OpenWater(area=3000.0, depth=0.7), "It needs water "),
        (ld.OpenWater(area=40.0, depth=3.0), " of water; the site has 40 m2"),
    ):
        (remedy,) = found_on(design, ld.Site(water=water, weather=weather), "pond coils").remedies
        assert needs in remedy


def test_groundwater_that_is_too_little(design: ld.Design) -> None:
    def remedies(**changes: Any) -> tuple[str, ...]:
        site = ld.Site(land=LAND, groundwater=GROUNDWATER.replace(**changes))
        return found_on(design, site, "well").remedies

    (more,) = remedies(sustained_yield=0.1, available_drawdown=None, lowest_discharge=5.0)
    found = re.search(r"with a flow of ([\d.]+) kg/s .*needs a sustained yield of ([\d.]+) kg/s", more)
    assert found is not None and found[1] == found[2]
    assert not remedies(sustained_yield=1.02 * float(found[1]), available_drawdown=None, lowest_discharge=5.0)
    (deep,) = [each for each in remedies(available_drawdown=0.05) if "level" in each]
    falls = re.search(r"if the level could fall by ([\d.]+) m .*; 0.05 m \(0.16 ft\) is available", deep)
    assert falls is not None
    assert not remedies(available_drawdown=float(falls[1]) + 0.01)
    (near,) = remedies(return_distance=200.0)
    assert f"and a return well {both(LAND.diagonal, 'm', '.1f')} away, which fits on the land." in near


def test_a_proposal_that_the_site_has_no_room_for(design: ld.Design) -> None:
    proposal = ld.Proposal(name="long", ground_side=row(8, 60.0), flow=2.0)
    offered = {"land": ld.Land(area=400.0), "drilling": ld.Drilling(max_depth=50.0)}
    found = compared(design, proposal, **offered)
    assert found.reasons == (
        "It needs drilling down to 62.0 m (203 ft); the site allows 50.0 m (164 ft).",
        "It needs land of 42.0 m (138 ft) in a row; the site has 20.0 m (65.6 ft) by 20.0 m (65.6 ft), 400 "
        "m2 (4,306 ft2).",
    )
    assert found.run is not None and found.run.holds


@pytest.mark.parametrize(
    ("side", "said"),
    [
        (trenches(), ["Excavation is not allowed", "no free land for trenches"]),
        (row(2, 90.0), ["Drilling is not allowed", "no free land for bores"]),
        (well(), ["No groundwater is available"]),
    ],
)
def test_a_proposal_on_a_site_that_offers_nothing(design: ld.Design, side, said: list[str]) -> None:
    found = compared(design, ld.Proposal(name="own", ground_side=side))
    assert all(any(part in reason for reason in found.reasons) for part in said)


def test_inclined_bores_need_the_land_that_their_feet_reach(design: ld.Design) -> None:
    bore = row(1, 90.0).bores[0]
    fan = ld.BoreField(bore, positions=[[0.0, 0.0], [1.0, 0.0]], inclination=20.0, direction=[270.0, 90.0])
    found = compared(
        design, ld.Proposal(name="fan", ground_side=fan), land=ld.Land(area=400.0), drilling=DRILLING
    )
    reach = fan.extent[0]
    assert any(f"It needs land of {both(reach, 'm', '.1f')}" in reason for reason in found.reasons)


def test_what_nothing_mends_is_said(design: ld.Design) -> None:
    hopeless = design.replace(limits=ld.Limits(entering_fluid_min=9.99))
    site = ld.Site(land=ld.Land(area=100.0), drilling=ld.Drilling(max_depth=60.0))
    (remedy,) = found_on(hopeless, site, "bores").remedies
    assert remedy.startswith("It wouldn't hold with a depth of up to 300.00 m (984 ft) or a spacing of up to")
