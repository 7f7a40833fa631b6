"""The yearly lowest entering fluid temperature of shaped loads beside that of hourly ones.

The hourly loads come from the hourly building model (ISO 13790), which the shapes know nothing of; the
months, bills and peaks that a designer would have of such a building are summed up here. All
buildings are invented.
"""

from __future__ import annotations

import pytest

import loopdrift as ld
from book import at_least, at_most
from loopdrift.analysis import shaped_loads
from loopdrift.model.key_figures import undisturbed

LIGHT = ld.Building(
    floor_area=150.0,
    infiltration=0.2,
    ventilation=0.4,
    walls=ld.Opaque(area=150, u_value=0.35),
    roof=ld.Opaque(area=90, u_value=0.25),
    floor=ld.Opaque(area=90, u_value=0.35, exposure=0.6),
    windows=[
        ld.Window(area=14, u_value=1.3, g_value=0.55, azimuth=180.0),
        ld.Window(area=6, u_value=1.3, g_value=0.55, azimuth=90.0),
    ],
    mass="light",
    occupants=4,
    equipment="300 W",
    heating_set_point={6: 21.0, 22: 18.0},
    cooling_set_point=25.0,
)
HEAVY = LIGHT.replace(mass="heavy", heating_set_point=20.0)
SCHOOL = ld.Building(
    floor_area=900.0,
    walls=ld.Opaque(area=700, u_value=0.3),
    roof=ld.Opaque(area=600, u_value=0.2),
    floor=ld.Opaque(area=600, u_value=0.3, exposure=0.6),
    windows=[
        ld.Window(area=90, u_value=1.3, g_value=0.5, azimuth=180.0),
        ld.Window(area=60, u_value=1.3, g_value=0.5, azimuth=0.0),
    ],
    mass="medium",
    infiltration=0.15,
    ventilation=0.8,
    heat_recovery=0.7,
    occupants=60,
    occupancy=ld.Week({0: 0.0, 8: 1.0, 16: 0.0}, saturday=0.0, sunday=0.0),
    equipment="4 kW",
    equipment_use=ld.Week({0: 0.1, 8: 1.0, 16: 0.1}, saturday=0.1),
    heating_set_point=ld.Week({6: 21.0, 18: 17.0}),
    heating_power="40 kW",
    cooling_set_point=26.0,
)


def design_for(loads: ld.Loads, ground: float) -> ld.Design:
    """Bores of 35 W per metre at the peak, and a heat pump that carries it."""
    peak = loads.peak["heating"] + loads.peak["hot_water"]
    count = max(1, round(0.75 * peak / 3000.0))
    bore = ld.Bore(
        depth=0.75 * peak / 35.0 / count,
        buried_depth=1.5,
        diameter=0.15,
        grout_conductivity=1.8,
        pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.075),
    )
    return ld.Design(
        ground=ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.3e6, temperature=ground),
        ground_side=ld.BoreField.grid(bore, columns=count, rows=1, spacing=6.0),
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
        flow=0.25 * count,
        heat_pump=ld.HeatPump.from_curves(
            heating_cop=[4.2, 0.1],
            heating_capacity=[1.1 * peak, 0.02 * peak],
            cooling_cop=[6.0, -0.05],
            cooling_capacity=[1.2 * max(loads.peak["cooling"], 1000.0)],
        ),
        loads=loads,
    )


def shaped(loads: ld.Loads, weather: ld.Weather) -> list[ld.Loads]:
    """The same building by months, bills, peak and total."""
    months = loads.monthly().loc[1]
    sums = {name: months[f"{name}_kWh"].to_numpy() for name in ("heating", "cooling", "hot_water")}
    peaks = {f"{name}_peaks": months[f"{name}_peak_W"].to_numpy() for name in ("heating", "cooling")}
    by_month = {f"{name}_months": each for name, each in sums.items()}
    bills = list(sums["heating"] + sums["hot_water"])
    by_bills = ld.Loads.from_bills(weather, monthly_bills=bills, efficiency=1.0)
    peak = loads.peak["heating"]
    hours = loads.heating.sum() / peak
    water = float(sums["hot_water"].sum())
    cooled = loads.peak["cooling"]
    cooling = (
        {"cooling_peak": cooled, "cooling_full_load_hours": max(1.0, loads.cooling.sum() / cooled)}
        if cooled
        else {}
    )
    totals = {"cooling_total": float(sums["cooling"].sum()), "hot_water_total": water}
    alone = ld.Loads.from_months(weather, **by_month)
    highest = max(peak, by_bills.peak["heating"])
    return [
        ld.Loads.from_months(weather, **by_month, **peaks),
        alone,
        ld.Loads.from_months(weather, **by_month, heating_peak=max(peak, alone.peak["heating"])),
        by_bills,
        ld.Loads.from_bills(weather, monthly_bills=bills, efficiency=1.0, heating_peak=highest),
        ld.Loads.from_peak(
            weather, heating_peak=peak, heating_full_load_hours=hours, hot_water_total=water, **cooling
        ),
        ld.Loads.from_total(weather, heating_total=float(sums["heating"].sum()), **totals),
    ]


@pytest.mark.parametrize(
    ("building", "climate", "ground"),
    [
        (SCHOOL, "high dry", 12.5),
        (SCHOOL, "mild maritime", 11.0),
        (LIGHT, "mild maritime", 11.0),
        (HEAVY, "cold continental", 8.5),
    ],
    ids=["school, high dry", "school, mild", "light house, mild", "brick house, cold"],
)
def test_the_stated_distance_covers_the_real_one(building, climate, ground):
    weather = ld.Weather.sample(climate)
    loads = building.loads(weather, hot_water=300.0 if building is not SCHOOL else 500.0)
    design = design_for(loads, ground)
    lowest = design.run(3).yearly["entering_fluid_min_degC"]
    assert shaped_loads.distance_of_run(design.run(1)) is None
    for other in shaped(loads, weather):
        run = design.replace(loads=other).run(3)
        found = run.yearly["entering_fluid_min_degC"]
        off = (found - lowest).abs()
        stated = shaped_loads.distance_of_run(run)
        at_most(
            off.max(), stated, unit="K", what="distance of the lowest temperatures from those of hourly loads"
        )
        first = shaped_loads.distance(run.design, found.iloc[0])
        at_most(off.iloc[0], first, unit="K", what="the same in the first year")
        assert f"Loads shaped from {other.shaped_from}: about " in shaped_loads.in_words(run)


def test_the_stated_distances_are_no_larger_than_they_must_be():
    """In the worst cases of the docstring, more than three quarters of what is stated is reached."""
    worst = {name: 0.0 for name in shaped_loads.SHARES}
    for building, climate, ground in (
        (SCHOOL, "high dry", 12.5),
        (SCHOOL, "mild maritime", 11.0),
        (LIGHT, "mild maritime", 11.0),
    ):
        weather = ld.Weather.sample(climate)
        loads = building.loads(weather, hot_water=300.0 if building is not SCHOOL else 500.0)
        design = design_for(loads, ground)
        lowest = design.run(1).yearly["entering_fluid_min_degC"].min()
        for other in shaped(loads, weather):
            found = design.replace(loads=other).run(1).yearly["entering_fluid_min_degC"].min()
            share = abs(found - lowest) / (undisturbed(design) - found)
            worst[other.shaped_from] = max(worst[other.shaped_from], float(share))
    for name, share in worst.items():
        at_least(share, 0.75 * shaped_loads.SHARES[name], what=f"share reached, of {name}")
