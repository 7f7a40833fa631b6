"""Neighbourhoods: symmetry, independence, plants that join and stop, files, and bad input."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import loopdrift as ld

YEARS = 4


def alike(design, **places):
    return {name: ld.Plant(design=design, at=at) for name, at in places.items()}


@pytest.fixture(scope="module")
def town(design):
    """Three plants in a row and one that starts in year 2."""
    plants = alike(design, west=(0, 0), middle=(12, 0), east=(24, 0))
    return ld.Neighbourhood(plants | {"late": ld.Plant(design=design, at=(12, 9), start_year=2)})


@pytest.fixture(scope="module")
def found(town):
    return town.run(YEARS)


def test_distant_plants_are_alone_to_the_bit(design):
    far = ld.Neighbourhood(alike(design, one=(0, 0), other=(5000, 0))).run(2)
    single = ld.Neighbourhood(alike(design, one=(0, 0))).run(2).table
    for name, column in single.data_vars.items():
        assert_array_equal(column.sel(plant="one"), far.table[name].sel(plant="one"))
    own = design.run(2).yearly
    assert_allclose(single["entering_fluid_min_degC"][0], own["entering_fluid_min_degC"], atol=1e-12)
    assert far.rounds == 1 and not far.table["drop_by_neighbours_K"].any()
    assert 0.0 <= far.beyond_reach_K < 1e-3


def test_mirror_images_find_the_same(found):
    table = found.table
    for name in ("entering_fluid_min_degC", "electricity_kWh", "drop_by_neighbours_K", "margin_K"):
        assert_allclose(table[name].sel(plant="west"), table[name].sel(plant="east"), rtol=1e-9)
    middle, west = (table["drop_by_neighbours_K"].sel(plant=name)[-1] for name in ("middle", "west"))
    assert middle > 1.2 * west > 0.0


def test_the_order_of_plants_changes_no_bit(town, found):
    other = ld.Neighbourhood(dict(reversed(town.plants.items()))).run(YEARS).table
    assert other.plant.to_numpy().tolist() == list(reversed(town.plants))
    for name, column in found.table.data_vars.items():
        assert_array_equal(column, other[name].sel(plant=found.table.plant))


def test_neighbours_cost_temperature_and_electricity(found):
    table = found.table
    assert (
        table["entering_fluid_mean_degC"].isel(year=-1)
        < table["entering_fluid_mean_alone_degC"].isel(year=-1)
    ).all()
    assert (table["electricity_lost_kWh"].isel(year=-1) > 0.0).all()
    share = table["drift_share_of_neighbours"].isel(year=-1)
    assert ((share > 0.0) & (share < 1.0)).all()
    assert list(found.changes_K) == sorted(found.changes_K, reverse=True)
    assert found.changes_K[-1] < 1e-3 < found.changes_K[0]
    assert "another would change the ground" in str(found)


def test_a_plant_runs_from_its_start_year(design, found):
    late = found.table.sel(plant="late")
    assert (
        np.isnan(late["entering_fluid_min_degC"][0])
        and np.isfinite(late["entering_fluid_min_degC"][1:]).all()
    )
    assert_allclose(
        late["entering_fluid_min_alone_degC"][1:], design.run(3).yearly["entering_fluid_min_degC"], atol=1e-9
    )


def test_neighbours_of_a_plant_that_stops_recover(design):
    plants = alike(design, one=(0, 0))
    plants["other"] = ld.Plant(design=design, at=(12, 0), last_year=2)
    drops = ld.Neighbourhood(plants).run(6).table["drop_by_neighbours_K"].sel(plant="one").to_numpy()
    assert drops[1] > drops[0] > 0.0
    assert drops[2] > drops[3] > drops[4] > drops[5] > 0.0
    assert drops[5] < 0.6 * drops.max()


def test_who_cools_whom_adds_up_to_the_drop(found):
    rows = found.who_cools_whom(plant="middle")
    assert set(rows["neighbour"]) == {"west", "east", "late"}
    assert rows["drop_K"].is_monotonic_decreasing
    both = found.who_cools_whom(most=100)
    pair = both.set_index(["plant", "neighbour"])["drop_K"]
    assert pair["west", "middle"] == pytest.approx(pair["east", "middle"], rel=1e-9)
    with pytest.raises(ld.UnknownName, match="did you mean 'middle'"):
        found.who_cools_whom(plant="midle")


def test_a_limit_that_breaks_through_a_neighbour_names_it(design):
    alone = ld.Neighbourhood(alike(design, one=(0, 0))).run(YEARS)
    lowest = float(alone.table["entering_fluid_min_degC"].min())
    tight = design.replace(limits=ld.Limits(entering_fluid_min=lowest - 0.05))
    plants = alike(tight, one=(0, 0)) | alike(design, other=(12, 0), far=(30, 0))
    table = ld.Neighbourhood(plants).run(YEARS).table.sel(plant="one")
    assert np.isnan(table["first_breach_alone_year"]) and 1 <= table["first_breach_year"] <= YEARS
    assert table["mostly_through"] == "other" and table["margin_K"] < 0.0 < table["margin_alone_K"]


def test_water_carries_heat_downstream(design):
    ground = design.ground.replace(darcy_flux=2e-7, flow_direction=90.0)
    town = ld.Neighbourhood(alike(design, up=(0, 0), down=(16, 0)), ground=ground)
    run = town.run(2)
    drops = run.table["drop_by_neighbours_K"].isel(year=-1)
    assert drops.sel(plant="down") > 3.0 * drops.sel(plant="up")
    assert np.isnan(run.beyond_reach_K)


def test_a_warming_ground_adds_to_the_neighbours(design):
    plants = alike(design, one=(0, 0), other=(12, 0))
    still = ld.Neighbourhood(plants).run(3).table
    warmer = design.ground.replace(warming=ld.Warming(rate=0.1))
    warmed = ld.Neighbourhood(plants, ground=warmer).run(3).table
    gained = (warmed["entering_fluid_mean_degC"] - still["entering_fluid_mean_degC"]).isel(year=2)
    assert ((gained > 0.2) & (gained < 0.26)).all()


def test_loads_and_depth_of_a_plant(design):
    plants = {
        "as it is": ld.Plant(design=design),
        "twice": ld.Plant(design=design, at=(2000, 0), loads_scale=0.5),
        "deeper": ld.Plant(design=design, at=(4000, 0), depth="150 m"),
    }
    table = ld.Neighbourhood(plants).run(1).table
    half = design.replace(
        loads=ld.Loads(heating=0.5 * design.loads.heating, cooling=0.5 * design.loads.cooling)
    )
    for name, same in {
        "twice": half,
        "deeper": design.replace(ground_side=design.ground_side.sized("depth", 150.0)),
    }.items():
        own = same.run(1).yearly["entering_fluid_min_degC"]
        assert_allclose(table["entering_fluid_min_degC"].sel(plant=name), own, atol=1e-9)


def test_progress_counts_and_stops(town):
    seen = []
    town.run(2, progress=seen.append)
    assert seen == sorted(seen) and seen[-1] >= 2 * len(town)

    def stop(done):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        town.run(2, progress=stop)


def test_the_same_seed_invents_the_same_town():
    one, same, other = (ld.Neighbourhood.sketch(20, seed=seed) for seed in (3, 3, 4))
    assert list(one.plants) == list(same.plants) and one.bores == same.bores
    at = [[plant.at for plant in town.plants.values()] for town in (one, same, other)]
    assert at[0] == at[1] != at[2]
    assert repr(ld.Neighbourhood.sketch(1)) == "<Neighbourhood: 1 plant with 2 bores>"


TOWN = """
schema = 1
table = "houses.csv"

[templates]
house = "house.toml"

[[plant]]
name = "school"
design = "house.toml"
at = [0, 0]
depth = "120 m"
last_year = 30
"""
HOUSES = """# invented
name,east_m,north_m,template,depth_m,heating_kWh,heating_peak_kW,start_year
1 Main Street,30,0,house,,9000,,
2 Main Street,60,0,house,80,9000,5,2
"""


@pytest.fixture
def town_path(design, tmp_path):
    design.write(tmp_path / "house.toml")
    (tmp_path / "houses.csv").write_text(HOUSES)
    path = tmp_path / "town.toml"
    path.write_text(TOWN)
    return path


def test_a_file_lists_designs_and_a_table(design, town_path):
    town = ld.Neighbourhood.read(town_path)
    assert list(town.plants) == ["school", "1 Main Street", "2 Main Street"]
    school, first, second = town.plants.values()
    assert (school.depth, school.last_year, school.at) == (120.0, 30, (0.0, 0.0))
    assert first.loads_scale == pytest.approx(9000.0 / (design.loads.heating.sum() / 1e3))
    assert second.design.loads.heating.sum() == pytest.approx(9e6) and second.start_year == 2
    assert second.design.loads.heating.max() == pytest.approx(5000.0)


def test_a_table_may_be_a_frame_or_parquet(design, tmp_path):
    frame = pd.DataFrame(
        {
            "name": ["a", "b"],
            "east_m": [0.0, 20.0],
            "north_m": 0.0,
            "template": "house",
            "depth_m": [np.nan, 90.0],
        }
    )
    frame.to_parquet(tmp_path / "houses.parquet")
    for table in (frame, tmp_path / "houses.parquet"):
        town = ld.Neighbourhood.from_table(table, templates={"house": design})
        assert [plant.depth for plant in town.plants.values()] == [None, 90.0]


BAD_PLANTS = [
    ({"at": (1.0,)}, "Plant.at"),
    ({"at": "here"}, "must be two distances"),
    ({"at": (np.nan, 0)}, "Plant.at"),
    ({"at": (0, 1e9)}, "Plant.at"),
    ({"at": ("3 kg", 0)}, "Plant.at"),
    ({"depth": 0.0}, "Plant.depth"),
    ({"depth": 1e6}, "depth"),
    ({"depth": "deep"}, "Plant.depth"),
    ({"loads_scale": -1.0}, "Plant.loads_scale"),
    ({"loads_scale": np.inf}, "Plant.loads_scale"),
    ({"start_year": 0}, "Plant.start_year"),
    ({"start_year": 1.5}, "Plant.start_year"),
    ({"start_year": 101}, "Plant.start_year"),
    ({"start_year": 5, "last_year": 4}, "Plant.last_year"),
    ({"design": "house.toml"}, "must be a Design"),
    ({"design": None}, "must be a Design"),
]


@pytest.mark.parametrize(("given", "said"), BAD_PLANTS)
def test_bad_plants_are_refused(design, given, said):
    with pytest.raises(ld.InvalidInput, match=said):
        ld.Plant(**({"design": design} | given))


def bad_towns(design):
    plant = ld.Plant(design=design)
    other = ld.Plant(design=design, at=(12, 0))
    warm = design.replace(ground=design.ground.replace(temperature=14.0))
    return [
        ({}, {}, "must be at least one plant"),
        ([plant], {}, "must be a Mapping"),
        ({"": plant}, {}, "must be a name"),
        ({3: plant}, {}, "must be a name"),
        ({"a": design}, {}, "must be a Plant"),
        ({"a": plant, "b": plant}, {}, "a bore of 'a' is 0 m from one of 'b'"),
        ({"a": plant, "b": ld.Plant(design=design, at=(6.1, 0))}, {}, "must not overlap"),
        ({"a": plant, "b": ld.Plant(design=warm, at=(12, 0))}, {}, "have different grounds"),
        ({"a": plant, "b": other}, {"ground": 3}, "must be a Ground"),
    ]


@pytest.mark.parametrize("number", range(9))
def test_bad_towns_are_refused(design, number):
    plants, given, said = bad_towns(design)[number]
    with pytest.raises(ld.InvalidInput, match=said):
        ld.Neighbourhood(plants, **given)


def test_degrees_are_seen(design):
    single = design.replace(ground_side=ld.BoreField(design.ground_side.bores[0], positions=[[0, 0]]))
    houses = {"a": (8.5512, 47.3721), "b": (8.5539, 47.3716), "c": (8.5514, 47.3755)}
    plants = {name: ld.Plant(design=single, at=at) for name, at in houses.items()}
    with pytest.raises(ld.InvalidInput, match="longitudes and latitudes"):
        ld.Neighbourhood(plants)


def test_ground_sides_without_bores_are_refused(design):
    inclined = ld.BoreField(
        design.ground_side.bores[0], positions=[[0, 0], [6, 0]], inclination=10.0, direction=[270.0, 90.0]
    )
    with pytest.raises(ld.InvalidInput, match="must have vertical bores"):
        ld.Plant(design=design.replace(ground_side=inclined))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"years": 0}, "years"),
        ({"years": 101}, "years"),
        ({"years": 2.5}, "years"),
        ({"years": 1}, "must be within the horizon, 1 year"),
        ({"tolerance": 0.0}, "tolerance"),
        ({"tolerance": 10.0}, "tolerance"),
        ({"tolerance": "warm"}, "tolerance"),
        ({"progress": 3}, "progress"),
    ],
)
def test_bad_horizons_are_refused(town, given, said):
    with pytest.raises(ld.InvalidInput, match=said):
        town.run(**({"years": 2} | given))


def test_what_can_not_run_is_named(design):
    weak = ld.Plant(design=design, at=(12, 0), depth=20.0, loads_scale=8.0)
    table = ld.Neighbourhood({"good": ld.Plant(design=design), "weak": weak}).run(2).table
    assert "freezing" in str(table["failure"].sel(plant="weak").item())
    assert table["failure"].sel(plant="good") == ""


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("[0, 0]", "[0]"), r"plant\[0\].at"),
        (("depth", "dept"), "did you mean 'depth'"),
        (('name = "school"\n', ""), "must have the key name"),
        (('design = "house.toml"\n', ""), "must have the key design"),
        (("schema = 1", "schema = 9"), "schema"),
        (("[templates]", "[template]"), "did you mean 'templates'"),
        (('"school"', '"1 Main Street"'), "must be the name of one plant only"),
        (("120 m", "-5 m"), "depth"),
        (("table", "tabel"), "did you mean 'table'"),
    ],
)
def test_faults_of_a_file_are_named(town_path, change, said):
    town_path.write_text(TOWN.replace(*change, 1))
    with pytest.raises(ld.InvalidInput, match=said):
        ld.Neighbourhood.read(town_path)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("east_m", "lon"), "is no column"),
        (("1 Main Street,30", "1 Main Street,"), "line 3, east_m"),
        (("house,80", "villa,80"), "line 4, template"),
        (("9000,5,2", "many,5,2"), "line 4, heating_kWh"),
        (("9000,5,2", "9000,5,2.5"), "must be a whole number"),
        (("2 Main", "1 Main"), "must be the name of one plant only"),
        (("9000,5,2", "9000,0.1,2"), "heating_kWh"),
        (("depth_m", "name"), "once"),
    ],
)
def test_faults_of_a_table_are_named(town_path, change, said):
    (town_path.parent / "houses.csv").write_text(HOUSES.replace(*change, 1))
    with pytest.raises(ld.InvalidInput, match=said):
        ld.Neighbourhood.read(town_path)
