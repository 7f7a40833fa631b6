"""Which loop fits a site: each kind sized, what rules it out, and the command."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld
from loopdrift.analysis.comparison import layouts
from loopdrift.basics.output import MARKER
from loopdrift.ground_sides.bore_field.arrangement import on_plot
from loopdrift.ground_sides.placement import rectangle
from loopdrift.ground_sides.pond.on_site import LONGEST

KINDS = list(layouts())
TRENCHES = [kind for kind in KINDS if "trench" in kind]
SOIL = ld.Ground(conductivity=1.8, volumetric_heat_capacity=2.4e6, temperature=9.0)
AQUIFER = ld.Aquifer(temperature=10.0, thickness=12.0, transmissivity=3e-3, storativity=3e-4)
IRON = ld.WaterLimit(substance="iron", measured=0.1, limit=0.2, unit="mg/L")
GROUNDWATER = ld.Groundwater(
    aquifer=AQUIFER,
    sustained_yield=3.0,
    lift=10.0,
    lowest_discharge=3.0,
    return_distance=60.0,
    available_drawdown=10.0,
    depth=30.0,
    quality=[IRON],
)


@pytest.fixture(scope="module")
def site():
    return ld.Site(
        land=ld.Land(area=4000.0, length=80.0),
        drilling=ld.Drilling(max_depth=130.0),
        excavation=ld.Excavation(soil=SOIL, rock_depth=2.5),
        water=ld.OpenWater(area=5000.0, depth=3.5),
        groundwater=GROUNDWATER,
        weather=ld.Weather.sample("cold continental"),
    )


@pytest.fixture(scope="module")
def priced(design):
    installation = ld.Installation(
        drilling=50.0, trench=30.0, trench_pipe=3.0, pond_coil=10.0, well_drilling=120.0, well_pump=2000.0
    )
    return design.replace(prices=ld.Prices(electricity=ld.Tariff(price=0.2), installation=installation))


@pytest.fixture(scope="module")
def compared(priced, site):
    return priced.compare(site, years=2)


def reason(design, site, kind, **changes):
    """Return why a kind is infeasible on the changed site, which offers only what the kind needs."""
    only = {
        "bores": ("land", "drilling"),
        "pond coils": ("water", "weather"),
        "well": ("land", "groundwater"),
    }.get(kind, ("land", "excavation", "weather"))
    offered = {name: getattr(site, name) for name in only} | changes
    found = layouts()[kind](design, ld.Site(**offered), 1)
    assert not found.fits
    return " ".join(found.reasons)


def test_every_kind_fits_where_all_is_there(compared):
    table = compared.table
    assert list(table.index) == list(KINDS)
    assert table["fits"].all()
    assert not table["ruled_out"].any()
    limits = compared.design.limits
    for each in compared.candidates:
        running = each.run.hourly["heat_extracted_W"] != 0.0
        entering = each.run.hourly["entering_fluid_degC"][running]
        assert entering.min() >= limits.entering_fluid_min
        assert entering.max() <= limits.entering_fluid_max


@pytest.mark.parametrize("kind", ["bores", "straight trench pipes", "pond coils"])
def test_a_kind_is_as_small_as_holds(compared, kind):
    """A loop that is shorter by more than the search's resolution breaks a limit."""
    design = next(each.run.design for each in compared.candidates if each.kind == kind)
    side = design.ground_side
    if isinstance(side, ld.BoreField):
        shorter = side.replace(bore=side.bores[0].replace(depth=side.bores[0].depth - 0.3))
    else:
        shorter = side.replace(length=side.length - 0.3)
    run = design.replace(ground_side=shorter).run(2)
    assert run.yearly[["hours_outside_limits", "hours_near_freezing"]].to_numpy().sum() > 0


def test_the_table_is_that_of_the_runs(compared, priced):
    table = compared.table
    for each in compared.candidates:
        yearly, row = each.run.yearly, table.loc[each.kind]
        assert row["entering_fluid_min_degC"] == yearly["entering_fluid_min_degC"].min()
        delivered = yearly["heating_kWh"].sum() + yearly["cooling_kWh"].sum()
        assert_allclose(row["seasonal_cop"], delivered / yearly["electricity_kWh"].sum())
        own = each.run.cost().summary.loc["ground source"]
        assert_allclose(row[["first_cost", "life_cost"]].astype(float), own[["first_cost", "present_cost"]])
    bores = compared.candidates[0].run.design.ground_side
    assert table["bores"]["bores"] == bores.count
    assert_allclose(table["bored_m"]["bores"], bores.total_depth + 2.0 * bores.count)
    assert np.isnan(table["pipe_m"]["bores"])  # a measured resistance doesn't tell the pipes
    assert_allclose(table["first_cost"]["bores"], 50.0 * bores.total_depth)
    assert_allclose(table["water_m2"]["pond coils"], 5000.0)
    assert_allclose(table["pump_kWh"].drop("well"), 0.0)
    well = compared.candidates[-1].run.yearly["electricity_well_kWh"]
    assert_allclose(table["pump_kWh"]["well"], well.mean())


@pytest.mark.parametrize("stops", [False, True])
def test_the_circulation_pump_is_counted(design, site, stops):
    pumped = design.replace(pump_power=100.0, pump_stops=stops)
    only_bores = ld.Site(land=site.land, drilling=site.drilling)
    row = pumped.compare(only_bores, years=1).table.loc["bores"]
    running = (design.loads.heating > 0.0) | (design.loads.cooling > 0.0)
    through = 0.1 * running.sum()
    if stops:
        assert 0.1 * through < row["pump_kWh"] < 0.9 * through
    else:
        assert_allclose(row["pump_kWh"], through)


def test_without_prices_costs_are_left_out(design, priced, site):
    only_pond = ld.Site(water=site.water, weather=site.weather)
    assert design.compare(only_pond, years=1).table[["first_cost", "life_cost"]].isna().all(axis=None)
    drilled = priced.prices.replace(installation=ld.Installation(drilling=50.0, equipment=9000.0))
    compared = priced.replace(prices=drilled).compare(only_pond, years=1)
    assert compared.table[["first_cost", "life_cost"]].isna().all(axis=None)
    assert compared.cost_left_out("pond coils") == "no price is given for pond_coil"
    assert "Costs are unknown for pond coils." in compared.text()


def test_a_well_is_not_drilled_for_nothing(priced, site):
    """A pump's price alone gives no sum; a metre that costs nothing is one that is said to."""
    only_well = ld.Site(land=site.land, groundwater=site.groundwater)
    for installation, is_known in (
        (ld.Installation(well_pump=2000.0), False),
        (ld.Installation(well_pump=2000.0, well_drilling=0.0), True),
    ):
        compared = priced.replace(prices=priced.prices.replace(installation=installation)).compare(
            only_well, years=1
        )
        assert compared.table.loc["well", ["first_cost", "life_cost"]].notna().all() == is_known
        assert ("no price is given for well_drilling" in " ".join(compared.text().split())) != is_known


def test_a_site_that_offers_nothing(design):
    compared = design.compare(ld.Site(), years=1)
    assert not compared.table["fits"].any()
    assert compared.table["ruled_out"].str.len().min() > 10
    assert "No kind of loop is feasible for this building on this site." in compared.text()
    assert compared.rules_of_thumb.empty
    compared.plot()


def test_no_land(design, site):
    for kind in ("bores", *TRENCHES):
        assert "no free land" in reason(design, site, kind, land=None)


@pytest.mark.parametrize("kind", TRENCHES)
def test_shallow_rock_rules_out_trenches(design, site, kind):
    said = reason(design, site, kind, excavation=ld.Excavation(soil=SOIL, rock_depth="3 ft"))
    assert said.startswith("Rock at 0.9 m (3.0 ft) is too shallow")
    no_room = reason(design, site, kind, land=ld.Land(area=81.0))
    assert "9 m (30 ft) by 9 m (30 ft), is too small for a trench" in no_room


def test_trenches_stay_above_the_rock(design, site):
    shallow = ld.Site(
        land=site.land, excavation=ld.Excavation(soil=SOIL, rock_depth=1.7), weather=site.weather
    )
    for each in design.compare(shallow, years=1).candidates:
        if each.kind in TRENCHES:
            assert_allclose(each.run.design.ground_side.bottom, 1.7)


def test_shallow_bores_are_not_drilled(design, site):
    said = reason(design, site, "bores", drilling=ld.Drilling(max_depth=15.0))
    assert said.startswith(
        "The maximum bore depth of 15.0 m (49.2 ft) leaves an active depth of 13.0 m (42.7 ft)"
    )


def test_land_too_small_for_the_bores_breaks_a_limit(design, site):
    said = reason(design, site, "bores", land=ld.Land(area=25.0), drilling=ld.Drilling(max_depth=25.0))
    assert said.startswith("Nearest: 1 bore of 23.0 m (75.5 ft), 23 m (75 ft) in total, ")
    assert said.endswith("The fluid freezes.")


def test_bores_fit_on_the_land(design, site):
    """Where one row is too short, further rows are taken, and all stand on the land."""
    compact = ld.Site(land=ld.Land(area=13.0 * 19.0, length=19.0), drilling=ld.Drilling(max_depth=30.0))
    (found, *_) = design.compare(compact, years=1).candidates
    assert found.fits
    width, height = np.ptp(found.run.design.ground_side.positions, axis=0)
    assert width <= 19.0 and height <= 13.0
    assert found.run.design.ground_side.count > 4


def test_a_pond_too_small(design, site):
    said = reason(design, site, "pond coils", water=ld.OpenWater(area=20.0, depth=0.5, bank_slope=0.0))
    assert said == "Water of 0.5 m (1.6 ft) is too shallow: at least 1 m (3.3 ft) is required."
    said = reason(design, site, "pond coils", water=ld.OpenWater(area=20.0, depth=3.0))
    assert said == (
        "A pond of 20 m2 (215 ft2) is too small: with a bank slope of 3 to 1, the banks meet above a depth "
        "of 3.0 m (9.8 ft)."
    )
    said = reason(design, site, "pond coils", water=ld.OpenWater(area=30.0, depth=1.2, bank_slope=0.0))
    assert " beyond the " in said


def test_wells_are_ruled_out(design, site):
    def said(**changes):
        return reason(design, site, "well", groundwater=GROUNDWATER.replace(**changes))

    assert said(quality=()).startswith("No water analysis is given.")
    iron = ld.WaterLimit(substance="iron", measured=0.3, limit=0.2, unit="mg/L")
    assert "iron 0.3 of 0.2 mg/L" in said(quality=[iron])
    assert "don't fit on the land" in said(return_distance=200.0)
    assert " beyond the " in said(sustained_yield=0.02)
    assert "beyond the minimum discharge temperature" in said(lowest_discharge=9.9)
    assert "beyond the available drawdown" in said(available_drawdown=0.03)


def test_a_well_has_the_least_flow_that_holds(design, site):
    only = ld.Site(land=site.land, groundwater=GROUNDWATER.replace(lowest_discharge=6.0))
    run = design.compare(only, years=1).candidates[-1].run
    well = run.design.ground_side
    running = run.hourly["heat_extracted_W"] != 0.0
    assert run.hourly["discharge_degC"][running].min() >= 6.0
    less = design.replace(ground_side=well.replace(flow=0.88 * well.flow)).run(1)
    assert less.hourly["discharge_degC"][running].min() < 6.0


def test_the_design_s_own_loop_is_the_model(design, site):
    pipe = ld.Pipe.sdr(11, outer_diameter=0.040)
    own = ld.TrenchField.rows(
        pipe,
        length=60.0,
        columns=2,
        depth=1.5,
        gap=0.5,
        trenches=2,
        spacing=3.0,
        surface=ld.SurfaceWave.from_weather(site.weather),
    )
    base = design.replace(ground_side=own)
    only = ld.Site(land=site.land, excavation=site.excavation, weather=site.weather)
    found = base.compare(only, years=1).candidates[1].run.design.ground_side
    assert (found.pipe, found.spacing) == (pipe, 3.0)
    assert_allclose(found.pipes, own.pipes)


def test_the_soil_of_a_design_with_trenches_is_its_own(design, site):
    """Its trenches hold in its soil under its surface, whatever the site's weather would make of them."""
    mild = ld.SurfaceWave(amplitude=4.0, coldest_day=40.0)
    own = ld.TrenchField.rows(
        ld.Pipe.sdr(11, outer_diameter=0.032),
        length=77.0,
        columns=2,
        depth=1.5,
        gap=0.5,
        trenches=4,
        spacing=3.0,
        surface=mild,
    )
    base = design.replace(ground_side=own, ground=SOIL.replace(temperature=11.0))
    assert base.run(1).yearly["hours_outside_limits"].sum() == 0
    frozen = ld.Excavation(soil=SOIL.replace(temperature=1.0), rock_depth=2.5)
    only = ld.Site(land=site.land, excavation=frozen, weather=site.weather)
    for each in base.compare(only, years=1).candidates[1:4]:
        assert each.fits
        assert each.run.design.ground_side.surface == mild
        assert each.run.design.ground == base.ground


def test_longer_coils_of_a_design_with_a_pond_are_tried(design, site):
    """Where coils of the usual greatest length fail and those of the design hold, the kind fits."""
    pipe = ld.Pipe.sdr(11, outer_diameter=0.040)
    shape = {"area": 5000.0, "depth": 3.5, "bank_slope": 3.0, "pipe": pipe, "weather": site.weather}
    own, usually = (ld.Pond.basin(**shape, circuits=1, length=length) for length in (900.0, LONGEST))
    coldest = [
        design.replace(ground_side=side).run(1).yearly["entering_fluid_min_degC"].min()
        for side in (usually, own)
    ]
    strict = design.replace(ground_side=own, limits=ld.Limits(entering_fluid_min=float(np.mean(coldest))))
    only = ld.Site(water=site.water, weather=site.weather)
    (found,) = [each for each in strict.compare(only, years=1).candidates if each.run is not None]
    assert found.fits
    assert LONGEST < found.run.design.ground_side.length < 900.0


def test_a_row_of_fewer_bores_comes_before_a_square_of_more():
    found = [each.arrangement for each in on_plot(rectangle(24.5, 12.5), 6.0, 1000)]
    grids = [(each.columns, each.rows) for each in found if each.left is None]
    assert grids[:8] == [(1, 1), (2, 1), (3, 1), (2, 2), (4, 1), (5, 1), (3, 2), (4, 2)]
    assert grids[-1] == (5, 3)


def test_what_is_wrong_is_refused(design, site):
    for arguments in ({"site": "here"}, {"site": site, "years": 0}, {"site": site, "progress": 3}):
        with pytest.raises(ld.InvalidInput):
            design.compare(**arguments)


def test_progress_counts_kinds(design):
    seen = []
    design.compare(ld.Site(), years=1, progress=seen.append)
    assert seen == list(range(1, len(KINDS) + 1))


@pytest.mark.parametrize("units", ["SI", "IP"])
def test_the_chart_has_a_bar_for_each_kind(compared, units):
    ax = compared.plot(units=units)
    low = compared.table["entering_fluid_min_degC"].to_numpy()
    bars = [bar.get_x() for bar in ax.patches]
    assert_allclose(bars, low if units == "SI" else 1.8 * low + 32.0)
    assert {"SI": "°C", "IP": "°F"}[units] in ax.get_xlabel()
    assert [label.get_text() for label in ax.get_yticklabels()] == list(KINDS)


def test_the_command(priced, site, command, tmp_path):
    priced.write(tmp_path / "house.toml")
    (tmp_path / "site.toml").write_text("[land]\narea = 2000.0\n[drilling]\nmax_depth = '120 m'\n")
    code, out, err = command(
        "compare", tmp_path / "house.toml", tmp_path / "site.toml", "--years", "1", "--out", tmp_path / "out"
    )
    assert (code, err) == (0, "")
    assert "Feasible: bores." in out
    names = {path.name for path in (tmp_path / "out").iterdir()} - {MARKER}
    tables = {f"{name}.{kind}" for name in ("comparison", "rules-of-thumb") for kind in ("csv", "parquet")}
    assert names == tables | {"comparison.png", "comparison.txt", "bores.toml", "bores-loads.csv"}
    assert all(f"wrote {tmp_path / 'out' / name}" in out for name in names)
    table = pd.read_parquet(tmp_path / "out" / "comparison.parquet").set_index("kind")
    assert list(table.index) == list(KINDS)
    again = ld.Design.read(tmp_path / "out" / "bores.toml").run(1)
    assert_allclose(again.yearly["entering_fluid_min_degC"].min(), table["entering_fluid_min_degC"]["bores"])


def test_the_command_where_nothing_fits(priced, command, tmp_path):
    priced.write(tmp_path / "house.toml")
    (tmp_path / "site.toml").write_text("")
    code, out, err = command("compare", tmp_path / "house.toml", tmp_path / "site.toml", "--units", "IP")
    assert (code, err) == (1, "")
    assert "No kind of loop is feasible" in out


def test_the_command_names_what_is_wrong(priced, command, tmp_path):
    priced.write(tmp_path / "house.toml")
    (tmp_path / "site.toml").write_text("[land]\naera = 2000.0\n")
    code, out, err = command("compare", tmp_path / "house.toml", tmp_path / "site.toml")
    assert (code, out) == (2, "")
    assert "did you mean 'area'?" in err
    code, _, err = command("compare", tmp_path / "house.toml", tmp_path / "nowhere.toml")
    assert code == 2 and "nowhere.toml" in err
